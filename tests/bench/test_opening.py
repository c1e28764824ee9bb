"""Does a lab open quickly, on the right order, with nothing lost?"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tankside.bench.log import LOG_NAME
from tankside.errors import TanksideError
from tankside.notebook import PRACTICE_NAME, open_lab

HEAVY = (
    "pint",
    "matplotlib",
    "scipy",
    "pandas",
    "IPython",
    "ipywidgets",
    "anywidget",
    "nbgrader",
    "rich",
    "chemicals",
)
CODE = f"""
import sys
from tankside import open_lab
desk = open_lab("lab03", sys.argv[1])
desk.the_bench().look()
desk.card(), desk.choices(), desk.marks()
print(*[name for name in {HEAVY} if name in sys.modules])
"""


def test_opening_waits_for_no_heavy_library(tmp_path: Path) -> None:
    """Does opening a lab, working at its bench and marking it load no library that only pictures and widgets need?"""
    done = subprocess.run(
        [sys.executable, "-c", CODE, str(tmp_path)], capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == []


def test_practice_is_kept(tmp_path: Path) -> None:
    """Opened again: is it the same order, from its file, with its log?"""
    first = open_lab("lab01", tmp_path)
    first.the_bench().look()
    again = open_lab("lab01", tmp_path)
    assert again.order == first.order and again.practice
    assert len(again.the_bench().entries) == 2


def test_what_to_hand_in_lies_in_the_folder(tmp_path: Path) -> None:
    """Is each file that the hand-in cell names there, in practice too, and does practice point to its marks?"""
    lab = open_lab("lab01", tmp_path)
    lab.the_bench().look()
    lab.form().write("remedy", "Switch it on and show the owner")
    text = lab.hand_in().text
    named = re.findall(r"[\w-]+\.jsonl?", text)
    assert len(named) == 3 and all((tmp_path / name).exists() for name in named), text
    assert "Finish the call-out" in text


def test_another_number_or_lab(tmp_path: Path) -> None:
    """With another number, or another lab in the same folder: is it a new order, and the old log kept beside it?"""
    one = open_lab("lab01", tmp_path)
    one.the_bench().look()
    two = open_lab("lab01", tmp_path, number=2)
    assert two.order.seed != one.order.seed and len(two.the_bench().entries) == 1
    other = open_lab("lab02", tmp_path, number=2)
    assert other.order.lab == "lab02" and len(other.the_bench().entries) == 1
    assert len(list(tmp_path.glob("bench-log-before-*.jsonl"))) == 2
    kept = (tmp_path / "bench-log-before-1.jsonl").read_text(encoding="utf-8").splitlines()
    assert [json.loads(line)["verb"] for line in kept] == ["begin", "look"]


@pytest.mark.parametrize("text", ["", "{", "[]", '{"token": "x"}'], ids=range(4))
def test_a_damaged_practice_file(text: str, tmp_path: Path) -> None:
    """With the practice order's file damaged: is it made again, and the work of the log still there?"""
    one = open_lab("lab01", tmp_path)
    one.the_bench().look()
    (tmp_path / PRACTICE_NAME).write_text(text, encoding="utf-8")
    again = open_lab("lab01", tmp_path)
    assert again.order == one.order and len(again.the_bench().entries) == 2
    assert (tmp_path / LOG_NAME).exists() and not list(tmp_path.glob("bench-log-before-*"))


@pytest.mark.parametrize("number", [0, -1, 10**12, "one", 1.5, True, None])
def test_no_such_number(number: object, tmp_path: Path) -> None:
    """Is a practice number that isn't one refused in a sentence?"""
    with pytest.raises(TanksideError, match="numbered 1, 2, 3"):
        open_lab("lab01", tmp_path, number=number)  # type: ignore[arg-type]


def test_no_such_lab(tmp_path: Path) -> None:
    """Is a lab that isn't there refused by name, and nothing written?"""
    with pytest.raises(TanksideError, match="lab99"):
        open_lab("lab99", tmp_path)
    assert list(tmp_path.iterdir()) == []
