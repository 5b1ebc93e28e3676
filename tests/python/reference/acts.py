"""Acts of people and of the world as steps on state bits; between two steps the circuit settles."""

from dataclasses import dataclass

from .netlist import SOURCE_KINDS


@dataclass(frozen=True)
class Act:
    """`steps` are (bits to clear, bits to set), each followed by settling."""

    text: str
    verb: str
    subject: str
    steps: tuple


class Acts:
    """All acts one circuit knows, by text; those of change-over devices in two ways of moving."""

    def __init__(self, circuit):
        self.circuit = circuit
        self.sources = [s for s in circuit.sources if s.lost]
        self.every_source = together = 0
        for s in self.sources:
            self.every_source |= s.lost
            if not s.feed:
                together |= s.lost
        self.fuse_bits = 0
        self.momentary = 0
        self.by_text = {}
        for d in circuit.devices.values():
            self._add(d)
        if sum(not s.feed for s in self.sources) > 1:  # what they feed goes with them
            self._act("lose all sources", "lose", "all sources", (0, together))
            self._act("restore all sources", "restore", "all sources", (together, 0))
        if circuit.fault:
            self._act(circuit.fault.text, circuit.fault.verb, circuit.fault.text, (0, circuit.fault_bit))

    def _act(self, text, verb, subject, *steps):
        self.by_text[text] = Act(text, verb, subject, tuple(steps))

    def _add(self, d):
        bits = self.circuit.bits
        bit = bits.get(d.name, 0)
        if d.is_hand:
            self._hand(d, bit, bits[d.name, "between"])
        elif d.kind == "isolator":
            early = bits[d.name, "early"]
            aux = any(o[0] is d and o[1] == "make" for o in self.circuit.owners)
            steps = ((0, early), (early, bit)) if aux else ((0, bit),)
            self._act(f"open {d.name}", "open", d.name, *steps)
            self._act(f"close {d.name}", "close", d.name, (bit, 0))
        elif d.kind == "overload":
            self._act(f"trip {d.name}", "trip", d.name, (0, bit))
            self._act(f"cool {d.name}", "cool", d.name, (bit if d.get("reset") == "automatic" else 0, 0))
            self._act(f"reset {d.name}", "reset", d.name, (bit, 0))
        elif d.kind == "fuse":
            self.fuse_bits |= bit
            self._act(f"blow {d.name}", "blow", d.name, (0, bit))
            self._act(f"replace {d.name}", "replace", d.name, (bit, 0))
        elif d.kind == "timer":
            delayed = bits[d.name, "delayed"]
            step = (0, delayed) if d.get("delay", "on") == "on" else (delayed, 0)
            self._act(f"elapse {d.name}", "elapse", d.name, step)
        elif d.kind in SOURCE_KINDS:
            self._source(next(s for s in self.circuit.sources if s.name == d.name))

    def _hand(self, d, bit, between):
        senses = {o[1] for o in self.circuit.owners if o[0] is d}
        on, off = {
            "momentary": ("hold {}", "free {}"),
            "latching": ("latch {}", "unlatch {}"),
            "maintained": ("turn {} on", "turn {} off"),
        }[d.action]
        if d.action == "momentary":
            self.momentary |= bit
        for text, clear, set_ in ((on, 0, bit), (off, bit, 0)):
            text = text.format(d.name)
            verb = text.split()[0] + (" " + text.split()[2] if d.action == "maintained" else "")
            self._act(text, verb, d.name, (clear, set_))
            if len(senses) == 2:
                self._act(text + " slow", verb, d.name, (clear, set_ | between), (between, 0))

    def _source(self, s):
        if not s.lost:
            return
        self._act(f"lose {s.name}", "lose", s.name, (0, s.lost))
        self._act(f"restore {s.name}", "restore", s.name, (s.lost, 0))
        for pole, _, _, bit in s.poles:
            if bit and s.kind.startswith("mains"):
                self._act(f"lose {s.name}:{pole}", "lose", f"{s.name}:{pole}", (0, bit))
                self._act(f"restore {s.name}:{pole}", "restore", f"{s.name}:{pole}", (bit, 0))

    def runs_of_timer(self, d, state):
        """Elapsing would change something."""
        bits = self.circuit.bits
        inside, delayed = bool(state & bits[d.name]), bool(state & bits[d.name, "delayed"])
        return inside and not delayed if d.get("delay", "on") == "on" else delayed and not inside

    def held(self, state):
        """Momentary devices a hand is on: a jammed one stays by itself."""
        faulty = state & self.circuit.fault_bit
        return state & self.momentary & ~(self.circuit.stuck if faulty else 0)

    def _kept_by_fault(self, act, state):
        """Whether the fault, or the want of another one besides, leaves no room for this act."""
        circuit = self.circuit
        if act.verb == circuit.fault.verb and act.subject == circuit.fault.text:
            return state & circuit.needs != circuit.needs or state & circuit.must_rest != 0
        if act.verb == "blow" or act.verb == "lose" and self._is_one_of_several_lines(act):
            return True
        moved = act.steps[0][0] | act.steps[0][1]
        return bool(state & circuit.fault_bit and moved & circuit.stuck)

    def _is_one_of_several_lines(self, act):
        return any(act.subject.startswith(s.name + ":") and act.steps[0][1] != s.lost for s in self.sources)

    def is_short_of_a_line(self, state):
        """A source has lost one of its lines and has others, or a fuse has blown."""
        return bool(state & self.fuse_bits) or any(state & s.lost not in (0, s.lost) for s in self.sources)

    def leaves_short_of_a_line(self, act, state):
        for clear, set_ in act.steps:
            state = state & ~clear | set_
        return self.is_short_of_a_line(state)

    def possible(self, act, state):
        """Whether the checks try this act here: it changes something, and at most one supply trouble at a time."""
        if self.circuit.fault and self._kept_by_fault(act, state):
            return False
        lost, blown = state & self.every_source, state & self.fuse_bits
        if act.verb in ("lose", "blow"):
            return not lost and not blown and act.steps[0][1] != 0
        if act.verb == "restore":
            return lost != 0 and lost == act.steps[0][0]
        if act.verb == "elapse":
            return self.runs_of_timer(self.circuit.devices[act.subject], state)
        after = state
        for clear, set_ in act.steps:
            after = after & ~clear | set_
        return after != state


