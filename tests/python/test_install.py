"""What others get: a wheel for Python, and find_package(stopspan) for C++ without Python."""

import os
import pathlib
import re
import shutil
import subprocess
import sys
import zipfile

import pytest
from conftest import REPOSITORY, saw

import stopspan

pytestmark = pytest.mark.xdist_group("install")

BUILD = REPOSITORY / "build"
FORMATS = ["dxf", "dxf-r12", "dxf-r2007", "fodg", "graphml", "svg"]


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
    others = {"py.typed", "installation.xsd", *(f"exporters/{name}.so" for name in ("dxf", "fodg", "graphml", "svg"))}
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
    assert where == [f"{purelib}/stopspan/__init__.py", *FORMATS]
    command = tmp_path / "venv/bin/stopspan"
    assert "Result: all" in run(command, "check", tmp_path / "saw.csv")
    run(command, "export", tmp_path / "saw.csv", tmp_path / "saw.svg")
    assert (tmp_path / "saw.svg").stat().st_size > 1000


@pytest.fixture(scope="module")
def prefix(tmp_path_factory) -> pathlib.Path:
    """The core installed for C++."""
    folder = tmp_path_factory.mktemp("prefix")
    run("cmake", "--install", BUILD, "--prefix", folder, "--component", "cpp")
    return folder


def test_a_cpp_project_finds_builds_and_runs_with_the_core_without_python(prefix, tmp_path):
    build = tmp_path / "build"
    installed = [path.relative_to(prefix) for path in prefix.rglob("*") if path.is_file()]
    assert not [path for path in installed if path.suffix in (".py", ".pyi") or "_core" in path.name]
    run("cmake", "-S", "tests/install", "-B", build, "-G", "Ninja", f"-DCMAKE_PREFIX_PATH={prefix}")
    run("cmake", "--build", build)
    assert run(build / "consumer").split("\n") == ["M1 runs", "holds", *FORMATS, ""]
    assert "boost" not in run("ldd", build / "consumer").lower()


NETS_OF_THE_SAW = {
    **{"L1": {"G1:L1", "F1:1", "K1:1"}, "L2": {"G1:L2", "K1:3"}, "L3": {"G1:L3", "K1:5"}, "N": {"G1:N", "K1:A2"}},
    **{"a": {"F1:2", "ES1:11"}, "b": {"ES1:12", "S2:11"}, "c": {"S2:12", "S1:13", "K1:13"}, "d": {"S1:14", "K1:A1", "K1:14"}},
    **{"u": {"K1:2", "M1:U"}, "v": {"K1:4", "M1:V"}, "w": {"K1:6", "M1:W"}},
}


def test_the_example_of_an_exporter_in_cpp_is_built_outside_the_tree_and_loaded(prefix, tmp_path):
    build = tmp_path / "build"
    run("cmake", "-S", "examples/netlist_exporter", "-B", build, "-G", "Ninja", f"-DCMAKE_PREFIX_PATH={prefix}")
    run("cmake", "--build", build)
    assert "stopspan" not in run("ldd", build / "libnetlist.so")  # needs nothing of the core
    saw().export(tmp_path / "saw.csv")
    command = pathlib.Path(sys.executable).parent / "stopspan"
    run(command, "export", tmp_path / "saw.csv", tmp_path / "a.net", "--exporters", build)
    run(command, "export", tmp_path / "saw.csv", tmp_path / "b.txt", "--format", "netlist", STOPSPAN_EXPORTERS=str(build))
    lines = [line.split() for line in (tmp_path / "a.net").read_text().splitlines()]
    assert {net: set(terminals) for net, *terminals in lines} == NETS_OF_THE_SAW
    assert (tmp_path / "a.net").read_bytes() == (tmp_path / "b.txt").read_bytes()


def test_the_example_of_an_exporter_in_python_is_installed_and_found(tmp_path):
    source, site = tmp_path / "source", tmp_path / "site"
    shutil.copytree(REPOSITORY / "examples/dot_exporter", source)  # building leaves files
    run(
        *(sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check", "install"),
        *("--no-deps", "--no-index", "--no-build-isolation", "--target", site, source),
    )
    saw().export(tmp_path / "saw.csv")
    command = pathlib.Path(sys.executable).parent / "stopspan"
    run(command, "export", tmp_path / "saw.csv", tmp_path / "saw.gv", PYTHONPATH=str(site))
    graph = (tmp_path / "saw.gv").read_text()
    found: dict[str, set[str]] = {}
    for device, net, terminal in re.findall(r'"device (\S+)" -- "net (\S+)" \[taillabel="(\S+)"\];', graph):
        found.setdefault(net, set()).add(f"{device}:{terminal}")
    assert found == NETS_OF_THE_SAW


def test_public_headers_need_neither_boost_nor_python():
    for header in (REPOSITORY / "cpp/include/stopspan").glob("*.hpp"):
        text = header.read_text()
        assert "boost/" not in text and "Python.h" not in text and "pybind11" not in text and "Eigen" not in text
