"""Does a word of the trade lead to its meaning from where a lesson first uses it?"""

from __future__ import annotations

import re
from pathlib import Path

import nbformat
import pytest

from tankside_autograder.glossary import link_first_uses, read_terms
from tankside_autograder.notebooks import build
from tankside_autograder.twins import TwinError, read_twin
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
