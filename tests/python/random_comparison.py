"""One random circuit given to the engine and to the reference, and what came of it; many of them side by side."""

import csv
import multiprocessing
import os
import pathlib
import random
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field

from engine_comparison import differences, replay_difference
from reference.claims import Claims
from reference.explore import TooLarge
from reference.netlist import netlist
from reference.random_arrangements import random_arrangement
from reference.random_circuits import random_circuit
from reference.tally import counted

MOST_STATES = 1500  # of one circuit; larger ones are left out to keep the run short
KNOWN = pathlib.Path(__file__).with_name("known_differences.csv")


@dataclass
class Compared:
    """What came of one circuit. The same number gives the same circuit at every run."""

    number: int
    replay: tuple | None  # where random acts first lead to different states
    too_large: bool = False
    restless: bool = False
    claims: int = 0
    differences: dict = field(default_factory=dict)  # (rule, subject, machine) -> (reference, engine)
    tally: dict = field(default_factory=dict)


def circuit_rows(number):
    """Every fourth circuit is a small workshop, the others are single rungs with more mistakes."""
    return random_arrangement(number) if number % 4 == 3 else random_circuit(number)


def compare(number):
    rows = circuit_rows(number)
    found = Compared(number, replay_difference(rows, random.Random(number)))
    try:
        claims = Claims(netlist(rows), MOST_STATES)
    except TooLarge:
        found.too_large = True
        return found
    found.restless = claims.restless
    found.differences = differences(rows, claims)
    decided = [rule for rule, _, _ in claims.status if rule == "chatter" or not claims.restless]
    found.claims = len(decided)
    found.tally = {key: value for key, value in counted(claims).items() if key[0] in decided}
    return found


def side_by_side(compare_one, first, many, at_a_time):
    """What it gives of the circuits first, first + 1, ...; on every processor there is, so many handed over at a time."""
    workers = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    with ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn")) as pool:
        return list(pool.map(compare_one, range(first, first + many), chunksize=at_a_time))


def compare_many(first, many):
    """Compared of the circuits first, first + 1, ..."""
    return side_by_side(compare, first, many, 20)


def known_differences():
    """{(number, claim, (reference, engine)): reason} of the claims on which the two are known to differ."""
    with KNOWN.open(newline="") as file:
        return {
            (int(r["circuit"]), (r["rule"], r["subject"], r["machine"]), (r["reference"], r["engine"])): r["reason"]
            for r in csv.DictReader(file)
        }


def take_off_what_came_right(first, many):
    """Rewrites the list without the lines, of these circuits, on which the two no longer differ so."""
    found = {(c.number, claim, pair) for c in compare_many(first, many) for claim, pair in c.differences.items()}
    known = known_differences()
    kept = {key: why for key, why in known.items() if key in found or not first <= key[0] < first + many}
    with KNOWN.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["circuit", "rule", "subject", "machine", "reference", "engine", "reason"])
        writer.writerows((number, *claim, *pair, why) for (number, claim, pair), why in kept.items())
    print(f"{len(known) - len(kept)} lines taken off, {len(kept)} left")


if __name__ == "__main__":
    take_off_what_came_right(0, 2200)
