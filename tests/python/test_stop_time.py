"""The rule stop-time: run-downs against a limit, and stops that take the supply off a drive that brakes."""

import pytest
import stopspan


def shop_with(link="zone-relay", starter="drive", limits=(), **machine):
    shop = stopspan.Installation("Works")
    shop.add_supply("G1")
    shop.add_area("Room", outline_m=[(0, 0), (20, 0), (20, 10), (0, 10)])
    shop.add_board("D1", supply="G1")
    shop.feed("Room", "D1")
    control = {"control": "dc-supply", "control_voltage_v": 24}
    shop.add_machine("Lathe", area="Room", motors=[stopspan.Motor("M1", 2.2)], starter=starter, isolator="Q1", **control, **machine)
    shop.add_stop("ES1", area="Room")
    shop.add_zone("Z", link=link, devices=["ES1"], machines=["Lathe"], reset="S9" if link == "zone-relay" else "")
    for name, number in dict(limits).items():
        shop.set_limit(name, number)
    return shop


def told(shop):
    verdict = shop.check(rules=["stop-time"])
    return verdict, [(f.status, f.subjects) for f in verdict.findings]


@pytest.mark.parametrize(("seconds", "status"), [(9.9, "holds"), (10, "holds"), (10.1, "fails")])
def test_a_run_down_is_held_against_the_limit(seconds, status):
    verdict, findings = told(shop_with(starter="direct", run_down_s=seconds))
    assert verdict.counts == {"stop-time": {status: 1}}
    assert findings == ([] if status == "holds" else [("fails", ["Lathe"])])


def test_the_limit_can_be_set():
    verdict, findings = told(shop_with(starter="direct", run_down_s=8, limits={"run_down_longest_s": 5}))
    assert findings == [("fails", ["Lathe"])] and "5 s is allowed" in verdict.findings[0].text
    assert told(shop_with(starter="direct", run_down_s=30, limits={"run_down_longest_s": 35}))[0].ok


def test_a_stop_of_category_0_starves_the_brake_of_a_drive():
    # ES1 and the machine's own stop S1.1 drop the contactor ahead of the drive.
    shop = shop_with(run_down_s=3, run_down_without_supply_s=25)
    verdict, findings = told(shop)
    assert findings == [("fails", ["ES1", "Lathe"]), ("fails", ["S1.1", "Lathe"]), ("note", ["Lathe"])]
    assert "at once, so that it cannot brake: it runs down in 25 s; 10 s is allowed" in verdict.findings[0].text
    assert "stands soon" in next(r.says for r in stopspan.rules() if r.id == "stop-time")


def test_without_a_figure_for_a_starved_brake_it_is_undecided_and_a_short_one_holds():
    assert [status for status, _ in told(shop_with(run_down_s=3))[1]] == ["undecided", "undecided"]  # ES1 and S1.1
    assert told(shop_with(run_down_s=3, run_down_without_supply_s=9))[0].ok


@pytest.mark.parametrize(("delay", "ok"), [(2.9, False), (3.0, True), (4.0, True)])
def test_a_category_1_stop_leaves_the_supply_until_it_stands(delay, ok):
    shop = shop_with(run_down_s=3, run_down_without_supply_s=25, stop_category=1, stop_delay_s=delay)
    verdict, findings = told(shop)
    assert verdict.ok is ok
    if not ok:
        assert findings[0] == ("fails", ["ES1", "Lathe"])
        assert "after 2.9 s, before it stands (3 s)" in verdict.findings[0].text


def test_a_replay_keeps_the_supply_until_the_timer_has_run_out():
    shop = shop_with(run_down_s=3, run_down_without_supply_s=25, stop_category=1, stop_delay_s=4)
    circuit = shop.circuit()
    replay = circuit.replay()
    start = next(d.designation for d in circuit.devices if d.parameters.get("role") == "start")
    replay.act("tap S9")
    replay.act(f"tap {start}")
    assert replay.state("M1") == "runs"
    feed = next(d for d in circuit.devices if d.designation == "M1").terminals["R"]
    replay.act("latch ES1")
    assert replay.live(feed)
    replay.act("elapse")
    assert not replay.live(feed)


def test_a_safe_torque_off_leaves_the_brake_its_supply():
    shop = stopspan.Installation("Works")
    shop.add_supply("G1")
    shop.add_area("Room", outline_m=[(0, 0), (20, 0), (20, 10), (0, 10)])
    shop.add_board("D1", supply="G1")
    shop.feed("Room", "D1")
    shop.add_machine(
        "Lathe", area="Room", motors=[stopspan.Motor("M1", 2.2)], starter="as-found", run_down_s=3, run_down_without_supply_s=25
    )
    old = shop.recorded
    old.add("ES1", "emergency-stop", {"11": "D1:L1", "12": "a", "21": "s1", "22": "s2"})
    old.add("S1", "push-button", {"13": "a", "14": "b"}, role="start", machine="Lathe")
    old.add("K1", "relay", {"A1": "b", "A2": "D1:N", "13": "a", "14": "b", "23": "r1", "24": "r2"}, coil_voltage_v=230)
    drive = {"R": "D1:L1", "S": "D1:L2", "T": "D1:L3", "RUN1": "r1", "RUN2": "r2", "STO1": "s1", "STO2": "s2"}
    old.add("M1", "drive", drive, machine="Lathe")
    shop.add_stop("ES1", area="Room")
    shop.ask("ES1", "Lathe", "cut")
    verdict, findings = told(shop)
    assert [status for status, _ in findings] == ["note"]  # only the failing supply
    assert verdict.ok and verdict.counts["stop-time"]["holds"] == 2


def test_who_says_nothing_gets_a_line_and_no_claim():
    verdict, findings = told(shop_with(starter="direct"))
    assert findings == [] and "rule stop-time: no run-down time is known" in verdict.not_checked
    circuit = stopspan.Circuit()
    circuit.add("G1", "mains-1ph", {"L": "L", "N": "N"})
    circuit.add("M1", "motor-1ph", {"L": "L", "N": "N"})
    assert "rule stop-time: no run-down time is known" in circuit.check(rules=["stop-time"]).not_checked


def test_a_finding_can_be_waived():
    shop = shop_with(starter="direct", run_down_s=20)
    shop.waive(
        stopspan.Waiver(rule="stop-time", subjects=["Lathe"], reason="fly-wheel", name="A. Person", date="2026-11-26")
    )
    assert told(shop)[1] == [("waived", ["Lathe"])]


@pytest.mark.parametrize(("link", "starved"), [("zone-contactor", True), ("stop-relay", True), ("series-chain", False), ("zone-relay", False)])
def test_a_stop_that_takes_the_supply_ahead_of_a_starter_may_starve_a_brake_fed_from_there(link, starved):
    # By hand: the contactors of these zones stand ahead of the machine's starter and take with them what is fed between the two;
    # the starter's own contactor, which S1.1 and the other links drop, leaves that its supply.
    shop = stopspan.Installation("Works")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1")
    shop.add_area("Room", outline_m=[(0, 0), (20, 0), (20, 10), (0, 10)], board="D1")
    shop.add_machine("Saw", area="Room", motors=[stopspan.Motor("M1", 3)], run_down_s=8, run_down_without_supply_s=20)
    shop.add_stop("ES1", area="Room")
    shop.add_zone("Z", link=link, devices=["ES1"], machines=["Saw"], reset="" if link == "series-chain" else "S9")
    _, findings = told(shop)
    assert findings == [*([("maybe", ["ES1", "Saw"])] if starved else []), ("note", ["Saw"])]
