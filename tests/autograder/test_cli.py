"""Do the instructor's verbs work from end to end, with one line and the right exit code when they can't?"""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tankside_autograder import files
from tankside_autograder.classroom import Classroom
from tankside_autograder.cli import cli

from .fakelab import write_lab
from .school import work


def run(*words: object) -> Result:
    return CliRunner().invoke(cli, [str(word) for word in words])


@pytest.fixture
def school(tmp_path: Path) -> Path:
    (tmp_path / "list.csv").write_text("id;name\nana;Ana Lis\nbo;Bo Ek\ncy;Cy Om\n", encoding="utf-8")
    write_lab(tmp_path / "exercises" / "lab03" / "lab03.ipynb")
    return tmp_path


def test_a_whole_evening(school: Path) -> None:
    room, exercises = school / "class", school / "exercises"
    given = run("give", room, "lab03", "--list", school / "list.csv", "--exercises", exercises)
    assert given.exit_code == 0, given.output
    assert "3 learners, 3 new work orders" in given.output and "never hand it out" in given.output.replace("\n", " ").replace("  ", " ")
    work(Classroom(room), school / "in", "ana", "careful")
    work(Classroom(room), school / "in", "bo", "unsafe")
    (school / "in" / "cy").mkdir()
    (school / "in" / "stranger").mkdir()
    (school / "in" / "stranger" / "lab03.ipynb").write_text("{}", encoding="utf-8")
    gathered = run("gather", room, school / "in", "--lab", "lab03")
    assert gathered.exit_code == 1 and "Nobody on the class list" in gathered.output
    marked = run("mark", room, "--exercises", exercises, "--solutions", school / "none")
    assert marked.exit_code == 0 and "3 marked, 0 unchanged" in marked.output
    assert "0 marked, 3 unchanged" in run("mark", room, "--exercises", exercises, "--solutions", school / "none").output
    explained = run("explain", room)
    assert explained.exit_code == 0 and "3 pages" in explained.output
    shown = run("results", room)
    assert shown.exit_code == 1, "an unsafe learner is a matter for a person"
    assert "Safety device bridged" in shown.output
    for path in ("feedback/index.html", "feedback/ana-lab03.html", "results/lab03.html", "results/lab03.csv"):
        assert (room / path).is_file()


def test_a_class_of_one(school: Path) -> None:
    """Is one learner one learner?"""
    (school / "one.csv").write_text("id;name\nana;Ana Lis\n", encoding="utf-8")
    given = run("give", school / "class", "lab03", "--list", school / "one.csv", "--exercises", school / "exercises")
    assert "1 learner, 1 new work order." in given.output, given.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["mark"], "Missing argument"),
        (["mark", "nowhere"], "isn't a class folder"),
        (["give", "class", "lab33", "--list", "list.csv"], "Did you mean 'lab03'?"),
        (["give", "class", "lab03", "--list", "none.csv"], "no class list here"),
        (["give", "class", "lab03", "--list", "list.csv", "--exercises", "none"], "Build the exercises"),
        (["gather", "class", "none"], "isn't a class folder"),
        (["results", "class", "--nonsense"], "No such option"),
        (["marc", "class"], "No such command"),
    ],
)
def test_mistakes_are_one_line(school: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], said: str) -> None:
    monkeypatch.chdir(school)
    result = run(*words)
    assert result.exit_code == 2
    assert said in result.output and result.output.count("\n") == 1 and "Traceback" not in result.output


def test_nothing_gathered_yet(school: Path) -> None:
    run("give", school / "class", "lab03", "--list", school / "list.csv", "--exercises", school / "exercises")
    result = run("mark", school / "class")
    assert result.exit_code == 2 and "no hand-in was gathered" in result.output


def test_disk_full_is_one_line(school: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", full)
    result = run("give", school / "class", "lab03", "--list", school / "list.csv", "--exercises", school / "exercises")
    assert result.exit_code == 2 and "the disk is full" in result.output and result.output.count("\n") == 1


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="the superuser may write everywhere")
def test_read_only_folder_is_one_line(school: Path) -> None:
    (school / "locked").mkdir(mode=0o500)
    result = run("give", school / "locked" / "class", "lab03", "--list", school / "list.csv", "--exercises", school / "exercises")
    assert result.exit_code == 2 and "may not write there" in result.output


@pytest.mark.parametrize("verb", ["give", "gather", "mark", "explain", "results"])
def test_each_verb_has_help(verb: str) -> None:
    result = run(verb, "--help")
    assert result.exit_code == 0 and "CLASS_FOLDER" in result.output and len(result.output) > 200


def test_stopped_by_the_keyboard(school: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from tankside_autograder import hand_out

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(hand_out, "hand_out", stop)
    result = run("give", school / "class", "lab03", "--list", school / "list.csv", "--exercises", school / "exercises")
    assert result.exit_code == 2 and "run it again to go on" in result.output
