"""The instructor's five verbs: give, gather, mark, explain, results; and ``errors``, which looks ahead.

Exit codes: 0 all well; 1 somebody has to look at something; 2 a mistake in what was asked, or the machine refused.
"""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TaskID, TextColumn, TimeElapsedColumn
from rich.text import Text

from tankside.errors import TanksideError
from tankside_autograder.classroom import make_classroom, open_classroom
from tankside_autograder.files import StorageError

OK, PERSON, MISTAKE = 0, 1, 2
out = Console(highlight=False)
err = Console(stderr=True, highlight=False)
_folder = click.argument("class_folder", type=click.Path(path_type=Path, file_okay=False))
_labs = click.argument("labs", nargs=-1)


class _Verbs(click.Group):
    """Turns what a user can put right into one line and exit code 2; nothing else is caught."""

    def main(self, *args: Any, **more: Any) -> Any:
        try:
            return super().main(*args, **{**more, "standalone_mode": False})
        except click.exceptions.Abort:
            fail("Stopped.")
        except click.ClickException as error:
            shown = error.ctx.command_path if isinstance(error, click.UsageError) and error.ctx else "tankside-class"
            fail(f"{error.format_message()} Help: {shown} --help")

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except TanksideError as error:
            fail(str(error))
        except OSError as error:
            fail(str(StorageError(error.filename or "the class folder", error)))
        except KeyboardInterrupt:
            fail("Stopped. What is done is kept; run it again to go on.")


def fail(text: str) -> None:
    """Say it on one line, and leave with exit code 2."""
    err.print(Text(" ".join(text.split())), style="bold", soft_wrap=True)
    sys.exit(MISTAKE)


@click.group(cls=_Verbs, context_settings={"help_option_names": ["-h", "--help"]})
def cli() -> None:
    """Hand out labs to a class, gather what comes back, mark it, explain the marks, and see the results.

    CLASS_FOLDER is the folder in which everything about one class is kept. Each verb can be run again at any time:
    it goes on where it stopped and leaves alone what is done.
    """


@cli.command(short_help="Hand out labs, each learner with a work order of their own.")
@_folder
@click.argument("labs", nargs=-1, required=True)
@click.option("--list", "roster", type=click.Path(path_type=Path, dir_okay=False), help="The class list: a CSV with id and name.")
@click.option("--name", default="Class", help="What the class is called.")
@click.option("--exercises", type=click.Path(path_type=Path, file_okay=False), help="Where the labs to hand out lie.")
def give(class_folder: Path, labs: tuple[str, ...], roster: Path | None, name: str, exercises: Path | None) -> None:
    """Make a folder and a zip for each learner, with the lab and a sealed work order of their own.

    The first time, say who is in the class with --list. What was given out before stays the same.
    """
    from tankside_autograder.hand_out import hand_out

    room = make_classroom(class_folder, roster, name)
    for note in room.roster.notes:
        err.print(Text(note))
    for lab in wanted(labs, []):
        with bar(f"giving {lab.id}", len(room.roster)) as step:
            given = hand_out(room, lab, exercises, progress=lambda learner, step=step: step(learner))  # type: ignore[misc]
        new = sum(g.status == "new" for g in given)
        who, what = ("" if n == 1 else "s" for n in (len(given), new))
        out.print(Text(f"{lab.id}: {len(given)} learner{who}, {new} new work order{what}. Folders and zips: {room.folder / 'handed-out'}"))
    out.print(Text(f"Keep a copy of {room.secret_folder}, and never hand it out: without it no order can be checked."))


@cli.command(short_help="Take in what learners handed in.")
@_folder
@click.argument("source", type=click.Path(path_type=Path))
@click.option("--lab", help="Which lab it is, for hand-ins that don't tell.")
def gather(class_folder: Path, source: Path, lab: str | None) -> None:
    """Take hand-ins from SOURCE: a folder of folders, zips or notebooks, a zip, or an nbgrader exchange.

    The source stays as it is. Of two hand-ins by one learner the later counts; the earlier is kept.
    """
    from tankside_autograder.collect import gather as gather_from

    room = open_classroom(class_folder)
    only = wanted((lab,), [])[0].id if lab else None
    with bar("gathering", None) as step:
        found = gather_from(room, source, only_lab=only, progress=step)
    counts: dict[str, int] = {}
    for one in found:
        counts[one.status] = counts.get(one.status, 0) + 1
        if one.text and one.status not in ("unchanged",):
            whose = f" ({one.learner}, {one.lab})" if one.learner else ""
            out.print(Text(f"{one.label}{whose}: {one.status}. {one.text}"))
    out.print(Text(", ".join(f"{n} {status}" for status, n in sorted(counts.items())) or "Nothing was found there."))
    sys.exit(PERSON if counts.get("unplaced") or counts.get("refused") else OK)


