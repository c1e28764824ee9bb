"""A lab without its answers, made by nbgrader's own converter in a temporary copy of the course."""

from __future__ import annotations

import logging
import re
import shutil
import tempfile
import warnings
from pathlib import Path
from typing import Any

import nbformat

from tankside.errors import TanksideError

CONFIG = "nbgrader_config.py"


class ReleaseError(TanksideError):
    """nbgrader couldn't make a lab's exercise. Carries the lab; the text ends with nbgrader's own reason."""

    def __init__(self, lab: str, reason: str) -> None:
        self.lab, self.reason = lab, reason
        super().__init__(f"solutions/{lab}: nbgrader can't make the exercise: {reason}")


def release(
    root: Path, labs: dict[str, nbformat.NotebookNode], extras: dict[str, list[Path]]
) -> dict[str, dict[str, bytes]]:
    """Lab -> file name -> content, as ``nbgrader generate_assignment`` makes them from these notebooks.

    ``root`` is only read (its nbgrader_config.py); ``extras`` are the files beside each notebook that go along.
    Raises ``ReleaseError``.
    """
    out: dict[str, dict[str, bytes]] = {}
    with tempfile.TemporaryDirectory(prefix="tankside-release-") as name:
        # Resolved: nbgrader compares paths as text, and on macOS the temporary folder is behind a link.
        copy = Path(name).resolve()
        shutil.copyfile(root / CONFIG, copy / CONFIG)
        for lab, notebook in labs.items():
            folder = copy / "solutions" / lab
            folder.mkdir(parents=True)
            nbformat.write(notebook, folder / f"{lab}.ipynb")
            for file in extras.get(lab, []):
                shutil.copyfile(file, folder / file.name)
        for lab in labs:
            _convert(copy, lab)
            folder = copy / "exercises" / lab
            out[lab] = {file.name: file.read_bytes() for file in sorted(folder.iterdir()) if file.is_file()}
    return out


def _convert(root: Path, lab: str) -> None:
    """``nbgrader generate_assignment --no-db`` without the second that its command takes to start."""
    # Imported here: it takes a second, and a check that finds a bad twin needn't wait for it.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # nbgrader and what it imports warn about each other's old ways
        from nbgrader.converters import GenerateAssignment
        from nbgrader.coursedir import CourseDirectory
        from nbgrader.utils import capture_log
    from traitlets.config.loader import PyFileConfigLoader

    config = PyFileConfigLoader(CONFIG, path=str(root)).load_config()
    config.CourseDirectory.root = str(root)
    config.CourseDirectory.assignment_id = lab
    # With a name instead of "*", nbgrader doesn't look for old notebooks in a database, and there is none.
    config.CourseDirectory.notebook_id = lab
    config.GenerateAssignment.no_database = True
    config.SaveCells.enabled = False
    app = GenerateAssignment(coursedir=CourseDirectory(config=config), config=config)
    app.log = logging.Logger("release", logging.ERROR)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        result = capture_log(app)
    if not result["success"]:
        raise ReleaseError(lab, _reason(result))


def _reason(result: dict[str, Any]) -> str:
    """The line of nbgrader's log that names the error; its last line only says that there was one."""
    text = f"{result.get('error') or ''}\n{result.get('log') or ''}"
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    named = [line for line in lines if re.match(r"[\w.]*(Error|Exception)\b", line)]
    return (named or lines or ["it gave no reason"])[-1]
