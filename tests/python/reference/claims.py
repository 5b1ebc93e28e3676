"""Every claim of the starting and stopping rules, decided by looking at all reachable states (DESIGN 5).

A claim is judged state by state: an act all of whose ends are bad makes it fail; one bad end among others, or an
end in which the machine is `maybe`, makes it `maybe`; else it holds. Where no acts lead surely to such a failure, but
only perhaps, it is `maybe`, too.
"""

from .acts import perform, perform_one_by_one
from .compiled import Compiled
from .explore import Exploration
from .isolators import IsolatorClaims
from .machines import MAYBE, RUNS, STOPPED, drive_inputs, element_state
from .network import class_of_nets
from .structure import CONTACTORS, Structure

HOLDS, PERHAPS, FAILS = "holds", "maybe", "fails"
_WORSE = {HOLDS: 0, PERHAPS: 1, FAILS: 2}
STARTING = ("start", "reset", "jog", "test", "none")
ON_VERBS = ("hold", "latch", "turn on")
OF_ONE_STATE = {"stop-cuts", "stop-spares", "stop-beats-start", "overload-cuts"} | {
    "power-return", "release-return", "trip-return", "own-start"
}
MOST_SETS = 5000  # of states that acts may lead to, looked at for one claim
OFF_VERBS = ("free", "unlatch", "turn off")


def judge(levels):
    """levels of the ends of one act: 0 good, 1 maybe, 2 bad."""
    if levels and all(v == 2 for v in levels):
        return FAILS
    return PERHAPS if any(levels) else HOLDS


