"""The stubs name every argument as the module does: what stubtest cannot see of a pybind11 function."""

import ast
import re

import pytest
from conftest import REPOSITORY

from stopspan import _core

STUB = ast.parse((REPOSITORY / "python/stopspan/_core.pyi").read_text())


def functions():
    for node in STUB.body:
        if isinstance(node, ast.FunctionDef):
            yield node.name, getattr(_core, node.name), node
        elif isinstance(node, ast.ClassDef):
            for member in node.body:
                decorators = getattr(member, "decorator_list", [])
                is_property = any(isinstance(each, ast.Name) and each.id == "property" for each in decorators)
                if isinstance(member, ast.FunctionDef) and not is_property:
                    yield f"{node.name}.{member.name}", getattr(getattr(_core, node.name), member.name), member


def arguments_of_docstring(text: str) -> list[tuple[str, bool]]:
    """Names and whether there is a default, from the first line: name(self: T, a: X, *, b: Y = 1) -> Z."""
    line = text.splitlines()[0]
    inside = line[line.index("(") + 1 : line.rindex(") ->")]
    inside = re.sub(r"'[^']*'", "''", inside)
    arguments, depth, start = [], 0, 0
    for place, letter in enumerate(inside + ","):
        depth += (letter in "([{") - (letter in ")]}")
        if letter == "," and depth == 0:
            argument = inside[start:place].strip()
            start = place + 1
            if argument and argument != "*":
                arguments.append((argument.split(":")[0].split("=")[0].strip().lstrip("*"), "=" in argument))
    return arguments


def arguments_of_stub(node: ast.FunctionDef) -> list[tuple[str, bool]]:
    given = node.args
    plain = [*given.posonlyargs, *given.args]
    first_default = len(plain) - len(given.defaults)
    arguments = [(argument.arg, place >= first_default) for place, argument in enumerate(plain)]
    arguments += [(argument.arg, default is not None) for argument, default in zip(given.kwonlyargs, given.kw_defaults)]
    if given.kwarg:
        arguments.append(("kwargs", False))
    return arguments


@pytest.mark.parametrize(("name", "function", "node"), list(functions()), ids=lambda value: value if isinstance(value, str) else "")
def test_arguments_are_those_of_the_module(name, function, node):
    documented = arguments_of_docstring(function.__doc__)
    written = arguments_of_stub(node)
    if documented and documented[0][0] in ("self", "arg0"):
        documented[0] = ("self", False)
    assert written == documented
