"""Small pieces that lessons show: tables, sentences, something to open after a guess."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence

from tankside.bench import Bench
from tankside.measures import KINDS
from tankside.notebook import Page

_CELL = "style='text-align:left;vertical-align:top;padding:4px 12px 4px 0'"
_WORDS = (
    "style='text-align:left;vertical-align:top;padding:4px 12px 4px 0;min-width:15em;overflow-wrap:anywhere'"
)
_SIGNS = {sign for kind in KINDS.values() for _, sign in (kind.us, kind.si)}
_SIGNS |= {
    "%",
    "ppm",
    "V",
    "mV",
    "A",
    "mA",
    "µA",
    "W",
    "kWh",
    "Ω",
    "kΩ",
    "MΩ",
    "s",
    "min",
    "h",
    "µS/cm",
    "V~",
}
_AMOUNT = re.compile(
    rf"(?<=\d) ({'|'.join(re.escape(s) for s in sorted(_SIGNS, key=len, reverse=True))})(?![\w/])"
)


def table(title: str, head: Sequence[str], rows: Sequence[Sequence[str]], note: str = "") -> Page:
    """A table whose first column names the rows; ``note`` is a sentence below it."""
    top = "".join(f"<th scope='col' {_CELL}>{html.escape(words)}</th>" for words in head)
    body = ""
    for first, *rest in rows:
        body += f"<tr><th scope='row' {_CELL}>{html.escape(unbroken(first))}</th>"
        body += "".join(
            f"<td {_WORDS if len(words) > 24 else _CELL}>{html.escape(unbroken(words))}</td>"
            for words in rest
        )
        body += "</tr>"
    said = "\n".join([title, " | ".join(head), *(" | ".join(row) for row in rows), *([note] if note else [])])
    return Page(
        f"<table><caption style='text-align:left;font-weight:600'>{html.escape(title)}</caption>"
        f"<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"
        + (f"<p>{html.escape(note)}</p>" if note else ""),
        said,
    )


def unbroken(words: str) -> str:
    """The words with each number and its unit held together, so that no line ends between them."""
    return _AMOUNT.sub(lambda found: "\u00a0" + found[1].replace(" ", "\u00a0"), words)


def say(*sentences: str) -> Page:
    """One paragraph a sentence; ``**`` around words makes them bold."""
    marked = []
    for sentence in sentences:
        pieces = html.escape(unbroken(sentence)).split("**")
        marked.append("".join(f"<b>{p}</b>" if k % 2 else p for k, p in enumerate(pieces)))
    return Page("".join(f"<p>{s}</p>" for s in marked), "\n".join(s.replace("**", "") for s in sentences))


def reveal(page: Page, label: str) -> Page:
    """The page behind a line to press, for after one has made a guess."""
    fold = f"<details><summary style='cursor:pointer;padding:6px 0'>{html.escape(label)}</summary>{page.markup}</details>"
    return Page(fold, page.text)


def together(*pages: Page) -> Page:
    """Several pages as one."""
    return Page("".join(page.markup for page in pages), "\n\n".join(page.text for page in pages))


def shown(bench: Bench, red: str, black: str) -> str:
    """A meter reading as one writes it down."""
    return written(bench.probe(red, black).readings[0])


def written(reading: dict[str, object]) -> str:
    """A reading from the bench's log as one writes it down: small volts in tenths, no number as what the display shows."""
    value = reading["value"]
    if not isinstance(value, int | float):
        return f"{reading['digits']} ({reading['note']})"
    return f"{value:.1f} V" if reading["unit"] == "V" else f"{reading['digits']} {reading['unit']}"


def steps(bench: Bench, why: dict[int, str]) -> list[tuple[str, str, str]]:
    """Log lines that ``why`` gives a reason for: number, what happened, the reason."""
    return [(str(line), str(bench.entries[line]["text"]), words) for line, words in sorted(why.items())]
