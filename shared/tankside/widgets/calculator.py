"""A calculator on the screen: fields with sliders or choices, and rows that a function of the library works out."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import anywidget
import traitlets

from tankside.widgets.frontend import module, styles

Rows = list[dict[str, Any]]


class Calculator(anywidget.AnyWidget):
    """Fields in, rows out. The front end sends ``{"id", "values"}``, Python sends ``result``.

    Parameters
    ----------
    name : what a screen reader calls it
    fields : a number ``{"id", "label", "unit", "low", "high", "step", "start"}``, or a choice
        ``{"id", "label", "choices": [[value, words], ...], "start"}``
    work : called with one argument a field, by its id; gives rows ``{"label", "text", "how", "mark"}``
        (mark: "", "good", "bad") and headings ``{"group"}``, of which the first row is one. What it can't
        work out with these numbers it says with a ``ValueError``.
    """

    _esm = module("calculator.js")
    _css = styles("base.css", "calculator.css")

    name = traitlets.Unicode().tag(sync=True)
    fields: traitlets.List[Any] = traitlets.List().tag(sync=True)
    result = traitlets.Dict().tag(sync=True)

    def __init__(
        self, name: str, fields: Sequence[dict[str, Any]], work: Callable[..., Rows], **others: Any
    ) -> None:
        super().__init__(name=name, fields=[dict(f) for f in fields], **others)
        self._work = work
        self.result = self.work_out({f["id"]: f["start"] for f in fields})
        self.on_msg(self._on_message)

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        values = content.get("values") if isinstance(content, dict) else None
        number = content.get("id") if isinstance(content, dict) else None
        self.result = {**self.work_out(values if isinstance(values, dict) else {}), "id": number}

    def work_out(self, values: dict[str, Any]) -> dict[str, Any]:
        """The rows for what was typed; or, field by field, what can't be used and what could."""
        given: dict[str, Any] = {}
        problems: dict[str, str] = {}
        for field in self.fields:
            value = values.get(field["id"])
            if "choices" in field:
                offered = [choice for choice, _ in field["choices"]]
                given[field["id"]] = value if value in offered else field["start"]
                continue
            wanted = f"Type a number from {field['low']:g} to {field['high']:g} {field['unit']}".rstrip(". ") + "."
            if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
                problems[field["id"]] = wanted
            elif not field["low"] <= value <= field["high"]:
                problems[field["id"]] = f"{value:,.10g} {field['unit']} won't do. {wanted}"
            else:
                given[field["id"]] = float(value)
        if problems:
            return {"rows": [], "problems": problems}
        try:
            return {"rows": self._work(**given), "problems": {}}
        except ValueError as error:
            first = next(field["id"] for field in self.fields if "choices" not in field)
            return {"rows": [], "problems": {first: f"These don't go together: {error}."}}
