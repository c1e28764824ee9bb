"""Is the range that a docstring states the range that the function keeps, at both ends?

The ends are read from the docstrings and the calls from their own examples: an argument just inside is taken, one just
outside is refused. So neither can change without the other.
"""

from __future__ import annotations

import doctest
import importlib
import inspect
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import pytest

from tankside.physics.conductors import conductor_area, wire_resistance
from tankside.units import quantity, registry
from tests.physics.test_documented import ENTRY, FUNCTIONS, parameters_section

NUMBER = r"(-?\d+(?: \d{3})*(?:\.\d+)?(?:e\d+)?)"
RANGE = re.compile(rf"{NUMBER} to {NUMBER}")
TWO_UNITS = re.compile(rf"{NUMBER} ([A-Za-z]+) to {NUMBER} ([A-Za-z]+)")
OR_MORE = re.compile(rf"{NUMBER}(?: or more| to ``| to the )")
UP_TO = re.compile(rf"(?:``|above 0), to {NUMBER}|`` to {NUMBER}")
UNITS = {
    "m3/h": "m**3/hour", "ft3/h": "ft**3/hour", "m3": "m**3", "m2": "m**2", "cm²": "cm**2", "mm²": "mm**2",
    "m³/s": "m**3/s", "°C": "degC", "°F": "degF", "per": "1/hour", "Mohm": "megaohm", "Gohm": "gigaohm",
    "Tohm": "teraohm", "kohm": "kiloohm", "mohm": "milliohm", "microsiemens": "microsiemens", "Btu/h": "BTU/hour",
    "days": "day", "kg/m³": "kg/m**3", "µS/cm": "uS/cm", "A/m²": "A/m**2", "J/(kg": "J/(kg*K)", "W/(m2": "W/(m**2*K)",
    "lb/(A": "lb/(A*year)", "h": "hour", "1": "", "ppm": "ppm",
}  # fmt: skip
BEYOND = 0.003
"""Share of an end (of the range where the end is nought) by which the tried values lie inside and outside."""
NOT_ALONE = {
    ("galvanic_cell", "rod_diameter"): "the example's rod is longer than wide",
    ("rod_resistance", "diameter"): "the example's rod is longer than wide",
    ("leak_from_test", "start"): "the example's end pressure lies below it",
    ("heat_to_warm", "cold"): "what is warmed gets hotter",
    ("hot_fraction", "cold"): "the hot stream is above it",
    ("closed_tank_pressure_rise", "cold"): "what is warmed gets hotter",
    ("time_to_temperature", "target"): "the example's tank never gets there",
    ("time_to_temperature", "start"): "the example's tank never gets there",
    ("time_to_temperature", "power"): "the example's tank never gets there",
    ("settling_temperature", "flow"): "the example's tank loses nothing: without a flow nothing settles",
    ("daily_energy", "tank"): "the inlet is colder",
    ("daily_energy", "ambient"): "the tank is hotter",
    ("hardness", "amount"): "its end is in mg/L, the example in grains",
}
"""Arguments whose inner ends can't be tried with the example's other arguments, with the reason."""
NOT_TRIED = {
    ("power_from", "resistance"): "the example gives the other two",
    ("conductor_area", "size"): "gauges and mm²: below",
    ("wire_resistance", "size"): "gauges and mm²: below",
    ("voltage_drop", "size"): "gauges and mm²: below",
    ("drill_diameter", "size"): "whole numbers",
    ("stratified_after", "heated"): "shares that add up to one",
    ("supply_point", "orifices"): "a list",
    ("mixture", "composition"): "shares that add up to one",
    ("temperature_after", "inlet"): "nothing flows in the example",
    ("time_to_temperature", "inlet"): "nothing flows in the example",
}
"""Arguments that aren't tried here, with the reason."""


@dataclass(frozen=True)
class End:
    """One end of one argument's range, as documented: ``sign`` -1 for the lower one, ``open`` if it is refused itself."""

    where: str
    function: Callable[..., Any]
    argument: str
    value: float
    width: float
    unit: str
    sign: int
    quantified: bool
    open: bool = False

    def at(self, step: float) -> Any:
        """The argument, so far beyond the end (below 0: inside it)."""
        number = self.value + self.sign * step * (abs(self.value) or self.width)
        return quantity(number, self.unit) if self.quantified else number


def _unit(body: str, start: int, end: int) -> str:
    """The unit behind the numbers, or the first words before the comma in front of them."""
    behind = body[end:].strip(" ,;").split(" ")
    for count in (2, 1):
        text = " ".join(behind[:count]).strip(".,;:)")
        if text in UNITS or (count == 1 and _known(text)):
            return UNITS.get(text, text)
    before = body[:start].split(",")[0].strip()
    return (
        UNITS.get(before, before)
        if before in UNITS or _known(before)
        else UNITS.get(before.split(" ")[0], before.split(" ")[0])
    )


def _known(text: str) -> bool:
    try:
        registry().Unit(text)
    except Exception:  # pint has many ways to say that this is no unit
        return False
    return bool(text)


