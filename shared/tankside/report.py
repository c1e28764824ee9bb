"""The service report: the learner's answers as data, read from plain lines "label = value unit"."""

from __future__ import annotations

import math
import re
from typing import Any

from pydantic import Field

from tankside.datafiles import Record
from tankside.errors import AnswerError
from tankside.faults.catalogue import JOINT, Fault, Remedy, fault_named, faults, remedies
from tankside.heater.model import HeaterModel
from tankside.labs import Lab

MAX_TEXT = 20_000
OPEN_WORDS = ("open", "ol", "o.l.", "open circuit", "no continuity", "infinite", "over range")
NONE_WORDS = ("none", "no reading", "nothing", "no flame", "no rod", "not there")
"""What may be written where a heater has no such value: no flame to analyze, no rod on the plug."""
OVER_WORDS = ("over range", "ol", "o.l.", "overrange")
"""What may be written where the analyzer's cell counts no further."""
LABELS = {
    "diagnosis": "diagnosis",
    "evidence": "log lines that show it",
    "remedy": "remedy",
    "condition": "condition left",
}
CONDITIONS = ("in service", "locked out and reported")


class Measure(Record):
    """A figure as answered: a number in its unit, or open: nothing to measure, or over: more than can be measured."""

    value: float | None = None
    unit: str = ""
    open: bool = False
    over: bool = False


class ServiceReport(Record):
    """The learner's answers. ``figures`` maps a figure's id to the text that was written."""

    figures: dict[str, str] = Field(default_factory=dict)
    diagnosis: str | None = None
    evidence: tuple[int, ...] = ()
    remedy: str | None = None
    condition: str | None = None
    unread: tuple[str, ...] = Field(default=())


def parse_answers(text: str) -> dict[str, str]:
    """The lines "label = value" of an answers cell. Blank answers and # lines are left out; later lines win."""
    return {label: value for label, value in answer_lines_in(text) if value}


def answer_lines_in(text: str) -> list[tuple[str, str]]:
    """Every line "label = value" of an answers cell, as (plain label, value); the value may be blank."""
    out = []
    for line in text[:MAX_TEXT].splitlines():
        line = line.strip()
        if line and not line.startswith(("#", "%%")) and "=" in line:
            label, _, value = line.partition("=")
            out.append((_plain(label), value.strip()))
    return out


def _plain(label: str) -> str:
    return re.sub(r"\s+", " ", label).strip().casefold()


def build_report(lab: Lab, answers: dict[str, str]) -> tuple[ServiceReport, list[str]]:
    """The report that the answers make, and one sentence for each answer that can't be used."""
    answers = {_plain(label): value for label, value in answers.items()}
    problems: list[str] = []
    figures: dict[str, str] = {}
    for figure in lab.figure:
        text = answers.pop(_plain(figure.label), None)
        if text is None:
            problems.append(f"{figure.label}: not answered.")
            continue
        figures[figure.id] = text
        try:
            read_measure(figure.label, text, figure.unit)
        except AnswerError as error:
            problems.append(str(error))
    fields: dict[str, Any] = {"figures": figures}
    for key, known, kind in (
        ("diagnosis", _fault_words(lab), "fault"),
        ("remedy", _remedy_words(), "remedy"),
    ):
        text = answers.pop(LABELS[key], None)
        if text is None:
            problems.append(f"{LABELS[key]}: not answered.")
            continue
        try:
            fields[key] = _choices(LABELS[key], text, known, kind, lab.faults_at_once)
        except AnswerError as error:
            problems.append(str(error))
    text = answers.pop(LABELS["evidence"], None)
    if text is None:
        problems.append(f"{LABELS['evidence']}: not answered.")
    else:
        try:
            fields["evidence"] = _numbers(text)
        except AnswerError as error:
            problems.append(str(error))
    text = answers.pop(LABELS["condition"], None)
    if text is None:
        problems.append(f"{LABELS['condition']}: not answered.")
    else:
        try:
            fields["condition"] = _choice(LABELS["condition"], text, {c: c for c in CONDITIONS}, "condition")
        except AnswerError as error:
            problems.append(str(error))
    fields["unread"] = tuple(answers)
    problems += [
        f"{label[:60]}: this label isn't asked for. Leave the labels as they were." for label in answers
    ]
    return ServiceReport(**fields), problems


def _fault_words(lab: Lab) -> dict[str, str]:
    known: dict[str, Fault] = {f: fault_named(f) for f in lab.faults}
    return {_plain(word): f for f, fault in known.items() for word in (f, fault.name)}


def _remedy_words() -> dict[str, str]:
    known: dict[str, Remedy] = remedies()
    return {_plain(word): r for r, remedy in known.items() for word in (r, remedy.name)}


