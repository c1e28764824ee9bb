"""The service report form as plain data: its fields from the lab's data file, what stands in them, what is wrong.

It knows no screen. What is written ends as the same lines of text that an answers cell holds, so that the form and
the cells are read, checked and marked by one piece of code.
"""

from __future__ import annotations

import logging
import math
import re
from collections.abc import Callable
from dataclasses import asdict
from functools import cached_property
from pathlib import Path
from typing import Any
from weakref import WeakSet

from tankside.bench import Bench
from tankside.diagnosis import coach, debrief_picture
from tankside.errors import BenchLogError, TanksideError
from tankside.faults.catalogue import fault_named, remedies, remedies_for
from tankside.labs import Lab
from tankside.report import (
    CONDITIONS,
    LABELS,
    NONE_WORDS,
    OPEN_WORDS,
    OVER_WORDS,
    ServiceReport,
    build_report,
    fault_in,
    fault_list,
)
from tankside.scoring import Marks, score
from tankside.widgets.desk_answers import AnswerSheet
from tankside.widgets.desk_package import Package, handed_in, write_package
from tankside.workorder import WorkOrder

LOGGER = logging.getLogger(__name__)
MOST_ANSWER, MOST_NOTES = 400, 20_000
"""Characters that one field takes."""
UNITS: dict[str, tuple[tuple[str, str], ...]] = {
    "V": (("V", "V"), ("mV", "mV"), ("kV", "kV")),
    "A": (("A", "A"), ("mA", "mA")),
    "W": (("W", "W"), ("kW", "kW")),
    "ohm": (("ohm", "Ω"), ("kohm", "kΩ"), ("Mohm", "MΩ"), ("open", "open (OL)")),
    "ppm": (("ppm", "ppm"), ("over range", "over range (OL)")),
    "uA": (("µA", "µA"), ("mA", "mA")),
    "mV": (("mV", "mV"), ("V", "V")),
    "mA": (("mA", "mA"), ("A", "A")),
    "inWC": (("in. WC", "in. WC"), ("mbar", "mbar")),
    "psi": (("psi", "psi"), ("bar", "bar"), ("kPa", "kPa")),
    "BTU_per_hour": (("BTU/h", "BTU/h"), ("kW", "kW")),
    "percent": (("%", "%"),),
    "degF": (("°F", "°F"), ("°C", "°C")),
    "degC": (("°C", "°C"), ("°F", "°F")),
    "mm": (("mm", "mm"), ("in.", "in.")),
    "kg": (("lb", "lb"), ("kg", "kg")),
    "gal": (("gal", "gal"), ("L", "L")),
    "gpm": (("gal/min", "gal/min"), ("L/min", "L/min")),
    "gpg": (("gpg", "gpg"), ("mg/L", "mg/L")),
    "min": (("min", "min"), ("h", "h")),
    "years": (("years", "years"), ("months", "months")),
    "USD": (("USD", "$"),),
}
"""What the unit's drop-down offers: (as it is written down, as it is shown)."""
NO_NUMBER = {"open": OPEN_WORDS, "none": NONE_WORDS, "over range": OVER_WORDS}
"""Entries of that drop-down that take no number, and the words of an answer that are read as them."""
EACH = ("first", "second")
"""What the fields of an answer with two parts are called."""
TICKS = {
    "in service": "In service. Covers on, proven that it heats.",
    "locked out and reported": "Locked out, tagged and reported to the owner.",
}
"""The two conditions in the words that stand beside a tick box."""


class WatchedBench(Bench):
    """A bench that tells others when something was done at it."""

    def __init__(self, order: WorkOrder, log_path: Path | None = None) -> None:
        self.watchers: list[Callable[[], None]] = []
        super().__init__(order, log_path)

    def do(self, verb: str, **arguments: Any) -> Any:
        """As ``Bench.do``; a watcher's failure is never the action's."""
        outcome = super().do(verb, **arguments)
        for watcher in self.watchers:
            try:
                watcher()
            except Exception:
                LOGGER.exception("a screen beside the bench could not be redrawn")
        return outcome


