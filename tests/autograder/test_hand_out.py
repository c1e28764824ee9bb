"""Does each learner get a folder of their own with nothing of anybody else's in it, the same however often?"""

from __future__ import annotations

import io
import json
import re
import shutil
import zipfile
from pathlib import Path

import pytest

from tankside.labs import lab_ids, load_lab
from tankside.workorder import open_sealed, read_order_file
from tankside_autograder.classroom import Classroom
from tankside_autograder.collect import gather
from tankside_autograder.hand_out import HandOutError, hand_out
from tankside_autograder.rebuild import source_text

from .school import ISSUED, LAB, start_class, work

PEOPLE = ["ana", "bo", "élan"]


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    return start_class(tmp_path, PEOPLE)


def snapshot(folder: Path) -> dict[str, tuple[bytes, int]]:
    return {str(p.relative_to(folder)): (p.read_bytes(), p.stat().st_mtime_ns) for p in folder.rglob("*") if p.is_file()}


def test_each_gets_their_own(room: Classroom, tmp_path: Path) -> None:
    given = hand_out(room, LAB, tmp_path / "exercises", ISSUED)
    assert [g.status for g in given] == ["new"] * 3 and len({g.order for g in given}) == 3
    for g in given:
        assert sorted(p.name for p in g.folder.iterdir()) == ["lab03.ipynb", "work-order.json"]
        order = read_order_file(g.folder / "work-order.json", room.key)
        assert (order.learner, order.lab, order.order) == (g.learner.id, "lab03", g.order)
        with zipfile.ZipFile(g.archive) as archive:
            assert sorted(archive.namelist()) == ["lab03/lab03.ipynb", "lab03/work-order.json"]
            assert archive.read("lab03/work-order.json") == (g.folder / "work-order.json").read_bytes()
        entry = room.ledger.by_order(g.order)
        assert entry and entry.learner == g.learner.id and open_sealed(entry.token, room.key) == order


def test_again_changes_nothing(room: Classroom, tmp_path: Path) -> None:
    hand_out(room, LAB, tmp_path / "exercises", ISSUED)
    before = snapshot(room.folder)
    again = hand_out(Classroom(room.folder), LAB, tmp_path / "exercises")
    assert [g.status for g in again] == ["unchanged"] * 3
    assert snapshot(room.folder) == before


def test_lost_files_come_back_the_same(room: Classroom, tmp_path: Path) -> None:
    hand_out(room, LAB, tmp_path / "exercises", ISSUED)
    before = {k: v[0] for k, v in snapshot(room.folder / "handed-out").items()}
    (room.handed_out("ana", "lab03") / "work-order.json").write_text("{}", encoding="utf-8")
    room.handed_out_zip("bo", "lab03").unlink()
    again = hand_out(Classroom(room.folder), LAB, tmp_path / "exercises")
    assert [g.status for g in again] == ["refreshed", "refreshed", "unchanged"]
    assert {k: v[0] for k, v in snapshot(room.folder / "handed-out").items()} == before


def test_a_newcomer_gets_one_and_the_others_keep_theirs(room: Classroom, tmp_path: Path) -> None:
    first = {g.learner.id: g.order for g in hand_out(room, LAB, tmp_path / "exercises", ISSUED)}
    with room.roster_file.open("a", encoding="utf-8") as file:
        file.write("zed,Zed Late\n")
    again = hand_out(Classroom(room.folder), LAB, tmp_path / "exercises", ISSUED)
    assert {g.learner.id: g.order for g in again[:3]} == first and again[3].status == "new"


def test_nothing_secret_goes_along(room: Classroom, tmp_path: Path) -> None:
    """No key, seed of the class, ledger, other learner's order, solution, hidden file or text twin."""
    exercise = tmp_path / "exercises" / "lab03"
    for name in ("lab03.md", "work-order.json", "notes.txt", ".secret.png", "other.ipynb", "class.key"):
        (exercise / name).write_text("element burnt open", encoding="utf-8")
    (exercise / "wiring.svg").write_text("<svg/>", encoding="utf-8")
    given = hand_out(room, LAB, tmp_path / "exercises", ISSUED)
    tokens = {g.learner.id: json.loads((g.folder / "work-order.json").read_text(encoding="utf-8"))["token"] for g in given}
    for g in given:
        held = {p.name: p.read_bytes() for p in g.folder.rglob("*") if p.is_file()}
        assert sorted(held) == ["lab03.ipynb", "wiring.svg", "work-order.json"]
        with zipfile.ZipFile(io.BytesIO(g.archive.read_bytes())) as archive:
            everything = b"".join(held.values()) + b"".join(archive.read(n) for n in archive.namelist())
        assert room.key.encode() not in everything and b"burnt open" not in everything
        assert not any(t.encode() in everything for who, t in tokens.items() if who != g.learner.id)
        assert not any(g2.order.encode() in everything for g2 in given if g2.learner != g.learner)


@pytest.mark.parametrize("mark", ["### BEGIN SOLUTION", "### BEGIN HIDDEN TESTS"])
def test_the_instructors_notebook_is_refused(room: Classroom, tmp_path: Path, mark: str) -> None:
    path = tmp_path / "exercises" / "lab03" / "lab03.ipynb"
    path.write_text(path.read_text(encoding="utf-8").replace("# Marked", f"{mark}\\n# Marked"), encoding="utf-8")
    with pytest.raises(HandOutError, match="instructor's notebook"):
        hand_out(room, LAB, tmp_path / "exercises", ISSUED)
    assert not (room.folder / "handed-out").exists()


def test_exercises_not_built(room: Classroom, tmp_path: Path) -> None:
    with pytest.raises(HandOutError, match="Build the exercises"):
        hand_out(room, LAB, tmp_path / "nowhere", ISSUED)


def test_a_lone_notebook_with_any_name_is_known_by_the_order_inside(room: Classroom, tmp_path: Path) -> None:
    hand_out(room, LAB, tmp_path / "exercises", ISSUED)
    target = work(room, tmp_path / "worked", "bo")
    (tmp_path / "in").mkdir()
    shutil.copy(target / "lab03.ipynb", tmp_path / "in" / "my final one.ipynb")
    [one] = gather(room, tmp_path / "in")
    assert (one.status, one.learner, one.lab) == ("new", "bo", "lab03")


ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("lab_id", lab_ids())
def test_the_real_labs_hold_no_answer(tmp_path: Path, lab_id: str) -> None:
    """What a learner really gets: no line of a solution, no hidden test, no key, nobody else's order."""
    lab = load_lab(lab_id)
    room = start_class(tmp_path, ["ana", "bo"])
    given = hand_out(room, lab, ROOT / "exercises", ISSUED)
    solved = json.loads((ROOT / "solutions" / lab_id / f"{lab_id}.ipynb").read_text(encoding="utf-8"))
    regions = re.findall(r"### BEGIN SOLUTION(.*?)### END SOLUTION", "\n".join(map(source_text, solved["cells"])), re.DOTALL)
    secrets = [line.strip() for region in regions for line in region.splitlines() if len(line.strip()) > 12]
    assert secrets, "the solved lab has answers to look for"
    for g in given:
        with zipfile.ZipFile(g.archive) as archive:
            text = "\n".join(archive.read(name).decode("utf-8") for name in archive.namelist())
        text += "\n".join(p.read_text(encoding="utf-8") for p in g.folder.iterdir() if p.suffix in (".ipynb", ".json"))
        for word in (*secrets, "mark_part", "BEGIN ", room.key, *(o.order for o in given if o is not g)):
            assert word not in text and json.dumps(word)[1:-1] not in text
