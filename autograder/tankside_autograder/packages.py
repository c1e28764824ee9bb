"""Finding hand-ins in whatever came back: folders, zips, zips of zips, lone notebooks. Reads; never writes.

Nothing from a source is trusted: links aren't followed, a zip's member names never become paths, and sizes are
counted while reading, whatever the zip says of itself.
"""

from __future__ import annotations

import io
import os
import re
import stat
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, tzinfo
from functools import partial
from pathlib import Path, PurePosixPath

from tankside.errors import TanksideError
from tankside_autograder.rebuild import MAX_NOTEBOOK_BYTES

ORDER, LOG, REPORT, STAMP = "work-order.json", "bench-log.jsonl", "service-report.json", "timestamp.txt"
SIDE_FILES = (ORDER, LOG, REPORT)
MAX_FILE_BYTES = MAX_NOTEBOOK_BYTES
MAX_PACKAGE_BYTES = 4 * MAX_NOTEBOOK_BYTES
MAX_MEMBERS = 20_000
MAX_RATIO = 200
NEVER = datetime(1970, 1, 1, tzinfo=UTC)
_SKIP = {"__macosx", ".ds_store", "desktop.ini", "thumbs.db", ".ipynb_checkpoints", "__pycache__"}


class SourceError(TanksideError):
    """The place to gather from isn't there or can't be opened."""


@dataclass(frozen=True)
class Problem:
    """Something noticed in a package: ``id`` for the verdict, ``text`` for people."""

    id: str
    text: str


@dataclass(frozen=True)
class Package:
    """One hand-in as it lies in the source.

    ``label`` is its path in the source; ``names`` the names that may tell whose it is, innermost first;
    ``files`` maps plain names to contents; ``notebook`` is the name of the notebook among them, or None;
    ``modified`` is when its newest file changed (UTC); ``refused`` names why nothing of it was taken, or None.
    """

    label: str
    names: tuple[str, ...]
    files: dict[str, bytes] = field(default_factory=dict)
    notebook: str | None = None
    modified: datetime = NEVER
    problems: tuple[Problem, ...] = ()
    refused: str | None = None


@dataclass(frozen=True)
class _Entry:
    parts: tuple[str, ...]
    modified: datetime
    read: Callable[[], bytes]
    size: int


_BROKEN = (zipfile.BadZipFile, EOFError, OSError, NotImplementedError, ValueError, RuntimeError, zlib.error)


class _RefusedError(Exception):
    def __init__(self, problem: Problem) -> None:
        self.problem = problem


def find_packages(source: Path, zone: tzinfo = UTC) -> Iterator[Package]:
    """Every hand-in in ``source`` (a folder, a zip or a notebook), one at a time, in the order of their names.

    ``zone`` is the clock of times inside zips, which carry none. Raises ``SourceError``.
    """
    if not source.exists():
        raise SourceError(f"{source}: there is nothing here to gather from.")
    if source.is_file():
        if source.suffix.lower() not in (".zip", ".ipynb"):
            raise SourceError(f"{source}: gather from a folder, a zip or a notebook (.ipynb); this is none of them.")
        yield from _from_file(source, (source.name,), zone)
        return
    yield from _from_folder(source, (), zone)


def _from_folder(folder: Path, parts: tuple[str, ...], zone: tzinfo) -> Iterator[Package]:
    entries: list[_Entry] = []
    problems: list[Problem] = []
    below: list[Path] = []
    zips: list[Path] = []
    others: list[str] = []
    try:
        found = sorted(os.scandir(folder), key=lambda e: e.name)
    except OSError as error:
        problem = Problem("unreadable", f"The folder can't be opened ({error.strerror}).")
        yield Package("/".join(parts) or folder.name, _names(parts), problems=(problem,), refused="unreadable")
        return
    for item in found:
        if item.name.lower() in _SKIP:
            continue
        info = item.stat(follow_symlinks=False)
        if stat.S_ISLNK(info.st_mode) or not (stat.S_ISREG(info.st_mode) or stat.S_ISDIR(info.st_mode)):
            problems.append(Problem("link", f"{item.name} is a link or device, not a file. It was not taken."))
        elif stat.S_ISDIR(info.st_mode):
            below.append(Path(item.path))
        elif item.name.lower().endswith(".zip"):
            zips.append(Path(item.path))
        elif _known(item.name):
            entries.append(_disk_entry(Path(item.path), (*parts, item.name), info))
        else:
            others.append(item.name)
    yielded = bool(entries or zips)
    yield from _group(entries, problems)
    for path in zips:
        yield from _from_file(path, (*parts, path.name), zone)
    for path in below:
        yielded = True
        yield from _from_folder(path, (*parts, path.name), zone)
    if not yielded and parts:
        holds = f" It holds only {', '.join(others[:5])}." if others else ""
        empty = Problem("empty", f"There is no notebook and no zip in this folder.{holds}")
        yield Package("/".join(parts), _names(parts), problems=(*problems, empty), refused="empty")


