"""Gathering hand-ins: find them, tell whose they are, and file them in the class folder. The source stays as it is."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tankside.errors import TanksideError
from tankside_autograder.classroom import Classroom
from tankside_autograder.files import digest, make_folder, storage, write_atomic, write_json
from tankside_autograder.orders import order_id_in, order_id_of_token
from tankside_autograder.packages import ORDER, STAMP, Package, Problem, find_packages
from tankside_autograder.rebuild import copy_inside
from tankside_autograder.whose import lab_from_names, learner_from_names, parse_time, split_exchange

MANIFEST = "hand-in.json"


class GatherError(TanksideError):
    """The hand-ins can't be gathered from there."""


@dataclass(frozen=True)
class Gathered:
    """What became of one hand-in. ``status``: new, replaced, earlier, unchanged, empty, refused, unplaced."""

    label: str
    status: str
    learner: str | None
    lab: str | None
    text: str


def gather(
    room: Classroom,
    source: Path,
    labs: list[str] | None = None,
    only_lab: str | None = None,
    progress: Callable[[str], None] | None = None,
) -> list[Gathered]:
    """File every hand-in found in ``source``; doing it again changes nothing.

    ``labs`` are the lab ids there are (all of Tankside's by default); ``only_lab`` is taken when a hand-in doesn't
    tell its lab. Of two hand-ins by one learner the later counts; the earlier is kept and named in the manifest.
    Raises ``SourceError``, ``GatherError``, ``StorageError``.
    """
    source = Path(source)
    inside, room_folder = source.resolve(), room.folder.resolve()
    if inside == room_folder or inside in room_folder.parents:
        raise GatherError(f"{source}: this holds the class folder itself. Gather from the folder of hand-ins.")
    if inside.is_relative_to(room_folder / "handed-in"):
        raise GatherError(f"{source}: these are gathered already.")
    if labs is None:
        from tankside.labs import lab_ids

        labs = lab_ids()
    stated = _stated_times(source)
    out: list[Gathered] = []
    for package in find_packages(source, room.agreed.tzinfo()):
        if progress:
            progress(package.label)
        out.append(_file_one(room, package, labs, only_lab, stated))
    return out


def read_manifest(folder: Path) -> dict[str, Any] | None:
    """The ``hand-in.json`` of a filed hand-in; None when there is none or it can't be read."""
    try:
        manifest = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return manifest if isinstance(manifest, dict) else None


def _file_one(
    room: Classroom, package: Package, labs: list[str], only_lab: str | None, stated: dict[tuple[str, str], datetime]
) -> Gathered:
    problems = list(package.problems)
    order = _order_inside(package, room.key)
    issued = room.ledger.by_order(order) if order else None
    learner, how = learner_from_names(package.names, room.roster)
    if learner is None and issued is not None:
        learner, how = room.roster.find(issued.learner), "work order inside"
    lab = lab_from_names(package.names, labs) or (issued.lab if issued else None) or only_lab
    if lab is None and len(labs) == 1:
        lab = labs[0]
    if learner is None or lab is None:
        return _unplaced(room, package, learner.id if learner else None, lab)
    received, told_by = _received(package, learner.id, lab, stated)
    files = {(f"{lab}.ipynb" if name == package.notebook else name): data for name, data in package.files.items()}
    files.pop(STAMP, None)
    mark = digest("\n".join(f"{n} {digest(d)}" for n, d in sorted(files.items())).encode())
    if package.refused:
        mark = digest(f"{package.refused} {mark} {[p.text for p in problems]}".encode())
    current, earlier = read_manifest(room.handed_in(learner.id, lab)), _earlier(room, learner.id, lab)
    if mark in {current["digest"] if current else None, *(e["digest"] for e in earlier)}:
        return Gathered(package.label, "unchanged", learner.id, lab, "gathered before")
    if package.refused == "empty" and current:
        return Gathered(package.label, "empty", learner.id, lab, "empty; another hand-in counts")
    manifest = {
        "learner": learner.id,
        "lab": lab,
        "received": received.isoformat(),
        "received_from": told_by,
        "source": package.label,
        "identified_by": how,
        "notebook": package.notebook,
        "digest": mark,
        "refused": package.refused,
        "files": {name: {"bytes": len(data), "sha256": digest(data)} for name, data in sorted(files.items())},
        "problems": [asdict(p) for p in problems],
    }
    return _place(room, manifest, files, current, package)


def _order_inside(package: Package, key: str) -> str | None:
    """The id of the genuine order that came along, as a file or as a copy inside the notebook."""
    if ORDER in package.files:
        return order_id_in(package.files[ORDER], key)
    inside = copy_inside(package.files[package.notebook]) if package.notebook else None
    return order_id_of_token(inside.get("order"), key) if inside else None


