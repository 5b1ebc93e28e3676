"""What the length of control lines does to the verdict of an installation with a plan.

Expected lengths by hand. Capacitance, from makers' notes on long control lines (drop-out 20 % by IEC 60947-4-1): l = m/(1+m) PH / (2 pi f r U^2), with m = 0.2, PH = 8 VA, r = 0.3 uF/km at 230 V and 50 Hz: 267 m. Voltage drop, from a contactor maker's manual: 15 % of 24 V along 2 l of 18.1 ohm/km (IEC 60228, 1 mm2) at 70 VA and a power factor of 0.75: 45 m.
"""

import pytest

import stopspan

AT_THE_ENDS_M = 4  # 2 m down at the board and at the device


def shop_with_a_stop(away_m, control, voltage_v):
    """One machine right at its board, and a stop device as far away as its cable is to be long."""
    shop = stopspan.Installation("Long hall")
    shop.add_supply("G1")
    shop.add_area("Hall", outline_m=[(0, 0), (900, 0), (900, 20), (0, 20)])
    shop.add_board("D1", supply="G1", area="Hall", at_m=(1, 1))
    shop.feed("Hall", "D1")
    motors = [stopspan.Motor("M1", 3)]
    shop.add_machine("Saw", area="Hall", at_m=(1, 1), motors=motors, control=control, control_voltage_v=voltage_v)
    shop.add_stop("ES1", area="Hall", at_m=(1 + away_m - AT_THE_ENDS_M, 1), height_m=1.2)
    shop.add_zone("Z", link="contact-blocks", devices=["ES1"], machines=["Saw"])
    return shop


def told(verdict):
    rules = ("stop-cuts", "coil-volts")
    return [(each.rule, str(each.status), each.subjects) for each in verdict.findings if each.rule in rules and each.status != "note"]


@pytest.mark.parametrize(("away_m", "held"), [(240, False), (262, False), (272, True), (400, True)])
def test_a_coil_that_its_cable_may_hold_in_is_not_cut_for_sure(away_m, held):
    verdict = shop_with_a_stop(away_m, "same-supply", 230).check()
    [cell] = [cell for cell in verdict.matrix if (cell.stop, cell.machine) == ("ES1", "Saw")]
    assert str(cell.found) == ("maybe" if held else "cuts")
    assert told(verdict) == (
        [("stop-cuts", "maybe", ["ES1", "Saw"]), ("coil-volts", "maybe", ["ES1", "Q1.1"])] if held else []
    )
    assert verdict.counts["stop-cuts"] == ({"holds": 1, "maybe": 1} if held else {"holds": 2})  # S1.1 is near


@pytest.mark.parametrize(("away_m", "too_far"), [(30, False), (39, False), (44, True), (80, True)])
def test_a_coil_that_loses_too_much_along_its_line_may_not_pull_in(away_m, too_far):
    # The machine's own buttons have a cable of AT_THE_ENDS_M more.
    verdict = shop_with_a_stop(away_m, "transformer", 24).check()
    assert told(verdict) == ([("coil-volts", "maybe", ["Q1.1"])] if too_far else [])
    assert verdict.counts["coil-volts"] == ({"maybe": 1} if too_far else {"holds": 1})


def test_direct_current_is_not_held_by_a_cable():
    assert told(shop_with_a_stop(700, "dc-supply", 24).check()) == []


def test_without_places_it_is_said_that_lines_were_not_judged():
    shop = stopspan.Installation("No plan")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1")
    shop.add_area("Hall", outline_m=[(0, 0), (9, 0), (9, 9), (0, 9)], board="D1")
    shop.add_machine("Saw", area="Hall", motors=[stopspan.Motor("M1", 3)])
    assert any("control loops" in line for line in shop.check().not_checked)
