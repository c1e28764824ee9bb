"""What a notebook needs: open a lab, show its order and bench, read answers, hand in.

One lab is open at a time in a kernel. Nothing here decides a mark: it collects what
``tankside.scoring`` is given.
"""

from __future__ import annotations

import html
import json
import re
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tankside.bench import Bench
from tankside.bench.log import LOG_NAME
from tankside.errors import BenchLogError, TanksideError, WorkOrderError
from tankside.faults.catalogue import remedies_for
from tankside.labs import Lab, load_lab
from tankside.measures import amount
from tankside.practice import PRACTICE_KEY, lesson_order, practice_order
from tankside.quoting import load_prices
from tankside.report import (
    CONDITIONS,
    LABELS,
    ServiceReport,
    answer_lines_in,
    fault_in,
    fault_list,
    parse_answers,
)
from tankside.scoring import Marks
from tankside.widgets.desk_answers import REPORT_NAME, AnswerSheet
from tankside.widgets.desk_form import Form, WatchedBench
from tankside.workorder import ORDER_NAME, WorkOrder, read_order_file, write_order_file

PRACTICE_NAME = "practice-order.json"
HAND_IN_MIME = "application/vnd.tankside.hand-in+json"


@dataclass
class Page:
    """Something a notebook shows: HTML, with plain text for who prefers it, and data for the grader."""

    markup: str
    text: str
    data: dict[str, Any] = field(default_factory=dict)

    def _repr_mimebundle_(self, **_: Any) -> dict[str, Any]:
        return {"text/html": _no_formulas(self.markup), "text/plain": self.text, **self.data}


def _no_formulas(markup: str) -> str:
    """The markup with each dollar sign in an element of its own: a notebook sets what stands between two as a formula."""
    pieces = re.split(r"(<svg.*?</svg>|<style.*?</style>|<[^>]*>)", markup, flags=re.DOTALL)
    return "".join(p if k % 2 else p.replace("$", "<span>$</span>") for k, p in enumerate(pieces))


