"""Every circuit of tests/data/circuits does what was worked out for it by hand, act by act and rule by rule.

The expected states of the circuits R1 to T30 come from an independent nodal solver; all other expectations are derived
by hand, and each file gives its reason.
"""

import circuit_data as data
import pytest
import stopspan

pytestmark = pytest.mark.xdist_group("circuits")


def observed(replay: stopspan.Replay, what: str) -> str:
    kind, _, name = what.rpartition(" ")
    if kind == "net":
        return "live" if replay.live(name) else "dead"
    return replay.mode(name) if kind == "mode" else replay.state(name)


@pytest.mark.parametrize(
    ("name", "part"),
    [(name, part) for name in data.NAMES for part in ("steps", "faults") if part in data.expected(name)],
)
def test_every_step_ends_in_the_expected_state(name, part):
    replay = data.circuit(name).replay()
    for number, step in enumerate(data.expected(name)[part], 1):
        if "change" in step:
            replay = data.circuit(name, step["change"]).replay()
        replay.act(step["acts"])
        found = {what: observed(replay, what) for what in step["then"]}
        assert found == step["then"], f"{part} {number}: {step['acts']}"


def matches(wanted: list, finding: stopspan.Finding) -> bool:
    """Same rule and status, and every subject is named; a pole of a source ("MAINS:L1") counts as the source."""
    rule, status, subjects, *nets = wanted
    named = {subject.partition(":")[0] for subject in finding.subjects} | set(finding.subjects)
    return (
        (finding.rule, finding.status) == (rule, status)
        and set(subjects) <= named
        and all(net in named or net in finding.text for net in (nets[0] if nets else []))
    )


def cases() -> list:
    found = []
    for name in data.NAMES:
        found.append(pytest.param(name, None, id=name))
        for variant in data.expected(name).get("variants", []):
            label = " ".join(f"{d} {v:g}" for d, values in variant["change"].items() for v in values.values())
            found.append(pytest.param(name, variant, id=f"{name} {label}"))
    return found


def having(part: str) -> list[str]:
    return [name for name in data.NAMES if part in data.expected(name)]


@pytest.fixture(scope="module")
def verdict_of():
    """Verdicts, worked out once each."""
    known: dict = {}

    def check(name, variant=None):
        key = (name, str(variant))
        if key not in known:
            circuit = data.circuit(name, variant and variant["change"])
            known[key] = circuit.check(asked=data.asked(name), rules=data.RULES)
        return known[key]

    return check


@pytest.mark.parametrize(("name", "variant"), cases())
def test_the_verdict_finds_what_is_wrong_and_nothing_else(name, variant, verdict_of):
    want = data.expected(name)
    findings = (variant or want)["findings"]
    allowed = findings + (variant or want).get("allowed", [])
    verdict = verdict_of(name, variant)
    found = [finding for finding in verdict.findings if finding.status != "note"]
    false_alarms = [finding for finding in found if not any(matches(wanted, finding) for wanted in allowed)]
    missed = [wanted for wanted in findings if not any(matches(wanted, finding) for finding in found)]
    assert (false_alarms, missed) == ([], []), want["why"]
    assert verdict.ok == (not findings)


@pytest.mark.parametrize(("name", "variant"), cases())
def test_nothing_is_left_undecided(name, variant, verdict_of):
    verdict = verdict_of(name, variant)
    assert not any(counts.get("undecided") for counts in verdict.counts.values())


@pytest.mark.parametrize("name", having("notes"))
def test_what_is_no_mistake_but_worth_knowing_is_a_note(name, verdict_of):
    found = verdict_of(name).findings
    for wanted in data.expected(name)["notes"]:
        assert any(matches(wanted, finding) for finding in found), wanted


@pytest.mark.parametrize("name", having("silent"))
def test_what_is_not_so_is_no_note_either(name, verdict_of):
    found = verdict_of(name).findings
    assert [f for f in found if any(matches(wanted, f) for wanted in data.expected(name)["silent"])] == []


@pytest.mark.parametrize(("name", "variant"), cases())
def test_the_matrix_says_what_each_stop_does(name, variant, verdict_of):
    want = data.expected(name)
    failing = {f"{f[2][0]} {f[2][1]}" for f in (variant or want)["findings"] if f[0] == "stop-cuts"}
    wanted = {f"{stop} {machine}": "cuts" for (stop, machine), word in data.asked(name).items() if word == "cut"}
    wanted = {cell: found for cell, found in wanted.items() if cell not in failing}
    wanted |= (variant or want).get("matrix", {})
    cells = {(cell.stop, cell.machine): cell for cell in verdict_of(name, variant).matrix}
    found = {}
    for key in wanted:
        stop, machine, *mode = key.split()
        cell = cells[stop, machine]
        found[key] = cell.modes[mode[0]] if mode else cell.found
    assert found == wanted


