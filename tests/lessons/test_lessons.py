"""Can a lesson be read, run, heard and followed by somebody who has never seen Python?"""

from __future__ import annotations

import re
import tomllib
from html.parser import HTMLParser
from importlib import import_module
from itertools import pairwise
from pathlib import Path
from types import ModuleType
from urllib.parse import unquote

import nbformat
import pytest

from tankside.notebook import Page
from tankside_autograder.twins import read_twin
from tests.lessons.reading import flesch_kincaid, grades, syllables, teaching, words_of

ROOT = Path(__file__).parents[2]
COURSE = sorted((ROOT / "course").glob("*.md"))
LESSONS = [path for path in COURSE if re.match(r"\d\d-", path.name)]
LABS = sorted((ROOT / "solutions").glob("*/*.md"))
every_lesson = pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
every_page = pytest.mark.parametrize("path", [*COURSE, *LABS], ids=lambda p: p.stem)


def text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def module_of(path: Path) -> ModuleType:
    """The lesson's own module, by the line that its first cell imports it with."""
    name = re.search(r"^from tankside\.lessons import (\w+) as lesson$", text_of(path), re.MULTILINE)
    assert name, path.stem
    return import_module(f"tankside.lessons.{name[1]}")


def headings(path: Path) -> list[str]:
    return re.findall(r"^## (.+)$", re.sub(r"^```.*?^```", "", text_of(path), flags=re.DOTALL | re.MULTILINE), re.MULTILINE)  # fmt: skip


@every_lesson
def test_parts_in_teaching_order(path: Path) -> None:
    """Is the hazard first, is there something to try, and do mistakes, check, summary and sources close the lesson?"""
    found = headings(path)
    assert found[0] == "The hazard first"
    assert "A worked example" in found
    assert found[-5:] == ["Try it yourself", "Mistakes that trap people", "Check yourself", "On one page", "Sources"]  # fmt: skip
    assert any(h.startswith(("A saying", "Two sayings")) for h in found)
    text = text_of(path)
    assert "When you are through, you can:" in text
    for caution in ("Local codes, the maker's instructions and licensed practice come first", "no license to work live"):  # fmt: skip
        assert caution in text.partition("## A worked example")[0]
    minutes = re.search(r"\*\*Time:\*\* about (\d+) minutes", text)
    assert minutes and 30 <= int(minutes[1]) <= 60
    summary = text.partition("## On one page")[2].partition("##")[0]
    assert 60 <= len(words_of(summary).split()) <= 250
    mistakes = text.partition("## Mistakes that trap people")[2].partition("\n## ")[0]
    assert len(re.findall(r"^\|", mistakes, re.MULTILINE)) >= 7


@every_page
def test_reading_grade(path: Path) -> None:
    """Is every page at or below US grade 9, by three formulas, on its running sentences alone?"""
    scores = grades(teaching(text_of(path)))
    assert max(scores.values()) <= 9, scores


def test_the_formula_is_the_published_one() -> None:
    """Does "The cat sat on the mat." get the grade that is quoted for it, -1.45? (Kincaid 1975; value computed by hand.)"""
    assert flesch_kincaid("The cat sat on the mat.") == pytest.approx(-1.45)
    counted = [syllables(w) for w in ("heater", "wire", "thermostat", "little", "resistance", "the")]
    assert counted == [2, 1, 3, 2, 3, 1]


@every_lesson
def test_learner_sees_no_code(path: Path) -> None:
    """Are code cells folded away and short, and does no programmer's word stand in the text?"""
    notebook = read_twin(path, lab=False)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            assert cell.metadata.get("jupyter", {}).get("source_hidden") is True, cell.source
            assert len(cell.source.splitlines()) <= 4
    words = words_of(text_of(path)).casefold()
    assert not re.search(
        r"\b(python|import|function call|variable|widget|kernel|javascript|module|api)\b", words
    )


@every_lesson
def test_numbers_are_computed_not_typed(path: Path) -> None:
    """Is no volt, amp, ohm, watt or degree of a heater typed into the prose? (Quoted sayings and plates name theirs.)"""
    text = text_of(path).partition("\n## Sources")[0]
    prose = re.sub(r"^```.*?^```", "", text, flags=re.DOTALL | re.MULTILINE)
    prose = re.sub(r"^> .*$|\"[^\"]*\"|“[^”]*”", "", prose, flags=re.MULTILINE)
    prose = re.sub(r"\b12 V\b", "", prose)  # that side's name, not a reading
    assert not re.findall(
        r"\d(?:[.,]\d+)?\s*(?:V|A|W|mA|Ω|kΩ|MΩ|°F|°C|volts?|amps?|ohms?|watts?|gal|psi)\b", prose
    )


