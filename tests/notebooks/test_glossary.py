"""Does a word of the trade lead to its meaning from where a lesson first uses it?"""

from __future__ import annotations

import re
from pathlib import Path

import nbformat
import pytest

from tankside_autograder.glossary import Term, link_first_uses, read_terms
from tankside_autograder.notebooks import build
from tankside_autograder.twins import TwinError, read_twin
from tests.lessons.spelling import sentences
from tests.notebooks.small import write_course

ROOT = Path(__file__).parents[2]
TERMS = read_terms(ROOT / "course" / "glossary.md")
LESSONS = sorted((ROOT / "course").glob("[0-9][0-9]-*.md"))
GLOSSARY = "# Words\n\n\n## Parts\n\n### Plate\n*Also: plates.* A label.\n\n### Data plate\nThe big label.\n"


def linked(text: str, tmp_path: Path) -> str:
    (tmp_path / "words.md").write_text(GLOSSARY, encoding="utf-8")
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_markdown_cell(text)])
    link_first_uses(notebook, read_terms(tmp_path / "words.md"))
    return str(notebook.cells[0].source)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("Read the plate. The plate.", "Read the [plate](glossary.ipynb#Plate). The plate."),
        ("Two Plates.", "Two [Plates](glossary.ipynb#Plate)."),
        ("The data plate.", "The [data plate](glossary.ipynb#Data-plate)."),
        ("# The plate\n`plate` [plate](x.md) \"plate\" template", "# The plate\n`plate` [plate](x.md) \"plate\" template"),
        ("| plate |\n> plate\nA plate.", "| plate |\n> plate\nA [plate](glossary.ipynb#Plate)."),
    ],
)  # fmt: skip
def test_first_use(text: str, wanted: str, tmp_path: Path) -> None:
    assert linked(text, tmp_path) == wanted


def test_the_builder_links(tmp_path: Path) -> None:
    """Does building write the links into the lesson's notebook, and is a second build at rest?"""
    write_course(tmp_path)
    (tmp_path / "course" / "glossary.md").write_text(GLOSSARY, encoding="utf-8")
    build(tmp_path)
    text = (tmp_path / "course" / "01-plate.ipynb").read_text(encoding="utf-8")
    assert "(glossary.ipynb#Plate)" in text and build(tmp_path, check=True) == []


@pytest.mark.parametrize(
    ("text", "wrong"),
    [("### A\n\n### B\nIs b.\n", "no meaning"), ("### A\nIs a.\n\n### B\n*Also: a.* Is b.\n", "belongs to")],
)
def test_refused(text: str, wrong: str, tmp_path: Path) -> None:
    file = tmp_path / "glossary.md"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(TwinError, match=wrong):
        read_terms(file)


def test_meanings_are_short() -> None:
    assert TERMS
    for term in TERMS:
        assert 4 <= len(term.meaning.split()) <= 45, term
        assert term.meaning.endswith("."), term


def test_links_name_headings() -> None:
    """Does every link that a lesson's notebook gets end at a heading of the glossary?"""
    headings = {f"glossary.ipynb#{h.replace(' ', '-')}" for h in re.findall(r"^### (.+)$", (ROOT / "course/glossary.md").read_text("utf-8"), re.MULTILINE)}  # fmt: skip
    for path in LESSONS:
        notebook = read_twin(path, lab=False)
        link_first_uses(notebook, TERMS)
        text = "\n".join(c.source for c in notebook.cells if c.cell_type == "markdown")
        found = re.findall(r"\]\((glossary[^)]*)\)", text)
        assert len(found) >= 8 and len(found) == len(set(found)) and set(found) <= headings


def first_place(term: Term, text: str) -> int | None:
    """Where a text first holds a form of the word, as a reader would find it: whole, in any letters."""
    forms = "|".join(re.escape(form) for form in sorted(term.forms, key=len, reverse=True))
    found = re.search(rf"(?<![\w-])(?:{forms})(?![\w-])", text, re.IGNORECASE)
    return found.start() if found else None


def test_every_word_is_used() -> None:
    """Is no word explained that no lesson, lab or lesson's picture uses?"""
    pages = [re.sub(r"```.*?```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL) for path in [*LESSONS, *(ROOT / "solutions").glob("*/*.md")]]  # fmt: skip
    pages += [" ".join(sentences(path.read_text(encoding="utf-8"))) for path in (ROOT / "shared/tankside/lessons").glob("*.py")]  # fmt: skip
    assert [term.name for term in TERMS if all(first_place(term, page) is None for page in pages)] == []


def test_every_word_is_linked_from_some_lesson() -> None:
    """Does the text of at least one lesson, as built, lead to each word's meaning?"""
    built = "".join(path.with_suffix(".ipynb").read_text(encoding="utf-8") for path in LESSONS)
    assert [term.name for term in TERMS if f"({term.link})" not in built] == []


@pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
def test_the_link_stands_at_the_first_use(path: Path) -> None:
    """In running text as built, before a word's link: does no form of it stand without a link? (Longer words hold shorter ones.)"""
    notebook = nbformat.read(path.with_suffix(".ipynb"), as_version=4)
    cells = [re.sub(r"^(?:#|\||>).*$|`[^`]*`|\"[^\"]*\"|“[^”]*”|<[^>]*>", "", c.source, flags=re.MULTILINE) for c in notebook.cells if c.cell_type == "markdown"]  # fmt: skip
    text = re.sub(r"\[[^\]]*\]\((?!glossary)[^)]*\)", "", "\n".join(cells))
    late = []
    for term in TERMS:
        link = text.find(f"]({term.link})")
        before = re.sub(r"\[[^\]]*\]\([^)]*\)", "", text if link < 0 else text[: text.rfind("[", 0, link)])
        longer = [form for other in TERMS if other is not term for form in other.forms if any(f.casefold() in form.casefold() for f in term.forms)]  # fmt: skip
        for form in sorted(longer, key=len, reverse=True):
            before = re.sub(rf"(?<![\w-]){re.escape(form)}(?![\w-])", "", before, flags=re.IGNORECASE)
        if first_place(term, before) is not None:
            late.append(term.name)
    assert late == []
