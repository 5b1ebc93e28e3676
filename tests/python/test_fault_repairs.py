"""Changes that outlive a fault, made by hand and checked again, by the reference where it can."""

from conftest import saw
from repairs_applied import unmended

import stopspan


def repairs(circuit: stopspan.Circuit, **how: object) -> dict[str, str]:
    """Per fault."""
    found = circuit.check(rules=["single-fault"], **how).findings
    return {finding.text.split("'")[1]: finding.repair for finding in found}


def test_a_stop_that_cuts_nothing_anyway_stands_in_the_way_of_no_repair():
    # By hand: K1 holds past S2, which therefore stops nothing, with a second contactor or without. What a weld takes away is
    # ES1, and of two contactors in series the other opens.
    circuit = saw()
    circuit.connect("K1", "13", "b")
    (cuts,) = circuit.check(asked={("S2", "Saw"): "cut"}, rules=["stop-cuts"]).findings
    assert cuts.subjects == ["S2", "Saw"]
    verdict = circuit.check(asked={("S2", "Saw"): "cut", ("ES1", "Saw"): "cut"}, rules=["single-fault"])
    (weld,) = [finding for finding in verdict.findings if "'weld K1'" in finding.text]
    assert weld.repair.startswith("add a contactor K1B like K1, its coil beside K1's")
    assert unmended(circuit, verdict) == []
