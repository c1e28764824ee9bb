"""The class report on paper and on the screen: HTML page, CSV, pictures, terminal tables."""

from __future__ import annotations

import base64
import io
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from rich.console import Console
from rich.table import Table
from rich.text import Text

from tankside.labs import PARTS
from tankside_autograder.class_report import ClassReport, Row
from tankside_autograder.csv_export import to_csv
from tankside_autograder.files import write_atomic
from tankside_autograder.pages import points, render

_NAMED = 8
"""Names that the terminal lists for a rule; the page lists all."""
INK, SOFT, MARK = "#1d2327", "#9aa3a8", "#0b5a66"


@dataclass(frozen=True)
class Picture:
    """A picture and the words for who can't see it."""

    name: str
    png: bytes
    alt: str

    @property
    def address(self) -> str:
        """The picture inside the page itself."""
        return "data:image/png;base64," + base64.b64encode(self.png).decode("ascii")


def write_report(report: ClassReport, folder: Path) -> list[Path]:
    """Write the report into ``folder``: ``<lab>.html``, ``<lab>.csv`` and the pictures. Raises ``StorageError``."""
    pictures = report_pictures(report)
    lab = report.lab.id
    out = [write_atomic(folder / f"{lab}.csv", csv_text(report).encode("utf-8-sig"))]
    out += [write_atomic(folder / f"{lab}-{p.name}.png", p.png) for p in pictures]
    by_hand = any(row.by_hand is not None for row in report.rows)
    page = render(
        "class.html.j2", report=report, parts=PARTS, pictures=pictures, by_hand=by_hand, note=report.class_name
    )
    return [write_atomic(folder / f"{lab}.html", page), *out]


def csv_text(report: ClassReport) -> str:
    """One line a learner: id, name, the five parts, total, verdict, unsafe acts, late; then what else may help."""
    heading = ["learner id", "name", *PARTS.values(), "total", "verdict", "unsafe", "late", "passed", "given by hand", "section"]
    heading += ["faults left", "minutes / reference path", "found in the bench log"]
    return to_csv(heading, [_csv_row(row) for row in report.rows])


def _csv_row(row: Row) -> list[object]:
    parts = [row.parts[part] if row.parts else None for part in PARTS]
    return [
        row.learner, row.name, *parts, row.total, row.words, "; ".join(row.unsafe), row.late, row.passed, row.by_hand,
        row.section, row.left, row.pace, " ".join(row.findings),
    ]  # fmt: skip


def report_pictures(report: ClassReport) -> list[Picture]:
    """How the totals lie, and how easy each question was. None while nobody is marked."""
    return [_spread(report), _questions(report)] if report.totals and report.items.items else []


def _spread(report: ClassReport) -> Picture:
    edges = list(range(0, 101, 10))
    counts = [sum(lo <= t < hi or (hi == 100 and t == 100) for t in report.totals) for lo, hi in pairwise(edges)]
    figure, axes = _axes(7.2, 3.2)
    bars = axes.bar([e + 5 for e in edges[:-1]], counts, width=9, color=MARK)
    axes.bar_label(bars, labels=[str(c) if c else "" for c in counts], color=INK)
    axes.axvline(report.lab.pass_mark, color=INK, linestyle="--")
    axes.annotate(f"  pass mark {report.lab.pass_mark}", (report.lab.pass_mark, max(counts) * 1.12), color=INK)
    axes.set(xlim=(0, 100), ylim=(0, max(counts) * 1.25), xlabel="total", ylabel="learners", xticks=edges)
    axes.yaxis.get_major_locator().set_params(integer=True)
    said = [f"{lo} to {hi}: {c}" for lo, hi, c in zip(edges, edges[1:], counts, strict=False) if c]
    return Picture("totals", _png(figure), f"How many learners had which total. {'; '.join(said)}. Pass mark {report.lab.pass_mark}.")


def _questions(report: ClassReport) -> Picture:
    items = report.items.items
    figure, axes = _axes(7.2, 0.9 + 0.42 * len(items))
    shares = [100 * item.facility for item in items]
    names = [item.name if len(item.name) < 42 else item.name[:40] + "…" for item in items]
    bars = axes.barh(range(len(items)), shares, color=[SOFT if item.remark else MARK for item in items])
    axes.bar_label(bars, labels=[f"{s:.0f} %" + (" !" if i.remark else "") for s, i in zip(shares, items, strict=True)], padding=3, color=INK)
    axes.set_yticks(range(len(items)), names)
    axes.invert_yaxis()
    axes.set(xlim=(0, 112), xlabel="points earned, share of what could be had (%)", xticks=range(0, 101, 20))
    said = [f"{item.name} {share:.0f} percent" for item, share in zip(items, shares, strict=True)]
    return Picture("questions", _png(figure), f"Share of points earned, by question: {'; '.join(said)}.")


def _axes(width: float, height: float):  # type: ignore[no-untyped-def]
    # A Figure of our own, not pyplot: no global state, no window, safe in any thread.
    figure = Figure(figsize=(width, height), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    axes.spines[["top", "right"]].set_visible(False)
    return figure, axes


def _png(figure: Figure) -> bytes:
    out = io.BytesIO()
    # No time stamp inside, so that the same marks give the same file.
    figure.savefig(out, format="png", dpi=110, metadata={"Software": None})
    return out.getvalue()


def _reached(row: Row) -> str:
    """Minutes beside the reference path's, where the readings settled it; else how many faults they left."""
    if row.pace:
        return row.pace.replace(" ", "")
    return f"{row.left.rpartition(' ')[2]} left" if row.left else ""


_SHORT = ("safe", "evid", "diag", "rem", "fig")
"""The five parts, short enough for a table in a terminal."""


def show(report: ClassReport, console: Console) -> None:
    """The report in the terminal."""
    table = Table(title=f"{report.lab.id}: {report.lab.title}", title_justify="left", show_edge=False, pad_edge=False)
    table.add_column("learner", no_wrap=True)
    for name in _SHORT:
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("total", justify="right", no_wrap=True)
    table.add_column("min/ref", justify="right", no_wrap=True)
    table.add_column("verdict")
    for row in report.rows:
        parts = [points(row.parts[p]) if row.parts else "–" for p in PARTS]
        total = points(row.total) if row.total is not None else "–"
        words = Text(row.words + (" (person)" if row.person else ""))
        if row.unsafe:
            words.append("; UNSAFE", style="bold red")
        # Text, not markup: a learner's name may hold square brackets.
        table.add_row(Text(row.name), *parts, Text(total, style="bold"), _reached(row), words)
    console.print(table)
    console.print(
        "min/ref: minutes until the readings left one repair, and those of the reference path; "
        "or the faults that they left when the repair began."
    )
    console.print()
    console.print(Text("; ".join(f"{label.lower()} {text}" for label, text in report.summary())))
    for row in report.rows:
        for one in row.findings:
            console.print(Text(f"{row.name}'s bench log: {one}"))
    for rule in report.rules:
        style = "bold red" if rule.dangerous else ""
        names = ", ".join(rule.learners[:_NAMED]) + (
            f" and {len(rule.learners) - _NAMED} more" if len(rule.learners) > _NAMED else ""
        )
        console.print(Text(f"{rule.name}: {names}", style=style))
    for item in report.items.items:
        if item.remark:
            console.print(Text(f"{item.name}: {100 * item.facility:.0f} % of the points. {item.remark}"))
    if report.items.caution:
        console.print(Text(report.items.caution))
