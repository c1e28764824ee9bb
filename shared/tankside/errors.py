"""The one error tree. Each error carries what its sentence needs; ``str(error)`` is that sentence."""

from __future__ import annotations

from pathlib import Path


class TanksideError(Exception):
    """Something a user can put right. Its text says what was wrong, where, and what would be right."""

    def _render_traceback_(self) -> list[str]:
        """What a notebook shows of it: the sentence, not the way through the code."""
        return [str(self)]


class DataFileError(TanksideError):
    """A data file is missing something or says something impossible."""

    def __init__(self, file: Path | str, key: str, expected: str, got: object) -> None:
        self.file, self.key, self.expected, self.got = str(file), key, expected, got
        text = repr(got)
        text = text if len(text) <= 120 else f"{text[:100]} … ({len(text)} characters)"
        super().__init__(f"{self.file}: {key}: expected {expected}, got {text}")


class UnknownNameError(TanksideError):
    """A name that nothing has; carries the names that would have been right."""

    def __init__(self, kind: str, name: object, known: list[str]) -> None:
        from difflib import get_close_matches

        self.kind, self.name, self.known = kind, name, known
        name = name if isinstance(name, str) and len(name) <= 60 else str(name)[:60]
        near = get_close_matches(name, known, n=1)
        hint = f" Did you mean {near[0]!r}?" if near else f" There are: {', '.join(known)}."
        super().__init__(f"There is no {kind} called {name!r}.{hint}")


class WorkOrderError(TanksideError):
    """A work order that can't be used: forged, expired, cut short, or for another lab."""


class AnswerError(TanksideError):
    """An answer that can't be read; carries the answer's label and the text that was written."""

    def __init__(self, label: str, text: str, expected: str) -> None:
        self.label, self.text, self.expected = label, text, expected
        super().__init__(f"{label}: can't read {text!r}. {expected}")


class BenchError(TanksideError):
    """An action that the bench can't do as asked. Nothing changed, nothing was written to the log."""


class BenchLogError(TanksideError):
    """A bench log that can't be read or doesn't belong to its work order."""
