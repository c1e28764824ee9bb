"""HTML pages from templates: escaped by default, self-contained, no script."""

from __future__ import annotations

from datetime import datetime
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined


def points(value: float) -> str:
    """A number of points without needless zeros: 12.5, 7, 0."""
    return f"{round(float(value), 1):g}"


def signed(value: float) -> str:
    """Points with their sign, a true minus among them: +2.5, −1."""
    return f"{'+' if value > 0 else '−' if value < 0 else ''}{points(abs(value))}"


def when(text: str) -> str:
    """An ISO time as people read it."""
    return datetime.fromisoformat(text).strftime("%Y-%m-%d %H:%M %Z").strip()


@cache
def _environment() -> Environment:
    # Autoescape for everything: a template's name ends in .j2, which jinja2's own choice by ending doesn't know.
    environment = Environment(
        loader=PackageLoader("tankside_autograder", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(points=points, signed=signed, when=when)
    return environment


def render(template: str, **values: Any) -> str:
    """The page. ``values`` are escaped unless they are ``markupsafe.Markup``."""
    return _environment().get_template(template).render({"note": "", **values})
