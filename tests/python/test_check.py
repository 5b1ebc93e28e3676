import json
import threading
import time

import circuit_data
import pytest
from conftest import saw, saw_with_bypassed_stop

import stopspan


def test_a_correct_starter_holds(circuit):
    verdict = circuit.check()
    assert verdict.ok
    assert [finding for finding in verdict.findings if finding.status != "note"] == []
    assert {(cell.stop, cell.machine): cell.found for cell in verdict.matrix} == {
        ("ES1", "Saw"): "cuts",
        ("S2", "Saw"): "cuts",
    }
    assert verdict.counts["stop-cuts"]["holds"] == 2


def test_a_holding_contact_past_the_stop_button_is_found_and_its_witness_replays():
    circuit = saw_with_bypassed_stop()
    verdict = circuit.check(rules=["stop-cuts"])
    assert not verdict.ok
    [finding] = [finding for finding in verdict.findings if finding.status == "fails"]
    assert finding.rule == "stop-cuts"
    assert set(finding.subjects) >= {"S2", "Saw"}
    assert "S2" in finding.text and "Saw" in finding.text
    assert finding.source
    assert finding.witness
    replay = circuit.replay()
    for act in finding.witness.acts:
        replay.act(act)
    assert replay.state("Saw") == "runs"
    assert finding.repair
    cells = {cell.stop: cell for cell in verdict.matrix}
    assert cells["S2"].asked == "cut" and cells["S2"].found == "spares"
    assert cells["ES1"].found == "cuts"


def test_a_trip_that_takes_only_two_lines_off_ends_stopped_and_fed():
    # By hand: the trip of F2 drops K2, which stands in two of the three lines. With L1 alone the saw has no torque, but K1
    # still feeds it.
    circuit = saw()
    circuit.add("K2", "contactor", {"A1": "e", "A2": "N", "3": "v", "4": "v1", "5": "w", "6": "w1"}, coil_voltage_v=230)
    poles = {"1": "u", "2": "u2", "3": "v1", "4": "v2", "5": "w1", "6": "w2"}
    circuit.add("F2", "overload", poles | {"95": "a", "96": "e"})
    for terminal, net in {"U": "u2", "V": "v2", "W": "w2"}.items():
        circuit.connect("M1", terminal, net)
    [finding] = circuit.check(rules=["overload-cuts"]).findings
    assert finding.status == "fails" and {"F2", "Saw"} <= set(finding.subjects)
    assert finding.witness.ends_in == "Saw stopped, its terminals still fed"
    replay = circuit.replay()
    replay.act("; ".join(finding.witness.acts[:-1]))
    assert replay.state("Saw") == "runs" and finding.witness.acts[-1] == "trip F2"
    replay.trip("F2")
    assert replay.state("Saw") == "stopped" and replay.live("u2")


def test_a_trip_contact_that_closes_where_it_should_open_lets_the_machine_run_tripped_only():
    # By hand: 97-98 is open until the overload trips, so no start works before and any start after; nothing protects it.
    circuit = saw()
    circuit.connect("ES1", "11", "a1")
    circuit.add("F2", "overload", {"1": "u", "2": "u2", "3": "v", "4": "v2", "5": "w", "6": "w2", "97": "a", "98": "a1"})
    for terminal, net in {"U": "u2", "V": "v2", "W": "w2"}.items():
        circuit.connect("M1", terminal, net)
    [finding] = circuit.check(rules=["overload-cuts"], repairs=False).findings
    assert finding.status == "fails" and finding.subjects == ["F2", "Saw"]
    replay = circuit.replay()
    replay.tap("S1")
    assert replay.state("Saw") == "stopped"
    for act in finding.witness.acts:
        replay.act(act)
    assert replay.state("Saw") == "runs"


