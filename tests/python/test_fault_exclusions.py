"""Faults that may be left out, by name, and what the report then says."""

import pytest
from conftest import faults, saw, shed, two_channels

import stopspan


@pytest.mark.parametrize(
    ("exclusions", "left"),
    [
        ([], {"jam ES1", "jam S1"}),
        (["contact-will-not-open"], {"jam S1"}),
        (["emergency-stop-mechanics"], {"jam S1"}),
        (["emergency-stop-mechanics", "contact-will-not-open"], {"jam S1"}),
        (["shorts-in-enclosure", "shorts-in-protected-cables"], {"jam ES1", "jam S1"}),
    ],
)
def test_excluded_faults_are_left_out_and_told(exclusions, left):
    verdict = two_channels().check(rules=["single-fault"], target="single-fault", fault_exclusions=exclusions)
    assert faults(verdict, "fails") == left
    told = [line for line in verdict.not_checked if line.startswith("fault exclusion ")]
    assert [line.split(":")[0].removeprefix("fault exclusion ") for line in told] == sorted(
        exclusions, key=[each.id for each in stopspan.fault_exclusions()].index
    )
    assert all("ISO 13849-2:2012 annex D" in line for line in told)


def bridges(*exclusions: str) -> set[str]:
    circuit = saw()
    circuit.add("F5", "overload", {"1": "u", "2": "u5", "3": "v", "4": "v5", "5": "w", "6": "w5", "95": "d", "96": "e"})
    circuit.connect("K1", "A1", "e")
    for terminal, net in {"U": "u5", "V": "v5", "W": "w5"}.items():
        circuit.connect("M1", terminal, net)
    verdict = circuit.check(rules=["single-fault"], fault_exclusions=exclusions)
    return {fault for fault in faults(verdict, "note") if fault.startswith("bridge")}


def test_shorts_are_left_out_by_where_conductors_come_together():
    # e goes from the overload to the contactor, both in the enclosure; every other net goes to a hand device as well.
    every = bridges()
    assert {"bridge a b", "bridge b c", "bridge b d", "bridge c d", "bridge c e"} <= every
    outside = {bridge for bridge in every if " e" not in bridge}
    assert bridges("shorts-in-enclosure") == outside
    # Conductors of one device share its cable: ES1 has a and b, S2 has b and c, S1 has c and d.
    assert bridges("shorts-in-enclosure", "shorts-between-cables") == {"bridge a b", "bridge b c", "bridge c d"}
    assert bridges("shorts-in-enclosure", "shorts-in-protected-cables") == set()
    # Cables end in the enclosure, where the conductors may still touch.
    assert bridges("shorts-in-protected-cables", "shorts-between-cables") == every


def test_earth_faults_inside_an_enclosure_are_left_out():
    circuit = saw()
    circuit.add("K2", "relay", {"A1": "c", "A2": "N", "11": "d", "12": "e"}, coil_voltage_v=230)
    circuit.connect("K1", "A1", "e")
    told = [
        line
        for line in circuit.check(rules=["earth-fault"], fault_exclusions=["earth-faults-in-enclosure"]).not_checked
        if line.startswith("fault exclusion")
    ]
    assert len(told) == 1 and told[0].startswith("fault exclusion earth-faults-in-enclosure: 1 fault left out, ")


def test_an_unknown_exclusion_is_refused(circuit):
    with pytest.raises(stopspan.ModelError, match="no fault exclusion 'wishes'; known: shorts-in-enclosure, "):
        circuit.check(fault_exclusions=["wishes"])


def test_exclusions_of_the_installation_and_of_the_call_add_up():
    shop = shed()
    shop.exclude_faults("contact-will-not-open")
    verdict = shop.check(rules=["single-fault"], fault_exclusions=["shorts-in-enclosure"])
    told = {line.split(":")[0] for line in verdict.not_checked if line.startswith("fault exclusion")}
    assert told == {"fault exclusion contact-will-not-open", "fault exclusion shorts-in-enclosure"}
    with pytest.raises(stopspan.ModelError, match="contact-will-not-open is there already"):
        shop.exclude_faults("contact-will-not-open")