@dataclass
class LabDesk:
    """An open lab: its order, its bench and its answers, all kept in the notebook's folder."""

    lab: Lab
    order: WorkOrder
    folder: Path
    order_file: Path
    _bench: Bench | None = None
    _form: Form | None = None

    @property
    def practice(self) -> bool:
        """True without a work order from a class."""
        return self.order.learner is None

    def the_bench(self) -> Bench:
        """The bench, opened once; an existing log is taken up where it stopped."""
        if self._bench is None:
            self._bench = WatchedBench(self.order, self.folder / LOG_NAME)
        return self._bench

    def form(self) -> Form:
        """The service report form, which keeps what is answered; what was kept before is taken up."""
        if self._form is None:
            sheet = AnswerSheet(self.folder, self.order.order)
            self._form = Form(self.lab, self.order, self.folder, self.order_file, self.the_bench, sheet)
        return self._form

    @property
    def answers(self) -> dict[str, str]:
        """Label -> answer that counts: the answers cell's, or where that is blank the form's."""
        return self.form().sheet.answers

    def desk(self) -> Any:
        """The call-out desk on the screen: work order, log, report form, handing in."""
        from tankside.widgets.desk_widget import show_desk

        return show_desk(self.form())

    def card(self) -> Page:
        """The work order as a card."""
        plate = self.the_bench().view()["order"]["plate"]
        rows = [
            ("Work order", self.order.order),
            ("Lab", self.lab.title),
            ("The owner says", self.order.complaint),
        ]
        rows += [(label.capitalize(), text) for label, text in self.order.site.items()]
        notes = ["Practice order: it isn't marked for a class."] if self.practice else []
        notes += self.the_bench().notes
        return Page(
            _table("Work order", rows)
            + _table("Data plate", plate)
            + "".join(f"<p>{_e(n)}</p>" for n in notes),
            "\n".join(f"{a}: {b}" for a, b in [*rows, *plate]) + "".join(f"\n{n}" for n in notes),
        )

    def bench(self) -> Any:
        """The bench on the screen."""
        from tankside.widgets.bench_widget import show_bench

        return show_bench(self.the_bench())

    def text_bench(self) -> Any:
        """The bench in words, for who would rather type."""
        from tankside.widgets.text_bench import TextBench

        return TextBench(self.the_bench())

    def choices(self) -> Page:
        """What a diagnosis, a remedy and a condition may be called."""
        found = [(name, place) for name, place, _ in fault_list(self.lab, self.order.case().model)]
        money = load_prices().money
        cures = [
            (r.name, f"{r.minutes:g} min" + (f", parts {money(r.parts_cost)} to buy" if r.parts_cost else ""))
            for r in remedies_for(self.order.case().model)
        ]
        kinds = [(c, "") for c in CONDITIONS]
        tables = (("Diagnosis", found), ("Remedy", cures), ("Condition left", kinds))
        two = self.lab.faults_at_once > 1
        said = (
            "This heater has two faults. Name both, and what cures each, with a semicolon between."
            if two
            else ""
        )
        return Page(
            (f"<p>{said}</p>" if said else "") + "".join(_table(title, rows) for title, rows in tables),
            (f"{said}\n\n" if said else "")
            + "\n\n".join(title + "\n" + "\n".join(f"  {a}" for a, _ in rows) for title, rows in tables),
        )

    def report(self) -> tuple[ServiceReport, list[str]]:
        """The service report so far, and what is wrong or missing in it."""
        return self.form().report()

    def take_answers(self, text: str) -> Page:
        """Read an answers cell, keep the answers, and show how they were read."""
        new = parse_answers(text)
        self.form().take_cell(answer_lines_in(text))  # an answer that was wiped out is gone
        _, problems = self.report()
        mine = [p for p in problems if any(p.casefold().startswith(label) for label in new)]
        mine += [
            f"{d.label}: the report form says “{d.form[:80]}”. This cell says “{d.cell[:80]}”, and the cell counts."
            for d in self.form().sheet.differences()
            if d.label in new
        ]
        rows = list(new.items())
        formed = [label for label, _ in answer_lines_in(text) if label not in new and label in self.answers]
        if not rows:
            if formed:
                said = "Nothing in this cell. What you wrote in the report form counts."
                return Page(f"<p>{said}</p>", said)
            return Page("<p>No answer yet. Write each one after its = sign.</p>", "No answer yet.")
        listed = "".join(f"<li>{_e(p)}</li>" for p in mine)
        verdict = f"<p>Put right:</p><ul>{listed}</ul>" if mine else "<p>All of these can be read.</p>"
        return Page(
            _table("Your answers", rows) + verdict, "\n".join([*(f"{a} = {b}" for a, b in rows), *mine])
        )

    def hand_in(self) -> Page:
        """What is there to hand in, and a copy of order and log inside the notebook."""
        bench = self.the_bench()
        _, problems = self.report()
        rows = [
            ("Work order", self.order.order),
            ("Lines in the bench log", str(len(bench.entries))),
            ("Answers", str(len(self.answers))),
        ]
        folder = f"this whole folder: the notebook, {self.order_file.name}, {LOG_NAME} and {REPORT_NAME}."
        send = (
            "Practice order: “Finish the call-out” in the report form shows your marks. Does an instructor "
            f"want to see it? Then save the notebook and hand in {folder}"
            if self.practice
            else f"Save the notebook. Then hand in {folder}"
        )
        listed = "".join(f"<li>{_e(p)}</li>" for p in problems)
        todo = (
            f"<p>Still missing or unclear:</p><ul>{listed}</ul>"
            if problems
            else "<p>Every question of the report is answered. Have you written the answer in your own words too? A person marks it.</p>"
        )
        copy = {
            "order": _token(self.order_file),
            "log": [json.dumps(e, ensure_ascii=False) for e in bench.entries],
        }
        return Page(
            _table("Not complete yet" if problems else "Ready to hand in", rows)
            + todo
            + f"<p>{_e(send)}</p>",
            "\n".join([*(f"{a}: {b}" for a, b in rows), *problems, send]),
            {HAND_IN_MIME: copy},
        )

    def _lines(self) -> list[str]:
        return [json.dumps(entry, ensure_ascii=False) for entry in self.the_bench().entries]

    def _for_practice(self) -> Page | None:
        if self.practice:
            return None
        text = "Hints are for practice. This order is from your class: your own reasoning is what is marked."
        return Page(f"<p>{_e(text)}</p>", text)

    def hint(self, level: int = 1) -> Page:
        """A hint in three grades: the complaint, where to split, which test and why. Practice only."""
        from tankside.diagnosis import coach

        text = "" if not self.practice else coach.hint(self.order, self._lines(), level)
        return self._for_practice() or Page(f"<p>{_e(text)}</p>", text)

    def why_not(self, fault: str) -> Page:
        """Why a fault can't be it, by the line that ruled it out. Practice only."""
        from tankside.diagnosis import coach

        if not self.practice:
            return self._for_practice() or Page("", "")
        text = coach.why_not(self.order, self._lines(), fault_in(self.lab, fault))
        return Page(f"<p>{_e(text)}</p>", text)

    def debrief(self) -> Page:
        """Your path beside the shortest safe one. Practice only."""
        from tankside.diagnosis import coach, debrief_picture

        if not self.practice:
            return self._for_practice() or Page("", "")
        found = coach.debrief(self.order, self._lines())
        return Page(debrief_picture.picture(found), debrief_picture.in_words(found))

    def marks(self) -> Marks:
        """The marks as the log and the answers stand."""
        return self.form().marks()


_open: LabDesk | None = None


