"""Marking a class: every hand-in that changed, on as many processes as pay, each result on disk as soon as it is there.

A result is ``graded/<learner>/<lab>/marks.json``, replaced all at once and stamped with everything that it hangs on.
So a run that is killed loses at most the hand-ins it had in its hands, and the next run does only those.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass, field
from datetime import datetime
from multiprocessing import get_all_start_methods, get_context
from multiprocessing.context import BaseContext
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any

from tankside_autograder.classroom import Classroom
from tankside_autograder.collect import read_manifest
from tankside_autograder.files import digest, make_folder, storage, write_atomic, write_json
from tankside_autograder.hand_out import released_folder
from tankside_autograder.mark_one import Task, mark_one, unexpected
from tankside_autograder.rebuild import read_lab_source
from tankside_autograder.verdicts import VERDICTS

if TYPE_CHECKING:
    from tankside_autograder.gradebook import Entry

POOL_COSTS = 1.0
"""Seconds that starting worker processes takes; they are started when more than that can be saved."""
POOL_FROM = 16
"""Hand-ins from which on worker processes are started at once, without trying how long one takes."""
Progress = Callable[[str, int, int], None]


@dataclass
class MarkRun:
    """What a run did. ``marked`` and ``unchanged`` count hand-ins; ``person`` names the learners somebody must look at."""

    lab: str
    marked: int = 0
    unchanged: int = 0
    seconds: float = 0.0
    person: list[str] = field(default_factory=list)
    troubles: int = 0
    grades_written: int = 0


def mark(
    room: Classroom,
    lab: str,
    *,
    exercises: Path | None = None,
    solutions: Path | None = None,
    executor: Executor | None = None,
    workers: int | None = None,
    again: bool = False,
    gradebook: str | None = None,
    progress: Progress | None = None,
) -> MarkRun:
    """Mark every hand-in of a lab that is new or changed, and bring the gradebook up to date.

    Parameters
    ----------
    executor : any ``concurrent.futures.Executor`` to run the marking; by default this process, and worker processes
        when there is enough to do for them
    workers : how many processes at most; 1 for none
    again : mark unchanged hand-ins too
    gradebook : a SQLAlchemy URL; the class folder's SQLite file by default

    Raises ``TanksideError`` for what the user can put right; a bad hand-in never stops the run.
    """
    started = time.perf_counter()
    source = released_folder(lab, exercises) / f"{lab}.ipynb"
    lab_source = read_lab_source(source)  # a bad one is said once, not for every hand-in
    run = MarkRun(lab)
    tasks: list[Task] = []
    for learner in room.roster:
        task = _task(room, lab, learner.id, learner.name, source)
        if task is None:
            continue
        before = _before(room, task)
        if before is not None and not again:
            run.unchanged += 1
            run.person += [learner.id] if before["needs_person"] else []
        else:
            tasks.append(task)
    loading = Thread(target=_load_gradebook, daemon=True)
    loading.start()
    done = 0
    if progress:
        progress("", run.unchanged, run.unchanged + len(tasks))
    for task, result in _all(tasks, executor, workers):
        _keep(room, task, result, run)
        done += 1
        if progress:
            progress(task.learner, run.unchanged + done, run.unchanged + len(tasks))
    run.marked = done
    run.person.sort()
    loading.join()
    manual = {name for name in lab_source.written if name in lab_source.points}
    run.grades_written = _to_gradebook(room, lab, gradebook or room.gradebook_url, solutions, source, manual)
    run.seconds = time.perf_counter() - started
    return run


def _task(room: Classroom, lab: str, learner: str, name: str, source: Path) -> Task | None:
    folder = room.handed_in(learner, lab)
    manifest = read_manifest(folder)
    if manifest is None:
        return None
    issued, due = room.ledger.find(learner, lab), room.agreed.due(lab)
    hangs_on = (
        manifest["digest"], manifest["received"], manifest.get("earlier"), manifest.get("problems"),
        digest(source.read_bytes()), issued.token if issued else None, due, room.agreed.late.model_dump(),
        room.agreed.zone, name, digest(room.key.encode()), _rules(lab),
    )  # fmt: skip
    stamp = digest(repr(hangs_on).encode())
    return Task(
        folder, learner, name, lab, source, room.key, issued, due, room.agreed.tzinfo(), room.agreed.late, stamp
    )


def _rules(lab: str) -> str:
    """The lab's weights, figures and pass mark, and how marks are given now: what changed is marked again."""
    from tankside.labs import load_lab
    from tankside.scoring.marks import EDITION

    return f"{EDITION} {load_lab(lab).model_dump_json()}"


def _before(room: Classroom, task: Task) -> dict[str, Any] | None:
    """The result on disk when it is still good."""
    marks = room.marks_of(task.learner, task.lab)
    if marks is None or marks.get("stamp") != task.stamp or marks["verdict"] == "needs-a-person":
        return None
    return marks


