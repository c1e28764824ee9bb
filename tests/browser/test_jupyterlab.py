"""Does the course's JupyterLab open and run a notebook in a browser?"""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook

from tests.jupyterlab import run_all_cells

pytestmark = pytest.mark.browser


def test_a_notebook_runs(page, jupyterlab, tmp_path: Path) -> None:
    """Is what a cell computes shown below it, with tankside importable from the kernel?"""
    folder = tmp_path / "desk"
    folder.mkdir()
    cell = new_code_cell("import tankside\nprint(6 * 7, tankside.__name__)", id="sum")
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    nbformat.write(new_notebook(cells=[cell], metadata={"kernelspec": kernel}), folder / "sum.ipynb")

    page.goto(jupyterlab(folder, "sum.ipynb"))
    run_all_cells(page)
    page.get_by_text("42 tankside").wait_for(timeout=60_000)
    # A learner is neither asked about news nor offered the instructor's tools.
    assert page.get_by_text("Jupyter news").count() == 0
    assert page.get_by_role("menuitem", name="Nbgrader").count() == 0