@cli.command(short_help="Mark what is new or changed.")
@_folder
@_labs
@click.option("--again", is_flag=True, help="Mark unchanged hand-ins too.")
@click.option("--workers", type=click.IntRange(1, 64), help="How many processes at most. By default as many as pay.")
@click.option("--gradebook", help="A database for the marks, such as postgresql://user@host/name. By default a file in the class folder.")
@click.option("--exercises", type=click.Path(path_type=Path, file_okay=False), help="Where the labs that were handed out lie.")
@click.option("--solutions", type=click.Path(path_type=Path, file_okay=False), help="Where the instructor's labs lie.")
def mark(
    class_folder: Path, labs: tuple[str, ...], again: bool, workers: int | None, gradebook: str | None,
    exercises: Path | None, solutions: Path | None,
) -> None:  # fmt: skip
    """Mark what was gathered. Only new and changed hand-ins are done; no learner's code is ever run.

    Without LABS: every lab that was gathered.
    """
    from tankside_autograder.grading import mark as mark_class

    room = open_classroom(class_folder)
    person = False
    for lab in wanted(labs, room.labs_handed_in()):
        with bar(f"marking {lab.id}", len(room.roster)) as step:
            run = mark_class(
                room, lab.id, exercises=exercises, solutions=solutions, workers=workers, again=again,
                gradebook=gradebook, progress=lambda learner, done, of, step=step: step(learner, done, of),  # type: ignore[misc]
            )  # fmt: skip
        out.print(Text(f"{lab.id}: {run.marked} marked, {run.unchanged} unchanged, in {run.seconds:.1f} s."))
        for learner in run.person:
            result = room.marks_of(learner, lab.id) or {}
            out.print(Text(f"  look at {learner}: {words_of(result)}"))
        if run.troubles:
            out.print(Text(f"  What went wrong inside stands in {room.log_folder}."))
        person = person or bool(run.person)
    sys.exit(PERSON if person else OK)


@cli.command(short_help="Write a feedback page for each learner.")
@_folder
@_labs
def explain(class_folder: Path, labs: tuple[str, ...]) -> None:
    """Write a feedback page for each learner, and an index of all of them for yourself.

    Each page says what earned and what cost marks, and what to do next. Without LABS: every lab that was gathered.
    """
    from tankside_autograder.feedback import explain as explain_class

    room = open_classroom(class_folder)
    chosen = wanted(labs, room.labs_handed_in())
    with bar("explaining", sum(len(room.marks(lab.id)) for lab in chosen)) as step:
        pages = explain_class(room, [lab.id for lab in chosen], progress=step)
    out.print(Text(f"{len(pages)} pages. Yours: {room.feedback_index}"))


@cli.command(short_help="Show and file the class's results.")
@_folder
@_labs
@click.option("--gradebook", help="The database that the marks were written to, if it isn't the class folder's own.")
def results(class_folder: Path, labs: tuple[str, ...], gradebook: str | None) -> None:
    """Show the class: who is unsafe, how the marks lie, which question is a bad one. Also as HTML, CSV and pictures.

    Without LABS: every lab that was gathered.
    """
    from tankside_autograder.class_report import class_report
    from tankside_autograder.report_files import show, write_report

    room = open_classroom(class_folder)
    person = False
    for lab in wanted(labs, room.labs_handed_in()):
        report = class_report(room, lab.id, gradebook)
        show(report, out)
        files = write_report(report, room.results)
        out.print(Text(f"On paper: {files[0]}"))
        person = person or bool(report.person or report.unsafe)
    sys.exit(PERSON if person else OK)


@cli.command(short_help="Show what kinds of learners typically get wrong in labs.")
@click.argument("labs", nargs=-1, required=True)
@click.option("--orders", type=click.IntRange(1, 50), default=3, show_default=True, help="Call-outs to work, of each lab.")
def errors(labs: tuple[str, ...], orders: int) -> None:
    """Have invented learners of six kinds work call-outs of LABS, and show which rules they break, which figures they
    get wrong, and which marks they lose. Needs no class folder and writes nothing.
    """
    from rich.table import Table

    from tankside_autograder.typical_errors import HEAD, IN_WORDS, rows, typical_errors

    for lab in wanted(labs, []):
        with bar(f"working {lab.id}", orders * len(IN_WORDS)) as step:
            found = typical_errors(lab, orders, step)
        table = Table(*HEAD, title=f"{lab.title}: {orders} call-outs", show_lines=True)
        for row in rows(found):
            table.add_row(*(Text(cell) for cell in row))
        (out if out.is_terminal else Console(width=160, highlight=False)).print(table)


def wanted(labs: tuple[str, ...], default: list[str]) -> list[Any]:
    """The labs that were asked for, or the default; an unknown one is a mistake with a hint."""
    from tankside.labs import load_lab

    names = list(labs) or default
    if not names:
        raise click.UsageError("There is nothing to do yet: no hand-in was gathered. Or name a lab.")
    return [load_lab(name) for name in names]


def words_of(result: dict[str, Any]) -> str:
    """A result's verdicts in words."""
    from tankside_autograder.verdicts import VERDICTS

    return ", ".join(VERDICTS[v].words for v in result.get("verdicts", [])) or "no marks"


@contextlib.contextmanager
def bar(what: str, of: int | None, console: Console = err) -> Iterator[Callable[..., None]]:
    """A progress bar. What it gives is called with a name, and optionally how many are done and how many there are."""
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as progress:
        task: TaskID = progress.add_task(what, total=of)

        def step(name: str = "", done: int | None = None, total: int | None = None) -> None:
            if done is None:
                progress.advance(task)
            else:
                progress.update(task, completed=done, total=total)

        yield step


def main() -> None:
    """Entry point of the command."""
    cli(prog_name="tankside-class")



