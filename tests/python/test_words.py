"""The words of the Python side are those of the core, and are text."""

import pytest
from conftest import shed

import stopspan
from stopspan import _core


def known_words(message: str) -> list[str]:
    return message.split("known: ")[1].split(", ")


def test_device_kinds_are_those_of_the_core():
    assert [str(kind) for kind in stopspan.DeviceKind] == _core.device_kinds()


MOTORS = [{"name": "M9", "power_kw": 1}]
REFUSED = {
    stopspan.Starter: lambda s: s.add_machine("P", area="Room", at_m=(1, 1), motors=MOTORS, starter="?"),
    stopspan.ControlSupply: lambda s: s.add_machine("P", area="Room", at_m=(1, 1), motors=MOTORS, control="?"),
    stopspan.CableMethod: lambda s: s.add_machine("P", area="Room", at_m=(1, 1), motors=MOTORS, cable_method="?"),
    stopspan.Place: lambda s: s.add_stop("ES9", area="Room", place="?"),
    stopspan.ZoneLink: lambda s: s.add_zone("Z9", link="?"),
    stopspan.Target: lambda s: s.add_zone("Z9", target="?"),
    stopspan.PerformanceLevel: lambda s: s.add_zone("Z9", performance_level="?"),
    stopspan.SafetyCategory: lambda s: s.add_zone("Z9", stop_relay_category="?"),
    stopspan.Asked: lambda s: s.ask("ES1", "Lathe", "?"),
}


@pytest.mark.parametrize("words", REFUSED, ids=lambda words: words.__name__)
def test_words_are_those_the_core_lists(words):
    with pytest.raises(stopspan.ModelError) as caught:
        REFUSED[words](shed())
    assert known_words(str(caught.value)) == [str(word) for word in words]


def test_a_word_is_text():
    assert stopspan.Starter.STAR_DELTA == "star-delta"
    assert f"{stopspan.Starter.STAR_DELTA}" == "star-delta"


def test_error_codes_are_numbers_that_never_change():
    assert {code.name: code.value for code in stopspan.ErrorCode} == {
        "BAD_VALUE": 1,
        "DUPLICATE_NAME": 2,
        "UNKNOWN_NAME": 3,
        "BAD_TERMINAL": 4,
        "MISSING_VALUE": 5,
        "CONTRADICTION": 6,
        "UNREADABLE": 7,
        "UNWRITABLE": 8,
        "NO_EXPORTER": 9,
        "BAD_ACT": 10,
    }
