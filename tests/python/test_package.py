"""What importing the package costs and gives."""

import pathlib
import re
import subprocess
import sys

from conftest import REPOSITORY

import stopspan
from stopspan import _core


def python(code: str) -> str:
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return run.stdout


def test_the_version_is_written_once():
    written = re.search(r"project\(stopspan VERSION ([0-9.]+)", (REPOSITORY / "CMakeLists.txt").read_text())
    assert stopspan.__version__ == written[1]
    project = (REPOSITORY / "pyproject.toml").read_text()
    assert 'dynamic = ["version"]' in project and written[1] not in project


def test_import_loads_nothing_that_is_optional():
    loaded = python("import sys; before = set(sys.modules); import stopspan; print(*set(sys.modules) - before)").split()
    tops = {name.split(".")[0] for name in loaded}
    assert tops <= {"stopspan", *sys.stdlib_module_names}
    assert not tops & {"argparse", "csv", "html", "json", "shutil", "textwrap", "threading"}  # left to those who need them
    assert {name for name in loaded if name.startswith("stopspan")} == {"stopspan", "stopspan._core", "stopspan.words"}


def test_every_public_name_is_there():
    for name in stopspan.__all__:
        assert getattr(stopspan, name) is not None
    assert len(set(stopspan.__all__)) == len(stopspan.__all__) and sorted(stopspan.__all__) == stopspan.__all__


def test_the_package_says_that_it_is_typed():
    folder = pathlib.Path(stopspan.__file__).parent
    assert (folder / "py.typed").is_file() and (folder / "_core.pyi").is_file()


def test_a_core_that_cannot_be_loaded_says_which_python_and_the_likely_cause(tmp_path):
    package = tmp_path / "stopspan"
    package.mkdir()
    for source in (REPOSITORY / "python/stopspan").glob("*.py"):
        (package / source.name).write_text(source.read_text())
    run = subprocess.run(
        [sys.executable, "-c", "import stopspan"],
        cwd=tmp_path,
        env={"PYTHONPATH": str(tmp_path)},
        capture_output=True,
        text=True,
    )
    assert run.returncode != 0
    assert f"cannot be loaded by Python {sys.version.split()[0]}" in run.stderr
    assert "built for another Python or is not built" in run.stderr


def test_every_signature_speaks_python():
    # A C++ name in a docstring means a type was used before it was registered.
    for owner in [_core, *(value for value in vars(_core).values() if isinstance(value, type))]:
        for name, value in vars(owner).items():
            assert "::" not in (getattr(value, "__doc__", None) or ""), f"{owner.__name__}.{name}"
