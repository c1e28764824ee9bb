"""The glossary's words, and links to it from the first use of each in a lesson.

A word is a ``###`` heading of ``course/glossary.md``; a sentence that starts with ``*Also:`` lists other forms of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tankside_autograder.twins import TwinError

PAGE = "glossary"
# Text that stays as it is: code, links, HTML, headings, tables, what is quoted.
_KEPT = re.compile(r"(`[^`]*`|!?\[[^\]]*\]\([^)]*\)|<[^>]*>|^(?:#|\||>).*$|\"[^\"]*\"|“[^”]*”)", re.MULTILINE)


@dataclass(frozen=True)
class Term:
    """A word of the trade: its name, every form in which it may stand in a text, and what it means."""

    name: str
    forms: tuple[str, ...]
    meaning: str

    @property
    def link(self) -> str:
        """Where the word stands in the glossary, as JupyterLab names a heading."""
        return f"{PAGE}.ipynb#{self.name.replace(' ', '-')}"


def read_terms(file: Path) -> tuple[Term, ...]:
    """The words of a glossary, longest form first; none if there is no such file.

    Raises ``TwinError`` for a form that two words claim, or a word without a meaning.
    """
    if not file.exists():
        return ()
    terms: list[Term] = []
    claimed: dict[str, str] = {}
    for part in re.split(r"^### ", file.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]:
        name, _, body = part.partition("\n")
        body = re.split(r"^## ", body, flags=re.MULTILINE)[0].strip()
        also = re.match(r"\*Also: ([^*]+)\.\*\s*", body)
        meaning = body[also.end() :] if also else body
        forms = (name.strip(), *(also[1].split(", ") if also else ()))
        if not meaning:
            raise TwinError(file.name, name, "has no meaning. Write a sentence below it.")
        for form in forms:
            other = claimed.setdefault(form.casefold(), name)
            if other != name:
                raise TwinError(file.name, name, f"{form!r} belongs to {other!r} as well. One of the two.")
        terms.append(Term(name.strip(), forms, meaning))
    return tuple(terms)


def link_first_uses(notebook: Any, terms: tuple[Term, ...]) -> None:
    """Turn the first use of each word in a lesson's running text into a link to the glossary."""
    if not terms:
        return
    names = {form.casefold(): term for term in terms for form in term.forms}
    longest_first = sorted(names, key=len, reverse=True)
    word = re.compile(rf"(?<![\w-])({'|'.join(map(re.escape, longest_first))})(?![\w-])", re.IGNORECASE)
    linked: set[str] = set()

    def link(found: re.Match[str]) -> str:
        term = names[found[0].casefold()]
        if term.name in linked:
            return found[0]
        linked.add(term.name)
        return f"[{found[0]}]({term.link})"

    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            cell.source = "".join(
                piece if kept else word.sub(link, piece) for piece, kept in _pieces(cell.source)
            )


def _pieces(text: str) -> Iterator[tuple[str, bool]]:
    """The text cut into what may be changed and what is kept."""
    for number, piece in enumerate(_KEPT.split(text)):
        yield piece, number % 2 == 1
