"""Is the front end one module that stands on its own?"""

from __future__ import annotations

import re
from importlib import import_module

import pytest

from tankside import widgets
from tankside.widgets import frontend

ENTRIES = [
    p.name for p in sorted(frontend.STATIC.glob("*.js")) if "export default" in p.read_text(encoding="utf-8")
]


@pytest.mark.parametrize("entry", ENTRIES)
def test_joined_module(entry: str) -> None:
    """Does joining leave no import behind, one default export, and no name that two files define?"""
    text = frontend.module(entry)
    assert not re.search(r"^import ", text, re.MULTILINE)
    assert not re.search(r"^export (?!default )", text, re.MULTILINE)
    assert len(re.findall(r"^export default", text, re.MULTILINE)) == 1
    names = [name for file in frontend.modules(entry) for name in frontend.top_level_names(file)]
    assert sorted(names) == sorted(set(names))


def test_there_are_entries() -> None:
    """Did the test above look at anything?"""
    assert "bench.js" in ENTRIES


@pytest.mark.parametrize("file", sorted(frontend.STATIC.iterdir()), ids=lambda file: file.name)
def test_nothing_is_fetched(file) -> None:
    """Is every file free of addresses from outside, save for the name of SVG, and of script made from text?"""
    text = file.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
    for forbidden in ("http:", "https:", "//cdn", "fetch(", "@import", "eval(", "innerHTML", "url("):
        assert forbidden not in text, forbidden


def test_every_file_is_used() -> None:
    """Is each JavaScript file part of some widget?"""
    used = {name for entry in ENTRIES for name in frontend.modules(entry)}
    assert used == {p.name for p in frontend.STATIC.glob("*.js")}


def test_a_circle_is_named(tmp_path, monkeypatch) -> None:
    """Do two files that import each other give an error that names them?"""
    (tmp_path / "a.js").write_text('import { b } from "./b.js";\nexport const a = 1;\n', encoding="utf-8")
    (tmp_path / "b.js").write_text('import { a } from "./a.js";\nexport const b = 1;\n', encoding="utf-8")
    monkeypatch.setattr(frontend, "STATIC", tmp_path)
    with pytest.raises(ValueError, match=r"a\.js -> b\.js -> a\.js"):
        frontend.modules("a.js")


def test_public_names_stay_what_they_are() -> None:
    """Is each public name the same thing at every import, and not the module that holds it?"""
    for name in widgets._PUBLIC:
        first = getattr(widgets, name)
        import_module(widgets._PUBLIC[name])
        assert callable(first)
        assert getattr(widgets, name) is first