def _disk_entry(path: Path, parts: tuple[str, ...], info: os.stat_result) -> _Entry:
    def read() -> bytes:
        with path.open("rb") as file:
            return file.read(MAX_FILE_BYTES + 1)

    return _Entry(parts, datetime.fromtimestamp(info.st_mtime, UTC), read, info.st_size)


def _from_file(path: Path, parts: tuple[str, ...], zone: tzinfo) -> Iterator[Package]:
    info = path.stat()
    if path.suffix.lower() == ".ipynb":
        yield from _group([_disk_entry(path, parts, info)], [])
        return
    packages = list(_from_zip(path, parts, zone))
    if len(packages) == 1:
        # One learner's own zip: the time at which it arrived is better than what it says of its inside.
        packages = [replace(packages[0], modified=datetime.fromtimestamp(info.st_mtime, UTC))]
    yield from packages


def _from_zip(source: Path | io.BytesIO, parts: tuple[str, ...], zone: tzinfo, depth: int = 0) -> Iterator[Package]:
    entries: list[_Entry] = []
    problems: list[Problem] = []
    nested: list[tuple[io.BytesIO, tuple[str, ...]]] = []
    inner = (*parts[:-1], parts[-1].rsplit(".", 1)[0])
    label = "/".join(parts)
    try:
        with zipfile.ZipFile(source) as archive:
            _check_size(archive)
            for info in archive.infolist():
                name = _member_name(info, problems)
                if name is None:
                    continue
                if name[-1].lower().endswith(".zip") and depth == 0:
                    data = io.BytesIO(_read_member(archive, info))
                    nested.append((data, (*inner, *name)))
                elif _known(name[-1]):
                    read = partial(_read_later, source, info.filename)
                    entries.append(_Entry((*inner, *name), _member_time(info, zone), read, info.file_size))
    except _RefusedError as refused:
        yield Package(label, _names(inner), problems=(refused.problem,), refused=refused.problem.id)
        return
    except _BROKEN as error:
        why = "It is locked with a password." if "password" in str(error) else "Was it sent whole?"
        problem = Problem("broken-archive", f"The zip file can't be opened. {why}")
        yield Package(label, _names(inner), problems=(problem,), refused="broken-archive")
        return
    if not entries and not nested:
        problem = Problem("empty", "There is no notebook in this zip.")
        yield Package(label, _names(inner), problems=(*problems, problem), refused="empty")
    yield from _group(entries, problems)
    for data, where in nested:
        yield from _from_zip(data, where, zone, depth + 1)


def _check_size(archive: zipfile.ZipFile) -> None:
    infos = archive.infolist()
    total, packed = sum(i.file_size for i in infos), sum(i.compress_size for i in infos)
    if len(infos) > MAX_MEMBERS:
        raise _RefusedError(Problem("too-big", f"The zip holds {len(infos)} files. The most is {MAX_MEMBERS}."))
    # A class's own bulk zip may be large on disk; only a zip that swells far beyond its size is a trap.
    if total > MAX_PACKAGE_BYTES and total > MAX_RATIO * max(packed, 1):
        raise _RefusedError(Problem("too-big", f"The zip would unpack to {total / 1024**2:.0f} MB. It was not unpacked."))