def open_lab(lab_id: str, folder: str | Path | None = None, number: int = 1) -> LabDesk:
    """Open a lab in the notebook's folder (or another).

    With a work order from a class beside the notebook, that is the one to work on. Without
    one, a practice order is made and kept; ``number`` picks another practice order.
    """
    global _open
    place = Path(folder) if folder is not None else Path.cwd()
    lab = load_lab(lab_id)
    given, own = place / ORDER_NAME, place / PRACTICE_NAME
    if given.exists():
        order, file = read_order_file(given), given
        if order.lab != lab_id:
            raise TanksideError(f"The work order here is for {order.lab}, not for {lab_id}.")
    else:
        order, file = _practice(place, own, lab, number), own
    _open = LabDesk(lab, order, place, file)
    _register_answers()
    return _open


def _practice(place: Path, own: Path, lab: Lab, number: int) -> WorkOrder:
    """The practice order that is kept in the folder, or a new one.

    For a new one, the log of the one before is kept beside it under another name.
    """
    if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number < 10**9:
        raise TanksideError(f"Practice orders are numbered 1, 2, 3 and so on; {str(number)[:20]!r} is none.")
    try:
        kept = read_order_file(own)
    except WorkOrderError:
        kept = None
    if kept is not None and (kept.lab, kept.order) == (lab.id, f"PRACTICE-{number}"):
        return kept
    order = practice_order(lab, number)
    damaged, log = kept is None and own.exists(), place / LOG_NAME
    if log.exists() and not damaged:
        k = 1
        while (place / f"bench-log-before-{k}.jsonl").exists():
            k += 1
        log.replace(place / f"bench-log-before-{k}.jsonl")
    write_order_file(order, own, PRACTICE_KEY)
    return order


def price_list() -> Page:
    """The workshop's prices, as a table to work out a quote from."""
    prices = load_prices()
    rows = [
        ("for coming", prices.money(prices.call_out)),
        ("an hour at the heater", prices.money(prices.hour)),
        ("charged at least", f"{prices.least_minutes:.0f} min"),
        ("charged in steps of", f"{prices.round_minutes:.0f} min, rounded up"),
        ("parts", f"buying price and {prices.parts_markup:.0%}"),
        ("tax, on all of it", f"{prices.tax:.1%}"),
    ]
    rows += [(f"new heater up to {amount(h.up_to_gallons, 'gallon', 'volume')}", f"{prices.money(h.cost)} and {h.minutes:.0f} min") for h in prices.heater]  # fmt: skip
    cells = "".join(f"<tr><th scope='row' style='text-align:left'>{a}</th><td style='text-align:left'>{b}</td></tr>" for a, b in rows)  # fmt: skip
    title = f"Prices of the {prices.name}"
    return Page(
        f"<table><caption style='text-align:left;font-weight:600'>{title}</caption><tbody>{cells}</tbody></table>",
        "\n".join([title, *(f"{a}: {b}" for a, b in rows)]),
    )


def lesson_bench(fault: str = "no-fault", model: str = "heron_6", number: int = 1) -> Any:
    """A bench for a lesson, on the screen; nothing is kept."""
    from tankside.widgets.bench_widget import show_bench

    return show_bench(plain_bench(fault, model, number))


def plain_bench(fault: str = "no-fault", model: str = "heron_6", number: int = 1) -> Bench:
    """The same bench without a screen, for a lesson's own computations."""
    return Bench(lesson_order(fault, model, number))


def mark_part(part_id: str) -> float:
    """Points of one part, for the notebook's own test cells. Without an open lab: none."""
    if _open is None:
        return 0.0
    try:
        return float(_open.marks().part(part_id).points)
    except (TanksideError, BenchLogError):
        return 0.0


def _register_answers() -> None:
    if "IPython" not in sys.modules:  # no notebook: nothing to register with, and a tenth of a second saved
        return
    from IPython import get_ipython

    shell = get_ipython()
    if shell is not None:
        shell.register_magic_function(_answers, "cell", "answers")


def _answers(_line: str, cell: str) -> Page | None:
    """The ``%%answers`` cell."""
    if _open is None:
        return Page(
            "<p>Run the cells above first: no lab is open.</p>", "Run the cells above first: no lab is open."
        )
    return _open.take_answers(cell)


def answer_lines(lab: Lab) -> str:
    """The blank lines of a lab's answers cells, as its notebook holds them."""
    return "\n".join(f"{label} = " for label in [*(f.label for f in lab.figure), *LABELS.values()])


def _token(path: Path) -> str:
    try:
        return str(json.loads(path.read_text(encoding="utf-8"))["token"])
    except (OSError, ValueError, KeyError, TypeError):
        return ""


def _e(text: object) -> str:
    return html.escape(str(text))


def _table(title: str, rows: Any) -> str:
    body = "".join(
        f"<tr><th scope='row' style='text-align:left'>{_e(a)}</th><td style='text-align:left'>{_e(b)}</td></tr>"
        for a, b in rows
    )
    return f"<table><caption style='text-align:left;font-weight:600'>{_e(title)}</caption>{body}</table>"
