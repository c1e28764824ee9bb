"""The map in DEVELOPERS.md: does it still fit the house?"""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]


def lines() -> list[tuple[str, str]]:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    block = re.search(r"```map\n(.*?)```", text, re.DOTALL)
    assert block
    rows = [re.split(r"\s{2,}", line, maxsplit=1) for line in block[1].splitlines() if line.strip()]
    return [(path, words) for path, words in rows]


def test_everything_on_the_map_is_there() -> None:
    """Does every path on the map exist, and does each line say what it is for?"""
    for path, words in lines():
        assert (ROOT / path).exists(), path
        assert len(words) > 8, path


def test_every_module_is_on_the_map() -> None:
    """Is each module of the two packages covered by a line of the map?"""
    listed = [path for path, _ in lines()]
    folders = [path for path in listed if path.endswith("/")]
    missing = []
    for package in ("shared/tankside", "autograder/tankside_autograder"):
        for file in sorted((ROOT / package).rglob("*.py")):
            path = file.relative_to(ROOT).as_posix()
            if file.name in ("__init__.py", "__main__.py") or path in listed:
                continue
            if not any(path.startswith(folder) for folder in folders):
                missing.append(path)
    assert not missing