def _read_member(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> bytes:
    with archive.open(info) as file:
        data = file.read(MAX_PACKAGE_BYTES + 1)
    if len(data) > MAX_PACKAGE_BYTES:
        raise _RefusedError(Problem("too-big", f"{info.filename} in the zip is larger than it may be. It was not taken."))
    return data


def _read_later(source: Path | io.BytesIO, member: str) -> bytes:
    # Opened again for each file, so that a whole class's zip is never in memory at once.
    with zipfile.ZipFile(source) as archive, archive.open(member) as file:
        return file.read(MAX_FILE_BYTES + 1)


def _member_name(info: zipfile.ZipInfo, problems: list[Problem]) -> tuple[str, ...] | None:
    name = info.filename.replace("\\", "/")
    parts = tuple(p for p in name.split("/") if p not in ("", "."))
    if info.is_dir() or not parts or any(p.lower() in _SKIP for p in parts):
        return None
    link = stat.S_ISLNK(info.external_attr >> 16)
    if ".." in parts or name.startswith("/") or ":" in parts[0] or link:
        what = "is a link" if link else "leads out of its folder"
        problems.append(Problem("unsafe-archive", f"A file in the zip {what} ({name[:80]}). It was not unpacked."))
        return None
    return parts


def _member_time(info: zipfile.ZipInfo, zone: tzinfo) -> datetime:
    try:
        return datetime(*info.date_time, tzinfo=zone).astimezone(UTC)
    except (ValueError, OverflowError):
        return NEVER


def _known(name: str) -> bool:
    return name.lower().endswith(".ipynb") or name.lower() in (*SIDE_FILES, STAMP)


def _names(parts: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(reversed(parts))


def _group(entries: list[_Entry], problems: list[Problem]) -> Iterator[Package]:
    folders: dict[tuple[str, ...], list[_Entry]] = {}
    for entry in entries:
        folders.setdefault(entry.parts[:-1], []).append(entry)
    for folder, inside in sorted(folders.items()):
        notebooks = [e for e in inside if e.parts[-1].lower().endswith(".ipynb")]
        side = [e for e in inside if e not in notebooks]
        if any(e.parts[-1].lower() in SIDE_FILES for e in side) or len(notebooks) <= 1:
            yield _package(folder, notebooks, side, problems)
        else:
            # Several lone notebooks in one folder: each is a hand-in of its own.
            for notebook in notebooks:
                yield _package(folder, [notebook], side, problems)


def _package(folder: tuple[str, ...], notebooks: list[_Entry], side: list[_Entry], problems: list[Problem]) -> Package:
    found = list(problems)
    chosen = _choose(notebooks, folder)
    if len(notebooks) > 1 and chosen:
        rest = ", ".join(e.parts[-1] for e in notebooks if e is not chosen)
        found.append(Problem("several-notebooks", f"Several notebooks were there. {chosen.parts[-1]} counts, not {rest}."))
    files: dict[str, bytes] = {}
    refused: str | None = None
    taken = [*([chosen] if chosen else []), *side]
    for entry in taken:
        name = _plain(entry.parts[-1]) if entry is chosen else entry.parts[-1].lower()
        try:
            data = entry.read() if entry.size <= MAX_FILE_BYTES else b""
        except _BROKEN as error:
            locked = " It is locked with a password." if "password" in str(error) else ""
            found.append(Problem("broken-archive", f"{name} can't be read.{locked} Was it sent whole?"))
            refused = "broken-archive" if entry is chosen else refused
            continue
        if entry.size > MAX_FILE_BYTES or len(data) > MAX_FILE_BYTES:
            found.append(Problem("too-big", f"{name} has {entry.size / 1024**2:.0f} MB. The most is 50 MB."))
            refused = "too-big" if entry is chosen else refused
            continue
        files[name] = data
    notebook = _plain(chosen.parts[-1]) if chosen and _plain(chosen.parts[-1]) in files else None
    names = ((PurePosixPath(chosen.parts[-1]).stem,) if chosen else ()) + _names(folder)
    where = chosen.parts if chosen and not folder else folder
    if chosen and not any(e.parts[-1].lower() in SIDE_FILES for e in side):
        where = chosen.parts
    newest = max((e.modified for e in taken), default=NEVER)
    return Package("/".join(where), names, files, notebook, newest, tuple(found), refused)


def _plain(name: str) -> str:
    return re.sub(r"[^\w.() -]", "_", name)[-120:]


def _choose(notebooks: list[_Entry], folder: tuple[str, ...]) -> _Entry | None:
    """The notebook that counts: the one named like its folder, else a plain name before a copy's, else the newest."""
    if not notebooks:
        return None
    own = {part.lower() for part in folder}

    def rank(entry: _Entry) -> tuple[bool, bool, datetime]:
        stem = PurePosixPath(entry.parts[-1]).stem.lower()
        return stem in own, "copy" not in stem and "(" not in stem and "untitled" not in stem, entry.modified

    return max(notebooks, key=rank)
