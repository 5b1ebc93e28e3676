"""What others get: a wheel for Python, and find_package(stopspan) for C++ without Python."""

import os
import pathlib
import re
import subprocess
import sys
import zipfile

import pytest
from conftest import REPOSITORY, saw

import stopspan

pytestmark = pytest.mark.xdist_group("install")

BUILD = REPOSITORY / "build"


def run(*command: object, **environment: str) -> str:
    done = subprocess.run(
        [*map(str, command)], capture_output=True, text=True, env={**os.environ, **environment}, cwd=REPOSITORY
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def as_the_checkout_was_built() -> dict[str, str]:
    """The same compiler and launcher, so that a compiler cache has all of it already."""
    cache = (BUILD / "CMakeCache.txt").read_text()
    [compiler] = re.findall(r"^CMAKE_CXX_COMPILER:\w+=(.+)$", cache, flags=re.MULTILINE)
    launcher = re.findall(r"^CMAKE_CXX_COMPILER_LAUNCHER:\w+=(.+)$", cache, flags=re.MULTILINE)
    return {"CXX": compiler, **({"CMAKE_CXX_COMPILER_LAUNCHER": launcher[0]} if launcher else {})}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> pathlib.Path:
    folder = tmp_path_factory.mktemp("wheel")
    run(
        *(sys.executable, "-m", "pip", "wheel", "--quiet", "--disable-pip-version-check"),
        *("--no-deps", "--no-build-isolation", "--wheel-dir", folder, "."),
        SKBUILD_CMAKE_DEFINE="STOPSPAN_WERROR=ON",
        **as_the_checkout_was_built(),
    )
    [made] = folder.glob("*.whl")
    return made


def test_the_wheel_carries_package_stubs_marker_and_exporters(wheel):
    names = set(zipfile.ZipFile(wheel).namelist())
    sources = {f"stopspan/{path.name}" for path in (REPOSITORY / "python/stopspan").glob("*.py*")}
    others = {"py.typed", "installation.xsd", "exporters/dxf.so", "exporters/svg.so"}
    assert sources | {f"stopspan/{name}" for name in others} <= names
    assert [name for name in names if name.startswith("stopspan/_core.") and name.endswith(".so")]
    folders = {name.split("/")[0] for name in names} - {"stopspan"}
    assert folders == {f"stopspan-{stopspan.__version__}.dist-info"}


def test_the_wheel_installs_and_works_without_the_checkout(wheel, tmp_path):
    run(sys.executable, "-m", "venv", "--without-pip", tmp_path / "venv")
    python = tmp_path / "venv/bin/python"
    purelib = run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))").strip()
    run(
        *(sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check", "--python", python),
        *("install", "--no-deps", "--no-index", wheel),
    )
    saw().export(tmp_path / "saw.csv")
    where = run(python, "-I", "-c", "import stopspan; print(stopspan.__file__, *stopspan.formats())").split()
    assert where == [f"{purelib}/stopspan/__init__.py", "dxf", "svg"]
    command = tmp_path / "venv/bin/stopspan"
    assert "Result: all" in run(command, "check", tmp_path / "saw.csv")
    run(command, "export", tmp_path / "saw.csv", tmp_path / "saw.svg")
    assert (tmp_path / "saw.svg").stat().st_size > 1000


def test_a_cpp_project_finds_builds_and_runs_with_the_core_without_python(tmp_path):
    prefix, build = tmp_path / "prefix", tmp_path / "build"
    run("cmake", "--install", BUILD, "--prefix", prefix, "--component", "cpp")
    installed = [path.relative_to(prefix) for path in prefix.rglob("*") if path.is_file()]
    assert not [path for path in installed if path.suffix in (".py", ".pyi") or "_core" in path.name]
    run("cmake", "-S", "tests/install", "-B", build, "-G", "Ninja", f"-DCMAKE_PREFIX_PATH={prefix}")
    run("cmake", "--build", build)
    assert run(build / "consumer").split("\n") == ["M1 runs", "holds", "dxf", "svg", ""]
    assert "boost" not in run("ldd", build / "consumer").lower()


def test_public_headers_need_neither_boost_nor_python():
    for header in (REPOSITORY / "cpp/include/stopspan").glob("*.hpp"):
        text = header.read_text()
        assert "boost/" not in text and "Python.h" not in text and "pybind11" not in text and "Eigen" not in text
