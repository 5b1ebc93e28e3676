"""Debian's hardware model checker `berkeley-abc` on the claims of an ideal model."""

import re
import shutil
import subprocess

CHECKER = shutil.which("berkeley-abc")
# Latches and gates that are equal in every reachable state become one, then property-directed reachability on what is
# left, going on after an output is found true.
COMMANDS = "read_aiger {path}; scorr; pdr -a"


MACHINES_A_RUN = 10  # the checker's effort grows faster than the number of machines it sees at once


def broken_claims(model, folder, seconds=120):
    """(claims that some acts from cold break, (stop, machine) of which the stop alone once cuts the machine).

    Raises RuntimeError when the settling model is not right for the circuit, or the checker leaves anything undecided.
    """
    broken, cut = set(), set()
    machines = list(dict.fromkeys(machine for _, _, machine in model.claims))
    for first in range(0, len(machines), MACHINES_A_RUN):
        some = set(machines[first : first + MACHINES_A_RUN])
        claims = {key: literal for key, literal in model.claims.items() if key[-1] in some}
        cuts = {key: literal for key, literal in model.cut_once.items() if key[-1] in some}
        true = _true_outputs(model, claims | cuts, folder, seconds)
        broken |= true & claims.keys()
        cut |= true & cuts.keys()
    return broken, cut


def _true_outputs(model, asked, folder, seconds):
    """Which of the named literals some inputs can make true."""
    graph = model.graph
    used = graph.needed(asked.values())
    never = {latch: bad for latch, bad in model.unsettled.items() if latch >> 1 in used} | {"shorted": model.shorted}
    names = [*asked, *never]
    graph.outputs = [*asked.values(), *never.values()]
    path = folder / "model.aig"
    path.write_bytes(graph.to_aiger())
    done = subprocess.run(
        [CHECKER, "-s", "-q", COMMANDS.format(path=path.name)], cwd=folder, capture_output=True, text=True, timeout=seconds
    )
    counts = re.search(r"All = (\d+). Proved = (\d+). Disproved = (\d+). Undecided = (\d+)", done.stdout)
    if counts is None:
        raise RuntimeError(f"no verdict: {done.stdout}{done.stderr}")
    every, _, disproved, undecided = map(int, counts.groups())
    true = {names[int(number)] for number in re.findall(r"^Output +(\d+) was asserted", done.stdout, re.MULTILINE)}
    if every != len(names) or undecided or disproved != len(true):
        raise RuntimeError(f"not everything was decided: {done.stdout}")
    if true & never.keys():
        raise RuntimeError("the settling model is not right for this circuit: it takes more rounds, or poles are joined")
    return true
