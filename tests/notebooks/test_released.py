"""The labs that learners get, opened as a learner would: is anything there that they must not see?"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import nbformat
import pytest

from tankside.labs import load_lab
from tankside_autograder.notebooks import PICTURES, build, lab_names
from tankside_autograder.rebuild import body, read_lab_source

ROOT = Path(__file__).parents[2]
LABS = lab_names(ROOT)
# Not for learners in any spelling: the fences of answers, what hidden tests call, what a seal is made with.
FORBIDDEN = re.compile(
    r"(BEGIN|END) (SOLUTION|HIDDEN TESTS|MARK SCHEME)|mark_part|tankside_autograder|open_sealed|\"seed\""
    r"|[A-Za-z]:\\\\(?:Users)|/(?:home|root|tmp)/",
)


def files_of(lab: str) -> list[Path]:
    """What the repository holds of a released lab; without git, what lies there apart from a learner's own files."""
    folder = ROOT / "exercises" / lab
    listed = subprocess.run(
        ["git", "ls-files", "--", folder.as_posix()], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode == 0 and listed.stdout:
        return [ROOT / line for line in listed.stdout.splitlines()]
    return [folder / f"{lab}.ipynb", *(path for path in folder.rglob("*") if path.suffix.lower() in PICTURES)]


def test_everything_is_built() -> None:
    """Is every committed notebook and exercise what its text twin says?"""
    changes = build(ROOT, check=True)
    assert not changes, "\n".join([*map(str, changes), "Run: python3 run.py notebooks"])


def test_every_solution_is_released() -> None:
    """Has every lab an exercise, and every exercise a lab?"""
    released = sorted(path.parent.name for path in (ROOT / "exercises").glob("*/*.ipynb"))
    assert released == LABS


@pytest.mark.parametrize("lab", LABS)
def test_nothing_stray(lab: str) -> None:
    """Does a released folder hold its notebook and pictures only: no order, log, key, twin or hidden file?"""
    strays = [
        path for path in files_of(lab) if path.name != f"{lab}.ipynb" and path.suffix.lower() not in PICTURES
    ]
    assert not strays


@pytest.mark.parametrize("lab", LABS)
def test_no_answer(lab: str) -> None:
    """Is no answer, hidden test, machine's path or output in the notebook's file, cell metadata included?"""
    path = ROOT / "exercises" / lab / f"{lab}.ipynb"
    raw = path.read_text(encoding="utf-8")
    assert not FORBIDDEN.search(raw), FORBIDDEN.search(raw)
    notebook = nbformat.read(path, as_version=4)
    assert not [cell.id for cell in notebook.cells if cell.get("outputs") or cell.get("execution_count")]
    assert not [cell.id for cell in notebook.cells if cell.get("attachments")]


@pytest.mark.parametrize("lab", LABS)
def test_answer_lines_are_blank(lab: str) -> None:
    """Has no line of an answer cell anything behind its equals sign?"""
    for name, text in read_lab_source(ROOT / "exercises" / lab / f"{lab}.ipynb").answers.items():
        lines = [
            line for line in body(text).splitlines() if line.strip() and not line.lstrip().startswith("#")
        ]
        assert lines, f"{name} has no line to fill in"
        assert not [line for line in lines if not line.rstrip().endswith("=")], name


@pytest.mark.parametrize("lab", LABS)
def test_the_solutions_words_are_gone(lab: str) -> None:
    """Is no line of a solution region, word for word, anywhere in the released notebook?"""
    twin = (ROOT / "solutions" / lab / f"{lab}.md").read_text(encoding="utf-8")
    regions = re.findall(r"BEGIN SOLUTION\n(.*?)\n[^\n]*END SOLUTION", twin, re.DOTALL)
    assert regions
    raw = (ROOT / "exercises" / lab / f"{lab}.ipynb").read_text(encoding="utf-8")
    answers = [line.strip() for region in regions for line in region.splitlines() if len(line.strip()) > 8]
    assert not [line for line in answers if line in raw]


@pytest.mark.parametrize("lab", LABS)
def test_points(lab: str) -> None:
    """Are the points of the marked cells the weights that the lab's data file gives its parts?"""
    weights = load_lab(lab).weights
    points = read_lab_source(ROOT / "exercises" / lab / f"{lab}.ipynb").points
    assert {name: points.get(name) for name in weights} == weights