@every_page
def test_links_lead_somewhere(path: Path) -> None:
    """Does every link to a page of the course end at a text twin or a file that exists?"""
    here = path.parent if path.parent.name == "course" else ROOT / "exercises" / path.stem
    for target in re.findall(r"\]\(([^)#\s]+)[^)]*\)", text_of(path)):
        assert not re.match(r"[a-z]+:", target), f"{target}: a page that may be read without a network"
        end = (here / unquote(target)).resolve()
        twin = end.with_suffix(".md")
        if end.is_relative_to(ROOT / "exercises"):
            twin = ROOT / "solutions" / end.parent.name / f"{end.stem}.md"
        assert twin.exists() or end.exists(), f"{path.name}: {target}"


def test_start_page_names_everything_with_its_minutes() -> None:
    """Does the start page offer three choices, and list each lesson and lab with the title and minutes they state?"""
    text = text_of(ROOT / "course" / "start.md")
    for who in ("## I am an apprentice", "## I am an instructor", "## I run a shop"):
        assert "Your next step:" in text.partition(who)[2].partition("\n## ")[0]
    rows = {target: (title.strip(), int(minutes)) for target, title, minutes in re.findall(r"^\| \[[^\]]+\]\(([^)]+)\) \| (.+?) \| (\d+) \|$", text, re.MULTILINE)}  # fmt: skip
    wanted = {}
    for path in LESSONS:
        title = re.search(r"^# Lesson \d+: (.+)$", text_of(path), re.MULTILINE)
        minutes = re.search(r"about (\d+) minutes", text_of(path))
        assert title and minutes
        wanted[f"{path.stem}.ipynb"] = (title[1], int(minutes[1]))
    for path in LABS:
        lab = tomllib.loads(text_of(ROOT / "shared/tankside/labs" / f"{path.stem}.toml"))
        wanted[f"../exercises/{path.stem}/{path.stem}.ipynb"] = (lab["title"], lab["minutes"])
    assert rows == wanted


class _Pictures(HTMLParser):
    """Collects what screen readers would say of pictures."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "svg" and given.get("aria-hidden") != "true":
            assert given.get("role") == "img"
            self.said.append(given.get("aria-label") or "")
        if tag == "img":
            self.said.append(given.get("alt") or "")


def pages() -> list[tuple[str, Page]]:
    """Everything that lessons show besides widgets: each public function of the lessons' modules, called."""
    out = []
    for path in LESSONS:
        module = module_of(path)
        names = sorted(set(re.findall(r"^lesson\.(\w+)\(\)", text_of(path), re.MULTILINE)))
        assert names
        out += [(f"{path.stem}: {name}", getattr(module, name)()) for name in names]
    return out


def test_pictures_are_told_in_words() -> None:
    """Has every picture a text of its own, and every page plain words for who can't see it?"""
    count = 0
    for name, page in pages():
        found = _Pictures()
        found.feed(page.markup)
        count += len(found.said)
        assert all(len(words) > 20 for words in found.said), name
        assert len(page.text) > 20, name
    for path in [*COURSE, *LABS]:
        assert all(re.findall(r"!\[([^\]]*)\]", text_of(path)))
    assert count >= 8


def test_predictions_come_before_reveals() -> None:
    """Is every folded answer asked for by a question just before it?"""
    for path in LESSONS:
        module = module_of(path)
        cells = read_twin(path, lab=False).cells
        for before, cell in pairwise(cells):
            call = re.search(r"^lesson\.(\w+)\(\)", cell.source, re.MULTILINE) if cell.cell_type == "code" else None  # fmt: skip
            if call and "<details>" in getattr(module, call[1])().markup:
                assert re.search(r"\*[^*]+\?\*|\?", before.source), (path.stem, call[1])


@pytest.mark.notebook
@pytest.mark.parametrize("path", COURSE, ids=lambda p: p.stem)
def test_runs_from_top_to_bottom(path: Path, tmp_path: Path) -> None:
    """Does every cell run in a real kernel, show something, and complain of nothing?"""
    from nbclient import NotebookClient

    notebook = read_twin(path, lab=False)
    NotebookClient(notebook, timeout=120, resources={"metadata": {"path": str(tmp_path)}}).execute()
    for cell in notebook.cells:
        if cell.cell_type != "code":
            continue
        kinds = {output.output_type for output in cell.outputs}
        assert "error" not in kinds and kinds & {"execute_result", "display_data"}, cell.source
        assert not [o for o in cell.outputs if o.output_type == "stream" and o.name == "stderr"], cell.source
        for output in cell.outputs:
            data = output.get("data", {})
            assert "text/html" in data or "application/vnd.jupyter.widget-view+json" in data, cell.source
    assert list(tmp_path.iterdir()) == []  # a lesson leaves nothing behind
    nbformat.validate(notebook)