class Claims:
    """status[(rule, subject, machine)] of every claim of a circuit, and where the worst was met (why)."""

    def __init__(self, devices, limit=20_000, fault=None):
        self.exploration = x = Exploration(devices, limit, fault)
        self.circuit, self.behaviour = x.circuit, x.behaviour
        self.structure = Structure(Compiled(devices) if fault else self.circuit)  # what is meant, not what broke
        self.machines = list(self.structure.machines)
        self.stops = [d for d in self.structure.hands if d.role == "stop"]
        self.loads = [d.name for d in self.circuit.devices.values() if d.get("kept") is True]
        self.starting = 0  # momentary devices with which a machine can be made to run
        for d in self.structure.hands:
            if d.action == "momentary" and d.role in STARTING:
                self.starting |= self.circuit.bits[d.name]
        self.stopping = sum(self.circuit.bits[d.name] for d in self.stops)
        self.status, self.why = {}, {}
        self.failing = {}  # claim -> {(state, act text)} that fail it
        self.wide = set()  # claims for which there were too many sets of states to say whether they fail surely
        self.cut_once = set()  # (stop, machine): it cuts by itself in some healthy state
        self.folded = set()  # (stop, machine): never cuts, so stop-cuts may speak for stop-beats-start
        self.idle = set()  # claims in which the act changes nothing, though a coil in its band may drop by itself
        self._running, self._powered, self._carried, self._loads = {}, {}, {}, {}
        self.shorting = False  # what is noted now came with a short of a source
        self.unshorted = {}  # status of every claim, shorts left out: what they cut is told by interlock-holds
        self.restless = False  # some act never came to rest: what follows from there is not defined
        self.clashes = {
            " ".join(sorted(names)): sum(self.circuit.bits[n] for n in names) for names in self.structure.clashes()
        }
        self._open_claims()
        self._judge_moving(0, None, x.cold)
        for state, steps in x.steps.items():
            for act, outcome in steps:
                self.shorting = outcome.shorted
                self._judge_act(state, act, outcome.ends)
                self.shorting = False
                self._judge_moving(state, act, outcome)
            self._judge_dwelling(state, {act.text: outcome for act, outcome in steps})
        if not fault:
            IsolatorClaims(self).judge()
        self._finish()

    def _open_claims(self):
        for m in self.machines:
            for s in self.stops:
                for rule in ("stop-cuts", "stop-beats-start", "release-return", "stop-spares"):
                    self.status[rule, s.name, m] = HOLDS
            for act in self.exploration.acts.by_text.values():
                rule = self._start_rule(act, m)
                if rule:
                    self.status[rule, act.subject, m] = HOLDS
        for s in self.stops:
            for load in self.loads:
                self.status["stop-spares", s.name, load] = HOLDS
        for rule in ("contact-race", "chatter", "interlock-holds"):
            self.status[rule, "", ""] = HOLDS
        for names in self.clashes:
            self.status["interlock-holds", names, ""] = HOLDS

    def note(self, rule, subject, machine, verdict, state, act_text):
        key = (rule, subject, machine)
        if verdict == FAILS and rule in OF_ONE_STATE and machine in self.machines:
            self.failing.setdefault(key, set()).add((state, act_text))
        if not self.shorting and _WORSE[verdict] > _WORSE[self.unshorted.get(key, HOLDS)]:
            self.unshorted[key] = verdict
        if _WORSE[verdict] > _WORSE[self.status.setdefault(key, HOLDS)]:
            self.status[key] = verdict
            self.why[key] = (state, act_text)

    # what a state is

    def running(self, machine, state):
        key = (machine, state)
        if key not in self._running:
            self._running[key] = max(element_state(self.behaviour, d, state) for d in self.structure.machines[machine])
        return self._running[key]

    def powered(self, machine, state):
        """2: runs, or power reaches it though it stands; 1: maybe; 0: power is off."""
        key = (machine, state)
        if key not in self._powered:
            level = self.running(machine, state)
            if level != RUNS and any(self._fed_standing(d, state) for d in self.structure.machines[machine]):
                level = RUNS
            self._powered[key] = level
        return self._powered[key]

    def _fed_standing(self, motor, state):
        if motor.kind == "drive":
            fed, enabled, _ = drive_inputs(self.behaviour, motor, state)
            return fed and enabled
        volts = self.behaviour.volts(state)
        live = [n for n in self._motor_nets(motor) if volts.potential(n) and volts.live(n)]
        if not live:
            return False
        without = self._without(state, lambda d, what: d.kind in CONTACTORS and what == "pole")
        return any(self._live_pole(without, volts, n) is False for n in live)

    def _motor_nets(self, motor):
        return [self.circuit.nets[n] for t, n in motor.terminals.items() if len(t) < 3]  # not the inputs of a drive

    def _without(self, state, left_out):
        pairs = zip(self.circuit.contacts, self.circuit.owners)
        joined = [(a, b) for (a, b, mask, v), (d, what, _) in pairs if state & mask == v and not left_out(d, what)]
        return class_of_nets(self.circuit.size, joined)

    def _live_pole(self, cls, volts, net):
        """Whether a pole above 50 V to earth is joined to a net."""
        poles = [n for s in volts.fed for _, n, _, bit in s.poles if not volts.state & bit]
        return any(cls[p] == cls[net] and volts.live(p) for p in poles)

    def carried(self, overload, machine, state):
        """Whether the overload's poles stand between the machine and a source in this state."""
        key = (overload, machine, state)
        if key not in self._carried:
            volts = self.behaviour.volts(state)
            cls = self._without(state, lambda d, what: d.name == overload and what == "always")
            poles = [n for s in volts.fed for _, n, _, bit in s.poles if not state & bit]
            self._carried[key] = any(
                volts.potential(n) and not any(cls[p] == cls[n] for p in poles)
                for d in self.structure.machines[machine] for n in self._motor_nets(d)
            )
        return self._carried[key]

    def load(self, name, state):
        key = (name, state)
        if key not in self._loads:
            self._loads[key] = element_state(self.behaviour, self.circuit.devices[name], state)
        return self._loads[key]

    # rules

    def _start_rule(self, act, machine):
        """The rule under which this act must not start this machine, or None."""
        verb, own = act.verb, act.subject in self.structure.own[machine]
        if verb == "restore":
            return "power-return"
        if verb in ("cool", "reset", "close", "replace"):
            return "trip-return"
        d = self.circuit.devices.get(act.subject)
        if d is not None and d.is_hand:
            if d.role == "stop":
                return "release-return" if verb in OFF_VERBS else "own-start"
            if own:
                return None
            return "release-return" if d.role == "reset" else "own-start"
        return "own-start"

    def _judge_act(self, state, act, ends):
        d = self.circuit.devices.get(act.subject)
        hand = d is not None and d.is_hand
        bit = self.circuit.bits[d.name] if hand else 0
        alone = not self.exploration.acts.held(state) & ~bit
        for m in self.machines:
            rule = self._start_rule(act, m) if alone else None
            if rule and self.running(m, state) == STOPPED:
                self.note_change(rule, act.subject, m, state, act, [self.running(m, e) for e in ends], STOPPED)
            if hand:
                self._judge_stopped(state, act, ends, m, d)
            if self.running(m, state) == STOPPED:
                self._judge_tripped(state, act, ends, m)
        if hand and act.verb in ON_VERBS and d.role == "stop":
            self._judge_stop(state, act, ends, d)
        if act.verb == "trip":
            for m in self.machines:
                if self.running(m, state) != STOPPED and self.carried(act.subject, m, state):
                    self._note_cut("overload-cuts", act.subject, m, state, act, ends)

    def note_change(self, rule, subject, machine, state, act, levels, before):
        """A change for the worse; not one that the state could have made by itself, inside a coil's band."""
        verdict = judge(levels)
        if verdict == PERHAPS:
            state_of = self.load if machine in self.loads else self.running
            if any(state_of(machine, e) != before for e in self.behaviour.settle(state).ends):
                return
        self.note(rule, subject, machine, verdict, state, act.text)

    def _note_cut(self, rule, subject, machine, state, act, ends):
        """Power is to be off in every end."""
        left = [e for e in ends if rule != "overload-cuts" or self._past_overload(subject, machine, state, e)]
        verdict = judge([self.powered(machine, e) if e in left else 0 for e in ends])
        if verdict == PERHAPS and self.running(machine, state) == RUNS:
            bit = self.circuit.bits[subject]
            if {e & ~bit for e in ends} == set(self.behaviour.settle(state).ends):
                self.idle.add((rule, subject, machine))
        self.note(rule, subject, machine, verdict, state, act.text)

    def _judge_tripped(self, state, act, ends, machine):
        """A start while an overload that then carries the motor's current is tripped."""
        for o in self.circuit.devices.values():
            bit = self.circuit.bits[o.name] if o.kind == "overload" else 0
            if not state & bit:
                continue
            levels = [
                self.running(machine, e) if e & bit and self.running(machine, e) != STOPPED
                and self.carried(o.name, machine, e)
                and (not self._start_held(e) or self.powered(machine, e & ~self._start_held(e)) > 0) else 0
                for e in ends
            ]
            self.note("overload-cuts", o.name, machine, judge(levels), state, act.text)

    def _past_overload(self, overload, machine, state, end):
        """With a start held meanwhile the tripped overload must not carry the motor any more, unless it is the held hand
        itself that feeds it, as in an in-line starter; another contactor may have an overload of its own."""
        if not self._start_held(state):
            return True
        return self.carried(overload, machine, end) and self.powered(machine, end & ~self._start_held(end)) > 0

    def _start_held(self, state):
        """Start devices with a hand on them."""
        return self.exploration.acts.held(state) & self.starting

    def _may_stop_itself(self, machine, state):
        return any(self.powered(machine, e) == 0 for e in self.behaviour.settle(state).ends)

    def _judge_stop(self, state, act, ends, stop):
        healthy = not state & (self.exploration.acts.every_source | self.exploration.acts.fuse_bits)
        for m in self.machines:
            if self.running(m, state) == STOPPED:
                continue
            if not self._start_held(state):
                alone = healthy and not state & self.stopping
                if alone and any(self.powered(m, e) == 0 for e in ends) and not self._may_stop_itself(m, state):
                    self.cut_once.add((stop.name, m))
                self._note_cut("stop-cuts", stop.name, m, state, act, ends)
            if healthy and self.running(m, state) == RUNS:
                lost = [RUNS - self.running(m, e) for e in ends]
                self.note_change("stop-spares", stop.name, m, state, act, lost, RUNS)
        for load in self.loads:
            if healthy and self.load(load, state) == RUNS:
                lost = [RUNS - self.load(load, e) for e in ends]
                self.note_change("stop-spares", stop.name, load, state, act, lost, RUNS)

    def _judge_stopped(self, state, act, ends, m, d):
        """Acts on start devices while a stop is actuated."""
        stops = [s.name for s in self.stops if state & self.circuit.bits[s.name]]
        if not stops or d.role not in STARTING + ("select",):
            return
        before = self.running(m, state)
        # What runs on with a device turned on that stays so is the business of stop-cuts; only a momentary one is let go.
        let_go = act.verb in OFF_VERBS and d.action == "momentary"
        if before != STOPPED and not let_go:
            return
        levels = [self.running(m, e) for e in ends]
        if before != STOPPED:  # kept running by the hand alone
            levels = [RUNS if v == STOPPED and before == RUNS else MAYBE if v != before else 0 for v in levels]
        for s in stops:
            self.note_change("stop-beats-start", s, m, state, act, levels, before)

    def _judge_moving(self, state, act, outcome):
        self.restless |= outcome.restless
        text = act.text if act else "cold"
        passed, one_hand = outcome.visited, self.exploration.with_one_hand(state, outcome)
        # What motors feed back into a line lost by itself, or past a blown fuse, may or may not keep coils in.
        plain = one_hand and not (act and self.exploration.acts.leaves_short_of_a_line(act, state))
        if plain and outcome.race:
            self.note("contact-race", "", "", FAILS, state, text)
        if plain and outcome.chatter:
            self.note("chatter", "", "", FAILS, state, text)
        if not one_hand and any(s & bits == bits for s in passed for bits in self.clashes.values()):
            # In together by moving at the very same moment past each other's contacts: exclusion by contacts alone
            # is a note. In together one after the other is more than that, however many hands it takes.
            passed = perform_one_by_one(self.behaviour, act, state).visited
        for names, bits in self.clashes.items():
            if any(s & bits == bits for s in passed):
                self.note("interlock-holds", names, "", FAILS, state, text)
        if outcome.shorted:
            self.note("interlock-holds", "", "", FAILS, state, text)

    def _judge_dwelling(self, state, outcomes):
        """A change-over contact that dwells open must not lead elsewhere than one that does not.

        As in every race only what must move counts (DESIGN 4.2, 4.3): a coil in its band that drops while the contact
        dwells may as well drop without it, which is a matter of volts and not of timing. Without an end it is chatter.
        """
        for text, slow in outcomes.items():
            fast = outcomes.get(text.removesuffix(" slow"))
            if text.endswith(" slow") and slow.sure and fast.sure and slow.sure != fast.sure:
                if self.exploration.with_one_hand(state, slow) and not self.exploration.acts.is_short_of_a_line(state):
                    self.note("contact-race", "", "", FAILS, state, text)

    def _commanded(self, timer, machine, chain=()):
        """Whether a timer comes in by a start given for the machine only, and every stop takes it back.

        What it starts when it runs out was started by somebody: a sequence. Stops that nothing joins to the machine's
        circuit have no say in this.
        """
        stops = {stop.name for stop in self.stops} & self.structure.reach(machine)
        stopping = sum(self.circuit.bits[name] for name in stops)
        d, x, own = self.circuit.devices[timer], self.exploration, self.structure.own[machine]
        bit = self.circuit.bits[timer]
        relays = sum(self.circuit.bits[c.name] for c in self.circuit.devices.values() if c.kind in CONTACTORS)
        if d.get("delay", "on") != "on" or any(state & bit for state in x.cold.ends):
            return False
        for state, steps in x.steps.items():
            for act, outcome in steps:
                if not any(end & bit for end in outcome.ends):
                    continue
                hand = self.circuit.devices.get(act.subject)
                mine = self.circuit.bits[hand.name] if hand is not None and hand.is_hand else 0
                pressed = mine and act.verb in ON_VERBS
                if state & bit:
                    if pressed and hand.name in stops:
                        return False
                elif x.acts.held(state) & ~mine:
                    continue  # a note at most
                elif act.verb == "restore" and state & relays:
                    continue  # one of them rode out the dip: what was started before it was never stopped
                elif act.verb == "elapse":
                    if act.subject not in chain and not self._commanded(act.subject, machine, (*chain, timer)):
                        return False
                elif not pressed or act.subject not in own or state & stopping:
                    return False
        return True

    def _shown_surely(self, failing):
        """Whether some acts end in failing whichever of the states they may lead to is the case; None: too many sets.

        Every witness, replayed, ends in the failing state it states (DESIGN 5): one of several states is not enough.
        """
        if any(state in self.sure for state, _ in failing):
            return True
        for states, steps in self._sets():
            if any(all((state, text) in failing for state in states) for text in steps):
                return True
        return None if len(self._known_sets) > MOST_SETS else False

    def _met_surely(self):
        """States to which acts lead that have one end only, all the way from cold."""
        x = self.exploration
        queue = list(x.cold.ends) if len(x.cold.ends) == 1 else []
        sure = set(queue)
        for state in queue:  # grows while it is walked
            for _, outcome in x.steps.get(state, ()):
                if len(outcome.ends) == 1 and outcome.ends[0] not in sure:
                    sure.add(outcome.ends[0])
                    queue.append(outcome.ends[0])
        return sure

    def _sets(self):
        """[(states that the same acts may lead to, {act text: the same after one act more})], from cold."""
        if self._known_sets is None:
            x = self.exploration
            ends_of = {state: {act.text: outcome.ends for act, outcome in steps} for state, steps in x.steps.items()}
            self._known_sets = {frozenset(x.cold.ends): {}}
            queue = list(self._known_sets)
            for states in queue:  # grows while it is walked
                texts = {act.text: act for s in states for act, _ in x.steps.get(s, ())}
                steps = self._known_sets[states]
                for text, act in texts.items():
                    after = set()
                    for s in states:
                        ends = ends_of.get(s, {}).get(text)
                        if ends is None:  # a timer that does not run in this one; else an act that changes nothing in it
                            ends = (s,) if act.verb == "elapse" else perform(self.behaviour, act, s).ends
                        after.update(ends)
                    steps[text] = ends = frozenset(after)
                    if ends not in self._known_sets:
                        self._known_sets[ends] = {}
                        queue.append(ends)
                if len(queue) > MOST_SETS:
                    break
        return self._known_sets.items()

    def _finish(self):
        self.sure, self._known_sets = self._met_surely(), None
        for key, failing in self.failing.items():
            if self.status[key] == FAILS:
                shown = self._shown_surely(failing)
                if shown is None:
                    self.wide.add(key)
                elif not shown:
                    self.status[key] = PERHAPS
                    if self.unshorted.get(key) == FAILS:
                        self.unshorted[key] = PERHAPS
        for rule, subject, machine in list(self.status):
            d = self.circuit.devices.get(subject)
            if rule == "own-start" and d is not None and d.kind == "timer" and self._commanded(subject, machine):
                self.status[rule, subject, machine] = HOLDS
        for rule, s, m in self.status:
            if rule == "stop-cuts" and self.status[rule, s, m] != HOLDS and (s, m) not in self.cut_once:
                self.folded.add((s, m))

    def can_short(self):
        """Whether two poles of a source would be joined if every contact there is were closed."""
        cls = class_of_nets(self.circuit.size, [(a, b) for a, b, _, _ in self.circuit.contacts])
        return any(len({cls[net] for _, net, _, _ in s.poles}) < len(s.poles) for s in self.circuit.sources)

    def by_structure(self, stop, machine):
        """Whether the claim that this stop cuts this machine needs no search of states."""
        out, joined = self.structure.never_held(stop)
        cls = class_of_nets(self.circuit.size, joined + [(a, b) for a, b, _, _ in self.circuit.fixed])
        for motor in self.structure.machines[machine]:
            ends = [{n for n in self.structure.ends if cls[n] == cls[t]} for t in self._motor_nets(motor)]
            poles = set().union(*ends)
            if len(poles) > 1 or motor.kind == "drive":
                return False
        return True
