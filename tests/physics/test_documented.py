"""Does every public function of the physics say what each argument is, in which unit and range?"""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import re
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import pytest

import tankside.physics
from tankside.units import registry

MODULES = sorted(
    info.name
    for info in pkgutil.walk_packages(tankside.physics.__path__, "tankside.physics.")
    if not any(part.startswith("_") for part in info.name.split("."))
)
FUNCTIONS: list[tuple[str, Callable[..., Any]]] = [
    (f"{module}.{name}", function)
    for module in MODULES
    for name, function in inspect.getmembers(importlib.import_module(module), inspect.isfunction)
    if not name.startswith("_") and function.__module__ == module
]
SECTION = re.compile(r"^(\w+)\n-+$", re.MULTILINE)
ENTRY = re.compile(r"^(\w+(?:, \w+)*) : ", re.MULTILINE)
UNIT_OR_RANGE = re.compile(r"\[[^\]]*\S[^\]]*\]|\d+ to \d|>=? ?\d")
A_NUMBER = re.compile(r"Quantity|float|int\b|Any|Array")
REFERENCE = re.compile(r"\[\d+\]_?")
A_UNIT = re.compile(r"(?i:\bmoles\b)|\b(?:K|Pa|m|m2|m3/s|W|J|kg|kg/m3|s|V|ohm|mol|moles|fractions?)\b|m²|m³")


def parameters_section(text: str) -> str:
    """The text between the heading "Parameters" and the next heading."""
    parts = SECTION.split(text)
    return parts[parts.index("Parameters") + 1] if "Parameters" in parts[1::2] else ""


def undocumented(function: Callable[..., Any]) -> list[str]:
    """What is missing: parameters without an entry, entries without a unit in [brackets] or a range.

    An argument that is no number (a text, a yes or no, an object) needs its entry only. A
    kernel (``_si``) may do without the section when its sentence names its units.
    """
    text = REFERENCE.sub("", inspect.getdoc(function) or "")
    section = parameters_section(text)
    parameters = inspect.signature(function).parameters
    if function.__name__.endswith("_si") and not section:
        return [] if not parameters or A_UNIT.search(text) else ["no unit anywhere"]
    pieces = ENTRY.split(section)
    entries = {name: entry for names, entry in zip(pieces[1::2], pieces[2::2], strict=True)
               for name in names.split(", ")}  # fmt: skip
    bad = []
    for name, parameter in parameters.items():
        if name not in entries:
            bad.append(f"{name}: no entry")
        elif A_NUMBER.search(str(parameter.annotation)) and not UNIT_OR_RANGE.search(entries[name]):
            bad.append(f"{name}: neither unit nor range")
    return bad + [f"{name}: no such argument" for name in entries if name not in parameters]


def test_something_is_looked_at() -> None:
    """Does the search find the modules that are known to be there?"""
    names = {name for name, _ in FUNCTIONS}
    assert {"tankside.physics.water.density", "tankside.physics.corrosion.mass_loss_si"} <= names
    assert len(FUNCTIONS) > 60


@pytest.mark.parametrize("function", [f for _, f in FUNCTIONS], ids=[name for name, _ in FUNCTIONS])
def test_every_argument_is_documented(function: Callable[..., Any]) -> None:
    """Does the docstring name each argument with its unit or range?"""
    assert undocumented(function) == []


def test_the_check_can_fail() -> None:
    """Are a missing argument and a missing unit noticed?"""

    def law(length: float, width: float, height: float) -> float:
        """A law. [1]_

        Parameters
        ----------
        length : float [m, 0 or more]
            Of it.
        width : float
            Of it.

        Returns
        -------
        float [m²]
        """
        return length * width * height

    assert undocumented(law) == ["width: neither unit nor range", "height: no entry"]

    def kernel_si(length: float) -> float:
        """A law that says nothing about its argument."""
        return length

    assert undocumented(kernel_si) == ["no unit anywhere"]


@pytest.mark.parametrize("module", MODULES)
def test_examples_in_docstrings(module: str) -> None:
    """Do the examples give what they print?"""
    registry()
    result = doctest.testmod(importlib.import_module(module), optionflags=doctest.NORMALIZE_WHITESPACE)
    assert result.failed == 0


def test_importing_the_laws_is_cheap() -> None:
    """Does importing every module load neither SciPy nor pint nor a thermodynamics library?"""
    code = (
        "import importlib, sys\n"
        f"for name in {MODULES!r}: importlib.import_module(name)\n"
        "print(sorted({'scipy', 'pint', 'chemicals', 'cantera', 'CoolProp'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, encoding="utf-8", check=True
    )
    assert done.stdout.strip() == "[]"