@pytest.mark.parametrize("coil, supply", [("DC", "AC"), ("AC", "DC")])
def test_a_coil_on_the_wrong_kind_of_current_is_told_of_a_coil_that_is_in(coil, supply):
    circuit = saw()
    if supply == "DC":
        circuit.add("G2", "dc-supply", {"ac1": "L1", "ac2": "N", "P": "p", "M": "m"}, voltage_v=24)
        circuit.connect("F1", "1", "p")
        circuit.connect("K1", "A2", "m")
    circuit.set_parameter("K1", "coil_voltage_v", 24 if supply == "DC" else 230)
    circuit.set_parameter("K1", "coil_current", coil)
    told = [f.text for f in circuit.check(rules=["coil-volts"], repairs=False).findings if f.status == "fails"]
    assert len(told) == 1 and f"is fed with {'direct' if supply == 'DC' else 'alternating'} current" in told[0]
    circuit.set_parameter("K1", "coil_current", supply)
    assert circuit.check(rules=["coil-volts"]).ok


def test_a_coil_behind_its_economy_resistor_is_in_a_closed_circuit():
    # By hand: once in, 24 V x 192 / (192 + 48) = 19.2 V, 80 %; the stop takes all of it away.
    circuit = saw()
    circuit.add("G2", "dc-supply", {"ac1": "L1", "ac2": "N", "P": "p", "M": "m"}, voltage_v=24)
    circuit.connect("F1", "1", "p")
    circuit.add("R1", "resistor", {"1": "d", "2": "e"}, resistance_ohm=48)
    circuit.remove("K1")
    coil = {"A1": "e", "A2": "m", "13": "c", "14": "d", "21": "d", "22": "e"}
    poles = {"1": "L1", "2": "u", "3": "L2", "4": "v", "5": "L3", "6": "w"}
    # 24 V x 24 V / 3 W = 192 ohm
    circuit.add("K1", "contactor", coil | poles, coil_voltage_v=24, coil_current="DC", hold_w=3)
    verdict = circuit.check(rules=["coil-volts", "stop-cuts"])
    assert verdict.ok, [f.text for f in verdict.findings]


def test_what_the_cores_of_a_cable_keep_in_is_named_as_not_judged():
    circuit = saw()
    circuit.connect("ES1", "11", "a9")
    circuit.connect("ES1", "12", "b9")
    ends = {"1.1": "a", "1.2": "a9", "2.1": "b", "2.2": "b9"}
    circuit.add("W1", "cable", ends, length_m=400, csa_mm2=1.5, cores=2)
    [line] = [line for line in circuit.check(rules=["coil-volts"]).not_checked if line.startswith("coil-volts, control")]
    assert "capacitance between the cores" in line


def test_a_stop_in_a_rung_that_nothing_feeds_cuts_nothing():
    # By hand: K2's second pole joins z to itself, so no source ever feeds the rung behind it, nor does that act on K2.
    circuit = saw()
    circuit.add("K2", "contactor", {"A1": "d", "A2": "N", "1": "u", "2": "u2", "3": "z", "4": "z"}, coil_voltage_v=230)
    circuit.connect("M1", "U", "u2")
    circuit.add("F3", "fuse", {"1": "z", "2": "z1"}, rating_a=2)
    circuit.add("S3", "push-button", {"11": "z1", "12": "z2"}, role="stop")
    circuit.add("S4", "push-button", {"13": "z2", "14": "z3"}, role="start")
    circuit.add("K3", "contactor", {"A1": "z3", "A2": "N", "13": "z2", "14": "z3"}, coil_voltage_v=230)
    circuit.add("S5", "push-button", {"13": "z2", "14": "z4"}, role="start")
    circuit.add("K4", "contactor", {"A1": "z4", "A2": "N", "13": "z2", "14": "z4"}, coil_voltage_v=230)
    verdict = circuit.check(asked={("S3", "Saw"): "cut", ("ES1", "Saw"): "cut"}, rules=["stop-cuts"])
    assert {finding.subjects[0] for finding in verdict.findings if finding.status == "fails"} == {"S3"}
    assert {cell.stop: str(cell.found) for cell in verdict.matrix if cell.stop != "S2"} == {"ES1": "cuts", "S3": "spares"}