def _choice(label: str, text: str, known: dict[str, str], kind: str) -> str:
    from difflib import get_close_matches

    word = _plain(text.strip().strip("\"'.")).replace("_", "-")
    if word in known:
        return known[word]
    names = {key: said for said, key in known.items()}  # of each key the name is last: what people read
    near = get_close_matches(word, known, n=1)
    holding = [said for said in names.values() if word and word in said]
    if len(holding) > 1:
        hint = f"More than one {kind} has that in its name. Pick one from the list, word for word."
    elif holding or near:
        hint = f"Did you mean {holding[0] if holding else names[known[near[0]]]!r}?"
    else:
        hint = f"Pick one {kind} from the list, word for word."
    raise AnswerError(label, text[:60], hint)


def _choices(label: str, text: str, known: dict[str, str], kind: str, most: int) -> str:
    """One choice, or (in a lab with two faults at once) two with a ";" or a "+" between them, as one id."""
    parts = [part for part in re.split(r"[;+]", text) if part.strip()] if most > 1 else [text]
    if not 0 < len(parts) <= most:
        raise AnswerError(label, text[:60], f"Name one, or {most} with a semicolon between them.")
    chosen = {_choice(label, part, known, kind) for part in parts}
    in_order = list(dict.fromkeys(known.values())) if kind == "fault" else sorted(chosen)
    return JOINT.join(one for one in in_order if one in chosen)


def _numbers(text: str) -> tuple[int, ...]:
    parts = [p for p in re.split(r"[,;\s]+|\band\b", text.strip()) if p]
    if not parts or len(parts) > 200 or not all(p.isascii() and p.isdigit() and len(p) < 7 for p in parts):
        raise AnswerError(LABELS["evidence"], text[:60], "Write the numbers of log lines, like 7, 9, 12.")
    return tuple(sorted({int(p) for p in parts}))


_NUMBER = re.compile(
    r"^([-+]?)(\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d*)?|\.\d+)(?:e([-+]?\d{1,2}))?\s*(.*)$", re.IGNORECASE
)
_UNITS: dict[str, dict[str, float]] = {
    "V": {"v": 1.0, "volt": 1.0, "volts": 1.0, "vac": 1.0, "v~": 1.0, "v ac": 1.0, "mv": 1e-3, "kv": 1e3},
    "A": {"a": 1.0, "amp": 1.0, "amps": 1.0, "ampere": 1.0, "amperes": 1.0, "ma": 1e-3, "milliamps": 1e-3},
    "W": {"w": 1.0, "watt": 1.0, "watts": 1.0, "kw": 1e3, "kilowatt": 1e3, "kilowatts": 1e3},
    "ohm": {
        **dict.fromkeys(("ohm", "ohms", "ω"), 1.0),
        **dict.fromkeys(("kohm", "kohms", "kω", "k", "kilohm", "kilohms"), 1e3),
        **dict.fromkeys(("megohm", "megohms", "megω"), 1e6),
    },
    "uA": {**dict.fromkeys(("ua", "µa", "μa", "microamp", "microamps", "microampere", "microamperes"), 1.0), "ma": 1e3},
    "mV": {**dict.fromkeys(("mv", "mv⎓", "mv dc", "millivolt", "millivolts"), 1.0), **dict.fromkeys(("v", "volt", "volts"), 1e3)},
    "mA": {**dict.fromkeys(("ma", "milliamp", "milliamps", "milliampere", "milliamperes"), 1.0), "a": 1e3},
    "inWC": {
        **dict.fromkeys(("inwc", "in. wc", "in wc", "in.wc", '"wc', '" wc', "inches wc", "inches of water", "iwc"), 1.0),
        "mbar": 100 / 249.08891, "pa": 1 / 249.08891, "kpa": 1000 / 249.08891, "psi": 6894.757293168 / 249.08891,
    },
    "psi": {"psi": 1.0, "kpa": 1 / 6.894757293168, "bar": 100 / 6.894757293168},
    "BTU_per_hour": {
        **dict.fromkeys(("btu_per_hour", "btu/h", "btu/hr", "btuh", "btu per hour", "btu/hour"), 1.0),
        "w": 3600 / 1055.056, "kw": 3.6e6 / 1055.056,
    },
    "percent": dict.fromkeys(("percent", "%", "per cent"), 1.0),
    "ppm": dict.fromkeys(("ppm", "ppm air-free", "ppm air free"), 1.0),
    "mm": {**dict.fromkeys(("mm", "millimeter", "millimeters"), 1.0), "in": 25.4, "in.": 25.4, "inch": 25.4, '"': 25.4},
    "kg": {"kg": 1.0, "lb": 0.45359237, "lbs": 0.45359237, "g": 1e-3},
    "gal": {**dict.fromkeys(("gal", "gallon", "gallons", "us gal"), 1.0), "l": 1 / 3.785411784, "liters": 1 / 3.785411784},
    "gpm": {**dict.fromkeys(("gpm", "gal/min", "gallons per minute"), 1.0), "l/min": 1 / 3.785411784},
    "gpg": {**dict.fromkeys(("gpg", "grains", "grains per gallon", "grains/gal"), 1.0), **dict.fromkeys(("mg/l", "ppm"), 1 / 17.118)},
    "min": {**dict.fromkeys(("min", "minute", "minutes"), 1.0), **dict.fromkeys(("h", "hr", "hour", "hours"), 60.0)},
    "years": {**dict.fromkeys(("years", "year", "a", "yr", "yrs"), 1.0), **dict.fromkeys(("months", "month"), 1 / 12)},
    "USD": dict.fromkeys(("usd", "$", "dollars", "dollar"), 1.0),
}  # fmt: skip
_CELSIUS = ("°c", "degc", "c", "deg c", "celsius")
_FAHRENHEIT = ("°f", "degf", "f", "deg f", "fahrenheit")


