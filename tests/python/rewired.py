"""The circuits of tests/data/circuits with one to three mistakes more, as wiring is mistaken: drawn at random by number."""

import random
from dataclasses import dataclass, field

import circuit_data
from engine_comparison import differences, replay_difference, rows_of
from fault_comparison import wiring_differences
from random_comparison import side_by_side
from reference.claims import FAILS, HOLDS, Claims
from reference.explore import TooLarge
from reference.netlist import netlist

MOST_STATES = 1500  # of one circuit; larger ones are left out to keep the run short
NAMES = [name for name in circuit_data.NAMES if name != "floating-dc-control-with-monitor"]  # a kind the reference lacks
SENSES = {"1": "3", "3": "1"}  # the last digit of a break contact's first terminal, and of a make contact's


def rewired(number):
    """(name of the circuit, rows of the rewired one, what was changed). The same number gives the same at every run."""
    rng, name = random.Random(number), NAMES[number % len(NAMES)]
    rows = [(d, kind, dict(nets), dict(given)) for d, kind, nets, given in rows_of(circuit_data.circuit(name))]
    mistakes = [move_a_wire, move_a_wire, exchange_two_wires, leave_a_device_out, join_two_nets, exchange_alike, turn_a_contact]
    changed = []
    while not changed:
        for _ in range(rng.choice([1, 1, 1, 2, 2, 3])):
            changed += [change for change in [rng.choice(mistakes)(rows, rng)] if change]
    return name, rows, changed


def wires(rows):
    return [(row, terminal) for row in rows if not row[1].startswith("mains") for terminal in row[2]]


def nets_of(rows):
    return sorted({net for row in rows for net in row[2].values()})


def move_a_wire(rows, rng):
    row, terminal = rng.choice(wires(rows))
    net = rng.choice(nets_of(rows))
    change = f"{row[0]}:{terminal} from {row[2][terminal]} to {net}"
    row[2][terminal] = net
    return change


def exchange_two_wires(rows, rng):
    (one, here), (other, there) = rng.sample(wires(rows), 2)
    one[2][here], other[2][there] = other[2][there], one[2][here]
    return f"{one[0]}:{here} with {other[0]}:{there}"


def exchange_alike(rows, rng):
    """The same terminal of two devices of one kind."""
    one, here = rng.choice(wires(rows))
    others = [row for row in rows if row is not one and row[1] == one[1] and here in row[2]]
    if not others:
        return None
    other = rng.choice(others)
    one[2][here], other[2][here] = other[2][here], one[2][here]
    return f"{one[0]}:{here} with {other[0]}:{here}"


def leave_a_device_out(rows, rng):
    row = rng.choice([row for row in rows if not row[1].startswith(("mains", "motor", "drive"))])
    if any(row[0] == given.get("interlocked_with") for _, _, _, given in rows):
        return None
    rows.remove(row)
    return f"without {row[0]}"


def join_two_nets(rows, rng):
    kept, gone = rng.sample(nets_of(rows), 2)
    for row in rows:
        row[2].update({terminal: kept for terminal, net in row[2].items() if net == gone})
    return f"{gone} joined to {kept}"


def turn_a_contact(rows, rng):
    """A break contact for a make contact, or the other way."""
    turning = [
        (row, t) for row, t in wires(rows)
        if len(t) == 2 and t.isdigit() and t[0] not in "59" and t[1] in SENSES and t[0] + SENSES[t[1]] not in row[2]
        and t[0] + str(int(t[1]) + 1) in row[2]
    ]
    if not turning:
        return None
    row, first = rng.choice(turning)
    for old, new in ((first, first[0] + SENSES[first[1]]), (first[0] + str(int(first[1]) + 1), first[0] + str(int(SENSES[first[1]]) + 1))):
        row[2][new] = row[2].pop(old)
    return f"{row[0]}:{first} turned"


@dataclass
class Compared:
    """What came of one rewired circuit."""

    number: int
    circuit: str
    changed: list
    left_out: str = ""  # why it was not compared
    replay: tuple | None = None  # where random acts first lead to different states
    claims: int = 0
    failing: int = 0
    differences: dict = field(default_factory=dict)  # (rule, subject, machine) or the rule of a wiring -> (reference, engine)


def compare(number):
    name, rows, changed = rewired(number)
    found = Compared(number, name, changed, replay=replay_difference(rows, random.Random(number)))
    try:
        claims = Claims(netlist(rows), MOST_STATES)
    except TooLarge:
        found.left_out = "too large"
        return found
    if claims.restless:
        found.left_out = "never comes to rest"
    elif FAILS in (status for (rule, *_), status in claims.status.items() if rule == "interlock-holds"):
        found.left_out = "shorts a source"  # what its protection leaves is judged on by each in its own way
    else:
        found.claims = len(claims.status)
        found.failing = sum(status != HOLDS for status in claims.status.values())
        found.differences = differences(rows, claims) | wiring_differences(rows, claims.exploration)
    return found


def compare_many(first, many):
    """Compared of the circuits first, first + 1, ..."""
    return side_by_side(compare, first, many, 10)
