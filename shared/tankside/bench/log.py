"""The bench log: one JSON object a line, appended and flushed as it happens, chained line to line.

The chain shows that lines were cut, moved or borrowed; it doesn't make them true. What makes
a reading true is that replaying the actions gives it again.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tankside.errors import BenchLogError

LOG_NAME = "bench-log.jsonl"
MAX_LINES = 100_000
MAX_LINE = 20_000


def link(previous: str, entry: dict[str, Any]) -> str:
    """The chain's next link: a digest of the link before and of this entry without its link."""
    body = {key: value for key, value in entry.items() if key != "link"}
    text = previous + json.dumps(body, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def start_link(order: str) -> str:
    """The link before the first line."""
    return hashlib.sha256(f"bench log of {order}".encode()).hexdigest()[:16]


@dataclass
class ReadLog:
    """What was read from a log: good entries, and what was wrong with the rest, in words."""

    entries: list[dict[str, Any]] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)


def read_lines(lines: Iterable[str]) -> ReadLog:
    """Parse log lines. A cut last line is dropped and named; any other bad line ends the reading there."""
    out = ReadLog()
    texts = [line for line in lines if line.strip()]
    if len(texts) > MAX_LINES:
        out.problems.append(f"The log has {len(texts)} lines; only the first {MAX_LINES} are read.")
        texts = texts[:MAX_LINES]
    for number, text in enumerate(texts, start=1):
        try:
            if len(text) > MAX_LINE:
                raise ValueError("too long")
            entry = json.loads(text, parse_constant=_no_constant)
            if not isinstance(entry, dict) or not isinstance(entry.get("verb"), str):
                raise ValueError("not an entry")
            if not isinstance(entry.get("args"), dict) or not isinstance(entry.get("result"), dict):
                raise ValueError("not an entry")
        except ValueError:
            last = number == len(texts)
            out.problems.append(
                f"Line {number} is cut off; it was left out."
                if last
                else f"Line {number} can't be read; the log counts only up to there."
            )
            break
        out.entries.append(entry)
    return out


def _no_constant(name: str) -> Any:
    raise ValueError(f"{name} is not a number")


class LogFile:
    """A log on disk. Every line is flushed to the disk before the action's result is shown."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def read(self) -> ReadLog:
        """What is there. A cut last line is taken off the file, so that the next line starts clean."""
        if not self.path.exists():
            return ReadLog()
        try:
            text = self.path.read_text(encoding="utf-8", errors="replace")
        except OSError as error:
            raise BenchLogError(f"Can't read the bench log {self.path.name}: {error.strerror}.") from None
        found = read_lines(text.splitlines())
        if found.problems and "cut off" in found.problems[-1]:
            whole = "".join(line + "\n" for line in text.splitlines()[: len(found.entries)])
            self._replace(whole)
        return found

    def append(self, entry: dict[str, Any]) -> None:
        """Write one line and make sure it is on the disk."""
        line = json.dumps(entry, ensure_ascii=False, separators=(",", ":")) + "\n"
        try:
            with self.path.open("a", encoding="utf-8", newline="\n") as file:
                file.write(line)
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            raise BenchLogError(
                f"The bench log {self.path.name} can't be written ({error.strerror}). The action was not done. "
                "Free some space or make the folder writable, then do it again."
            ) from None

    def _replace(self, text: str) -> None:
        spare = self.path.with_suffix(".new")
        try:
            spare.write_text(text, encoding="utf-8", newline="\n")
            spare.replace(self.path)
        except OSError as error:
            raise BenchLogError(
                f"The bench log {self.path.name} can't be mended: {error.strerror}."
            ) from None
