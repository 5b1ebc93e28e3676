"""Where arrangements meet: zones that overlap and nest, rails behind zone contactors, machines as found, many machines.

Replayed act by act; what must happen comes from the trade: who presses a stop expects everything of its span to stand,
and to stand until somebody starts it.
"""

import pytest

import stopspan

LINKS = ("series-chain", "zone-relay", "zone-contactor", "contact-blocks", "stop-relay")


def hall() -> stopspan.Installation:
    shop = stopspan.Installation("Hall")
    shop.add_supply("G1")
    shop.add_board("D1", supply="G1", isolator="Q100")
    shop.add_area("Room", outline_m=[(0, 0), (30, 0), (30, 20), (0, 20)], board="D1")
    shop.add_load("E1", area="Room", at_m=(4, 4))
    return shop


def add_machine(shop: stopspan.Installation, number: int, starter: str = "direct", **how) -> str:
    volts = 230 if starter.startswith("one-phase") else 400
    shop.add_machine(
        f"Mill {number}",
        area="Room",
        at_m=(number, 2),
        motors=[stopspan.Motor(f"M{number}", 0.37, volts)],
        starter=starter,
        isolator=f"Q{number}",
        **how,
    )
    return f"Mill {number}"


def add_stop(shop: stopspan.Installation, name: str) -> str:
    shop.add_stop(name, area="Room", at_m=(0.2, 3))
    return name


def by_role(circuit: stopspan.Circuit, role: str, machine: str | None = None) -> list[str]:
    return [
        device.designation
        for device in circuit.devices
        if device.parameters.get("role") == role and device.parameters.get("machine") == machine
    ]


def start_all(replay: stopspan.Replay, circuit: stopspan.Circuit, machines: list[str]) -> None:
    for reset in by_role(circuit, "reset"):
        replay.tap(reset)
    for machine in machines:
        replay.tap(by_role(circuit, "start", machine)[0])


@pytest.mark.parametrize("first", LINKS)
@pytest.mark.parametrize("second", LINKS)
@pytest.mark.parametrize("starter", ["direct", "star-delta", "one-phase-in-line", "one-phase-one-pole", "drive"])
def test_in_two_zones_every_stop_cuts_and_no_reset_starts(first, second, starter):
    shop = hall()
    both = add_machine(shop, 1, starter)
    one, other = add_machine(shop, 2), add_machine(shop, 3)
    for stop in ("ES1", "ES2", "ES3", "ES4"):
        add_stop(shop, stop)
    shop.add_zone("A", link=first, devices=["ES1", "ES3"], machines=[both, one])
    shop.add_zone("B", link=second, devices=["ES2", "ES3"], machines=[both, other])
    shop.add_zone("Site", link="series-chain", devices=["ES4"], zones=["A", "B"])
    circuit = shop.circuit()
    spans = {"ES1": {both, one}, "ES2": {both, other}, "ES3": {both, one, other}, "ES4": {both, one, other}}
    for stop, span in spans.items():
        replay = circuit.replay()
        start_all(replay, circuit, [both, one, other])
        assert set(replay.settled.running) >= {both, one, other}, replay.settled.running
        replay.latch(stop)
        running = {machine for machine in (both, one, other) if replay.state(machine) != "stopped"}
        assert running == {both, one, other} - span, stop
        assert replay.state("E1") == "on"
        replay.unlatch(stop)
        for reset in by_role(circuit, "reset"):
            replay.tap(reset)
        assert all(replay.state(machine) == "stopped" for machine in span), f"started as {stop} was let go or reset"


@pytest.mark.parametrize("starter", ["reversing", "two-speed"])
def test_with_both_starts_held_nothing_shorts_when_power_returns(starter):
    shop = hall()
    machine = add_machine(shop, 1, starter, mechanical_interlock=False)
    circuit = shop.circuit()
    replay = circuit.replay()
    one, other = by_role(circuit, "start", machine)
    for act in (lambda: replay.hold(one), lambda: replay.hold(other), lambda: replay.lose("G1"), lambda: replay.restore("G1")):
        act()
        assert not ({"Q1.1", "Q1.2"} <= set(replay.settled.armatures))
    assert replay.state("M1") == "stopped"
    assert not any("short" in note for note in replay.notes)


def record_old_machine(shop: stopspan.Installation) -> None:
    """As found: its own start and stop, fed behind the zones' contactors, with a gap for their contacts."""
    old = shop.recorded
    old.add("F9", "fuse", {"1": "Old:feed:L1", "2": "a"}, rating_a=2)
    old.add("S8", "push-button", {"11": "a", "12": "Old:stops:1"}, role="stop", machine="Old")
    old.add("S9", "push-button", {"13": "Old:stops:2", "14": "e"}, role="start", machine="Old")
    poles = {"1": "Old:feed:L1", "2": "u", "3": "Old:feed:L2", "4": "v", "5": "Old:feed:L3", "6": "w"}
    coil = {"A1": "e", "A2": "Old:feed:N", "13": "Old:stops:2", "14": "e"}
    old.add("K9", "contactor", poles | coil, coil_voltage_v=230, coil_current="AC")
    old.add("M9", "motor-3ph", {"U": "u", "V": "v", "W": "w"})


