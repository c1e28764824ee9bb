"""Is a malformed twin refused with its file, its cell and what is wrong?"""

from __future__ import annotations

from pathlib import Path

import pytest

from tankside_autograder.notebooks import main
from tankside_autograder.twins import TwinError, read_twin, slug
from tests.notebooks.small import LAB, LESSON, write_course

ANSWER = 'nbgrader={"grade_id": "answers-figures", "solution": true}'
TEST = 'nbgrader={"grade_id": "evidence", "grade": true, "points": 25}'

# What is replaced in the sound lab, by what, and the error that must come of it.
BAD = {
    "no end of the solution": ("### END SOLUTION\n```", "```", r"cell 4 \(answers-figures\): line 3: BEGIN SOLUTION"),
    "solution in a solution": (
        "current = 12.5 A",
        "### BEGIN SOLUTION",
        r"cell 4 .*line 4: BEGIN SOLUTION again",
    ),
    "end without begin": ("### BEGIN SOLUTION\ncurrent", "current", r"cell 4 .*END SOLUTION without a BEGIN"),
    "no end of the tests": ("### END HIDDEN TESTS\n", "", r"cell 6 \(evidence\): line 2: BEGIN HIDDEN TESTS has no"),
    "same id twice": ('"evidence", "grade"', '"open", "grade"', r"cell 6 \(open\): the grade_id 'open' stands twice"),
    "no points": (', "points": 25', "", r"cell 6 \(evidence\): points is None"),
    "points in words": ('"points": 25', '"points": "25"', r"cell 6 \(evidence\): points is '25'"),
    "points below zero": ('"points": 25', '"points": -1', r"cell 6 \(evidence\): points is -1"),
    "points without a mark": ('"grade": true, "points": 25', '"points": 25', r"cell 6 .*points but isn't marked"),
    "no id": ('"grade_id": "evidence", ', "", r"cell 6: grade_id is None"),
    "id with a space": ('"evidence", "grade"', '"the evidence", "grade"', r"cell 6: grade_id is 'the evidence'"),
    "unknown key": ('"points": 25', '"points": 25, "pionts": 2', r"cell 6 \(evidence\): nbgrader knows no 'pionts'"),
    "id is a list": ('"evidence", "grade"', '["evidence"], "grade"', r"cell 6: grade_id is \['evidence'\]"),
    "flag in words": ('"solution": true}', '"solution": "yes"}', r"cell 4 .*solution is 'yes'"),
    "locked answer": (ANSWER, ANSWER.replace("}", ', "locked": true}'), r"cell 4 .*locked and takes an answer"),
    "answer in the open": (ANSWER, "", r"cell 4: an answer stands in a cell that isn't marked"),
    "tests in the open": (TEST, "", r"cell 6: hidden tests stand in a cell"),
    "no magic": ("%%answers\n", "", r"cell 4 .*starts with %%answers; this one starts with 'current ='"),
    "no region": (
        "### BEGIN SOLUTION\ncurrent = 12.5 A\n### END SOLUTION\n",
        "",
        r"cell 4 .*no ### BEGIN SOLUTION",
    ),
    "text marked by nobody": ('"grade": true, "solution": true', '"grade": true', r"cell 5 .*marked by a person"),
    "another language": ("```python nbgrader={\"grade_id\": \"open\", \"locked\": true}", "```bash", r"cell 2: a %%bash"),
    "an open fence": (LAB[-len("### END HIDDEN TESTS\n```\n") :], "", r"line 31: the fence ``` is never closed"),
    "an open region": ("<!-- #endregion -->\n", "", r"line 25: the region is never closed"),
    "no answer cell": (LAB[LAB.index("```python") :], "Text.\n", r"lab03.md: no cell takes an answer"),
    "nbgrader is no object": (TEST, "nbgrader=25", r"cell 6: nbgrader is 25"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_refused(case: str, tmp_path: Path) -> None:
    """One clear error each?"""
    old, new, wanted = BAD[case]
    assert old in LAB
    file = tmp_path / "lab03.md"
    file.write_text(LAB.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(TwinError, match=wanted) as error:
        read_twin(file, lab=True)
    assert str(error.value).startswith(str(file)) and "\n" not in str(error.value)


def test_the_sound_one(tmp_path: Path) -> None:
    """Is the lab that all of these were made from taken?"""
    file = tmp_path / "lab03.md"
    file.write_text(LAB, encoding="utf-8")
    notebook = read_twin(file, lab=True)
    meta = notebook.cells[1].metadata.nbgrader
    assert meta == {
        "grade_id": "open", "grade": False, "solution": False, "locked": True, "task": False, "schema_version": 3,
    }  # fmt: skip
    # A test cell is locked without saying so.
    assert notebook.cells[5].metadata.nbgrader.locked


def test_lesson_with_marks(tmp_path: Path) -> None:
    """Is a marked cell in a lesson refused?"""
    file = tmp_path / "a.md"
    file.write_text(LESSON.replace("```python", f"```python {TEST}"), encoding="utf-8")
    with pytest.raises(TwinError, match=r"cell 2 \(evidence\): a lesson isn't marked"):
        read_twin(file, lab=False)


def test_odd_files(tmp_path: Path) -> None:
    """Are an empty file and one of another encoding refused?"""
    file = tmp_path / "a.md"
    file.write_text("\n", encoding="utf-8")
    with pytest.raises(TwinError, match="empty"):
        read_twin(file, lab=False)
    file.write_bytes("# 50 \N{DEGREE SIGN}C".encode("latin-1"))
    with pytest.raises(TwinError, match="byte 5 isn't UTF-8"):
        read_twin(file, lab=False)


def test_nothing_is_written_when_one_is_bad(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Does a bad lab stop the build before the good lesson is written, with exit code 2?"""
    write_course(tmp_path, lab=LAB.replace(', "points": 25', ""))
    assert main(["--root", str(tmp_path)]) == 2
    assert capsys.readouterr().err.startswith("solutions/lab03/lab03.md: cell 6 (evidence): points is None.")
    assert not list(tmp_path.rglob("*.ipynb"))


@pytest.mark.parametrize(
    ("text", "wanted"), [("Élément, 120 V!", "element-120-v"), ("...", ""), ("a" * 80, "a" * 50)]
)
def test_slug(text: str, wanted: str) -> None:
    """Are names for cells plain and short?"""
    assert slug(text) == wanted


def test_equal_headings_get_their_own_ids(tmp_path: Path) -> None:
    """Do two headings of the same words get different cell ids?"""
    file = tmp_path / "a.md"
    file.write_text("# Look\n\na\n\n# Look\n\nb\n\n```python\n1\n```\n", encoding="utf-8")
    ids = [cell.id for cell in read_twin(file, lab=False).cells]
    assert len(set(ids)) == 3 and ids[:2] == ["look", "look-2"]


def test_a_marked_cell_keeps_its_name(tmp_path: Path) -> None:
    """Is a cell's id its grade id, even below a heading of the same word?"""
    file = tmp_path / "lab03.md"
    file.write_text(LAB.replace("## Figures", "## Evidence"), encoding="utf-8")
    ids = [cell.id for cell in read_twin(file, lab=True).cells]
    assert ids == ["call-out", "open", "evidence-2", "answers-figures", "reflection", "evidence"]
