"""Nothing dangles: what came out of an object outlives it."""

import gc

import pytest
from conftest import saw, saw_with_bypassed_stop, shed

import stopspan


def test_the_recorded_circuit_keeps_its_installation_alive():
    shop = shed()
    recorded = shop.recorded
    del shop
    gc.collect()
    recorded.add("P1", "lamp", {"1": "x", "2": "y"})
    assert recorded.nets == ["x", "y"]


def test_the_title_block_keeps_its_installation_alive():
    shop = shed()
    block = shop.title_block
    del shop
    gc.collect()
    block.owner = "o" * 100
    assert block.owner == "o" * 100


def test_a_replay_outlives_its_circuit():
    circuit = saw()
    replay = circuit.replay()
    del circuit
    gc.collect()
    assert replay.tap("S1").running == ["Saw"]


def test_findings_cells_and_witnesses_outlive_their_verdict():
    verdict = saw_with_bypassed_stop().check(rules=["stop-cuts"])
    findings, matrix, witness = verdict.findings, verdict.matrix, verdict.findings[0].witness
    del verdict
    gc.collect()
    assert witness.acts and findings[0].rule == "stop-cuts" and matrix[0].stop == "ES1"
    del findings
    gc.collect()
    assert all(isinstance(act, str) for act in witness.acts)


def test_devices_outlive_later_growth_of_their_circuit():
    circuit = saw()
    first = circuit.devices[0]
    for number in range(1000):
        circuit.add(f"X{number}", "link", {"1": f"n{number}", "2": f"n{number + 1}"})
    del circuit
    gc.collect()
    assert first.terminals == {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"}


def test_a_drawing_outlives_its_installation():
    drawing = shed().drawing()
    gc.collect()
    assert drawing.titles
    one = drawing[0]
    del drawing
    gc.collect()
    assert len(one) == 1


def test_a_progress_function_that_raises_leaves_everything_usable():
    circuit = saw()

    def stop(done, total):
        raise RuntimeError("enough")

    for _ in range(3):
        with pytest.raises(RuntimeError, match="enough"):
            circuit.check(progress=stop)
    assert circuit.check().ok
    gc.collect()
    assert isinstance(circuit.check(), stopspan.Verdict)