def _all(tasks: list[Task], executor: Executor | None, workers: int | None) -> Iterator[tuple[Task, dict[str, Any]]]:
    if executor is not None:
        yield from _through(tasks, executor)
        return
    workers = min(workers or os.cpu_count() or 1, 32)
    rest = list(tasks)
    if len(rest) >= POOL_FROM and workers > 1:
        yield from _on_processes(rest, workers)
        return
    started, first = time.perf_counter(), len(tasks)
    while rest:
        # After a few, it is known how long one takes, and whether worker processes are worth their start.
        each = (time.perf_counter() - started) / max(first - len(rest), 1)
        saved = len(rest) * each * (1 - 1 / workers)
        if first - len(rest) >= 3 and workers > 1 and saved > POOL_COSTS:
            yield from _on_processes(rest, workers)
            return
        task = rest.pop(0)
        yield task, mark_one(task)


def _on_processes(tasks: list[Task], workers: int) -> Iterator[tuple[Task, dict[str, Any]]]:
    """On worker processes; when one dies, the rest go one at a time, so that the one to blame is known."""
    left = {task.learner: task for task in tasks}
    try:
        with _pool(workers) as pool:
            for task, result in _through(tasks, pool):
                del left[task.learner]
                yield task, result
        return
    except BrokenExecutor:
        pass
    while left:
        with _pool(1) as pool:
            for task in list(left.values()):
                try:
                    result = pool.submit(mark_one, task).result()
                except BrokenExecutor as error:
                    del left[task.learner]
                    yield task, unexpected(task, f"The process that marked it died: {error}")
                    break
                del left[task.learner]
                yield task, result


def _pool(workers: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(workers, mp_context=_context())


def _context() -> BaseContext:
    """How worker processes are made. Never forked from this one: it runs threads, and a copy of it could hang."""
    if "forkserver" not in get_all_start_methods():
        return get_context("spawn")
    context = get_context("forkserver")
    context.set_forkserver_preload(["tankside_autograder.worker"])
    return context


def _load_gradebook() -> None:
    """Load what fills the gradebook; done while the workers mark."""
    import tankside_autograder.gradebook  # noqa: F401


def _through(tasks: list[Task], executor: Executor) -> Iterator[tuple[Task, dict[str, Any]]]:
    """Through any executor, a few at a time, so that a stopped run has little in its hands."""
    queue = iter(tasks)
    running: dict[Future[dict[str, Any]], Task] = {}
    try:
        while True:
            while len(running) < 64 and (task := next(queue, None)) is not None:
                running[executor.submit(mark_one, task)] = task
            if not running:
                return
            finished, _ = wait(running, return_when=FIRST_COMPLETED)
            for future in finished:
                task = running.pop(future)
                try:
                    result = future.result()
                except BrokenExecutor:
                    raise
                except Exception as error:  # what an executor of somebody else's may raise isn't known
                    result = unexpected(task, f"{type(error).__name__}: {error}")
                yield task, result
    finally:
        for future in running:
            future.cancel()


def _keep(room: Classroom, task: Task, result: dict[str, Any], run: MarkRun) -> None:
    rebuilt, trouble = result.pop("rebuilt", None), result.pop("trouble", None)
    folder = make_folder(room.graded(task.learner, task.lab))
    if trouble:
        run.troubles += 1
        write_atomic(room.log_folder / f"{task.learner}-{task.lab}.txt", trouble)
    if result["needs_person"]:
        run.person.append(task.learner)
    if rebuilt is not None:
        write_json(folder / f"{task.lab}.ipynb", rebuilt)
    # Last: only what is whole has its marks beside it.
    write_json(room.marks_file(task.learner, task.lab), result)


def _to_gradebook(
    room: Classroom, lab: str, url: str, solutions: Path | None, released: Path, manual: set[str]
) -> int:
    from tankside_autograder.gradebook import register_lab, write_marks

    root = solutions or Path(__file__).resolve().parents[2] / "solutions"
    source = root / lab / f"{lab}.ipynb"
    if not source.is_file():
        source = released
    copy = room.lab_source(lab)
    data = source.read_bytes()
    if not copy.is_file() or copy.read_bytes() != data:
        write_atomic(copy, data)
    with storage(room.folder / "gradebook.db"):
        register_lab(url, lab, copy, room.agreed.due(lab), root.parent / "nbgrader_config.py")
        return write_marks(url, lab, room.roster, [_entry(m, manual) for m in room.marks(lab).values()])


def _entry(result: dict[str, Any], manual: set[str]) -> Entry:
    """A result as gradebook line. Where a person must decide, no score is set and the form grader asks for one."""
    from tankside_autograder.gradebook import Entry

    verdict = VERDICTS[result["verdict"]]
    marks = result["marks"]
    scores: dict[str, float | None] = {}
    if marks is not None:
        scores = {part["id"]: float(part["points"]) for part in marks["parts"]}
    elif not verdict.person:
        from tankside.labs import PARTS

        scores = dict.fromkeys(PARTS, 0.0)
    for name in manual:
        scores[name] = None if name in result["reflection"] or verdict.person else 0.0
    received = datetime.fromisoformat(result["received"]) if result["received"] else None
    blank = frozenset(name for name in manual if name not in result["reflection"])
    return Entry(result["learner"], received, scores, blank, float(result["penalty"]))
