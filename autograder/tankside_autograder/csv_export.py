"""Marks as a CSV file that any spreadsheet opens, and that no spreadsheet runs."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

# A spreadsheet takes a cell for a formula when it starts with one of these (OWASP, "CSV Injection").
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def safe_cell(value: object) -> str:
    """A cell's text. Text that a spreadsheet would run gets an apostrophe in front; numbers stay numbers."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{round(value, 2):g}"
    text = str(value)
    return f"'{text}" if text.lstrip(" ").startswith(_FORMULA_STARTS) else text


def to_csv(heading: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """The table as CSV with every cell quoted where it must be, lines ended as the standard (RFC 4180) has it."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(heading)
    writer.writerows([safe_cell(cell) for cell in row] for row in rows)
    return out.getvalue()
