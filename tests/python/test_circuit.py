import copy
import pickle

import pytest
from conftest import saw

import stopspan


def test_devices_nets_machines_and_stops_are_listed_in_the_order_of_adding(circuit):
    assert [device.designation for device in circuit.devices] == ["G1", "F1", "ES1", "S2", "S1", "K1", "M1"]
    assert circuit.nets == ["L1", "L2", "L3", "N", "a", "b", "c", "d", "u", "v", "w"]
    assert circuit.machines == ["Saw"]
    assert circuit.stops == ["ES1", "S2"]
    assert len(circuit) == 7


def test_a_device_tells_its_kind_terminals_and_parameters(circuit):
    contactor = circuit["K1"]
    assert contactor.kind == "contactor" == stopspan.DeviceKind.CONTACTOR
    assert contactor.terminals["A1"] == "d"
    assert list(contactor.terminals)[:4] == ["A1", "A2", "13", "14"]
    assert contactor.parameters == {"coil_voltage_v": 230.0, "coil_current": "AC"}


def test_a_kind_may_be_given_as_enumeration_or_text():
    by_text, by_word = stopspan.Circuit(), stopspan.Circuit()
    by_text.add("F1", "fuse", {"1": "a", "2": "b"})
    by_word.add("F1", stopspan.DeviceKind.FUSE, {"1": "a", "2": "b"})
    assert by_text == by_word


def test_none_is_an_unknown_value_but_an_earthed_pole_of_none_is_a_floating_source():
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"}, earthed_pole=None, impedance_ohm=None)
    assert circuit["G1"].parameters == {"earthed_pole": "none"}


def test_numbers_of_numpy_are_numbers():
    numpy = pytest.importorskip("numpy")
    circuit = stopspan.Circuit()
    circuit.add("F1", "fuse", {"1": "a", "2": "b"}, rating_a=numpy.float32(6.5))
    circuit.add("F2", "fuse", {"1": "a", "2": "b"}, rating_a=numpy.int64(6))
    assert circuit["F1"].parameters["rating_a"] == 6.5
    assert circuit["F2"].parameters["rating_a"] == 6


def test_connect_set_parameter_and_remove_change_the_circuit(circuit):
    circuit.connect("K1", "13", "b")
    assert circuit["K1"].terminals["13"] == "b"
    circuit.set_parameter("F1", "rating_a", 10)
    assert circuit["F1"].parameters["rating_a"] == 10
    circuit.remove("M1")
    assert "M1" not in circuit
    assert circuit.nets == ["L1", "L2", "L3", "N", "a", "b", "c", "d", "u", "v", "w"]  # the contactor keeps u v w
    assert circuit.machines == []


def test_a_copy_is_deep_and_equality_compares_content(circuit):
    twin = copy.deepcopy(circuit)
    assert twin == circuit == saw()
    twin.set_parameter("F1", "rating_a", 10)
    assert twin != circuit
    assert circuit != "circuit"


def test_a_circuit_is_no_key_because_it_can_change(circuit):
    with pytest.raises(TypeError, match="unhashable"):
        hash(circuit)
    with pytest.raises(TypeError, match="pickle"):
        pickle.dumps(circuit)


def test_a_wiring_table_read_back_is_the_same_circuit(circuit):
    table = circuit.to_csv()
    assert table.splitlines()[0] == "device,kind,terminal,net,parameter,value"
    again = stopspan.Circuit.from_csv(table)
    assert again == circuit
    assert again.to_csv() == table


def test_a_device_read_from_a_circuit_is_a_copy(circuit):
    device = circuit["K1"]
    device.terminals["A1"] = "elsewhere"
    assert circuit["K1"].terminals["A1"] == "d"