@pytest.mark.parametrize("link", LINKS)
def test_a_machine_as_found_obeys_zones_and_stops_through_the_nets_made_for_it(link):
    shop = hall()
    shop.add_machine("Old", area="Room", at_m=(5, 5), motors=[stopspan.Motor("M9", 2.2)], starter="as-found")
    shop.add_stop("ES1", area="Room", at_m=(0.2, 3))
    shop.add_stop("ES2", area="Room", machine="Old", place="machine", at_m=(5, 5))
    shop.add_zone("Z", link=link, devices=["ES1"], machines=["Old"])
    record_old_machine(shop)
    circuit = shop.circuit()
    assert circuit["M9"].parameters["machine"] == "Old"
    for stop in ("ES1", "ES2"):
        replay = circuit.replay()
        start_all(replay, circuit, ["Old"])
        assert replay.state("Old") == "runs"
        replay.latch(stop)
        assert replay.state("Old") == "stopped"
        replay.unlatch(stop)
        start_all(replay, circuit, [])
        assert replay.state("Old") == "stopped"
    verdict = shop.check(repairs=False)
    assert verdict.ok, verdict.report()
    assert {c.stop for c in verdict.matrix if c.asked == "cut" and c.found == "cuts"} == {"ES1", "ES2", "S8"}


def test_a_machine_as_found_without_its_motor_is_refused():
    shop = hall()
    shop.add_machine("Old", area="Room", at_m=(5, 5), motors=[stopspan.Motor("M9", 2.2)], starter="as-found")
    with pytest.raises(stopspan.ModelError, match="machine Old: it is described as found, but no motor"):
        shop.circuit()


def test_nine_machines_need_a_second_relay_and_one_stop_still_cuts_all():
    shop = hall()
    machines = [add_machine(shop, number) for number in range(1, 10)]
    add_stop(shop, "ES1")
    shop.add_zone("Z", link="zone-relay", devices=["ES1"], areas=["Room"], reset="S90")
    circuit = shop.circuit()
    assert len([device for device in circuit.devices if device.kind == "relay"]) == 2
    replay = circuit.replay()
    start_all(replay, circuit, machines)
    assert set(replay.settled.running) >= set(machines)
    replay.latch("ES1")
    assert all(replay.state(machine) == "stopped" for machine in machines)


def test_a_stop_that_nothing_uses_is_in_the_matrix_and_cuts_nothing():
    shop = hall()
    add_machine(shop, 1)
    add_stop(shop, "ES1")
    shop.ask("ES1", "Mill 1", "cut")
    verdict = shop.check(repairs=False)
    assert [(c.found) for c in verdict.matrix if (c.stop, c.machine) == ("ES1", "Mill 1")] == ["spares"]
    assert not verdict.ok


def test_a_starters_own_stop_is_asked_to_cut_its_machine_and_keep_the_light():
    shop = hall()
    add_machine(shop, 1)
    verdict = shop.check(repairs=False)
    assert verdict.ok, verdict.report()
    assert {(c.machine, c.asked, c.found) for c in verdict.matrix if c.stop == "S1.1"} >= {
        ("Mill 1", "cut", "cuts"),
        ("E1", "keep", "spares"),
    }


@pytest.mark.parametrize("link", ["series-chain", "zone-relay", "contact-blocks"])
def test_a_drive_that_brakes_loses_its_run_command_at_once_and_power_after_its_delay(link):
    shop = hall()
    machine = add_machine(shop, 1, "drive", stop_category=1, stop_delay_s=3)
    add_stop(shop, "ES1")
    shop.add_zone("Z", link=link, devices=["ES1"], machines=[machine])
    circuit = shop.circuit()
    supply = circuit["M1"].terminals["R"]
    replay = circuit.replay()
    start_all(replay, circuit, [machine])
    assert replay.state(machine) == "runs" and replay.live(supply)
    replay.latch("ES1")
    assert replay.state(machine) == "stopped" and replay.live(supply)
    replay.elapse()
    assert not replay.live(supply)
    replay.unlatch("ES1")
    assert replay.state(machine) == "stopped"


@pytest.mark.parametrize("link", ["zone-contactor", "stop-relay"])
def test_a_drive_that_brakes_is_refused_behind_the_contactors_of_a_zone(link):
    shop = hall()
    machine = add_machine(shop, 1, "drive", stop_category=1, stop_delay_s=3)
    add_stop(shop, "ES1")
    shop.add_zone("Z", link=link, devices=["ES1"], machines=[machine])
    with pytest.raises(stopspan.ModelError, match="Mill 1.*zone Z take its power at once; link the zone by zone-relay"):
        shop.circuit()


def test_a_stop_with_no_contact_block_left_is_named_with_what_it_needs():
    shop = hall()
    machines = [add_machine(shop, number) for number in (1, 2, 3)]
    shop.add_stop("ES1", area="Room", at_m=(0.2, 3), contact_blocks=2)
    shop.add_zone("Z", link="contact-blocks", devices=["ES1"], machines=machines)
    with pytest.raises(stopspan.ModelError, match="stop device ES1: the wiring needs 3 break blocks, it has 2"):
        shop.circuit()


def test_the_same_description_gives_the_same_circuit():
    def made() -> stopspan.Circuit:
        shop = hall()
        machines = [add_machine(shop, 1, "star-delta"), add_machine(shop, 2, "reversing")]
        add_stop(shop, "ES1")
        shop.add_zone("Z", link="zone-relay", devices=["ES1"], machines=machines)
        return shop.circuit()

    assert made().to_csv() == made().to_csv()
