"""The README shows no code that was not run, and no output that was not printed."""

import contextlib
import io
import re

import pytest
from conftest import REPOSITORY

import stopspan

README = (REPOSITORY / "README.md").read_text()
BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```$", README, flags=re.MULTILINE | re.DOTALL)
PROGRAMS = [place for place, (language, _) in enumerate(BLOCKS) if language == "python"]


@pytest.mark.parametrize("place", PROGRAMS)
def test_a_program_of_the_readme_prints_what_stands_below_it(place, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    language, expected = BLOCKS[place + 1] if place + 1 < len(BLOCKS) else ("", "")
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        exec(compile(BLOCKS[place][1], "README.md", "exec"), {"__name__": "__main__"})
    assert language == "text"
    assert printed.getvalue() == expected


def test_the_readme_has_code_the_two_commands_and_a_picture_that_is_there():
    assert PROGRAMS
    assert "bash examples/run" in README and "bash tests/run" in README
    pictures = re.findall(r"!\[[^]]*\]\(([^)]+)\)", README)
    assert pictures and all((REPOSITORY / picture).is_file() for picture in pictures)


def test_the_picture_is_the_plan_that_the_demo_draws(monkeypatch):
    monkeypatch.syspath_prepend(REPOSITORY / "examples")
    import demo

    plan = stopspan.render(demo.describe().drawing()[1], "svg")
    assert (REPOSITORY / "examples/plan.svg").read_bytes() == plan, "copy out/plan.svg to examples/plan.svg"


def test_the_first_example_has_about_ten_lines():
    assert 5 <= len(BLOCKS[PROGRAMS[0]][1].strip().splitlines()) <= 14


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_links_lead_to_files_that_are_there(name):
    for link in re.findall(r"\]\(([^)#:]+)\)", (REPOSITORY / name).read_text()):
        assert (REPOSITORY / link).exists(), link
