"""The demo as a user runs it: the one planted mistake is found and explained, and all files are there."""

import contextlib
import importlib.util
import io
import xml.etree.ElementTree as tree
from types import ModuleType

import pytest
from conftest import REPOSITORY, left_open

import stopspan

pytestmark = pytest.mark.xdist_group("demo")

FILES = ("report.txt", "ninefold.xml", "ninefold.dxf", "ninefold.svg", "matrix.csv", "plan.svg", "lists/wires.csv")
NOT_HOLDING = ("fails", "maybe", "undecided")


@pytest.fixture(scope="module")
def demo() -> ModuleType:
    spec = importlib.util.spec_from_file_location("demo", REPOSITORY / "examples" / "demo.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def works(demo):
    return demo.describe()


@pytest.fixture(scope="module")
def verdict(works):
    return works.check()


@pytest.fixture(scope="module")
def run(demo, tmp_path_factory):
    folder = tmp_path_factory.mktemp("out")
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        assert demo.main([str(folder)]) == 0
    return folder, said.getvalue()


def test_exactly_the_planted_mistake_is_found(verdict):
    bad = [finding for finding in verdict.findings if finding.status in NOT_HOLDING]
    assert [(f.rule, f.status, set(f.subjects)) for f in bad] == [
        ("stop-cuts", "fails", {"ES7", "Charcoal crusher"})
    ], verdict.report()


def test_nothing_is_undecided(verdict):
    assert sum(counts.get("undecided", 0) for counts in verdict.counts.values()) == 0
    assert {"single-fault", "hidden-fault", "earth-fault"} <= set(verdict.counts)
    assert not left_open(verdict)


def test_only_the_planted_cell_of_the_matrix_is_not_as_asked(verdict):
    found = {"cut": "cuts", "keep": "spares"}
    other = [(c.stop, c.machine) for c in verdict.matrix if c.asked in found and c.found != found[c.asked]]
    assert other == [("ES7", "Charcoal crusher")]


def test_the_witness_replayed_ends_with_the_crusher_running(works, verdict):
    (finding,) = (f for f in verdict.findings if f.status == "fails")
    replay = works.circuit().replay()
    for act in finding.witness.acts:
        settled = replay.act(act)
    assert finding.witness.acts[-1] == "latch ES7"
    assert "Charcoal crusher" in settled.running or "M15" in settled.running


def test_the_path_that_holds_it_passes_the_wire_that_was_planted_wrong(verdict):
    (finding,) = (f for f in verdict.findings if f.status == "fails")
    path = " ".join(finding.witness.path)
    assert "c5 K151:13-14 c7" in path and "ES7" not in path


def test_mended_by_hand_everything_holds(demo, works):
    verdict = demo.mended(works).check()
    assert verdict.ok, verdict.report()


def test_the_works_is_as_large_and_as_varied_as_it_says(works):
    kinds = {device.kind for device in works.circuit().devices}
    assert len(works.machines) >= 14 and len(works.areas) >= 3 and len(works.boards) == 2
    assert {"motor-1ph", "motor-3ph", "motor-6lead", "motor-2speed", "drive", "pedal", "floor-bar"} <= kinds


def test_all_files_are_written_and_readable(run, works):
    folder, _ = run
    for name in FILES:
        assert (folder / name).stat().st_size > 0, name
    assert stopspan.load(folder / "ninefold.xml") == works
    tree.parse(folder / "ninefold.svg")
    assert (folder / "ninefold.dxf").read_text(encoding="utf-8").rstrip().endswith("EOF")
    assert "ES7,Charcoal crusher,cut," in (folder / "matrix.csv").read_text(encoding="utf-8")


def test_the_summary_says_what_is_wrong_and_how_to_see_and_mend_it(run):
    _, said = run
    for words in ("ES7", "Charcoal crusher", "See it act by act", "latch ES7", "K151:13 from c5 to c6", "lock off", "everything holds"):
        assert words in said, said
