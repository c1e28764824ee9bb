"""Is all that is taught assessed, and all that is assessed taught?"""

from __future__ import annotations

from pathlib import Path

import pytest

import tankside.lessons.curriculum as module
from tankside.check.places import PLACES
from tankside.errors import DataFileError, TanksideError
from tankside.labs.lab import lab_ids
from tankside.lessons.contents import Lesson, lessons, read_lesson
from tankside.lessons.curriculum import (
    FILE,
    CurriculumFile,
    Skill,
    curriculum,
    gaps,
    map_page,
    parts_of,
    places,
)
from tankside_autograder.twins import read_twin

ROOT = Path(__file__).parents[2]


def test_the_map_fits_the_course() -> None:
    """Every promise a skill and the reverse, every skill assessed, everything assessed taught before, every name there?"""
    from tankside.datafiles import load

    assert gaps(load(FILE, CurriculumFile).skill, lessons()) == []


def test_twelve_lessons_and_twelve_labs() -> None:
    """Are lessons and labs numbered alike, 1 to 12?"""
    assert [lesson.number for lesson in lessons()] == list(range(1, 13))
    assert lab_ids() == [f"lab{n:02d}" for n in range(1, 13)]


def test_all_eighteen_places_are_taught() -> None:
    """Does the list of places that the proofs use equal what the skills touch?"""
    assert set(places()) == set(PLACES) == {place for skill in curriculum() for place in skill.places}


def test_every_lab_has_its_reflection() -> None:
    """Does each lab have the cell that a person marks, which ``reflection`` stands for?"""
    for lab_id in lab_ids():
        cells = read_twin(ROOT / "solutions" / lab_id / f"{lab_id}.md", lab=True).cells
        graded = [c.metadata.get("nbgrader", {}) for c in cells if c.cell_type == "markdown"]
        assert any(meta.get("grade") and meta["grade_id"] == "reflection" for meta in graded), lab_id


def changed(skill: Skill, **fields: object) -> tuple[Skill, ...]:
    return tuple(skill.model_copy(update=fields) if s is skill else s for s in curriculum())


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"text": "fly"}, "doesn't promise 'fly'"),
        ({"places": ("attic",)}, "no place 'attic'"),
        ({"questions": ("safety.nothing",)}, "no question 'safety.nothing'"),
        ({"questions": ("cooking.soup",)}, "no question 'cooking.soup'"),
        ({"assessed": ("lab01: fault fuse-blown",)}, "no lab assesses"),
        ({"assessed": ("lab99: evidence",)}, "no lab assesses"),
    ],
)
def test_a_gap_is_told(fields: dict[str, object], said: str) -> None:
    """Does each kind of mistake in the map give a sentence that names it?"""
    assert any(said in text for text in gaps(changed(curriculum()[0], **fields), lessons()))


def test_what_nobody_claims_is_told() -> None:
    """Without one lesson's skills: are its promises, its lab's figures, its places and its verbs missed?"""
    first = lessons()[0].stem
    told = gaps(tuple(s for s in curriculum() if s.lesson != first), lessons())
    assert sum("no skill has the text" in t for t in told) == len(lessons()[0].skills)
    assert "lab01: figure supply-hot-neutral: assessed, but no skill claims it." in told
    assert "lab01: expects prove dead: assessed, but no skill claims it." in told
    assert any("lab01: a fault lies at the junction box, which is taught later" in t for t in told)


def test_assessed_before_it_is_taught_is_told() -> None:
    """Is an entry of a lab that comes before the skill's lesson refused?"""
    last = next(s for s in curriculum() if s.lesson.startswith("12"))
    told = gaps(changed(last, assessed=("lab03: evidence",)), lessons())
    assert any("comes before its lesson" in t for t in told)


@pytest.mark.parametrize(
    "entry", ["", "lab01", "lab01: ", "lab01: figure", "lab01: luck", "evidence", "lab01:evidence"]
)
def test_an_entry_that_cannot_be_read(entry: str) -> None:
    """Is it refused with what would be right?"""
    with pytest.raises(TanksideError, match="expected labNN"):
        parts_of(entry)


def test_a_bad_file_names_what_is_wrong(tmp_path: Path) -> None:
    """Do a missing file, a missing key and a name that isn't there each give one clear error?"""
    for text, said in (
        (None, "isn't there"),
        ("", "skill"),
        ('[[skill]]\nlesson = "x"\ntext = "abc"\nplaces = ["element"]\nquestions = ["a.b"]\n', "assessed"),
        (FILE.read_text(encoding="utf-8").replace("lab12: evidence", "lab12 evidence"), "expected labNN"),
    ):
        file = tmp_path / "curriculum.toml"
        if text is not None:
            file.write_text(text, encoding="utf-8")
        with pytest.raises(DataFileError, match=said):
            curriculum.__wrapped__(file)


def test_a_lesson_without_its_promise(tmp_path: Path) -> None:
    """Is a lesson that lacks its list told by file and by what is missing?"""
    file = tmp_path / "13-x.md"
    file.write_text(
        '# Lesson 13: X\n\n**Time:** about 30 minutes.\n\nself_check("safety", 5)\n', encoding="utf-8"
    )
    with pytest.raises(DataFileError, match="When you are through"):
        read_lesson(file)
    assert isinstance(lessons()[0], Lesson)


def test_the_page_shows_every_skill() -> None:
    """Does the table hold every skill of every lesson, with plain words for its labs?"""
    text = map_page().text
    assert all(skill.text in text for skill in curriculum())
    assert "lab05" not in text
    assert "Lab 5: volts across the board's own two wires" in text


def test_the_page_says_what_does_not_fit(monkeypatch: pytest.MonkeyPatch) -> None:
    """When a lab has lost what the map names, does the page still show, and say so?"""
    other = changed(curriculum()[0], assessed=("lab01: fault fuse-blown",))
    monkeypatch.setattr(module, "curriculum", lambda: other)
    assert "Doesn't fit: " in module.summary_page().text
    assert "lab01: fault fuse-blown" in map_page().text
