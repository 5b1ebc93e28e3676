"""Earth faults on supplies without an earthed pole: the first shows nowhere, the second joins two places.

Expected by hand; IEC 60204-1:2016 9.4.3.1 asks for an earthed pole, or an insulation monitor, or switching of both poles.
"""

import circuit_data
import pytest
from repairs_applied import applied

import stopspan

LIVE = {"ES1": {"11": "a", "12": "b"}, "A2": "m"}
BOTH = {"ES1": {"11": "a", "12": "b", "21": "r", "22": "m"}, "A2": "r"}


def saw_on_24_v(poles: dict = LIVE, monitor: bool = False, **supply: str) -> stopspan.Circuit:
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("G2", "dc-supply", {"ac1": "L", "ac2": "N", "P": "p", "M": "m"}, voltage_v=24, **supply)
    circuit.add("F1", "fuse", {"1": "p", "2": "a"}, rating_a=2)
    circuit.add("ES1", "emergency-stop", poles["ES1"])
    circuit.add("S1", "push-button", {"13": "b", "14": "d"}, role="start")
    coil = {"A1": "d", "A2": poles["A2"], "13": "b", "14": "d", "1": "L", "2": "u"}
    circuit.add("K1", "contactor", coil, coil_voltage_v=24, coil_current="DC")
    circuit.add("M1", "motor-1ph", {"L": "u", "N": "N"}, machine="Saw")
    if monitor:
        circuit.add("A1", "insulation-monitor", {"L": "p", "PE": "PE"})
    return circuit


def not_holding(circuit: stopspan.Circuit) -> list[stopspan.Finding]:
    return [f for f in circuit.check(rules=["earth-fault"]).findings if f.status != "note"]


def test_two_earth_faults_on_a_floating_supply_pass_a_stop_by():
    # p, ahead of ES1, and b, behind it, both touching earth: ES1 is passed by. By themselves neither closes a circuit.
    circuit = saw_on_24_v()
    (finding,) = not_holding(circuit)
    assert finding.status == "fails" and {"G2", "ES1", "Saw"} <= set(finding.subjects)
    replay = circuit.replay()
    for act in finding.witness.acts:
        replay.act(act)
    assert replay.state("Saw") == "runs"
    assert finding.repair == "earth the pole M of G2 (net m)"
    assert not_holding(applied(circuit, finding.repair)) == []


@pytest.mark.parametrize("how", [{"monitor": True}, {"earthed_pole": "M"}])
def test_a_monitor_or_an_earthed_pole_shows_the_first(how):
    assert not_holding(saw_on_24_v(**how)) == []


def test_a_monitor_that_watches_another_supply_shows_nothing():
    circuit = saw_on_24_v()
    circuit.add("A1", "insulation-monitor", {"L": "L", "PE": "PE"})
    assert len(not_holding(circuit)) == 1


def test_a_stop_in_both_poles_is_not_passed_by_but_the_coil_can_be_fed():
    # ES1 opens m as well, so no two faults pass it by, but p and d fed by them is a start.
    (finding,) = not_holding(saw_on_24_v(BOTH))
    assert "ES1" not in finding.subjects and finding.text.split("; ")[0].endswith("Saw starts with no start given")


def test_a_full_check_gives_the_repair_of_an_earth_fault_too():
    circuit = saw_on_24_v()
    (finding,) = (f for f in circuit.check().findings if f.rule == "earth-fault")
    assert finding.repair == "earth the pole M of G2 (net m)"
    mended = applied(circuit, finding.repair).check()
    assert not [f for f in mended.findings if f.rule == "earth-fault" and f.status != "note"]
    # Nothing else has come with it.
    told = {(f.rule, tuple(f.subjects)) for f in circuit.check().findings if f.status != "note"}
    assert {(f.rule, tuple(f.subjects)) for f in mended.findings if f.status != "note"} <= told


def test_two_coils_that_return_over_one_contact_get_one_each():
    # By hand: with ES1 open the two coils are in series between the lines, 0.87 of rated each; an earth fault at b1 then
    # holds K1 past S10. A contact of ES1 ahead of each coil ends all of it.
    circuit = circuit_data.circuit("estop-in-a-common-neutral")
    asked = circuit_data.asked("estop-in-a-common-neutral")
    told = [finding for finding in circuit.check(asked=asked).findings if finding.status != "note"]
    assert {"stop-cuts", "coil-volts", "earthed-side", "earth-fault"} <= {finding.rule for finding in told}
    assert {finding.repair for finding in told} == {
        "take out the contact ES1:11-12, join N and g where it stood, and put one in series in the line of each coil: "
        "ES1:11-12 ahead of K1:A1 (net c1), ES1:21-22 ahead of K2:A1 (net c2)"
    }
    mended = applied(circuit, told[0].repair).check(asked=asked)
    assert [finding for finding in mended.findings if finding.status != "note"] == []
