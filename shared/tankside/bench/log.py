"""The bench log: one JSON object a line, appended and flushed as it happens, chained line to line.

The chain shows that lines were cut, moved or borrowed; it doesn't make them true. What makes
a reading true is that replaying the actions gives it again.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable
from contextlib import suppress
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
        except (ValueError, RecursionError):  # the second: lists in lists in lists
            last = number == len(texts)
            out.problems.append(
                f"Line {number} is cut off; it was left out."
                if last
                else f"Line {number} can't be read; the log counts only up to there."
            )
            break
        out.entries.append(entry)
    return out


def split_lines(text: str) -> list[str]:
    """A log's text as lines. Only a line feed ends one: texts may hold other characters that ``splitlines`` cuts at."""
    return text.split("\n")


def _no_constant(name: str) -> Any:
    raise ValueError(f"{name} is not a number")


class LogFile:
    """A log on disk. Every line is flushed to the disk before the action's result is shown.

    The file's size is remembered: a log that grew or shrank meanwhile (a second notebook on
    the same folder) is never written on, because the two stories would not fit together.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._size = 0

    def read(self) -> ReadLog:
        """What is there. What can't be read is taken off the file, so that the next line starts clean.

        A cut last line is simply dropped; of any other damage a copy is kept beside the log.
        """
        try:
            data = self.path.read_bytes()
        except FileNotFoundError:
            self._size = 0
            return ReadLog()
        except OSError as error:
            raise BenchLogError(f"Can't read the bench log {self.path.name}: {error.strerror}.") from None
        texts = [line for line in split_lines(data.decode("utf-8-sig", errors="replace")) if line.strip()]
        found = read_lines(texts)
        whole = "".join(line.rstrip("\r") + "\n" for line in texts[: len(found.entries)]).encode("utf-8")
        if found.problems and "cut off" not in found.problems[-1]:
            aside = self._aside()
            self._replace(aside, data)
            found.problems[-1] += f" A copy of the whole file is kept as {aside.name}."
        if whole != data:
            self._replace(self.path, whole)
        self._size = len(whole)
        return found

    def append(self, entry: dict[str, Any]) -> None:
        """Write one line and make sure it is on the disk; if that fails, the file is as it was before."""
        line = (json.dumps(entry, ensure_ascii=False, separators=(",", ":")) + "\n").encode("utf-8")
        if self._size_now() != self._size:
            raise BenchLogError(
                f"The bench log {self.path.name} was changed by something else since this bench was opened: "
                "a second notebook, or a hand. The action was not done. Close the other one, restart the kernel "
                "and open the lab again: it goes on from what the file says."
            )
        try:
            with self.path.open("ab") as file:
                file.write(line)
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            with suppress(OSError):  # a full disk may have taken half the line
                os.truncate(self.path, self._size)
            raise BenchLogError(
                f"The bench log {self.path.name} can't be written ({error.strerror}). The action was not done. "
                "Free some space or make the folder writable, then do it again."
            ) from None
        self._size += len(line)

    def _size_now(self) -> int:
        try:
            return self.path.stat().st_size
        except FileNotFoundError:
            return 0
        except OSError as error:
            raise BenchLogError(f"Can't read the bench log {self.path.name}: {error.strerror}.") from None

    def _aside(self) -> Path:
        """A free name for a damaged file's copy."""
        k = 1
        while (path := self.path.with_name(f"{self.path.stem}-damaged-{k}{self.path.suffix}")).exists():
            k += 1
        return path

    def _replace(self, path: Path, data: bytes) -> None:
        spare = path.with_suffix(".new")
        try:
            spare.write_bytes(data)
            spare.replace(path)
        except OSError as error:
            raise BenchLogError(
                f"The bench log {self.path.name} can't be mended: {error.strerror}."
            ) from None
