"""What the engine says of a circuit, put in the words of the reference, and where the two differ."""

import random

from reference.claims import FAILS, HOLDS, PERHAPS
from reference.netlist import COIL_KINDS, MOTOR_KINDS, netlist
from reference.replay import Replay
from reference.tally import worse

import stopspan

# Not yet among them, as the two do not agree on all circuits: stop-spares of loads fed through impedances,
# interlock-holds of shorts through other contacts than poles, contact-race where only a fuse tells the ends apart.
RULES = [
    "stop-cuts", "stop-beats-start", "power-return", "release-return", "trip-return", "own-start", "overload-cuts",
    "chatter",
]
# One claim for the whole circuit: the two sides group the armatures concerned in their own ways.
OF_THE_CIRCUIT = {"interlock-holds", "contact-race", "chatter"}
BLAMING = {"power-return", "release-return", "trip-return", "own-start", "stop-spares"}
WATCHED = MOTOR_KINDS | COIL_KINDS | {"latched-contactor", "lamp", "load", "fuse"}


def circuit_of(rows):
    circuit = stopspan.Circuit()
    for name, kind, terminals, parameters in rows:
        circuit.add(name, kind, terminals, **parameters)
    return circuit


def replay_difference(rows, seed, acts=14):
    """(acts, what, reference, engine) where random acts first lead to different states, or None."""
    rng = random.Random(seed)
    reference, engine = Replay(netlist(rows)), circuit_of(rows).replay()
    names = [name for name, kind, _, _ in rows if kind in WATCHED]
    nets = sorted({net for row in rows for net in row[2].values()})
    done = []
    for _ in range(acts):
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


def asked_of(claims):
    """Every stop is asked to cut every machine, so that every pair is judged."""
    return {(stop.name, machine): "cut" for stop in claims.stops for machine in claims.machines}


def engine_statuses(rows, claims):
    """(rule, subject, machine) -> status of what the engine says does not hold."""
    verdict = circuit_of(rows).check(asked=asked_of(claims), rules=RULES, repairs=False)
    found = {}
    for finding in verdict.findings:
        if finding.status == "note":
            continue
        key = (finding.rule, *finding.subjects[:2])
        if finding.rule in OF_THE_CIRCUIT:
            key = (finding.rule, "", "")
        status = str(finding.status)
        found[key] = status if status == "undecided" else worse(found.get(key, HOLDS), status)
    return found


def reference_statuses(rows, claims):
    single = {name for name, kind, _, _ in rows if kind == "mains-1ph"}
    found = {}
    for (rule, subject, machine), status in claims.status.items():
        if rule not in RULES or rule == "stop-spares" and machine in claims.machines:
            continue  # not asked
        source = subject.split(":")[0]
        key = (rule, source if source in single else subject, machine)  # one line pole lost is the source lost
        found[key] = worse(found.get(key, HOLDS), status)
    return {key: status for key, status in found.items() if status != HOLDS}


def differences(rows, claims):
    """{claim: (reference, engine)} of the claims on which the two differ."""
    ours, theirs = reference_statuses(rows, claims), engine_statuses(rows, claims)
    found = {}
    for key in sorted(set(ours) | set(theirs)):
        pair = (ours.get(key, HOLDS), theirs.get(key, HOLDS))
        if pair[0] != pair[1] and not _told_elsewhere(key, pair, ours, theirs, claims):
            found[key] = pair
    return found


def _told_elsewhere(key, pair, ours, theirs, claims):
    """Differences of telling, not of truth."""
    rule, subject, machine = key
    if rule == "stop-beats-start":  # may be folded into the finding that the stop does not cut
        return ("stop-cuts", subject, machine) in ours and ("stop-cuts", subject, machine) in theirs
    if rule == "power-return" and (":" in subject or subject == "all sources"):
        # one finding for a source stands for its poles; one for each source for all of them
        wider = [k for k in ours if k[0] == rule and k[2] == machine and _covers(k[1], subject)]
        if any(worse(ours[k], pair[0]) == ours[k] and theirs.get(k) == ours[k] for k in wider):
            return True
    if key in claims.idle and set(pair) == {PERHAPS, FAILS}:
        return True  # the act does nothing, the machine may stop by itself: both words are fair
    if rule in BLAMING and machine in claims.drifting and pair == (HOLDS, PERHAPS):
        return True  # it may start or stop by itself at any moment; the engine blames the act
    return False


def _covers(wider, subject):
    return wider not in (subject, "all sources") and (subject == "all sources" or subject.startswith(wider + ":"))
