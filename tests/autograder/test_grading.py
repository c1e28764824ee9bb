"""Does a marking run end with the same marks however it is run, stopped or killed, and does nothing stop it?"""

from __future__ import annotations

import errno
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest

from tankside_autograder import files, grading
from tankside_autograder.classroom import Classroom
from tankside_autograder.collect import gather
from tankside_autograder.files import StorageError
from tankside_autograder.grading import MarkRun, mark
from tankside_autograder.mark_one import Task, mark_one

from .school import give, start_class, work

CLASS = {"ana": "careful", "bo": "guesser", "cy": "unsafe", "di": "brilliant"}


@pytest.fixture(scope="module")
def inbox(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Hand-ins of four learners, made once."""
    folder = tmp_path_factory.mktemp("inbox")
    room = start_class(folder, list(CLASS))
    give(room, folder)
    for learner, kind in CLASS.items():
        work(room, folder / "in", learner, kind)
    (folder / "in" / "received.csv").write_text(
        "id,received\n" + "".join(f"{x},2031-03-01T12:00:00Z\n" for x in CLASS), encoding="utf-8"
    )
    return folder / "in"


def fresh(tmp_path: Path, inbox: Path) -> Classroom:
    tmp_path.mkdir(exist_ok=True)
    room = start_class(tmp_path, list(CLASS))
    give(room, tmp_path)
    gather(room, inbox)
    return room


def run(room: Classroom, **more: Any) -> MarkRun:
    root = room.folder.parent
    return mark(room, "lab03", exercises=root / "exercises", solutions=root / "none", **{"workers": 1, **more})


def ends_with(room: Classroom) -> dict[str, Any]:
    """All that a run leaves: every graded file, and the gradebook's content. A file that a kill left half written
    has a name of its own, beginning with a dot, that nothing reads."""
    graded = room.folder / "graded"
    files = [p for p in sorted(graded.rglob("*")) if p.is_file() and not p.name.startswith(".")]
    out: dict[str, Any] = {str(p.relative_to(graded)): json.loads(p.read_bytes()) for p in files}
    with sqlite3.connect(room.folder / "gradebook.db") as database:
        rows = database.execute(
            "select student_id, base_cell.name, auto_score, needs_manual_grade, late_submission_penalty from grade "
            "join base_cell on base_cell.id = cell_id join submitted_notebook on submitted_notebook.id = grade.notebook_id "
            "join submitted_assignment on submitted_assignment.id = submitted_notebook.assignment_id"
        ).fetchall()
    database.close()
    out["gradebook"] = sorted(rows)
    return out


@pytest.fixture(scope="module")
def reference(tmp_path_factory: pytest.TempPathFactory, inbox: Path) -> dict[str, Any]:
    room = fresh(tmp_path_factory.mktemp("reference"), inbox)
    done = run(room)
    assert (done.marked, done.unchanged, done.troubles) == (4, 0, 0)
    ends = ends_with(room)
    assert len(ends["gradebook"]) == 4 * 6
    assert not [name for name in ends if ".part" in name]
    return ends


def test_skips_what_didnt_change(tmp_path: Path, inbox: Path, reference: dict[str, Any]) -> None:
    room = fresh(tmp_path, inbox)
    run(room)
    before = {p: p.stat().st_mtime_ns for p in (room.folder / "graded").rglob("marks.json")}
    again = run(Classroom(room.folder))
    assert (again.marked, again.unchanged, again.grades_written) == (0, 4, 0)
    assert {p: p.stat().st_mtime_ns for p in (room.folder / "graded").rglob("marks.json")} == before
    # A due time set afterwards changes what the marks hang on.
    room.class_file.write_text("[late]\npercent_a_day = 10\n[labs.lab03]\ndue = 2031-02-28T12:00:00Z\n", encoding="utf-8")
    late = run(Classroom(room.folder))
    assert late.marked == 4
    ana = room.marks("lab03")["ana"]
    assert ana["verdict"] == "late" and ana["penalty"] == pytest.approx(0.1 * ana["earned"], abs=0.005)
    assert ana["total"] == pytest.approx(ana["earned"] - ana["penalty"])


@pytest.mark.parametrize("kind", ["threads", "processes"])
def test_any_executor(tmp_path: Path, inbox: Path, reference: dict[str, Any], kind: str) -> None:
    room = fresh(tmp_path, inbox)
    pool: Executor = ThreadPoolExecutor(2) if kind == "threads" else ProcessPoolExecutor(1, mp_context=get_context("spawn"))
    with pool:
        assert run(room, executor=pool).marked == 4
    assert ends_with(room) == reference


@pytest.mark.slow
def test_stopped_at_any_write(tmp_path: Path, inbox: Path, reference: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped at each write in turn, before it and after it; the next run ends as if nothing had happened."""
    real, calls = os.replace, [0]
    for after in (False, True):
        for stop_at in range(1, 9):
            room = fresh(tmp_path / f"{stop_at}{after}", inbox)
            calls[0] = 0

            def replace(a: Any, b: Any, stop_at: int = stop_at, after: bool = after) -> None:
                calls[0] += 1
                if calls[0] == stop_at and not after:
                    raise KeyboardInterrupt
                real(a, b)
                if calls[0] == stop_at:
                    raise KeyboardInterrupt

            with monkeypatch.context() as patch:
                patch.setattr(files.os, "replace", replace)
                with pytest.raises(KeyboardInterrupt):
                    run(room)
            again = run(Classroom(room.folder))
            assert again.marked + again.unchanged == 4
            if stop_at > 3:
                assert again.unchanged >= 1
            assert ends_with(room) == reference


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="SIGKILL")
def test_killed_outright(tmp_path: Path, inbox: Path, reference: dict[str, Any]) -> None:
    """A marking process killed by the system after a while, several times over, at different moments."""
    room = fresh(tmp_path, inbox)
    code = (
        "import sys; from pathlib import Path; from tankside_autograder.classroom import Classroom; "
        "from tankside_autograder.grading import mark; root = Path(sys.argv[1]); "
        "mark(Classroom(root / 'class'), 'lab03', exercises=root / 'exercises', solutions=root / 'none', workers=1)"
    )
    for wait in (0.0, 0.3, 0.6, 1.0):
        process = subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        deadline = time.monotonic() + 60
        while process.poll() is None and not list((room.folder / "graded").rglob("*")) and time.monotonic() < deadline:
            time.sleep(0.02)
        time.sleep(wait)
        process.send_signal(signal.SIGKILL)
        process.wait()
    run(Classroom(room.folder))
    assert ends_with(room) == reference