def test_a_start_declared_for_another_machine_is_no_start_of_this_one():
    # By hand: S3 brings in the pump's K2, whose holding contact stands in the saw's rung, as the saw's does in the pump's.
    circuit = saw()
    circuit.add("S3", "push-button", {"13": "a", "14": "p"}, role="start", machine="Pump")
    circuit.add("K2", "contactor", {"A1": "p", "A2": "N", "13": "c", "14": "d", "1": "L1", "2": "m"}, coil_voltage_v=230)
    circuit.add("K3", "contactor", {"A1": "d", "A2": "N", "13": "a", "14": "p", "1": "u", "2": "u2"}, coil_voltage_v=230)
    circuit.connect("M1", "U", "u2")
    circuit.add("M2", "motor-1ph", {"L": "m", "N": "N"}, machine="Pump")
    told = [f for f in circuit.check(rules=["own-start"]).findings if f.status == "fails"]
    assert {tuple(finding.subjects) for finding in told} == {("S3", "Saw"), ("S1", "Pump")}


def test_what_is_asked_decides_what_is_a_failure():
    circuit = saw_with_bypassed_stop()
    assert circuit.check(asked={("ES1", "Saw"): "cut", ("S2", "Saw"): "free"}, rules=["stop-cuts"]).ok
    kept = circuit.check(asked={("ES1", "Saw"): stopspan.Asked.KEEP}, rules=["stop-spares"])
    assert [finding.rule for finding in kept.findings if finding.status == "fails"] == ["stop-spares"]


def test_only_the_rules_chosen_are_decided(circuit):
    verdict = circuit.check(rules=["stop-cuts", "power-return"])
    assert set(verdict.counts) == {"stop-cuts", "power-return"}


def test_the_rules_tell_what_they_say_and_where_they_come_from():
    rules = {rule.id: rule for rule in stopspan.rules()}
    for needed in """stop-cuts stop-spares stop-beats-start power-return release-return trip-return own-start
    overload-cuts interlock-holds isolator-clears contact-race chatter""".split():
        assert rules[needed].says and rules[needed].source


def test_progress_is_told_and_may_stop_the_check(circuit):
    told = []
    circuit.check(progress=lambda done, total: told.append((done, total)))
    assert told and all(0 <= done <= total for done, total in told)

    class Enough(Exception):
        pass

    def stop(done, total):
        raise Enough

    with pytest.raises(Enough):
        circuit.check(progress=stop)


def test_the_lock_of_the_interpreter_is_given_up_during_a_check():
    # Another thread changes the circuit and checks it while this one does: verdicts must be those of each moment.
    circuit = saw_with_bypassed_stop()
    results = []

    def check_often():
        for _ in range(20):
            results.append(circuit.check(rules=["stop-cuts"]).ok)

    threads = [threading.Thread(target=check_often) for _ in range(3)]
    for thread in threads:
        thread.start()
    for _ in range(50):
        circuit.set_parameter("F1", "rating_a", 10)
        time.sleep(0.001)
    for thread in threads:
        thread.join()
    assert results == [False] * 60


@pytest.mark.parametrize("name", circuit_data.NAMES)
def test_more_threads_give_the_same_verdict(name):
    # Within a small budget the same is left undecided, too.
    one, two = (circuit_data.circuit(name).check(threads=n, repairs=False, state_budget=1000) for n in (1, 2))
    assert one.to_json() == two.to_json()


def test_findings_and_matrix_are_made_once(circuit):
    verdict = circuit.check()
    assert verdict.matrix is verdict.matrix
    assert verdict.findings is verdict.findings


