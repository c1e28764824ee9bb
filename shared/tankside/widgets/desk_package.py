"""The one file that a learner sends: work order, bench log, report, and the notebook as last saved, in a zip."""

from __future__ import annotations

import json
import zipfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tankside.bench.log import LOG_NAME
from tankside.errors import TanksideError
from tankside.widgets.desk_answers import REPORT_NAME
from tankside.workorder import ORDER_NAME

MOST = 50 * 1024 * 1024
"""Bytes of one file; a larger notebook is left out, and that is said."""


@dataclass(frozen=True)
class Package:
    """The file that was written: its name, its folder's name, when (local time), and what is inside.

    ``notebook`` is when the notebook inside was last saved, or "" if there is none. ``stale`` is True once
    something changed after it was written.
    """

    name: str
    folder: str
    at: str
    inside: tuple[str, ...]
    notebook: str
    stale: bool = False


def package_name(lab: str, order: str) -> str:
    """The file's name. The order's number is written in one word, so that no part of it looks like a learner's id."""
    return f"handin-{lab}-{''.join(c for c in order if c.isalnum())}.zip"


def write_package(folder: Path, lab: str, order: str, order_file: Path) -> Package:
    """Write the file into ``folder`` and read it back. ``TanksideError`` says what is missing; an older one stays."""
    target, spare = folder / package_name(lab, order), folder / f".{package_name(lab, order)}.new"
    files = {ORDER_NAME: order_file, LOG_NAME: folder / LOG_NAME, REPORT_NAME: folder / REPORT_NAME}
    notebook = folder / f"{lab}.ipynb"
    try:
        contents = {name: path.read_bytes() for name, path in files.items()}
        if notebook.exists() and notebook.stat().st_size <= MOST:
            contents[notebook.name] = notebook.read_bytes()
        with zipfile.ZipFile(spare, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, data in contents.items():
                archive.writestr(f"{lab}/{name}", data)
        _read_back(spare, {f"{lab}/{name}": data for name, data in contents.items()})
        spare.replace(target)
    except FileNotFoundError as error:
        raise TanksideError(
            f"{Path(str(error.filename)).name} isn't in the lab's folder. Nothing was written."
        ) from None
    except OSError as error:
        raise TanksideError(
            f"The file can't be written ({error.strerror}). Free some space or make the folder writable, then try again."
        ) from None
    done = handed_in(folder, lab, order)
    assert done is not None
    return done


def handed_in(folder: Path, lab: str, order: str) -> Package | None:
    """The file that lies there, if one does."""
    target = folder / package_name(lab, order)
    try:
        when = target.stat().st_mtime
        with zipfile.ZipFile(target) as archive:
            inside = tuple(name.rpartition("/")[2] for name in archive.namelist())
    except (OSError, zipfile.BadZipFile):
        return None
    notebook = folder / f"{lab}.ipynb"
    saved = _clock(notebook.stat().st_mtime) if notebook.name in inside and notebook.exists() else ""
    return Package(target.name, folder.name, _clock(when), inside, saved, _changed(folder, target))


def _changed(folder: Path, target: Path) -> bool:
    """Does the bench log or a line of the report differ from what is in the file?"""
    try:
        with zipfile.ZipFile(target) as archive:
            names = {name.rpartition("/")[2]: name for name in archive.namelist()}
            log = archive.read(names[LOG_NAME])
            report = archive.read(names[REPORT_NAME])
        return log != (folder / LOG_NAME).read_bytes() or _answers(report) != _answers(
            (folder / REPORT_NAME).read_bytes()
        )
    except (OSError, KeyError, zipfile.BadZipFile):
        return True


def _answers(report: bytes) -> object:
    try:
        return json.loads(report)["answers"]
    except (ValueError, KeyError, TypeError):
        return None


def _read_back(path: Path, wanted: dict[str, bytes]) -> None:
    with zipfile.ZipFile(path) as archive:
        if {name: archive.read(name) for name in archive.namelist()} != wanted:
            raise TanksideError("The file that was written can't be read back. Try again.")


def _clock(seconds: float) -> str:
    return datetime.fromtimestamp(seconds).strftime("%H:%M")
