"""Every stable state that any sequence of acts reaches from cold, and where each act leads from it."""

from .acts import Acts, perform, perform_one_by_one
from .compiled import Compiled
from .settle import Behaviour


class TooLarge(Exception):
    """More states than the caller wants to wait for."""


class Exploration:
    """reached: states -> how (state before, act text), None from cold; steps[state]: [(act, outcome)]."""

    def __init__(self, devices, limit=20_000, fault=None):
        self.circuit = Compiled(fault.wired(devices) if fault else devices)
        if fault:
            fault.put_into(self.circuit)
        self.behaviour = Behaviour(self.circuit)
        self.acts = Acts(self.circuit)
        self.cold = self.behaviour.settle(0)
        self.reached = dict.fromkeys(() if self.cold.restless else self.cold.ends)
        self.steps = {}
        queue = list(self.reached)
        for state in queue:  # grows while it is walked
            out = self.steps[state] = []
            for act in self.acts.by_text.values():
                if not self.acts.possible(act, state):
                    continue
                outcome = perform(self.behaviour, act, state)
                if outcome.shorted and not self.with_one_hand(state, outcome):
                    self._leave_out_coincidence(state, act, outcome)
                out.append((act, outcome))
                for end in outcome.ends:
                    if end not in self.reached:
                        self.reached[end] = (state, act.text)
                        queue.append(end)
            if len(self.reached) > limit:
                raise TooLarge(f"more than {limit} states")

    def _leave_out_coincidence(self, state, act, outcome):
        """Two hands at once and contactors at the very same moment past each other's contacts: a short no one counts.

        What contacts alone keep apart is a note; the loss of supply that would follow must not colour other rules.
        """
        singly = perform_one_by_one(self.behaviour, act, state)
        if not singly.shorted:
            outcome.ends, outcome.shorted, outcome.visited = singly.ends, False, singly.visited

    def with_one_hand(self, state, outcome):
        """Whether no two momentary devices are held together about this act."""
        return all(self.hands(s) < 2 for s in (state, *(outcome.ends or outcome.visited)))

    def hands(self, state):
        """How many momentary devices are held."""
        return bin(self.acts.held(state)).count("1")

    def way_to(self, state):
        """Acts from cold to a state, a shortest sequence."""
        way = []
        while self.reached[state] is not None:
            state, text = self.reached[state]
            way.append(text)
        return way[::-1]
