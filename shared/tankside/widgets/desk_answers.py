"""The answers of a service report on disk: what the notebook's cells say, what the form says, and which counts.

An answers cell counts where it says something, because the notebook is what nbgrader runs. Where a cell is
blank, the form counts. A cell that is run with something new takes the form's place for that line; so the two
stay in step, and only a form that was changed after the cell can differ from it. Then both are named.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tankside.errors import TanksideError

REPORT_NAME = "service-report.json"
MAX_FILE = 5_000_000
"""Bytes of a report that is still read; one written here is far smaller."""


@dataclass(frozen=True)
class Difference:
    """A line that the form and an answers cell fill in differently. The cell's text counts."""

    label: str
    cell: str
    form: str


class AnswerSheet:
    """One order's answers, kept in ``service-report.json``; every change is on the disk before it is shown.

    Parameters
    ----------
    folder : where the file lies
    order : the work order's number; a report on another order is put aside, never written over
    labels : the labels that the report asks for; answers of cells under other labels are kept as well
    """

    def __init__(self, folder: Path, order: str) -> None:
        self.path, self.order = folder / REPORT_NAME, order
        self.cells: dict[str, str] = {}
        self.form: dict[str, str] = {}
        self.notes = ""
        self._seen: str | None = None
        self.refresh()

    @property
    def answers(self) -> dict[str, str]:
        """Label -> text that counts."""
        return {**self.form, **self.cells}

    def differences(self) -> list[Difference]:
        """Lines on which the form says something else than the cell."""
        rows = (
            Difference(label, self.cells[label], text)
            for label, text in self.form.items()
            if label in self.cells
        )
        return [row for row in rows if _plain(row.cell) != _plain(row.form)]

    def refresh(self) -> bool:
        """Take over what the file says if something else wrote it; True if that changed anything."""
        text = self._read()
        if text is None or text == self._seen:
            return False
        self._seen = text
        found = _content(text)
        if found is None or found.get("order") != self.order:
            return False
        before = (self.cells, self.form, self.notes)
        form, cells = _words(found.get("form")), found.get("cells")
        # A report from before there was a form holds the cells' answers alone.
        self.cells, self.form = _words(found.get("answers") if cells is None else cells), form
        self.notes = found["notes"] if isinstance(found.get("notes"), str) else ""
        return before != (self.cells, self.form, self.notes)

    def take_cell(self, lines: Iterable[tuple[str, str]]) -> None:
        """The lines of an answers cell that was run: (label, text); a blank text wipes the cell's answer out."""
        self.refresh()
        before = self._copy()
        last: dict[str, str] = {}
        for label, text in lines:
            last[label] = text or last.get(label, "")
        for label, text in last.items():
            if not text:
                self.cells.pop(label, None)
            elif self.cells.get(label) != text:
                self.cells[label] = text
                self.form.pop(label, None)  # the cell is the newer of the two
        self._write(before)

    def take_form(self, label: str, text: str) -> None:
        """One line of the form; a blank text takes it out."""
        self.refresh()
        before = self._copy()
        if text and text != self.cells.get(label):
            self.form[label] = text
        else:
            self.form.pop(label, None)
        self._write(before)

    def take_notes(self, text: str) -> None:
        """The learner's own notes; nobody marks them."""
        self.refresh()
        before = self._copy()
        self.notes = text
        self._write(before)

    def as_data(self) -> dict[str, Any]:
        """What the file holds: the answers that count, and where each came from."""
        return {
            "order": self.order,
            "answers": self.answers,
            "cells": self.cells,
            "form": self.form,
            "notes": self.notes,
        }

    def _copy(self) -> tuple[dict[str, str], dict[str, str], str]:
        return dict(self.cells), dict(self.form), self.notes

    def _write(self, before: tuple[dict[str, str], dict[str, str], str]) -> None:
        text = json.dumps(self.as_data(), ensure_ascii=False, indent=1) + "\n"
        spare = self.path.with_suffix(".new")
        try:
            self._put_aside()
            spare.write_text(text, encoding="utf-8", newline="\n")
            spare.replace(self.path)
        except OSError as error:
            self.cells, self.form, self.notes = before
            raise TanksideError(
                f"Can't write {self.path.name}: {error.strerror}. This change was not kept. "
                "Free some space or make the folder writable, then do it again."
            ) from None
        self._seen = text

    def _put_aside(self) -> None:
        """Keep what lies there for another order, or what can't be read, under another name."""
        text = self._read()
        if text is None or (text == self._seen and (_content(text) or {}).get("order") == self.order):
            return
        found = _content(text)
        if found is not None and found.get("order") == self.order:
            return
        k = 1
        while (aside := self.path.with_name(f"service-report-before-{k}.json")).exists():
            k += 1
        self.path.replace(aside)

    def _read(self) -> str | None:
        try:
            if self.path.stat().st_size > MAX_FILE:
                return ""
            return self.path.read_text(encoding="utf-8", errors="replace")
        except OSError:
            return None


def _content(text: str) -> dict[str, Any] | None:
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return None
    return found if isinstance(found, dict) else None


def _words(found: object) -> dict[str, str]:
    if not isinstance(found, Mapping):
        return {}
    return {str(k): str(v) for k, v in found.items() if isinstance(v, str | int | float) and str(v).strip()}


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())