class Form:
    """The desk of one work order: its card, its log, its report form, and handing it in.

    ``bench`` gives the bench when it is needed; ``order_file`` is the work order to send along. Everything that is
    typed is on the disk before the method returns. Methods raise ``TanksideError`` with one sentence, and then
    nothing was changed.
    """

    def __init__(
        self,
        lab: Lab,
        order: WorkOrder,
        folder: Path,
        order_file: Path,
        bench: Callable[[], Bench],
        sheet: AnswerSheet | None = None,
    ) -> None:
        self.lab, self.order, self.folder, self.order_file, self.bench = lab, order, folder, order_file, bench
        self.sheet = sheet or AnswerSheet(folder, order.order)
        self.screens: WeakSet[Any] = WeakSet()
        self.on_finish: Callable[[dict[str, Any]], None] | None = None
        self.on_next: Callable[[], None] | None = None
        self._marks: tuple[Any, Marks] | None = None
        self._watched: Bench | None = None

    # ---- what a screen shows

    def card(self) -> dict[str, Any]:
        """What doesn't change while the order is worked: the work order, and the form's fields."""
        self.watch()
        shown = self.bench().view()["order"]
        return {
            "order": {
                "id": self.order.order,
                "title": self.lab.title,
                "complaint": self.order.complaint,
                "plate": shown["plate"],
                "site": shown["site"],
                "notes": list(self.bench().notes),
            },
            "practice": self.practice,
            "next": self.on_next is not None,
            "fields": self.fields,
        }

    @property
    def practice(self) -> bool:
        """True without a work order from a class."""
        return self.order.learner is None

    @cached_property
    def fields(self) -> list[dict[str, Any]]:
        """The form's fields in the order in which they stand, made from the lab's data."""
        out: list[dict[str, Any]] = [
            {"label": _key(f.label), "kind": "figure", "title": _capital(f.label), "units": [list(u) for u in units(f.unit)]}
            for f in self.lab.figure
        ]  # fmt: skip
        found = [
            {"text": name, "note": place} for name, place, _ in fault_list(self.lab, self.order.case().model)
        ]
        cures = [
            {"text": r.name, "note": f"{r.minutes:g} min"} for r in remedies_for(self.order.case().model)
        ]
        ticks = [{"text": c, "note": TICKS.get(c, c)} for c in CONDITIONS]
        two = {"each": list(EACH[: self.lab.faults_at_once])} if self.lab.faults_at_once > 1 else {}
        return [
            *out,
            {
                "label": LABELS["diagnosis"],
                "kind": "pick",
                "title": "Diagnosis: the two faults" if two else "Diagnosis: the one fault",
                "options": found,
                **two,
            },
            {"label": LABELS["evidence"], "kind": "lines", "title": "Log lines that show it"},
            {
                "label": LABELS["remedy"],
                "kind": "pick",
                "title": "Remedy: what cures each" if two else "Remedy: what cures it",
                "options": cures,
                **two,
            },
            {"label": LABELS["condition"], "kind": "ticks", "title": "Condition left", "options": ticks},
        ]

    def state(self) -> dict[str, Any]:
        """What changes: the log, the clock, what stands in each field and what is wrong with it, and the hand-in."""
        self.sheet.refresh()
        bench = self.bench()
        answers, told = self.sheet.answers, self.problems()
        differs = {d.label: d.cell for d in self.sheet.differences()}
        values: dict[str, Any] = {}
        for field in self.fields:
            label = field["label"]
            text = self.sheet.form.get(label, answers.get(label, ""))
            values[label] = {
                "text": text,
                "problem": "" if not answers.get(label) else told.get(label, ""),
                "cell": differs.get(label, ""),
                **self._split(field, text),
            }
        return {
            "clock": bench.state.clock,
            "stopped": bool(bench.state.stopped),
            "log": [{"seq": e["seq"], "at": e["at"], "text": e["text"]} for e in bench.entries],
            "values": values,
            "answered": sum(1 for v in values.values() if v["text"] and not v["problem"]),
            "notes": self.sheet.notes,
            "handed": asdict(done)
            if (done := handed_in(self.folder, self.lab.id, self.order.order))
            else None,
        }

    def _split(self, field: dict[str, Any], text: str) -> dict[str, Any]:
        if field["kind"] == "figure":
            number, unit = split_measure(text, [u for u, _ in field["units"]])
            return {"number": number, "unit": unit}
        if field["kind"] == "lines":
            report, _ = build_report(self.lab, {field["label"]: text} if text else {})
            return {"lines": list(report.evidence)}
        if "each" in field:
            return {"parts": _apart(text)}
        return {}

    # ---- what can be done

    def write(self, label: str, text: str) -> None:
        """One line of the report; blank takes it out."""
        if label not in {field["label"] for field in self.fields}:
            raise TanksideError(
                "This report has no such line. Run the notebook's cells again, then do it again."
            )
        _check_length(text, MOST_ANSWER)
        self.sheet.take_form(label, " ".join(text.split()))
        self.tell()

    def write_notes(self, text: str) -> None:
        """The learner's own notes."""
        _check_length(text, MOST_NOTES)
        self.sheet.take_notes(text)
        self.tell()

    def take_cell(self, lines: list[tuple[str, str]]) -> None:
        """The lines of an answers cell that was run."""
        self.sheet.take_cell(lines)
        self.tell()

    def report(self) -> tuple[ServiceReport, list[str]]:
        """The service report so far, and what is wrong or missing in it."""
        return build_report(self.lab, self.sheet.answers)

    def problems(self) -> dict[str, str]:
        """Label -> what is wrong with that line or missing from it; "" -> what belongs to no line of the form."""
        report, told = self.report()
        labels = [field["label"] for field in self.fields]
        out: dict[str, str] = {}
        for sentence in told:
            label = next((one for one in labels if _key(sentence).startswith(f"{one}:")), "")
            out[label] = (
                sentence[len(label) + 1 :].strip() if label else f"{out.get('', '')} {sentence}".strip()
            )
        last = len(self.bench().entries) - 1
        beyond = [str(n) for n in report.evidence if n > last]
        if beyond:
            out[LABELS["evidence"]] = (
                f"The log ends at line {last}. There is no line {', '.join(beyond[:5])} yet."
            )
        if not self.sheet.answers.get(LABELS["condition"]):
            out[LABELS["condition"]] = "not answered."
        return out

    def check(self) -> list[dict[str, str]]:
        """What is missing or wrong before handing in: ``label`` of the line (or "") and the sentence.

        ``differs`` stands where only the answers cell and the form say two things.
        """
        out = [{"label": label, "text": text} for label, text in self.problems().items()]
        order = [field["label"] for field in self.fields]
        out.sort(key=lambda row: order.index(row["label"]) if row["label"] in order else len(order))
        out += [
            {
                "label": d.label,
                "text": f"the answers cell says “{d.cell[:80]}”, this form says “{d.form[:80]}”. The cell counts.",
                "differs": "yes",
            }
            for d in self.sheet.differences()
        ]
        out += [
            {
                "label": field["label"],
                "text": "one is named. This heater has two faults, each with a repair of its own.",
            }
            for field in self.fields
            if "each" in field and len(_apart(self.sheet.answers.get(field["label"], ""))) == 1
        ]
        if self.bench().state.stopped:
            out.append({"label": "", "text": "The bench is stopped. Make safe first."})
        return out

    def hand_in(self) -> Package:
        """Write the one file to send, and look whether it can be opened again."""
        if self.practice:
            raise TanksideError(
                "This is a practice order. It isn't handed in; finish it here and see your marks."
            )
        self.sheet.take_notes(self.sheet.notes)  # a report file is there, even a blank one
        self.bench()
        done = write_package(self.folder, self.lab.id, self.order.order, self.order_file)
        self.tell()
        return done

    def marks(self) -> Marks:
        """The marks as the log and the answers stand."""
        lines = self.lines()
        key = (tuple(lines), tuple(sorted(self.sheet.answers.items())))
        if self._marks is None or self._marks[0] != key:
            self._marks = (key, score(self.order, self.report()[0], lines, self.lab))
        return self._marks[1]

    def lines(self) -> list[str]:
        """The bench log's lines as they lie on the disk."""
        path = self.folder / "bench-log.jsonl"
        try:
            return [
                line
                for line in path.read_text(encoding="utf-8", errors="replace").split("\n")
                if line.strip()
            ]
        except OSError:
            return []

    def finish(self) -> dict[str, Any]:
        """A practice order's end: marks with reasons, the fault, and both paths. Nothing is written."""
        if not self.practice:
            raise TanksideError("Marks come from your instructor. Here you hand in.")
        try:
            marks, found = self.marks(), coach.debrief(self.order, self.lines())
        except BenchLogError as error:
            raise TanksideError(str(error)) from None
        fault = fault_named(self.order.case().fault.id)
        parts = [
            {
                "name": p.name,
                "points": round(p.points, 1),
                "out_of": p.out_of,
                "reasons": [r.text for r in p.reasons],
            }
            for p in marks.parts
            if p.out_of
        ]
        total, out_of = sum(p.points for p in marks.parts), sum(p.out_of for p in marks.parts)
        done = {
            "fault": fault.name,
            "place": fault.place,
            "how": fault.how,
            "remedy": remedies()[fault.remedy].name,
            "passed": marks.passed,
            "total": round(total, 1),
            "out_of": out_of,
            "unsafe": list(marks.unsafe),
            "parts": parts,
            "picture": debrief_picture.picture(found),
            "words": debrief_picture.in_words(found),
        }
        if self.on_finish:
            self.on_finish(done)
        return done

    def hint(self, level: int) -> str:
        """A hint of that level. Practice only."""
        self._practice_only()
        return coach.hint(self.order, self.lines(), level)

    def why_not(self, fault: str) -> str:
        """Why that fault can't be it, or that it still can. Practice only."""
        self._practice_only()
        _check_length(fault, MOST_ANSWER)
        return coach.why_not(self.order, self.lines(), fault_in(self.lab, fault))

    def _practice_only(self) -> None:
        if not self.practice:
            raise TanksideError(
                "Hints are for practice. This order is from your class: your own reasoning is what is marked."
            )

    # ---- screens

    def watch(self) -> None:
        """From now on every action at the bench redraws the screens."""
        bench = self.bench()
        if isinstance(bench, WatchedBench) and self._watched is not bench:
            bench.watchers.append(self.tell)
            self._watched = bench

    def tell(self) -> None:
        """Redraw every screen that shows this desk."""
        for screen in list(self.screens):
            screen.refresh()


