"""Every stable state that any sequence of acts reaches from cold, and where each act leads from it."""

from .acts import Acts, perform
from .compiled import Compiled
from .settle import Behaviour


class TooLarge(Exception):
    """More states than the caller wants to wait for."""


class Exploration:
    """reached: states -> how (state before, act text), None from cold; steps[state]: [(act, outcome)]."""

    def __init__(self, devices, limit=20_000):
        self.circuit = Compiled(devices)
        self.behaviour = Behaviour(self.circuit)
        self.acts = Acts(self.circuit)
        self.cold = self.behaviour.settle(0)
        self.reached = dict.fromkeys(self.cold.ends)
        self.steps = {}
        queue = list(self.cold.ends)
        for state in queue:  # grows while it is walked
            out = self.steps[state] = []
            for act in self.acts.by_text.values():
                if not self.acts.possible(act, state):
                    continue
                outcome = perform(self.behaviour, act, state)
                out.append((act, outcome))
                for end in outcome.ends:
                    if end not in self.reached:
                        self.reached[end] = (state, act.text)
                        queue.append(end)
            if len(self.reached) > limit:
                raise TooLarge(f"more than {limit} states")
        self.one_hand = self._with_one_hand()

    def hands(self, state):
        """How many momentary devices are held."""
        return bin(state & self.acts.momentary).count("1")

    def _with_one_hand(self):
        """States that are reached without ever holding two momentary devices together."""
        found = {s for s in self.cold.ends if self.hands(s) < 2}
        stack = list(found)
        while stack:
            for _, outcome in self.steps[stack.pop()]:
                new = {e for e in outcome.ends if self.hands(e) < 2} - found
                found |= new
                stack += new
        return found

    def way_to(self, state):
        """Acts from cold to a state, a shortest sequence."""
        way = []
        while self.reached[state] is not None:
            state, text = self.reached[state]
            way.append(text)
        return way[::-1]
