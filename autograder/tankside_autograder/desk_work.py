"""What an invented learner does at the desk: opens the folder that was handed out, works the lab, writes the answers.

It goes through the same public names as the notebook's own cells, so what it leaves behind is what a learner leaves.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tankside.bench import Bench
from tankside.labs import Lab
from tankside.notebook import Page, open_lab
from tankside_autograder.files import write_atomic
from tankside_autograder.rebuild import body, source_text

Kind = Callable[[Bench, Lab], dict[str, str]]


def work_lab(folder: Path, lab: Lab, kind: Kind, reflection: str = "") -> dict[str, str]:
    """Work the lab that lies in ``folder`` as this kind of technician would; its notebook is filled in, run and saved.

    Returns the answers by label.
    """
    desk = open_lab(lab.id, folder)
    answers = kind(desk.the_bench(), lab)
    path = folder / f"{lab.id}.ipynb"
    write_answers(path, answers, reflection)
    notebook = json.loads(path.read_text(encoding="utf-8"))
    count = 0
    for cell in notebook["cells"]:
        if cell["cell_type"] != "code":
            continue
        text, page = source_text(cell), None
        if text.startswith("%%answers"):
            page = desk.take_answers(body(text))
        elif ".hand_in()" in text:
            page = desk.hand_in()
        elif ".card()" in text:
            page = desk.card()
        if page is not None:
            count += 1
            cell["outputs"], cell["execution_count"] = [_output(page, count)], count
    _save(path, notebook)
    return answers


def write_answers(path: Path, answers: dict[str, str], reflection: str = "") -> None:
    """Type each answer after its label's equals sign, in whichever answer cell has that label. Runs nothing."""
    notebook = json.loads(path.read_text(encoding="utf-8"))
    wanted = {label.casefold(): text for label, text in answers.items()}
    for cell in notebook["cells"]:
        meta = cell.get("metadata", {}).get("nbgrader", {})
        if meta.get("solution") and meta.get("grade"):
            cell["source"] = reflection or cell["source"]
        elif meta.get("solution"):
            cell["source"] = "\n".join(_filled(line, wanted) for line in source_text(cell).splitlines())
    _save(path, notebook)


def _filled(line: str, wanted: dict[str, str]) -> str:
    label, equals, _ = line.partition("=")
    text = wanted.get(label.strip().casefold()) if equals else None
    return f"{label.rstrip()} = {text}" if text is not None else line


def _output(page: Page, count: int) -> dict[str, Any]:
    return {
        "output_type": "execute_result",
        "execution_count": count,
        "metadata": {},
        "data": page._repr_mimebundle_(),
    }


def _save(path: Path, notebook: dict[str, Any]) -> None:
    write_atomic(path, json.dumps(notebook, ensure_ascii=False, indent=1) + "\n")