@dataclass
class Outcome:
    """What one act leads to."""

    ends: tuple
    sure: tuple = ()
    race: bool = False
    chatter: bool = False
    shorted: bool = False
    restless: bool = False
    visited: frozenset = frozenset()


def perform(behaviour, act, state, resting=True):
    """All ends of an act, whatever the order of moving; of unrest none, or with resting=False all it passes through."""
    result = Outcome((state,), (state,))
    for clear, set_ in act.steps:
        ends, sure = set(), set()
        for each in result.sure:
            sure.update(behaviour.settle(each & ~clear | set_).sure)
        for each in result.ends:
            settled = behaviour.settle(each & ~clear | set_)
            if not (settled.restless and resting):
                ends.update(settled.ends)
            result.race |= settled.race
            result.chatter |= settled.chatter
            result.shorted |= settled.shorted
            result.restless |= settled.restless
            result.visited |= settled.visited
        result.ends, result.sure = tuple(sorted(ends)), tuple(sorted(sure))
    return result


def perform_one_by_one(behaviour, act, state):
    """The same while no two armatures move at the same moment."""
    result = Outcome((state,))
    for clear, set_ in act.steps:
        ends = set()
        for each in result.ends:
            after, visited, shorted = behaviour.one_by_one(each & ~clear | set_)
            ends.update(after)
            result.visited |= visited
            result.shorted |= shorted
        result.ends = tuple(sorted(ends))
    return result
