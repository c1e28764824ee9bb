"""The front end as text: small JavaScript modules joined into one, and style sheets likewise.

A notebook widget hands the browser one module. Ours are several files that import each other
by relative path; here they are put one after the other in the order in which they need each
other. Nothing is translated and nothing is fetched, so the files in ``static`` are what runs.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

STATIC = Path(__file__).parent / "static"
_IMPORT = re.compile(r'^import \{[^}]*\} from "\./([a-z_]+\.js)";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export (?=(?:async )?(?:function|const|class) )", re.MULTILINE)
_NAME = re.compile(r"^(?:export )?(?:async )?(?:function|const|let|class) ([A-Za-z_$][\w$]*)", re.MULTILINE)


def modules(entry: str) -> list[str]:
    """Names of the files that ``entry`` needs, each after those it needs; ``ValueError`` on a circle."""
    order: list[str] = []
    trail: list[str] = []

    def visit(name: str) -> None:
        if name in order:
            return
        if name in trail:
            raise ValueError(f"{' -> '.join([*trail, name])}: these modules import each other in a circle")
        trail.append(name)
        for needed in _IMPORT.findall(source(name)):
            visit(needed)
        trail.pop()
        order.append(name)

    visit(entry)
    return order


def source(name: str) -> str:
    """One file of the front end as text."""
    return (STATIC / name).read_text(encoding="utf-8")


def top_level_names(name: str) -> list[str]:
    """The names that a file puts into the shared scope of the joined module."""
    return _NAME.findall(source(name))


@cache
def module(entry: str) -> str:
    """``entry`` and all that it needs as one ES module. Only the entry's ``export default`` is left."""
    parts = []
    for name in modules(entry):
        text = _EXPORT.sub("", _IMPORT.sub("", source(name)))
        parts.append(f"// {name}\n{text.strip()}\n")
    return "\n".join(parts)


@cache
def styles(*names: str) -> str:
    """Style sheets, one after the other."""
    return "\n".join(source(name).strip() + "\n" for name in names)
