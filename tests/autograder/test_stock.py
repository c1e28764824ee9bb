"""Does nbgrader, as it is installed, agree with our marks, and does its form grader find our class folder?"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from tankside_autograder.collect import gather
from tankside_autograder.grading import mark

from .school import give, start_class, work

ROOT = Path(__file__).parents[2]


def benchmark() -> ModuleType:
    spec = importlib.util.spec_from_file_location("grading_benchmark", ROOT / "benchmarks" / "grading.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.slow
@pytest.mark.notebook
def test_the_same_marks_as_nbgrader_autograde(tmp_path: Path) -> None:
    """Careful, brilliant, slow, guessing and unsafe work through ``nbgrader autograde``: every cell's mark is the same."""
    outcome = benchmark().compare("lab03", 5, tmp_path)
    assert outcome.differ == {}


def test_form_grader_finds_the_class_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """nbgrader's own API, which its form grader's pages are made from, on the folder that we lay out."""
    from nbgrader.apps import NbGraderAPI
    from nbgrader.coursedir import CourseDirectory
    from traitlets.config.loader import PyFileConfigLoader

    room = start_class(tmp_path, ["ana", "bo", "cy"])
    give(room, tmp_path)
    for learner, kind in (("ana", "careful"), ("bo", "guesser")):
        work(room, tmp_path / "in", learner, kind)
    gather(room, tmp_path / "in")
    mark(room, "lab03", exercises=tmp_path / "exercises", solutions=tmp_path / "none", workers=1)
    monkeypatch.chdir(room.folder)
    config = PyFileConfigLoader("nbgrader_config.py", path=str(room.folder)).load_config()
    config.CourseDirectory.root = str(room.folder)
    api = NbGraderAPI(CourseDirectory(config=config), config=config)
    [assignment] = api.get_assignments()
    assert (assignment["name"], assignment["num_submissions"], assignment["max_score"]) == ("lab03", 2, 110.0)
    found = {s["student"]: s for s in api.get_submissions("lab03")}
    marks = room.marks("lab03")
    for learner in ("ana", "bo"):
        assert found[learner]["autograded"] and found[learner]["submitted"]
        assert found[learner]["score"] == pytest.approx(marks[learner]["earned"])
    assert api.get_autograded_students("lab03") == {"ana", "bo"}
    [notebook] = api.get_student_notebook_submissions("ana", "lab03")
    assert notebook["score"] == pytest.approx(marks["ana"]["earned"])
