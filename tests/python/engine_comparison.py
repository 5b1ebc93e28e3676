"""What the engine says of a circuit, put in the words of the reference, and where the two differ."""

from reference.claims import FAILS, HOLDS, PERHAPS
from reference.netlist import COIL_KINDS, MOTOR_KINDS, netlist
from reference.replay import Replay
from reference.tally import worse

import stopspan

RULES = [
    "stop-cuts", "stop-spares", "stop-beats-start", "power-return", "release-return", "trip-return", "own-start",
    "overload-cuts", "interlock-holds", "isolator-clears", "contact-race", "chatter",
]
# One claim for the whole circuit: the two sides group the armatures concerned in their own ways.
OF_THE_CIRCUIT = {"contact-race", "chatter"}
WATCHED = MOTOR_KINDS | COIL_KINDS | {"latched-contactor", "lamp", "load", "fuse"}


def circuit_of(rows):
    circuit = stopspan.Circuit()
    for name, kind, terminals, parameters in rows:
        circuit.add(name, kind, terminals, **parameters)
    return circuit


def rows_of(circuit):
    return [(d.designation, d.kind, dict(d.terminals), dict(d.parameters)) for d in circuit.devices]


def replay_difference(rows, rng, acts=30):
    """(acts, what, reference, engine) where random acts first lead to different states, or None."""
    reference, engine = Replay(netlist(rows)), circuit_of(rows).replay()
    names = [name for name, kind, _, _ in rows if kind in WATCHED]
    nets = sorted({net for row in rows for net in row[2].values()})
    done = []
    for _ in range(acts):
        if reference.restless:
            return None  # what follows is not defined
        for name in names:
            if reference.state(name) != engine.state(name):
                return done, name, reference.state(name), engine.state(name)
        for net in nets:
            if reference.live(net) != engine.live(net):
                return done, f"net {net}", reference.live(net), engine.live(net)
        possible = [
            text for text, act in reference.acts.by_text.items()
            if "all sources" not in text and any(reference.acts.possible(act, state) for state in reference.states)
        ]
        # supply troubles are many; hands should move more often
        wanted = [text for text in possible if text.split()[0] not in ("lose", "blow") or rng.random() < 0.4]
        if not wanted:
            return None
        text = rng.choice(wanted)
        done.append(text)
        reference.act(text)
        engine.act(text)
    return None


def engine_findings(rows, claims, rules):
    """What the engine finds with every stop asked to cut every machine, and again with every stop asked to spare it."""
    circuit = circuit_of(rows)
    pairs = [(stop.name, machine) for stop in claims.stops for machine in claims.machines]
    found = list(circuit.check(asked=dict.fromkeys(pairs, "cut"), rules=rules, repairs=False).findings)
    if "stop-spares" in rules:
        kept = circuit.check(asked=dict.fromkeys(pairs, "keep"), rules=["stop-spares"], repairs=False).findings
        found += [finding for finding in kept if finding.subjects[1] in claims.machines]
    # Of a machine that nothing feeds the reference says that all holds, the engine that nothing is proven.
    return [finding for finding in found if finding.status != "note" and not finding.text.startswith("No source feeds")]


def keys_of(finding, claims):
    """The claims a finding speaks of, as (rule, subject, machine)."""
    rule, subjects = finding.rule, finding.subjects
    if rule in OF_THE_CIRCUIT:
        return [(rule, "", "")]
    if rule == "interlock-holds":
        names = " ".join(sorted(subjects))
        return [(rule, names if names in claims.clashes else "", "")]
    if rule == "isolator-clears":
        return [(rule, subjects[0], each) for each in subjects[1:]]
    return [(rule, *subjects[:2])]


def engine_statuses(rows, claims, rules=None):
    """(rule, subject, machine) -> status of what the engine says does not hold."""
    found = {}
    for finding in engine_findings(rows, claims, rules or RULES):
        for key in keys_of(finding, claims):
            status = str(finding.status)
            found[key] = status if status == "undecided" else worse(found.get(key, HOLDS), status)
    return found


def reference_statuses(rows, claims):
    single = {name for name, kind, _, _ in rows if kind == "mains-1ph"}
    found = {}
    for (rule, subject, machine), status in claims.status.items():
        source = subject.split(":")[0]
        key = (rule, source if source in single else subject, machine)  # one line pole lost is the source lost
        found[key] = worse(found.get(key, HOLDS), status)
    return {key: status for key, status in found.items() if status != HOLDS}


def differences(rows, claims):
    """{claim: (reference, engine)} of the claims on which the two differ."""
    # Where armatures never come to rest nothing is defined but that.
    rules = ["chatter"] if claims.restless else RULES
    ours, theirs = reference_statuses(rows, claims), engine_statuses(rows, claims, rules)
    found = {}
    for key in sorted(set(ours) | set(theirs)):
        pair = (ours.get(key, HOLDS), theirs.get(key, HOLDS))
        if key[0] in rules and pair[0] != pair[1] and not _told_elsewhere(key, ours, theirs, claims):
            found[key] = pair
    return found


def _told_elsewhere(key, ours, theirs, claims):
    """Differences of telling, not of truth: each needs a finding of the engine that says as much."""
    rule, subject, machine = key
    if key in claims.wide and theirs.get(key) == PERHAPS:
        return True
    if rule == "stop-beats-start" and (subject, machine) in claims.folded:
        # DESIGN 5 folds it into stop-cuts where the stop never cuts; saying both hides nothing.
        return theirs.get(("stop-cuts", subject, machine)) in (FAILS, PERHAPS)
    if key in claims.idle:
        # The act does nothing and a coil in its band may drop by itself: that it `fails` to act and that the machine
        # `maybe` runs on are both true, and neither holds.
        return {ours.get(key), theirs.get(key)} == {FAILS, PERHAPS}
    if rule == "power-return" and (":" in subject or subject == "all sources"):
        # one finding for a source stands for its poles; one for each source for all of them
        wider = [k for k in ours if k[0] == rule and k[2] == machine and _covers(k[1], subject)]
        return any(worse(ours[k], ours.get(key, HOLDS)) == ours[k] and theirs.get(k) == ours[k] for k in wider)
    if rule == "own-start" and ":" in subject and claims.circuit.devices[subject.split(":")[0]].kind == "dc-supply":
        # Without one of its two poles a DC supply is as good as lost: the engine tells of the loss and of both poles.
        lost = (rule, subject.split(":")[0], machine)
        return ours.get(lost) == theirs.get(lost) == theirs.get(key)
    if rule == "stop-spares" and claims.unshorted.get(key, HOLDS) == theirs.get(key, HOLDS):
        # A stop that shorts a source cuts all that hangs on it: DESIGN 4.2 has interlock-holds tell of that.
        return any(k[0] == "interlock-holds" and status == FAILS for k, status in theirs.items())
    if key == ("interlock-holds", "", ""):  # a short by contactors that must not be in together is told as theirs
        return any(k[0] == rule and k[1] and theirs.get(k) == ours[k] for k in ours)
    return False


def _covers(wider, subject):
    return wider not in (subject, "all sources") and (subject == "all sources" or subject.startswith(wider + ":"))