@pytest.mark.parametrize("name", having("repairs"))
def test_a_mistake_that_one_wire_or_contact_mends_comes_with_a_repair(name, verdict_of):
    found = verdict_of(name).findings
    for rule, subjects, mends, *texts in data.expected(name)["repairs"]:
        repairs = [
            f.repair for f in found if f.rule == rule and f.status != "note" and set(subjects) <= set(f.subjects)
        ]
        assert repairs, f"{rule} {subjects} is not found"
        assert all(repairs), f"{rule} {subjects}: {mends}"
        assert not texts or set(repairs) <= set(texts[0]), mends


@pytest.mark.parametrize("name", having("witnesses"))
def test_a_witness_holds_and_loses_nothing_that_it_need_not(name, verdict_of):
    for rule, subjects, acts in data.expected(name)["witnesses"]:
        told = [f.witness.acts for f in verdict_of(name).findings if f.rule == rule and set(subjects) <= set(f.subjects)]
        assert [acts.split("; ")] == told, (rule, subjects)


@pytest.mark.parametrize("name", having("fix"))
def test_the_mended_circuit_is_silent(name):
    verdict = data.circuit(name, fix=data.expected(name)["fix"]).check(asked=data.asked(name), rules=data.RULES)
    assert [finding for finding in verdict.findings if finding.status != "note"] == []


@pytest.mark.parametrize("name", data.NAMES)
def test_every_witness_acts_on_its_subject_and_ends_in_the_state_it_states(name, verdict_of):
    circuit = data.circuit(name)
    for finding in verdict_of(name).findings:
        if finding.status == "note" or finding.rule in ("contact-race", "chatter", "interlock-holds", "earthed-side"):
            continue
        acts, ends_in = finding.witness.acts, finding.witness.ends_in
        assert acts and ends_in, finding
        replay = circuit.replay()
        replay.act("; ".join(acts))
        machines = set(finding.subjects) & set(circuit.machines)
        for machine in machines:
            if f"{machine} runs" in ends_in:
                assert replay.state(machine) == "runs", finding
            elif f"{machine} stopped" in ends_in:
                assert replay.state(machine) == "stopped", finding
        # The subject that is not a machine is what is pressed, let go, tripped, opened or lost: last, or before a start.
        moved = [subject for subject in finding.subjects[:1] if subject not in machines]
        if finding.rule == "earth-fault":
            assert f"earth {finding.subjects[0]}" in acts, finding
        elif ends_in.endswith(" joined"):
            assert finding.rule == "one-origin", finding
        elif finding.rule == "coil-volts":
            assert ends_in.startswith(finding.subjects[0]), finding
        elif finding.rule == "stop-beats-start":
            assert all(any(act.split()[1] == subject for act in acts) for subject in moved), finding
        elif finding.rule != "isolator-clears":
            assert all(acts[-1].split()[1] == subject for subject in moved), finding


@pytest.mark.parametrize("name", data.NAMES)
def test_wiring_tables_read_by_the_engine_and_by_pythons_csv_reader_are_one_circuit(name):
    wired = data.devices(name)
    loaded = stopspan.load(str(data.FOLDER / f"{name}.csv")).circuit()
    assert [device.designation for device in loaded.devices] == list(wired)
    for device in loaded.devices:
        kind, terminals, parameters = wired[device.designation]
        assert (device.kind, device.terminals, device.parameters) == (kind, terminals, parameters)


def test_the_collection_is_what_it_should_be():
    shared = [name for name in data.NAMES if name[0] in "RT" and name[1].isdigit()]
    own = [name for name in data.NAMES if name not in shared]
    assert len(shared) == 21
    assert len([name for name in own if not data.expected(name)["findings"]]) >= 8
    assert len([name for name in own if data.expected(name)["findings"]]) >= 20
    for name in data.NAMES:
        want, wired = data.expected(name), data.devices(name)
        known = set(wired) | {net for _, terminals, _ in wired.values() for net in terminals.values()}
        assert want["title"] and want["why"]
        named = [each for part in ("findings", "notes", "silent", "allowed") for each in want.get(part, [])]
        for rule, status, subjects, *_ in named:
            assert rule in data.RULES and status in ("fails", "maybe", "note") and set(subjects) <= known
        for step in want["steps"] + want.get("faults", []):
            assert {what.rpartition(" ")[2] for what in step["then"]} <= known
            assert set(step.get("defect", [])) <= set(step["then"])