def test_the_unexpected_stops_nobody_else(tmp_path: Path, inbox: Path, reference: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    from tankside_autograder import mark_one as module

    real = module._score

    def broken(task: Task, *rest: Any) -> Any:
        if task.learner == "bo":
            raise ZeroDivisionError("secret detail")
        return real(task, *rest)

    room = fresh(tmp_path, inbox)
    with monkeypatch.context() as patch:
        patch.setattr(module, "_score", broken)
        done = run(room)
    assert (done.marked, done.troubles) == (4, 1) and "bo" in done.person
    bo = room.marks("lab03")["bo"]
    assert bo["verdict"] == "needs-a-person" and "secret" not in json.dumps(bo)
    assert "ZeroDivisionError: secret detail" in (room.log_folder / "bo-lab03.txt").read_text(encoding="utf-8")
    # Mended, the next run marks him and nobody else.
    again = run(Classroom(room.folder))
    assert (again.marked, again.unchanged) == (1, 3) and ends_with(room) == reference


class _Dying(Executor):
    """An executor whose worker dies on one learner's hand-in."""

    def submit(self, fn: Any, /, task: Task) -> Future[Any]:  # type: ignore[override]
        future: Future[Any] = Future()
        if task.learner == "cy":
            future.set_exception(BrokenExecutor("killed"))
        else:
            future.set_result(fn(task))
        return future


def test_a_worker_that_dies_is_blamed_alone(tmp_path: Path, inbox: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(grading, "_pool", lambda workers: _Dying())
    monkeypatch.setattr(grading, "POOL_COSTS", -1e9)
    room = fresh(tmp_path, inbox)
    # Three are marked here to learn how long one takes; the fourth would go to the pool: make all go there.
    tasks = [t for x in CLASS if (t := grading._task(room, "lab03", x, x, tmp_path / "exercises/lab03/lab03.ipynb"))]
    found = {task.learner: result["verdict"] for task, result in grading._on_processes(tasks, 2)}
    assert found["cy"] == "needs-a-person" and set(found) == set(CLASS)
    assert "needs-a-person" not in {v for k, v in found.items() if k != "cy"}


def test_disk_full(tmp_path: Path, inbox: Path, reference: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    room = fresh(tmp_path, inbox)

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(files.os, "fsync", full)
        with pytest.raises(StorageError, match="disk is full"):
            run(room)
    run(Classroom(room.folder))
    assert ends_with(room) == reference


def test_marking_is_pure(tmp_path: Path, inbox: Path) -> None:
    """Marking twice gives the same, and writes nothing."""
    room = fresh(tmp_path, inbox)
    before = {p: p.stat().st_mtime_ns for p in room.folder.rglob("*")}
    task = grading._task(room, "lab03", "ana", "Ana", tmp_path / "exercises" / "lab03" / "lab03.ipynb")
    assert task is not None and mark_one(task) == mark_one(task)
    assert {p: p.stat().st_mtime_ns for p in room.folder.rglob("*")} == before


def test_marks_in_the_gradebook_are_the_marks(reference: dict[str, Any]) -> None:
    for learner in CLASS:
        marks = reference[f"{learner}{os.sep}lab03{os.sep}marks.json"]
        parts = {p["id"]: p["points"] for p in marks["marks"]["parts"]}
        rows = {name: score for who, name, score, *_ in reference["gradebook"] if who == learner}
        assert {k: rows[k] for k in parts} == parts and rows["reflection"] == 0.0
        assert sum(parts.values()) == pytest.approx(marks["earned"])
