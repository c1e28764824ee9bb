"""Handing out: for each learner a folder and a zip with the lab and a work order of their own, and nothing else.

An nbgrader exchange has one release folder for everybody, so it can't carry an order for each learner; the folders
made here are laid out ``<learner>/<lab>/`` as nbgrader's other trees are.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from tankside.errors import TanksideError, WorkOrderError
from tankside_autograder.classroom import Classroom, Issued
from tankside_autograder.files import make_folder, write_atomic
from tankside_autograder.rebuild import read_lab_source
from tankside_autograder.roster import Learner

if TYPE_CHECKING:
    from tankside.labs import Lab
    from tankside.workorder import WorkOrder

ORDER_NAME = "work-order.json"
# What a released lab's folder may hold beside its notebook. Anything else stays with the instructor.
_TAKEN = {".ipynb", ".png", ".svg", ".jpg", ".css", ".pdf", ".csv"}
_ZIP_TIME = (1980, 1, 1, 0, 0, 0)  # the same content always gives the same zip
_TRIES = 20


class HandOutError(TanksideError):
    """The lab can't be handed out as it is."""


@dataclass(frozen=True)
class HandedOut:
    """What one learner got. ``status``: new, refreshed (a file was missing or old) or unchanged."""

    learner: Learner
    order: str
    folder: Path
    archive: Path
    status: str


def released_folder(lab: str, exercises: Path | None = None) -> Path:
    """The folder of a released lab. Raises ``HandOutError`` when it isn't there."""
    root = exercises or Path(__file__).resolve().parents[2] / "exercises"
    folder = root / lab
    if not (folder / f"{lab}.ipynb").is_file():
        raise HandOutError(f"{folder / (lab + '.ipynb')}: the lab's notebook isn't there. Build the exercises first.")
    return folder


def lab_files(folder: Path) -> dict[str, bytes]:
    """The files of a released lab, by name. A notebook that still holds a solution is refused (``HandOutError``)."""
    lab = read_lab_source(folder / f"{folder.name}.ipynb").lab
    files: dict[str, bytes] = {}
    for path in sorted(folder.iterdir()):
        if path.is_file() and not path.name.startswith(".") and path.suffix.lower() in _TAKEN:
            if path.suffix == ".ipynb" and path.stem != lab:
                continue
            files[path.name] = path.read_bytes()
    for mark in (b"BEGIN SOLUTION", b"BEGIN HIDDEN TESTS"):
        if mark in files[f"{lab}.ipynb"]:
            raise HandOutError(
                f"{folder / (lab + '.ipynb')}: this is the instructor's notebook (it has {mark.decode()!r} in it). "
                "Hand out the one in exercises/."
            )
    return files


def hand_out(
    room: Classroom,
    lab: Lab,
    exercises: Path | None = None,
    issued: date | None = None,
    progress: Callable[[str], None] | None = None,
) -> list[HandedOut]:
    """Give every learner of the class the lab and a sealed order of their own. Doing it again changes nothing.

    ``issued`` is the day written on new orders (today by default). Raises ``HandOutError``, ``StorageError``.
    """
    files = lab_files(released_folder(lab.id, exercises))
    orders: list[tuple[Learner, WorkOrder, bool]] = []
    fresh: dict[str, Issued] = {}
    for learner in room.roster:
        if progress:
            progress(learner.id)
        order = _known_order(room, lab, learner)
        if order is None:
            order, entry = _new_order(room, lab, learner, issued or date.today(), fresh)
            fresh[entry.order] = entry
            orders.append((learner, order, True))
        else:
            orders.append((learner, order, False))
    # All in the ledger before anything is handed out: an order in a learner's hands is always known.
    if fresh:
        room.ledger.add(*fresh.values())
    return [_lay_out(room, lab, learner, order, files, new) for learner, order, new in orders]


def _known_order(room: Classroom, lab: Lab, learner: Learner) -> WorkOrder | None:
    from tankside.workorder import open_sealed

    entry = room.ledger.find(learner.id, lab.id)
    return open_sealed(entry.token, room.key) if entry else None


def _new_order(
    room: Classroom, lab: Lab, learner: Learner, issued: date, fresh: dict[str, Issued]
) -> tuple[WorkOrder, Issued]:
    from tankside.dispatch import make_order
    from tankside.workorder import seal

    for again in range(_TRIES):
        seed = room.seed(learner.id, lab.id, again)
        order = make_order(lab, learner.id, seed, issued, room.agreed.expires(lab.id))
        # Two seeds can, rarely, give the same short id; an order must belong to one learner alone.
        if room.ledger.by_order(order.order) is None and order.order not in fresh:
            expires = order.expires.isoformat() if order.expires else None
            token = seal(order, room.key)
            return order, Issued(
                order.order, learner.id, lab.id, order.seed, order.issued.isoformat(), expires, token
            )
    raise HandOutError(f"No work order could be made for {learner.id}: every id that came up is taken.")


def _lay_out(
    room: Classroom, lab: Lab, learner: Learner, order: WorkOrder, files: dict[str, bytes], fresh: bool
) -> HandedOut:
    from tankside.workorder import read_order_file, write_order_file

    folder = make_folder(room.handed_out(learner.id, lab.id))
    changed = False
    for name, data in files.items():
        changed |= _put(folder / name, data)
    order_file = folder / ORDER_NAME
    try:
        same = read_order_file(order_file, room.key) == order
    except WorkOrderError:
        same = False
    if not same:
        write_order_file(order, order_file, room.key)
        changed = True
    archive = room.handed_out_zip(learner.id, lab.id)
    changed |= _put(archive, zip_of(lab.id, {**files, ORDER_NAME: order_file.read_bytes()}))
    return HandedOut(learner, order.order, folder, archive, "new" if fresh else "refreshed" if changed else "unchanged")


def zip_of(folder: str, files: dict[str, bytes]) -> bytes:
    """A zip of ``files`` under ``folder``: the same bytes for the same content."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in sorted(files.items()):
            info = zipfile.ZipInfo(f"{folder}/{name}", _ZIP_TIME)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            archive.writestr(info, data)
    return out.getvalue()


def _put(path: Path, data: bytes) -> bool:
    """Write unless the same is there already; True when it was written."""
    if path.is_file() and path.read_bytes() == data:
        return False
    write_atomic(path, data)
    return True
