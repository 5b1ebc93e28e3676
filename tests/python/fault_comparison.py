"""What the engine says of faults, origins, earthed sides and coil volts in the words of the reference, and where they differ."""

import random
import re
from dataclasses import dataclass, field
from functools import partial

from engine_comparison import circuit_of
from random_comparison import circuit_rows, side_by_side
from reference import wiring_rules
from reference.claims import FAILS, PERHAPS
from reference.explore import TooLarge
from reference.faults import Fault, Faults, earth_faults, floating_pairs, single_faults
from reference.netlist import netlist

MOST_STATES = 60  # of a healthy circuit; with a fault it has more
MOST_WITH_A_FAULT = 360

NAMES = r"[\w-]+(?:, (?!and )[\w-]+)*"
CLAUSE = re.compile(
    r"^(?:,? ?and)? ?(?P<maybe>may )?(?:(?:is |are |be )?(?:no longer (?:be )?stopped|left fed) by (?P<trip>the trip of )?"
    rf"(?P<stops>{NAMES})(?: \(torque off, power on\))?|(?P<start>starts?) with no start given)"
)


def told(text):
    """{(what, which, machine): status} of one finding's sentence."""
    body = re.sub(r"^With (?:the fault '[^']*'|an earth fault at \S+) ", "", text)
    found = {}
    for part in body.split("; ")[:-1]:  # the last one says how it is noticed
        names, rest = re.match(rf"({NAMES}) (.*)$", part).groups()
        while rest:
            clause = CLAUSE.match(rest)
            assert clause, text
            rest = rest[clause.end() :]
            status = PERHAPS if clause["maybe"] else FAILS
            for machine in names.split(", "):
                if clause["start"]:
                    found["start", "", machine] = status
                for which in (clause["stops"] or "").split(", "):
                    if which:
                        found["trip" if clause["trip"] else "stop", which, machine] = status
    return found


def engine_faults(rows, claims, rule):
    """(fault text -> what it takes away, whether all was decided, fault text -> status of its finding)."""
    circuit = circuit_of(rows)
    pairs = [(stop.name, machine) for stop in claims.stops for machine in claims.machines]
    verdict = circuit.check(asked=dict.fromkeys(pairs, "cut"), rules=[rule], repairs=False)
    found, status, undecided = {}, {}, set()
    for finding in verdict.findings:
        if "on a floating supply" in finding.text:
            continue  # see pair_differences()
        named = re.search(r"'([^']*)'|earth fault at (\S+)", finding.text)
        fault = named[1] or "earth " + named[2]
        if finding.text.startswith("Not decided"):
            undecided.add(fault)
        else:
            found[fault], status[fault] = told(finding.text), str(finding.status)
    return found, undecided, status


def key_of(text, rows):
    """Faults that are the same one have the same key."""
    verb, *what = text.split()
    if verb == "bridge":
        return (verb, *sorted(what))
    if verb == "break":  # one wire with two ends
        name, terminal = what[0].split(":")
        net = next(row[2][terminal] for row in rows if row[0] == name)
        ends = [f"{row[0]}:{t}" for row in rows for t, n in row[2].items() if n == net]
        return (verb, ends[0] if len(ends) == 2 else what[0])
    return (verb, *what)


def fault_differences(rows, most=None, rng=None, healthy_limit=MOST_STATES, limit=MOST_WITH_A_FAULT):
    """([(fault, reference, engine)], how many faults, how many of them take something away, healthy claims)."""
    devices = netlist(rows)
    faults = Faults(devices, limit, healthy_limit)
    if faults.healthy.restless:
        return [], 0, 0, faults.healthy
    different, many, taking = [], 0, 0
    for rule, listed in (("earth-fault", earth_faults(devices)), ("single-fault", single_faults(devices))):
        engine, undecided, status = engine_faults(rows, faults.healthy, rule)
        engine = {key_of(text, rows): lost for text, lost in engine.items()}
        status = {key_of(text, rows): word for text, word in status.items()}
        known = {key_of(f.text, rows) for f in listed}
        different += [(" ".join(key), "not a fault", lost) for key, lost in engine.items() if key not in known]
        if most is not None and len(listed) > most:
            listed = rng.sample(listed, most)
        for fault in listed:
            key = key_of(fault.text, rows)
            if " ".join(key) in undecided:
                different.append((fault.text, "decided", "undecided"))
                continue
            try:
                lost = faults.lost(fault)
            except TooLarge:
                continue
            if lost is None:
                continue
            many += 1
            taking += bool(lost)
            seen = {each: word for each, word in engine.get(key, {}).items() if each[2] in faults.ever}
            if set(lost) != set(seen):
                different.append((fault.text, lost, seen))
            elif rule == "earth-fault" and lost:
                worst = FAILS if FAILS in lost.values() else PERHAPS
                if status[key] != worst:
                    different.append((fault.text, lost, status[key]))
    different += [("earth faults in pairs", machine, *how) for machine, how in pair_differences(rows, faults).items()]
    return different, many, taking, faults.healthy