def test_json_has_the_documented_schema():
    verdict = json.loads(saw_with_bypassed_stop().check().to_json())
    assert list(verdict) == ["installation", "holds", "matrix", "findings", "counts", "not_checked", "rule_set", "walks"]
    assert verdict["holds"] is False
    for cell in verdict["matrix"]:
        assert list(cell) == ["stop", "machine", "asked", "found", "modes"]
        assert cell["asked"] in ("cut", "keep", "free") and cell["found"] in ("cuts", "spares", "maybe")
        assert all(found in ("cuts", "spares", "maybe") for found in cell["modes"].values())
    assert verdict["findings"]
    for finding in verdict["findings"]:
        assert list(finding) == ["rule", "status", "subjects", "text", "witness", "repair", "source", "waiver"]
        assert finding["status"] in ("fails", "maybe", "undecided", "waived", "note")
        assert list(finding["witness"]) == ["acts", "path", "ends_in"]
        assert isinstance(finding["subjects"], list) and finding["text"] and finding["source"]
    for counts in verdict["counts"].values():
        assert all(isinstance(number, int) for number in counts.values())
    assert isinstance(verdict["not_checked"], list)


def test_a_circuit_without_any_machine_proves_nothing():
    verdict = stopspan.Circuit().check()
    assert not verdict.ok
    assert [(finding.status, finding.subjects) for finding in verdict.findings] == [("undecided", [])]


def test_a_machine_that_no_source_feeds_proves_nothing():
    circuit = stopspan.Circuit()
    circuit.add("S2", "push-button", {"11": "L", "12": "a"}, role="stop")
    circuit.add("K1", "contactor", {"A1": "a", "A2": "N", "1": "L", "2": "m"}, coil_voltage_v=230)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    verdict = circuit.check()
    assert not verdict.ok
    assert [(finding.status, finding.subjects) for finding in verdict.findings] == [("undecided", ["M1"])]


@pytest.mark.parametrize("run_contact_of_the_zone", [True, False])
def test_a_category_1_stop_takes_the_run_command_off_before_the_power(run_contact_of_the_zone):
    """IEC 60204-1:2016 9.2.2: category 1 is a controlled stop with power there to bring the machine to rest."""
    coil = {"coil_voltage_v": 230, "coil_current": "AC"}
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {name: name for name in ("L1", "L2", "L3", "N")})
    circuit.add("F9", "fuse", {"1": "L1", "2": "a"}, rating_a=4)
    circuit.add("ES1", "emergency-stop", {"11": "a", "12": "b"}, stop_category=1)
    circuit.add("SR", "push-button", {"13": "b", "14": "k"}, role="reset")
    zone = {"A1": "k", "A2": "N", "13": "b", "14": "k", "23": "a", "24": "c"}
    circuit.add("KZ", "relay", zone | ({"33": "r2", "34": "r3"} if run_contact_of_the_zone else {}), **coil)
    circuit.add("KT", "timer", {"A1": "c", "A2": "N", "17": "a", "18": "h"}, delay="off", delay_s=3, **coil)
    lines = {"1": "L1", "2": "z1", "3": "L2", "4": "z2", "5": "L3", "6": "z3"}
    circuit.add("KM", "contactor", lines | {"A1": "h", "A2": "N"}, **coil)
    circuit.add("S10", "push-button", {"11": "z1", "12": "p2"}, role="stop")
    circuit.add("S11", "push-button", {"13": "p2", "14": "p3"}, role="start")
    circuit.add("K1", "relay", {"A1": "p3", "A2": "N", "13": "p2", "14": "p3", "23": "r1", "24": "r2"}, **coil)
    run = {"RUN1": "r1", "RUN2": "r3" if run_contact_of_the_zone else "r2"}
    circuit.add("U1", "drive", {"R": "z1", "S": "z2", "T": "z3"} | run)
    found = circuit.check(asked={("ES1", "U1"): "cut"}, rules=["stop-cuts"]).findings
    assert [(f.status, f.subjects) for f in found] == ([] if run_contact_of_the_zone else [("fails", ["ES1", "U1"])])
    for finding in found:
        assert "run command" in finding.text
        replay = circuit.replay()
        replay.act("; ".join(finding.witness.acts))
        assert replay.state("U1") == "runs"


