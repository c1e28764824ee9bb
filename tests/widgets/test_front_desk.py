"""The counter for an instructor or a shop: what its one button says, whoever started the kernel."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tankside.errors import TanksideError
from tankside.widgets import front_desk


def test_what_a_command_says_comes_without_colors(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Does the text stay clean in a notebook's kernel, which asks every program for colors?"""
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("CLICOLOR", "1")
    (tmp_path / "shouts.py").write_text(
        "import os, shutil\nprint('\\x1b[1;31mred\\x1b[0m', os.environ.get('FORCE_COLOR'), shutil.get_terminal_size()[0])\n",
        encoding="utf-8",
    )
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    assert front_desk._run("shouts") == "red None 1000\n"


def test_the_summary_of_a_class_keeps_its_lines(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Does each thing that an instructor must look at stand on a line of its own?"""
    told = (
        "Marked.\n\non the class list 2; marked 1\nUnsafe: Ann\nNeeds a person: Bo\n\nThe report lies in x.\n"
    )
    monkeypatch.setattr(front_desk, "_run", lambda *_: told)
    monkeypatch.setattr(front_desk, "_replace", lambda *_: None)
    lines = front_desk.show_class(tmp_path)["text"].splitlines()
    assert lines == ["Done: on the class list 2; marked 1.", "Unsafe: Ann", "Needs a person: Bo"]


def test_an_accent_stays_a_letter_in_the_file_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Is the file named so that its person would know it, and is a name that gives no letter refused in words?"""

    def give(_program: str, _verb: str, room: str, *_rest: str) -> str:
        folder = Path(room, "handed-out")
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "jo-moller-lab03.zip").write_bytes(b"")
        return ""

    monkeypatch.setenv("TANKSIDE_HOME", str(tmp_path / "home"))
    monkeypatch.setattr(front_desk, "_run", give)
    made: dict[str, Any] = front_desk.make_call_out("Jo Möller", tmp_path)
    assert made["files"] == [{"path": "jo-moller-lab03.zip", "name": "jo-moller-lab03.zip"}]
    with pytest.raises(TanksideError, match="letters from a to z"):
        front_desk.make_call_out("王芳", tmp_path)
