"""Figures: each answered value against the true one, within the meter's and the heater's tolerance."""

from __future__ import annotations

import math

from tankside.case import Case
from tankside.errors import AnswerError
from tankside.figures import truth
from tankside.heater.unit import Unit
from tankside.labs import Figure, Lab
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
    return tally.done()


def _judge(figure: Figure, case: Case, written: str | None, found: Unit | None) -> tuple[bool, str]:
    """Whether an answered figure is right, and the sentence that says so."""
    true = truth(case, figure.source, found)
    right = (
        true.word
        if true.is_open
        else f"{significant((true.low + true.high) / 2 if math.isfinite(true.high) else true.low)} {_pretty(true.unit)}"
    )
    if written is None:
        return False, f"{figure.label}: not answered. It was {right}."
    try:
        said = read_measure(figure.label, written[:MAX_TEXT], figure.unit)
        written = written[:60]
    except AnswerError as error:
        return False, f"{error} It was {right}."
    if true.is_open or said.open:
        good = true.is_open and (said.open or (true.exists and (said.value or 0.0) > true.low))
        return (
            good,
            f"{figure.label}: {written} is right."
            if good
            else f"{figure.label}: you wrote {written}. It was {right}.",
        )
    assert said.value is not None
    slack = max(figure.share * max(abs(true.low), abs(true.high)), figure.least)
    good = true.low - slack <= said.value <= true.high + slack
    return (
        good,
        f"{figure.label}: {written} is right."
        if good
        else f"{figure.label}: you wrote {written}. It was {right}.",
    )


_PRETTY = {
    "ohm": "Ω", "uA": "µA", "inWC": "in. WC", "BTU_per_hour": "BTU/h", "percent": "%", "degF": "°F", "degC": "°C",
    "gpm": "gal/min",
}  # fmt: skip


def _pretty(unit: str) -> str:
    return _PRETTY.get(unit, unit)