_EXAMPLES = {
    "V": "119.6 V", "A": "12.0 A", "W": "1440 W", "ohm": "10.2 ohm", "uA": "3.6 µA", "mV": "24.6 mV", "inWC": "10.8 in. WC",
    "BTU_per_hour": "11,500 BTU/h", "percent": "8.4 %", "ppm": "45 ppm", "degF": "128 °F", "degC": "53 °C",
    "mm": "0.97 mm", "gpm": "1.6 gal/min", "USD": "120 USD",
}  # fmt: skip


def read_measure(label: str, text: str, unit: str) -> Measure:
    """A figure as a number in ``unit``. ``AnswerError`` says what can't be read and how to write it."""
    example = _EXAMPLES.get(unit, f"12.3 {unit}")
    asked = f"Write a number with its unit, like {example}."
    word = text.strip().replace("Ω", "Ω").replace("−", "-")
    if _plain(word) in (OPEN_WORDS if unit == "ohm" else NONE_WORDS):
        return Measure(open=True)
    if unit == "ppm" and _plain(word) in OVER_WORDS:
        return Measure(over=True)
    if unit == "USD":
        word = word.removeprefix("$").strip() + (" USD" if word.startswith("$") else "")
    found = _NUMBER.match(word)
    if not found:
        if re.match(r"^\d+,\d+", word):
            raise AnswerError(label, text[:60], f"Use a point for decimals. {asked}")
        raise AnswerError(label, text[:60], asked)
    sign, digits, power, rest = found.groups()
    if rest.startswith(","):
        raise AnswerError(label, text[:60], f"Use a point for decimals. {asked}")
    if not rest:
        raise AnswerError(label, text[:60], f"The unit is missing. {asked}")
    value = float(f"{sign}{digits.replace(',', '')}e{power or 0}")
    if unit in ("degF", "degC"):
        value = _degrees(value, rest, unit, label, text, asked)
    else:
        value *= _scale(rest, unit, label, text, asked)
    if not math.isfinite(value):
        raise AnswerError(label, text[:60], asked)
    return Measure(value=value, unit=unit)


def _degrees(value: float, written: str, unit: str, label: str, text: str, asked: str) -> float:
    """A temperature in ``unit``; the two scales don't begin at the same point."""
    plain = _plain(written)
    if plain not in (*_CELSIUS, *_FAHRENHEIT):
        raise AnswerError(label, text[:60], f"{written[:30]!r} isn't a unit that fits here. {asked}")
    if (plain in _CELSIUS) == (unit == "degC"):
        return value
    return value * 1.8 + 32 if unit == "degF" else (value - 32) / 1.8


def _scale(written: str, unit: str, label: str, text: str, asked: str) -> float:
    if unit == "ohm" and written in ("MΩ", "MΩ", "Mohm", "Mohms", "M"):
        return 1e6
    table = _UNITS.get(unit, {unit.casefold(): 1.0})
    scale = table.get(_plain(written))
    if scale is None:
        raise AnswerError(label, text[:60], f"{written[:30]!r} isn't a unit that fits here. {asked}")
    return scale


def fault_in(lab: Lab, words: str) -> str:
    """The id of the fault that is named in words (or by its id); ``AnswerError`` with a hint if there is none."""
    return _choice(LABELS["diagnosis"], words, _fault_words(lab), "fault")


def fault_list(lab: Lab, model: HeaterModel) -> list[tuple[str, str, str]]:
    """The lab's faults that a heater can have, to choose from: name, place, id, by place."""
    rows = [(faults()[f].name, faults()[f].place, f) for f in lab.faults if faults()[f].applies_to(model)]
    return sorted(rows, key=lambda row: (row[1], row[0]))