def pair_differences(rows, faults):
    """{machine: (reference, engine)} of two earth faults on a floating supply, where they differ."""
    devices, claims = netlist(rows), faults.healthy
    pairs = floating_pairs(devices)
    if not pairs or claims.restless:
        return {}
    alone = {}
    for fault in earth_faults(devices):
        for _, _, machine in faults.lost(fault) or ():
            alone.setdefault(fault.what[0], set()).add(machine)
    worst = {}
    for a, b in pairs:
        for (_, _, machine), status in (faults.lost(Fault("bridge", (a, b))) or {}).items():
            if machine not in alone.get(a, set()) | alone.get(b, set()) and worst.get(machine) != FAILS:
                worst[machine] = status
    asked = {(stop.name, machine): "cut" for stop in claims.stops for machine in claims.machines}
    verdict = circuit_of(rows).check(asked=asked, rules=["earth-fault"], repairs=False)
    told = {
        machine: {"fails": FAILS, "maybe": PERHAPS}.get(str(finding.status), str(finding.status))
        for finding in verdict.findings if "on a floating supply" in finding.text
        for machine in set(finding.subjects) & faults.ever
    }
    return {m: (worst.get(m), told.get(m)) for m in sorted({*worst, *told}) if worst.get(m) != told.get(m)}


def wiring_differences(rows, exploration):
    """{rule: (reference, engine)} where they differ."""
    circuit = exploration.circuit
    rules = ["one-origin", "earthed-side", "coil-volts"]
    verdict = circuit_of(rows).check(asked={}, rules=rules, repairs=False)
    told = [f for f in verdict.findings if f.status != "note"]
    poles = wiring_rules.Wiring(circuit).poles
    joined, borrowed = wiring_rules.one_origin(exploration)
    origins = {
        tuple(sorted(", ".join(f"{s.name}:{pole}" for s, pole in poles[net]) for net in pair)) for pair in joined
    } | {(name, *sorted(loads)) for name, loads in borrowed.items()}
    ours = {
        "one-origin": origins,
        "earthed-side": {(name,) for name in wiring_rules.earthed_side(circuit)},
        "coil-volts": {(name,) for name in wiring_rules.coil_volts(exploration)},
    }
    theirs = {rule: set() for rule in rules}
    for f in told:
        if f.rule != "one-origin":
            theirs[f.rule].add((f.subjects[0],))
        elif f.witness.ends_in.endswith("joined"):
            theirs[f.rule].add(tuple(sorted(f.subjects)))
        else:
            theirs[f.rule].add((f.subjects[0], *sorted(f.subjects[1:])))
    return {rule: (ours[rule], theirs[rule]) for rule in rules if ours[rule] != theirs[rule]}


@dataclass
class Compared:
    """What came of one random circuit."""

    number: int
    too_large: bool = False
    fault_differences: list = field(default_factory=list)
    wiring_differences: dict = field(default_factory=dict)
    faults: int = 0
    taking: int = 0


def compare(number, each):
    rows, found = circuit_rows(number), Compared(number)
    try:
        most, rng = each or None, random.Random(number)
        found.fault_differences, found.faults, found.taking, healthy = fault_differences(rows, most, rng)
    except TooLarge:
        found.too_large = True
        return found
    if not healthy.restless:
        found.wiring_differences = wiring_differences(rows, healthy.exploration)
    return found


def compare_many(first, many, each):
    """Compared of the circuits first, first + 1, ...; of each so many faults, or with 0 all."""
    return side_by_side(partial(compare, each=each), first, many, 4)
