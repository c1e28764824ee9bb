"""Figures: each answered value against the true one, within the meter's and the heater's tolerance."""

from __future__ import annotations

import math
import re

from tankside.case import Case
from tankside.diagnosis.bench_tests import AS_FOUND, CALLING, DRAINED, ISOLATED, LIFTED
from tankside.errors import AnswerError
from tankside.figures import Truth, truth, way_to
from tankside.figures.registry import DECIDED, PLATE
from tankside.heater.unit import Unit
from tankside.labs import Figure, Lab
from tankside.measures import amount
from tankside.report import MAX_TEXT, ServiceReport, read_measure
from tankside.scoring.marks import PartMark, Tally
from tankside.units import significant


def figures(lab: Lab, case: Case, report: ServiceReport, found: Unit | None) -> PartMark:
    """What the answered values are worth; ``found`` is the unit as found, if it is at hand."""
    tally = Tally("figures", lab.weights["figures"])
    for figure in lab.figure:
        share = 1.0 / len(lab.figure)
        ok, text = _judge(figure, case, report.figures.get(figure.id), found)
        tally.add(share if ok else 0.0, text)
        if not ok:
            tally.advise(
                "Write every figure down with its unit while you work, and look once whether its size makes sense."
            )
    return tally.done()


def _judge(figure: Figure, case: Case, written: str | None, found: Unit | None) -> tuple[bool, str]:
    """Whether an answered figure is right, and the sentence that says so."""
    true = truth(case, figure.source, found)
    slack = _slack(figure, true)
    label = figure.label[:1].upper() + figure.label[1:]
    if written is None:
        return False, f"{label}: not answered. It was {_right(true, '', slack)}. {_how(figure)}"
    right = _right(true, written, slack)
    try:
        said = read_measure(figure.label, written[:MAX_TEXT], figure.unit)
        written = _as_shown(written[:60])
    except AnswerError as error:
        return False, f"{error} It was {right}."
    if true.is_open or said.open:
        good = true.is_open and (said.open or (true.exists and (said.value or 0.0) > true.low))
    elif said.over:
        good = not math.isfinite(true.high)
    else:
        assert said.value is not None
        good = true.low - slack <= said.value <= true.high + slack
    if good:
        return True, f"{label}: {written} is right."
    return False, f"{label}: you wrote {written}. It was {right}. {_how(figure)}"


def _slack(figure: Figure, true: Truth) -> float:
    """By how much an answer may be off, in the figure's unit."""
    ends = [abs(end) for end in (true.low, true.high) if math.isfinite(end)]
    return max(figure.share * max(ends, default=0.0), figure.least)


def _right(true: Truth, written: str, slack: float) -> str:
    """The true value in words: in the system of measures that the learner wrote in, in both if nothing was written."""
    if true.is_open:
        return true.word if true.exists else f"“{true.word}”: this heater has no such value"
    if not math.isfinite(true.high):
        return f"{_amount(true.low, true.unit, written)} or more"
    if true.high - true.low > slack:
        return f"{_amount(true.low, true.unit, written)} to {_amount(true.high, true.unit, written)}"
    return _amount((true.low + true.high) / 2, true.unit, written)


def _amount(value: float, unit: str, written: str) -> str:
    kind = _KIND.get(unit)
    if kind is None:
        return f"{significant(value)} {_PRETTY.get(unit, unit)}"
    word = re.sub(r"^[-+\d.,\s]*", "", written).strip().casefold()
    return amount(value, unit, kind, "both" if not word else "si" if word in _SI else "us")


def _as_shown(written: str) -> str:
    """What was written, with its unit as the trade writes it."""
    number, _, unit = written.rpartition(" ")
    return f"{number} {_PRETTY[unit]}" if number and unit in _PRETTY else written


def _how(figure: Figure) -> str:
    """How one gets the figure, in a sentence."""
    return _GOT.get(way_to(figure.source).situation, "")


_GOT = {
    PLATE: "The data plate gives it.",
    AS_FOUND: "You get it with the heater as you find it.",
    CALLING: "You get it while the heater calls for heat.",
    ISOLATED: "You get it with the heater isolated and proven dead.",
    LIFTED: "You get it with the heater isolated and proven dead, and its leads lifted.",
    DRAINED: "You get it with the tank drained.",
    DECIDED: "You get it from the price list, once the repair is decided.",
}
_KIND = {
    "degF": "temperature", "psi": "pressure", "inWC": "gas pressure", "BTU_per_hour": "heat rate", "gal": "volume",
    "gpm": "water flow",
}  # fmt: skip
"""Units that the other system of measures doesn't use, and the kind of amount."""
_SI = frozenset(
    ("°c", "c", "degc", "deg c", "celsius", "kpa", "pa", "bar", "mbar", "kw", "w", "l", "liter", "liters", "litre", "litres", "l/min")
)  # fmt: skip
_PRETTY = {
    "ohm": "Ω", "kohm": "kΩ", "Mohm": "MΩ", "megohm": "MΩ", "uA": "µA", "inWC": "in. WC", "BTU_per_hour": "BTU/h", "percent": "%", "degF": "°F", "degC": "°C",
    "gpm": "gal/min",
}  # fmt: skip
