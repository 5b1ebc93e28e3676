"""Armatures and how they move: which must, which may, every order, every end (DESIGN 4.2, 4.3)."""

from dataclasses import dataclass

from . import machines
from .shorts import Solver, clear

PULLS_IN, MAY_PULL_IN, STAYS_IN = 0.85, 0.60, 0.75


@dataclass(frozen=True)
class Settled:
    """What settling from one state leads to."""

    ends: tuple  # stable states, sorted; those of the last cycles when there is none
    sure: tuple  # the ends reached by what must move alone
    race: bool  # the end depends on the order of moving
    chatter: bool  # no stable end, or a cycle of single moves
    visited: frozenset  # every state passed through, the ends included
    shorted: bool = False  # a dead short was met on the way
    restless: bool = False  # there was no stable end at all


class Behaviour:
    """Evaluates and settles states of one circuit, remembering all it has seen."""

    def __init__(self, circuit, extra=()):
        self.circuit, self._solver = circuit, Solver(circuit, tuple(extra))
        self._cleared, self._asked, self._settled = {}, {}, {}

    def cleared(self, state):
        """(state, volts, sources lost) once fuses and protection have acted."""
        found = self._cleared.get(state)
        if found is None:
            found = clear(self._solver, state)
            self._cleared[state] = found
            self._cleared[found[0]] = (found[0], found[1], [], found[3])
        return found

    def volts(self, state):
        return self.cleared(state)[1]

    def ratio(self, coil, state):
        return self.volts(state).across(coil.first, coil.second) / coil.rated_v

    def asked(self, state):
        """(bits of armatures that must move, that may move) in a cleared state."""
        found = self._asked.get(state)
        if found is None:
            found = self._asked[state] = self._ask(state)
        return found

    def _ask(self, state):
        must = may = 0
        for coil in self.circuit.coils:
            r = self.ratio(coil, state)
            if coil.name in self.circuit.stop_relays and not self._lets_move(self.circuit.stop_relays[coil.name], state):
                must |= coil.bit if state & coil.bit else 0
                continue
            if state & coil.bit:
                if r < coil.drop_below:
                    must |= coil.bit
                elif r < STAYS_IN:
                    may |= coil.bit
            elif r >= PULLS_IN:
                must |= coil.bit
            elif r >= MAY_PULL_IN:
                may |= coil.bit
        for closing, tripping, bit in self.circuit.latches:
            close, trip = self.ratio(closing, state), self.ratio(tripping, state)
            if state & bit:
                if trip >= PULLS_IN:
                    must |= bit
                elif trip >= MAY_PULL_IN:
                    may |= bit
            elif trip < PULLS_IN and close >= MAY_PULL_IN:
                if close >= PULLS_IN and trip < MAY_PULL_IN:
                    must |= bit
                else:  # in its band the tripping coil may win
                    may |= bit
        for bit, partner in self.circuit.interlocks:
            if not state & bit and state & partner:  # locked out while the other is in
                must &= ~bit
                may &= ~bit
        if state & self.circuit.fault_bit:  # a welded contactor stays in
            must &= ~self.circuit.stuck
            may &= ~self.circuit.stuck
        return must, may

    def _closed(self, loop, state):
        cls = self.volts(state).cls
        return loop is not None and cls[loop[0]] == cls[loop[1]]

    def _lets_move(self, relay, state):
        """Whether only the volts of its coil decide: an open input lets it go, and much more must be so to come in."""
        if not all(self._closed(loop, state) for loop in relay.inputs):
            return False
        if state & relay.bit:
            return True
        fed_back = relay.feedback is None or self._closed(relay.feedback, state)
        reset = relay.reset is None or self._closed(relay.reset, state)
        armed = relay.automatic or state & relay.armed
        return fed_back and reset and armed and not state & relay.all_channels

    def _channels_open(self, relay, state):
        """Bits of the channels whose loop is open, or all of them without the volts to stay in."""
        if self.ratio(relay.coil, state) < STAYS_IN:
            return relay.all_channels
        return sum(bit for bit, loop in zip(relay.channels, relay.inputs) if not self._closed(loop, state))

    def _after_relays(self, state, bits):
        """What channels of the stop relays among these armatures do as their relay moves."""
        after = state
        for relay in self.circuit.stop_relays.values():
            if not bits & relay.bit:
                continue
            if state & relay.bit:
                inside = all(self._closed(loop, state) for loop in relay.inputs)
                after &= ~(relay.all_channels if inside else self._channels_open(relay, state))
            else:
                after |= relay.all_channels
        return after

    def moved(self, state, bits):
        """The cleared state after these armatures have moved together."""
        after = self._after_relays(state, bits) ^ bits
        for d in self.circuit.timers:
            bit, delayed = self.circuit.bits[d.name], self.circuit.bits[d.name, "delayed"]
            if d.get("delay", "on") == "on":
                if not after & bit:
                    after &= ~delayed
            elif after & bit:
                after |= delayed
        after, _, _, shorted = self.cleared(after)
        return after, shorted

    def _steps(self, state, movable, singly):
        """(bits, state, shorted) one step away: any armatures of `movable`, at least one, moved together."""
        subset = movable
        while subset:
            if not (singly and subset & (subset - 1)) and not self._locked(state, subset):
                yield subset, *self.moved(state, subset)
            subset = (subset - 1) & movable

    def _locked(self, state, subset):
        return any(subset & a and subset & b and not state & (a | b) for a, b in self.circuit.interlocks)

    def settle(self, state):
        found = self._settled.get(state)
        if found is None:
            found = self._settled[state] = self._settle(state)
        return found

    def one_by_one(self, start):
        """(ends, states passed through, whether any short was met) when no two armatures move at the same moment."""
        start, _, _, shorted = self.cleared(start)
        every, on_the_way = self._reach(start, self._all_asked, singly=True)
        ends = {self._rested(s) for s in every if not self.asked(s)[0]}
        return tuple(sorted(ends)), frozenset(every), shorted or on_the_way

    def _all_asked(self, state):
        must, may = self.asked(state)
        return must | may

    def _settle(self, start):
        start, _, _, shorted = self.cleared(start)
        if self.asked(start) == (0, 0):
            rested = (self._rested(start),)
            return Settled(rested, rested, False, False, frozenset([start]), shorted)
        sure, _ = self._reach(start, lambda s: self.asked(s)[0])
        sure_ends = [s for s in sure if not self.asked(s)[0]]
        cycles = self._cycles(sure)
        race = len(sure_ends) > 1 or any(len(flipped) > 1 for flipped in cycles)
        every, on_the_way = self._reach(start, self._all_asked)
        ends = {s for s in every if not self.asked(s)[0]}
        return Settled(
            ends=tuple(sorted({self._rested(s) for s in ends or self._gone_round(every)})),
            sure=tuple(sorted({self._rested(s) for s in sure_ends})),
            race=race,
            chatter=not sure_ends or bool(cycles),
            visited=frozenset(every),
            shorted=shorted or on_the_way,
            restless=not ends,
        )

    def _reach(self, start, movable, singly=False):
        """(state -> its steps, whether one of them was a short)."""
        seen, stack, shorted_ever = {start: []}, [start], False
        while stack:
            state = stack.pop()
            for bits, after, shorted in self._steps(state, movable(state), singly):
                shorted_ever |= shorted
                seen[state].append((bits, after))
                if after not in seen:
                    seen[after] = []
                    stack.append(after)
        return seen, shorted_ever

    def _gone_round(self, steps):
        """Where it may be met when nothing rests: what it goes round for ever.

        Not where an armature must move all the way round and never does: it moves some time.
        """
        reach = {s: {s, *after} for s, after in self._reachable(steps).items()}
        kept = set()
        for s in steps:
            together = [t for t in reach[s] if s in reach[t]]
            must, changing = self.asked(s)[0], 0
            for t in together:
                must &= self.asked(t)[0]
                changing |= s ^ t
            if not must & ~changing:
                kept.add(s)
        return kept

    @staticmethod
    def _reachable(steps):
        """What each state comes to in one step or more."""
        reach = {}
        for s in steps:
            seen, stack = set(), [s]
            while stack:
                for _, t in steps[stack.pop()]:
                    if t not in seen:
                        seen.add(t)
                        stack.append(t)
            reach[s] = seen
        return reach

    @staticmethod
    def _cycles(steps):
        """The armatures flipped in each cycle of single moves: one set per strongly connected part."""
        single = {s: [(b, t) for b, t in out if b & (b - 1) == 0] for s, out in steps.items()}
        reach = Behaviour._reachable(single)
        parts = {frozenset(t for t in reach[s] if s in reach[t]) for s in single if s in reach[s]}
        return [{b for s in part for b, t in single[s] if t in part} for part in parts]

    def _rested(self, state):
        """Drives that wait remember that their run input was open while they were ready, stop relays that their reset
        was, and which of their channels has not opened since the other let them go."""
        at_rest = state
        for relay in self.circuit.stop_relays.values():
            if relay.reset is not None:
                inputs = all(self._closed(loop, at_rest) for loop in relay.inputs)
                ready = inputs and not self._closed(relay.reset, at_rest)
                state = state | relay.armed if ready else state & ~relay.armed
            if not at_rest & relay.bit:
                state &= ~self._channels_open(relay, at_rest)
        for d in self.circuit.waiting_drives:
            bit = self.circuit.bits[d.name, "ready"]
            fed, enabled, run = machines.drive_inputs(self, d, state)
            if not (fed and enabled):
                state &= ~bit
            elif not run:
                state |= bit
        return state