def _ends_in(body: str) -> Iterator[tuple[float, int, float, str, bool]]:
    """Each end in the words of one entry: value, sign, width, unit, and whether it is refused itself."""

    def value(text: str) -> float:
        return float(text.replace(" ", ""))

    if "above 0" in body:
        yield 0.0, -1, 1.0, _unit(body, body.index("above 0"), len(body)), True
    if (two := TWO_UNITS.search(body)) and all(_known(UNITS.get(two[k], two[k])) for k in (2, 4)):
        yield value(two[1]), -1, 1.0, UNITS.get(two[2], two[2]), False
        yield value(two[3]), 1, 1.0, UNITS.get(two[4], two[4]), False
    elif found := RANGE.search(body):
        low, high, unit = value(found[1]), value(found[2]), _unit(body, found.start(), found.end())
        if "above" not in body[: found.start() + 1]:
            yield low, -1, high - low, unit, False
        yield high, 1, high - low, unit, False
    elif found := OR_MORE.search(body):
        yield value(found[1]), -1, 1.0, _unit(body, found.start(), len(body)), False
    elif found := UP_TO.search(body):
        yield value(found[1] or found[2]), 1, 1.0, _unit(body, found.start(), len(body)), False


def ends() -> list[End]:
    """Every end of every range whose unit can be read."""
    out = []
    for where, function in FUNCTIONS:
        if function.__name__.endswith("_si"):
            continue
        text = re.sub(r"\[\d+\]_?", "", inspect.getdoc(function) or "")
        pieces = ENTRY.split(parameters_section(text))
        for names, entry in zip(pieces[1::2], pieces[2::2], strict=True):
            first = entry.split("\n")[0]
            if "int or str" in first:
                continue
            inside = re.search(r"\[([^\]]*)\]", first)
            for name in names.split(", "):
                if (function.__name__, name) in NOT_TRIED:
                    continue
                annotation = str(inspect.signature(function).parameters[name].annotation)
                for value, sign, width, unit, is_open in _ends_in(inside.group(1) if inside else first):
                    quantified = "Quantity" in annotation and bool(unit)
                    out.append(End(where, function, name, value, width, unit, sign, quantified, is_open))
    return out


@cache
def example(function: Callable[..., Any]) -> inspect.BoundArguments | None:
    """The arguments of the first call in the function's own examples."""
    module = importlib.import_module(function.__module__)
    calls: list[inspect.BoundArguments] = []

    def recorded(*given: Any, **named: Any) -> Any:
        calls.append(inspect.signature(function).bind(*given, **named))
        return function(*given, **named)

    names = {**vars(module), function.__name__: recorded}
    for step in doctest.DocTestParser().get_examples(function.__doc__ or ""):
        exec(compile(step.source.replace("print(", "str("), "example", "exec"), names)
        if calls:
            return calls[0]
    return None


def call(end: End, value: Any) -> None:
    """The example's call with this argument instead."""
    given = example(end.function)
    assert given is not None
    beside = {}
    if end.argument == "flow" and "inlet" in inspect.signature(end.function).parameters:
        beside = {"inlet": quantity(10, "degC")}
    end.function(**{**beside, **given.arguments, end.argument: value})


ENDS = ends()


def test_most_ranges_are_read() -> None:
    """Does the search read most of the ranges?"""
    assert len(ENDS) > 440
    tried = {(end.function.__name__, end.argument) for end in ENDS}
    assert set(NOT_ALONE) <= tried


@pytest.mark.parametrize("end", [0.005, 300.0])
def test_sizes_in_square_millimetres(end: float) -> None:
    """Is a conductor's area kept to the range that its docstring states?"""
    outside, inside = (end * (1 + sign * BEYOND) for sign in ((1, -1) if end > 1 else (-1, 1)))
    for size in (quantity(outside, "mm**2"), f"{outside} mm2"):
        with pytest.raises(ValueError, match="out of range"):
            conductor_area(size)
        with pytest.raises(ValueError, match="out of range"):
            wire_resistance(size, quantity(1, "m"))
    assert conductor_area(quantity(inside, "mm**2")).to("mm**2").magnitude == pytest.approx(inside)
    # The law itself, R = rho l / A, with the IEC's 1/58 ohm mm2/m at 20 degC (IEC 60028).
    ohms = wire_resistance(quantity(inside, "mm**2"), quantity(10, "m")).magnitude
    assert ohms == pytest.approx(10 / 58 / inside, rel=1e-3)


@pytest.mark.parametrize(
    "end", ENDS, ids=[f"{e.where[17:]}-{e.argument}-{'low' if e.sign < 0 else 'high'}" for e in ENDS]
)
def test_the_end_is_kept(end: End) -> None:
    """Is what lies just outside the documented end refused, what lies just inside taken, and nought itself where it is one?"""
    with pytest.raises(ValueError, match="out of range"):
        call(end, end.at(0.0 if end.open else BEYOND))
    if end.open:
        return
    if (end.function.__name__, end.argument) not in NOT_ALONE:
        call(end, end.at(-BEYOND))
        if end.value == 0 and end.sign < 0:
            call(end, end.at(0.0))