def _place(
    room: Classroom, manifest: dict[str, Any], files: dict[str, bytes], current: dict[str, Any] | None, package: Package
) -> Gathered:
    learner, lab = manifest["learner"], manifest["lab"]
    target, status = room.handed_in(learner, lab), "new"
    kept = room.earlier(learner, lab) / _earlier_name(manifest)
    if current:
        # One that could be opened counts before one that couldn't; then the later one counts.
        mine = (manifest["refused"] is None, manifest["received"])
        theirs = (current.get("refused") is None, current["received"])
        if mine < theirs:
            _write_folder(kept, manifest, files)
            _name_earlier(room, learner, lab)
            return Gathered(package.label, "earlier", learner, lab, "an earlier hand-in; kept, the later one counts")
        status = "replaced"
        before = room.earlier(learner, lab) / _earlier_name(current)
        if not before.exists():
            make_folder(before.parent)
            with storage(before):
                target.rename(before)
        else:
            with storage(target):
                shutil.rmtree(target)
    _write_folder(target, manifest, files)
    _name_earlier(room, learner, lab)
    if manifest["refused"]:
        text = "; ".join(p["text"] for p in manifest["problems"])
        return Gathered(package.label, "empty" if package.refused == "empty" else "refused", learner, lab, text)
    text = "; ".join(p.text for p in package.problems)
    if status == "replaced":
        text = "; ".join(filter(None, ["takes the place of an earlier hand-in, which is kept", text]))
    return Gathered(package.label, status, learner, lab, text)


def _write_folder(target: Path, manifest: dict[str, Any], files: dict[str, bytes]) -> None:
    """All of a hand-in's files at once: made beside its place, then renamed into it."""
    part = target.with_name(f".{target.name}.part")
    with storage(target):
        if part.exists():
            shutil.rmtree(part)
    make_folder(part)
    for name, data in files.items():
        write_atomic(part / name, data)
    # nbgrader reads a hand-in's time from this file.
    stamp = datetime.fromisoformat(manifest["received"]).astimezone(UTC).strftime("%Y-%m-%d %H:%M:%S.%f UTC")
    write_atomic(part / STAMP, stamp)
    write_json(part / MANIFEST, manifest)
    with storage(target):
        if target.exists():
            shutil.rmtree(target)  # left half-filed by a run that was stopped
        part.rename(target)


def _earlier_name(manifest: dict[str, Any]) -> str:
    stamp = datetime.fromisoformat(manifest["received"]).astimezone(UTC).strftime("%Y-%m-%dT%H%M%SZ")
    return f"{stamp}-{manifest['digest'][:8]}"


def _earlier(room: Classroom, learner: str, lab: str) -> list[dict[str, Any]]:
    folder = room.earlier(learner, lab)
    found = [read_manifest(path) for path in sorted(folder.iterdir())] if folder.is_dir() else []
    return [manifest for manifest in found if manifest]


def _name_earlier(room: Classroom, learner: str, lab: str) -> None:
    """Write into the manifest that counts which hand-ins came before it."""
    manifest = read_manifest(room.handed_in(learner, lab))
    if manifest is None:
        return
    kept = [
        {"source": e["source"], "received": e["received"], "folder": _earlier_name(e), "refused": e["refused"]}
        for e in _earlier(room, learner, lab)
    ]
    if manifest.get("earlier", []) != kept:
        write_json(room.handed_in(learner, lab) / MANIFEST, {**manifest, "earlier": kept})


def _unplaced(room: Classroom, package: Package, learner: str | None, lab: str | None) -> Gathered:
    if package.refused == "empty":
        return Gathered(package.label, "empty", learner, lab, "empty, and nobody's folder")
    if learner is None:
        text = "Nobody on the class list fits this name, and no work order of this class is inside."
    else:
        text = "It doesn't tell which lab it is for. Say so with --lab."
    safe = re.sub(r"[^\w.@-]+", "_", package.label).strip("._")[:80] or "hand-in"
    mark = digest(package.label.encode() + b"".join(digest(d).encode() for d in package.files.values()))
    folder = room.unplaced / f"{safe}-{mark[:8]}"
    if folder.exists():
        return Gathered(package.label, "unplaced", learner, lab, text)
    problems = [asdict(p) for p in (*package.problems, Problem("unknown-learner" if learner is None else "no-lab", text))]
    manifest = {
        "learner": learner, "lab": lab, "received": package.modified.isoformat(), "received_from": "file time",
        "source": package.label, "notebook": package.notebook, "digest": mark, "refused": package.refused,
        "problems": problems,
    }  # fmt: skip
    _write_folder(folder, manifest, package.files)
    return Gathered(package.label, "unplaced", learner, lab, text)


def _received(
    package: Package, learner: str, lab: str, stated: dict[tuple[str, str], datetime]
) -> tuple[datetime, str]:
    for key in ((learner.casefold(), lab), (learner.casefold(), "")):
        if key in stated:
            return stated[key], "received.csv"
    for name in package.names:
        exchange = split_exchange(name)
        if exchange and exchange[2]:
            return exchange[2], "exchange folder"
    if STAMP in package.files:
        when = parse_time(package.files[STAMP][:100].decode("utf-8", errors="replace"))
        if when:
            return when, STAMP
    return package.modified, "file time"


def _stated_times(source: Path) -> dict[tuple[str, str], datetime]:
    """``received.csv`` beside the hand-ins (columns id, received, optionally lab): times that somebody vouches for."""
    file = source / "received.csv"
    if not source.is_dir() or not file.is_file():
        return {}
    out: dict[tuple[str, str], datetime] = {}
    reader = csv.DictReader(io.StringIO(file.read_text(encoding="utf-8-sig"), newline=""))
    if not {"id", "received"} <= set(reader.fieldnames or ()):
        raise GatherError(f"{file}: needs the columns id and received (and may have lab).")
    for row in reader:
        when = parse_time(row["received"] or "")
        if when is None:
            raise GatherError(
                f"{file}: line {reader.line_num}: can't read the time {row['received']!r}. "
                "Write it with its zone, such as 2031-03-14T18:05:00+01:00"
            )
        out[((row["id"] or "").strip().casefold(), (row.get("lab") or "").strip())] = when
    return out
