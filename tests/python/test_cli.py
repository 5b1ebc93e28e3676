"""The command line, as a user's script meets it: exit codes, JSON, what goes where."""

import json
import pathlib
import re
import subprocess
import sys

import pytest
from conftest import saw, saw_with_bypassed_stop, shed

import stopspan as package

COMMAND = pathlib.Path(sys.executable).parent / "stopspan"


def stopspan(*arguments: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run([COMMAND, *map(str, arguments)], capture_output=True, text=True, stdin=subprocess.DEVNULL)


@pytest.fixture
def good(tmp_path) -> pathlib.Path:
    saw().export(tmp_path / "saw.csv")
    return tmp_path / "saw.csv"


@pytest.fixture
def bad(tmp_path) -> pathlib.Path:
    saw_with_bypassed_stop().export(tmp_path / "old.csv")
    return tmp_path / "old.csv"


def test_exit_0_when_all_holds_and_a_report_that_ends_with_the_cautions(good):
    run = stopspan("check", good)
    assert (run.returncode, run.stderr) == (0, "")
    assert "Result: all" in run.stdout
    after = run.stdout[run.stdout.index("Before anybody relies on this") :]
    for caution in ("isolate, lock off, prove dead", "Local codes prevail", "competent, licensed person"):
        assert caution in " ".join(after.split())
    for left_out in ("mechanics", "risk assessment", "electromagnetic compatibility", "real hardware"):
        assert left_out in run.stdout


def test_exit_1_when_something_does_not_hold_and_the_report_says_how_to_see_it(bad):
    run = stopspan("check", bad)
    assert run.returncode == 1
    assert "FAILS: stop-cuts" in run.stdout
    assert "Try it, from cold:" in run.stdout
    assert "Repair:" in run.stdout


def test_exit_2_when_the_input_is_unusable(tmp_path, good):
    (tmp_path / "broken.xml").write_text("<installation\n")
    for arguments, message in (
        (["check", tmp_path / "nowhere.xml"], "nowhere.xml"),
        (["check", tmp_path / "broken.xml"], "broken.xml:"),
        (["check", good, "--rule", "stop-hums"], "stop-hums"),
        (["check", good, "--rules", "everything"], "everything"),
        (["check", good, "--threads", "0"], "less than 1"),
        (["export", good, tmp_path / "saw.pdf"], "no exporter 'pdf'"),
        (["export", good, tmp_path / "missing" / "saw.xml"], "missing"),
        (["replay", good, "tap Q7"], "Q7"),
        (["mend", good], "mend"),
        ([], "required"),
    ):
        run = stopspan(*arguments)
        assert (run.returncode, run.stdout) == (2, ""), arguments
        assert message in run.stderr, arguments
        assert "Traceback" not in run.stderr


def test_json_is_all_of_stdout(bad):
    run = stopspan("check", bad, "--json")
    assert run.returncode == 1
    verdict = json.loads(run.stdout)
    assert list(verdict) == ["installation", "holds", "matrix", "findings", "counts", "not_checked", "rule_set", "walks"]
    assert verdict["installation"] == "old"
    assert verdict["holds"] is False


def test_rules_one_by_one_and_by_set(good):
    def decided(*arguments: str) -> set[str]:
        return set(json.loads(stopspan("check", good, "--json", *arguments).stdout)["counts"])

    assert decided("--rule", "stop-cuts") == {"stop-cuts"}
    both = {"stop-cuts", "power-return"}
    assert decided("--rule", "stop-cuts", "--rule", "power-return") == both
    assert decided("--rule", "stop-cuts", "power-return") == both
    assert decided("--rules", "stops") <= {"stop-cuts", "stop-spares", "stop-beats-start"}
    assert decided("--rules", "returns") <= {"power-return", "release-return", "trip-return", "own-start"}
    assert decided("--rules", "stops", "--rule", "power-return") >= both
    assert decided("--rules", "all") == decided()


@pytest.mark.parametrize("format", ["dxf", "svg", "fodg", "graphml", "xml", "csv"])
def test_export_writes_the_format_of_the_suffix_or_the_one_named(tmp_path, format):
    shed().save(tmp_path / "shed.xml")
    by_suffix, by_name = tmp_path / f"a.{format}", tmp_path / "b.file"
    assert stopspan("export", tmp_path / "shed.xml", by_suffix).returncode == 0
    assert stopspan("export", tmp_path / "shed.xml", by_name, "--format", format).returncode == 0
    assert by_suffix.read_bytes() == by_name.read_bytes()


def test_export_writes_another_version_by_its_name_and_each_sheet_as_a_file(tmp_path, good):
    assert stopspan("export", good, tmp_path / "saw.dxf", "--format", "dxf-r12").returncode == 0
    assert "AC1009" in (tmp_path / "saw.dxf").read_text()
    assert stopspan("export", good, tmp_path / "saw.svg", "--each-sheet").returncode == 0
    sheets = len(saw().drawing())
    assert sorted(file.name for file in tmp_path.glob("*.svg")) == [f"saw-{i + 1}.svg" for i in range(sheets)]


def test_export_says_which_exporters_of_a_folder_it_skips_and_goes_on(tmp_path, good):
    folder = tmp_path / "plugins"
    folder.mkdir()
    (folder / "broken.so").write_text("no library")
    run = stopspan("export", good, tmp_path / "saw.svg", "--exporters", folder)
    assert (run.returncode, run.stdout) == (0, "") and (tmp_path / "saw.svg").is_file()
    [line] = run.stderr.splitlines()
    assert line.startswith(f"stopspan: {folder}/broken.so: skipped: ")


def test_export_to_an_unknown_format_lists_the_known_ones(tmp_path, good):
    for arguments in ([tmp_path / "saw.pdf"], [tmp_path / "saw.svg", "--format", "pdf"]):
        run = stopspan("export", good, *arguments)
        assert run.returncode == 2 and "no exporter 'pdf'; known: csv, dxf, dxf-r12, dxf-r2007, fodg," in run.stderr
    assert not list(tmp_path.glob("saw.[ps]*"))


def test_replay_prints_a_step_a_line(good):
    run = stopspan("replay", good, "tap S1; latch ES1")
    assert (run.returncode, run.stderr) == (0, "")
    lines = [line.split() for line in run.stdout.splitlines()]
    assert lines[0] == ["act", "running", "in", "maybe"]
    assert lines[2:5] == [["(cold)", "-", "-", "-"], ["tap", "S1", "Saw", "K1", "-"], ["latch", "ES1", "-", "-", "-"]]


def test_replay_as_json(good):
    replay = json.loads(stopspan("replay", good, "tap S1; latch ES1", "--json").stdout)
    assert [step["act"] for step in replay["steps"]] == ["(cold)", "tap S1", "latch ES1"]
    assert [step["running"] for step in replay["steps"]] == [[], ["Saw"], []]
    assert replay["steps"][1]["armatures"] == ["K1"]
    assert "u" in replay["steps"][1]["live"] and "u" not in replay["steps"][2]["live"]
    assert replay["notes"] == []


def test_progress_goes_to_stderr_after_a_second():
    # A piece of work of known length instead of a large installation, so that the test does not hang on speed.
    code = (
        "import time; from stopspan.cli import Progress\n"
        "with Progress('checking') as progress:\n    progress.count(3, 140); time.sleep(1.5)\n"
        "with Progress('drawing'):\n    pass\n"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert run.stdout == ""
    assert run.stderr == "checking: 3 of 140 machines, 1 s\n"


def test_help_tells_exit_codes_rule_sets_and_cautions():
    run = stopspan("check", "--help")
    assert run.returncode == 0
    for needed in ("exit codes", "stop-cuts stop-spares stop-beats-start", "prove dead"):
        assert needed in run.stdout


def test_help_names_every_rule_and_every_act():
    said = stopspan("check", "--help").stdout
    assert all(rule.id in "".join(said.split()) for rule in package.rules())
    with pytest.raises(package.ModelError) as refused:
        package.Circuit().replay().act("push S1")
    acts = str(refused.value).split("known: ")[1].split(", ")
    said = stopspan("replay", "--help").stdout
    assert len(acts) > 20 and all(re.search(rf"\b{act}\b", said) for act in acts)


def test_a_file_of_another_kind_is_refused_with_the_kinds_that_can_be_read(tmp_path):
    other = tmp_path / "notes.txt"
    other.write_text("The saw starts by itself.\n")
    done = stopspan("check", other)
    assert done.returncode == 2 and f"{other}:1: " in done.stderr
    assert "XML" in done.stderr and ".csv" in done.stderr


def test_the_version_is_that_of_the_package():
    assert stopspan("--version").stdout.startswith("stopspan ")