def _apart(text: str) -> list[str]:
    """The names of an answer that may hold two."""
    return [part.strip() for part in re.split(r"[;+]", text) if part.strip()]


def units(unit: str) -> tuple[tuple[str, str], ...]:
    """The units to choose from for a figure that is asked for in ``unit``: (written, shown); last, nothing to measure."""
    known = UNITS.get(unit, ((unit, unit),))
    return known if unit == "ohm" else (*known, ("none", "none"))


def join_measure(number: str, unit: str) -> str:
    """A number field and a drop-down as the text of an answer."""
    if unit in NO_NUMBER:
        return unit
    number = number.strip()
    return f"{number} {unit}".strip() if number else ""


def split_measure(text: str, known: list[str]) -> tuple[str, str]:
    """The text of an answer as (number, unit) for a number field and a drop-down; what can't be split stays whole."""
    for word, said in NO_NUMBER.items():
        if word in known and _key(text) in said:
            return "", word
    for unit in sorted(known, key=len, reverse=True):
        if unit not in NO_NUMBER and text.endswith(unit) and len(text) > len(unit):
            number = text[: -len(unit)]
            if number[-1:] in " 0123456789.":
                return number.strip(), unit
    shown = {word.casefold(): unit for rows in UNITS.values() for unit, word in rows}
    number, _, rest = text.partition(" ")
    unit = shown.get(rest.strip().casefold(), "")
    if unit in known and _is_number(number):
        return number, unit
    return text, ""


def _is_number(text: str) -> bool:
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False


def _check_length(text: str, most: int) -> None:
    if len(text) > most:
        raise TanksideError(
            f"That is {len(text):,} characters. This field takes {most:,}. It was left as it was before."
        )


def _key(text: str) -> str:
    return " ".join(text.casefold().split())


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
