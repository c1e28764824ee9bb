"""Are the labs' own answers computed and current, do they earn full marks, and does none of them reach a learner?"""

from __future__ import annotations

import csv
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tankside.labs import PARTS, lab_ids, load_lab
from tankside.report import parse_answers
from tankside_autograder.notebooks import lab_names
from tankside_autograder.rebuild import read_lab_source
from tankside_autograder.release import release
from tankside_autograder.solved import main, refresh, solution_regions, with_solutions, write_hand_in
from tankside_autograder.twins import TwinError, read_twin

ROOT = Path(__file__).parents[2]
LABS = lab_names(ROOT)


def twin(lab_id: str) -> Path:
    return ROOT / "solutions" / lab_id / f"{lab_id}.md"


def test_every_lab_has_its_notebook() -> None:
    """Is there a text twin for each lab's data file, and a data file for each twin?"""
    assert lab_ids() == LABS


def test_solution_regions_are_current() -> None:
    """Would the command that refreshes the answers change nothing?"""
    assert refresh(ROOT, check=True) == []


def test_a_stale_answer_is_found_and_mended(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Is a typed-in answer named by --check, which writes nothing, and put right by the command?"""
    shutil.copytree(ROOT / "solutions", tmp_path / "solutions")
    path = tmp_path / "solutions" / LABS[0] / f"{LABS[0]}.md"
    good = path.read_text(encoding="utf-8")
    line = solution_regions(LABS[0])["answers-figures"][0]
    path.write_text(good.replace(line, line.replace("=", "= 9")), encoding="utf-8")
    assert main(["--check", "--root", str(tmp_path)]) == 1
    assert f"solutions/{LABS[0]}/{LABS[0]}.md: out of date" in capsys.readouterr().out
    assert main(["--root", str(tmp_path)]) == 0
    assert path.read_text(encoding="utf-8") == good


def test_a_twin_without_a_region_is_refused() -> None:
    """Does a cell that lost its solution region give one sentence with file and cell?"""
    text = twin(LABS[0]).read_text(encoding="utf-8").replace("### BEGIN SOLUTION", "", 1)
    with pytest.raises(TwinError, match=rf"{LABS[0]}.md: answers-figures: this cell needs one region"):
        with_solutions(text, LABS[0], f"{LABS[0]}.md")


@pytest.mark.parametrize("lab_id", LABS)
def test_cells_are_as_the_lab_says(lab_id: str) -> None:
    """Are there five test cells with the lab's weights, the report's labels, and one cell marked by a person?"""
    lab = load_lab(lab_id)
    notebook = read_twin(twin(lab_id), lab=True)
    graded = {c.metadata["nbgrader"]["grade_id"]: c for c in notebook.cells if "nbgrader" in c.metadata}
    points = {name: c.metadata["nbgrader"].get("points") for name, c in graded.items()}
    assert {part: points[part] for part in PARTS} == lab.weights
    assert points["reflection"] == 10 and graded["reflection"].cell_type == "markdown"
    text = "\n".join(cell.source for cell in notebook.cells)
    assert f"about {lab.minutes} minutes" in text and f"You pass with {lab.pass_mark} of 100" in text
    for part, weight in lab.weights.items():
        assert f"{part.replace('-', ' ')} {weight}" in text
    for name, lines in solution_regions(lab_id).items():
        blank = graded[name].source.partition("### BEGIN SOLUTION")[0].splitlines()[1:]
        wanted = [line.partition(" = ")[0] for line in lines if not line.startswith("#")]
        assert [line.partition("=")[0].strip() for line in blank if line.strip()] == wanted


@pytest.mark.parametrize("lab_id", LABS)
def test_no_answer_reaches_a_learner(lab_id: str) -> None:
    """Is the released lab free of every computed answer, of the bench work and of the mark scheme?"""
    notebook = read_twin(twin(lab_id), lab=True)
    content = release(ROOT, {lab_id: notebook}, {lab_id: []})[lab_id]
    assert list(content) == [f"{lab_id}.ipynb"]
    text = content[f"{lab_id}.ipynb"].decode("utf-8")
    for lines in solution_regions(lab_id).values():
        for line in lines:
            assert line not in text
    for word in ("SOLUTION", "HIDDEN", "mark_part", "PRACTICE-1", "Full marks for"):
        assert word not in text


def test_blank_labels_read_as_unanswered(tmp_path: Path) -> None:
    """Does a released lab that nobody filled in hold no answer, and does a filled-in line read back?"""
    for lab_id in LABS:
        notebook = read_twin(twin(lab_id), lab=True)
        path = tmp_path / f"{lab_id}.ipynb"
        path.write_bytes(release(ROOT, {lab_id: notebook}, {lab_id: []})[lab_id][f"{lab_id}.ipynb"])
        for text in read_lab_source(path).answers.values():
            assert parse_answers(text) == {}
            label = next(line for line in text.splitlines() if line.endswith("="))
            assert list(parse_answers(text.replace(label, f"{label} 12 V")).values()) == ["12 V"]


@pytest.mark.notebook
@pytest.mark.slow
def test_stock_nbgrader_gives_full_marks(tmp_path: Path) -> None:
    """Do nbgrader's own commands take a lab from source to feedback, and give the solved hand-in all its points?"""
    lab_id = LABS[0]
    shutil.copyfile(ROOT / "nbgrader_config.py", tmp_path / "nbgrader_config.py")
    (tmp_path / "solutions" / lab_id).mkdir(parents=True)
    write_hand_in(ROOT, lab_id, tmp_path / "submitted" / "ada" / lab_id)
    shutil.copy(tmp_path / "submitted" / "ada" / lab_id / f"{lab_id}.ipynb", tmp_path / "solutions" / lab_id)
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]])
    environment = {**os.environ, "PATH": path, "JUPYTER_CONFIG_DIR": str(tmp_path / "config")}
    for words in (
        ["generate_assignment", lab_id],
        ["autograde", lab_id],
        ["generate_feedback", lab_id],
        ["export"],
    ):
        command = [sys.executable, "-m", "nbgrader", *words]
        done = subprocess.run(
            command, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr[-3000:]
    with (tmp_path / "grades.csv").open(encoding="utf-8") as file:
        row = next(csv.DictReader(file))
    assert (float(row["score"]), float(row["max_score"])) == (100, 110)
    assert (tmp_path / "feedback" / "ada" / lab_id / f"{lab_id}.html").exists()