def test_what_a_short_does_elsewhere_is_named_as_not_followed_in_a_large_circuit():
    told = "what a short told by interlock-holds takes from other machines"
    for spares, shorted in [(0, True), (12, True), (12, False)]:
        circuit = saw()
        for spare in range(spares):
            circuit.add(f"F9{spare}", "fuse", {"1": f"spare {spare}", "2": f"spare {spare} too"}, rating_a=6)
        if shorted:
            circuit.add("S8", "push-button", {"13": "L2", "14": "L3"}, role="test")
        lines = circuit.check(repairs=False).not_checked
        assert any(line.startswith(told) for line in lines) == (shorted and spares > 0)


@pytest.mark.parametrize("poles", [{"1": "L1", "2": "q", "3": "L2", "4": "q"}, {"1": "L1", "2": "L2"}], ids=["both end at q", "one pole across"])
@pytest.mark.parametrize("behind", [True, False], ids=["behind the main isolator", "at the mains"])
@pytest.mark.parametrize(("feed", "act"), [("isolator", []), ("contactor", ["turn SA on"])])
def test_a_branch_that_joins_two_lines_shorts_the_source_though_it_feeds_no_machine(circuit, feed, act, behind, poles):
    # By hand: L1 and L2 are joined as soon as the poles are closed.
    if behind:
        for line in ("L1", "L2", "L3"):
            circuit.connect("G1", line, f"G1:{line}")
        circuit.add("Q0", "isolator", {"1": "G1:L1", "2": "L1", "3": "G1:L2", "4": "L2", "5": "G1:L3", "6": "L3"})
    if feed == "isolator":
        circuit.add("Q1", "isolator", poles)
    else:
        circuit.add("SA", "selector", {"13": "L3", "14": "g"})
        circuit.add("Q1", "contactor", poles | {"A1": "g", "A2": "N"}, coil_voltage_v=230, coil_current="AC")
    circuit.add("E1", "load", {"1": "q", "2": "N"}, voltage_v=230)
    (short,) = circuit.check(rules=["interlock-holds"], repairs=False).findings
    assert (short.status, short.subjects, short.witness.acts) == ("fails", ["Q1"], act)


def test_a_branch_of_two_lines_with_a_load_between_them_shorts_nothing(circuit):
    circuit.add("Q1", "isolator", {"1": "L1", "2": "p", "3": "L2", "4": "q"})
    circuit.add("E1", "load", {"1": "p", "2": "q"}, voltage_v=400)
    assert circuit.check(rules=["interlock-holds"]).findings == []


def test_more_than_a_coil_may_have_is_told_of_its_closed_circuit():
    # By hand: two coils in series between lines of 400 V. The one that is in has 126^2 / 8 = 1985 ohm at power factor 0.3, the
    # other 126^2 / 70 = 227 ohm at 0.75, together 2182 ohm: 364 V on the first, 289 % of its 126 V.
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"}, voltage_v=400 / 3**0.5)
    circuit.add("S1", "push-button", {"13": "L1", "14": "a"}, role="start")
    for n, nets in ((1, {"A1": "a", "A2": "b", "1": "L1", "2": "m"}), (2, {"A1": "b", "A2": "L2"})):
        circuit.add(f"K{n}", "contactor", nets, coil_voltage_v=126, coil_current="AC", hold_va=8, inrush_va=70)
    circuit.add("M1", "motor-1ph", {"L": "m", "N": "N"})
    told = [f.text for f in circuit.check(rules=["coil-volts"], repairs=False).findings]
    assert told and all(text.endswith(" of its rated voltage; it may have 110 %.") and " gets 289 % " in text for text in told)
