"""Whatever a learner did to the notebook: is their answer read, and only their answer?"""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import nbformat
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside_autograder.rebuild import (
    HAND_IN_MIME,
    LabSource,
    NotebookError,
    read_lab_source,
    read_notebook,
    rebuild_notebook,
)

from .fakelab import cell, filled, raw, write_lab


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> LabSource:
    return read_lab_source(write_lab(tmp_path_factory.mktemp("lab") / "lab03.ipynb"))


def test_source(lab: LabSource) -> None:
    assert list(lab.answers) == ["answers-figures", "answers-report"] and list(lab.written) == ["reflection"]
    assert lab.points["evidence"] == 25


def test_honest(lab: LabSource) -> None:
    reading = read_notebook(raw(filled()), lab)
    assert reading.state == "whole" and reading.problems == ()
    assert reading.text == "current = 12.5 A\ndiagnosis = element open"


def _moved(nb: Any) -> None:
    nb["cells"].reverse()


def _locked_edited(nb: Any) -> None:
    cell(nb, "evidence")["source"] = "100.0"
    cell(nb, "evidence")["metadata"]["nbgrader"]["points"] = 1e9


def _grade_cells_deleted(nb: Any) -> None:
    nb["cells"] = [c for c in nb["cells"] if "answers" in str(c["metadata"])]


def _grade_cell_copied(nb: Any) -> None:
    nb["cells"] += [copy.deepcopy(cell(nb, "evidence")), copy.deepcopy(cell(nb, "answers-figures"))]


def _made_markdown(nb: Any) -> None:
    cell(nb, "answers-figures")["cell_type"] = "markdown"


def _one_string_sources(nb: Any) -> None:
    for c in nb["cells"]:
        c["source"] = "".join(c["source"])


def _odd_cells(nb: Any) -> None:
    nb["cells"] += [None, 3, {}, {"metadata": None}, {"metadata": {"nbgrader": 3}, "source": {"a": 1}, "outputs": 7},
                    {"metadata": {"nbgrader": {"grade_id": ["list"]}}}]  # fmt: skip


@pytest.mark.parametrize(
    "change", [_moved, _locked_edited, _grade_cells_deleted, _grade_cell_copied, _made_markdown, _one_string_sources, _odd_cells]
)  # fmt: skip
def test_nothing_but_answers_matters(lab: LabSource, change: Any) -> None:
    """Moved, edited, deleted, copied cells give the very notebook that the honest one gives."""
    notebook = filled()
    change(notebook)
    reading = read_notebook(raw(notebook), lab)
    honest = read_notebook(raw(filled()), lab)
    assert reading.answers == honest.answers and reading.state == "whole"
    assert rebuild_notebook(lab, reading) == rebuild_notebook(lab, honest)


def test_rebuilt_is_a_valid_notebook_with_our_points(lab: LabSource) -> None:
    notebook = filled()
    cell(notebook, "reflection")["source"] = "I would test the meter first."
    _locked_edited(notebook)
    rebuilt = rebuild_notebook(lab, read_notebook(raw(notebook), lab))
    nbformat.validate(nbformat.from_dict(rebuilt))
    assert cell(rebuilt, "evidence")["source"] == "# Marked after you hand in."
    assert cell(rebuilt, "evidence")["metadata"] == cell(lab.notebook, "evidence")["metadata"]
    assert cell(rebuilt, "reflection")["source"] == "I would test the meter first."


def test_two_different_answer_cells(lab: LabSource) -> None:
    notebook = filled()
    other = copy.deepcopy(cell(notebook, "answers-figures"))
    other["source"] = "%%answers\ncurrent = 99 A"
    notebook["cells"].append(other)
    reading = read_notebook(raw(notebook), lab)
    assert "12.5" in reading.text and "99" not in reading.text
    assert "2 times" in reading.problems[0]


def test_blank_copy_before_the_filled_one(lab: LabSource) -> None:
    notebook = filled()
    notebook["cells"].insert(0, copy.deepcopy(cell(lab.notebook, "answers-figures")))
    reading = read_notebook(raw(notebook), lab)
    assert "12.5" in reading.text and reading.problems == ()


def test_answers_in_a_cell_of_their_own(lab: LabSource) -> None:
    notebook = filled()
    for name in ("answers-figures", "answers-report"):
        cell(notebook, name)["metadata"] = {}
    reading = read_notebook(raw(notebook), lab)
    assert "12.5" in reading.text and "element open" in reading.text
    assert any("isn't the lab's answer cell" in p for p in reading.problems)


def test_truncated_keeps_the_cells_before_the_cut(lab: LabSource) -> None:
    data = raw(filled())
    cut = data.index(b"Write here.")
    reading = read_notebook(data[:cut], lab)
    assert reading.state == "salvaged" and "element open" in reading.text
    assert "damaged (line 1)" in reading.problems[0]


@pytest.mark.parametrize("data", [b"", b"  \n", b"not json", b"[]", b"3", b'{"cells": 3}', b'{"cells": [', b"[" * 200_000])
def test_unreadable(lab: LabSource, data: bytes) -> None:
    reading = read_notebook(data, lab)
    assert reading.state == "unreadable" and len(reading.problems) == 1 and not reading.answers


def test_other_notebook_and_limits(lab: LabSource) -> None:
    assert read_notebook(b'{"cells": [], "nbformat": 4}', lab).state == "other"
    assert read_notebook(b" " * (50 * 1024 * 1024 + 1), lab).state == "too big"
    assert read_notebook(raw({"cells": [{}] * 2001}), lab).state == "too big"
    notebook = filled(figures="current = 1\n" * 20_000)
    reading = read_notebook(raw(notebook), lab)
    assert len(reading.answers["answers-figures"]) <= 100_000 and "too long" in reading.problems[0]


def test_old_format_and_odd_encodings(lab: LabSource) -> None:
    cells = [{**c, "input": c["source"]} for c in filled()["cells"]]
    for c in cells:
        c.pop("source")
    assert "12.5" in read_notebook(raw({"worksheets": [{"cells": cells}], "nbformat": 3}), lab).text
    text = json.dumps(filled())
    assert "12.5" in read_notebook(text.encode("utf-16"), lab).text
    assert "12.5" in read_notebook(b"\xef\xbb\xbf" + text.encode(), lab).text
    odd = json.dumps(filled(report="diagnosis = d\xe9faut"), ensure_ascii=False).encode("cp1252")
    assert "défaut" in read_notebook(odd, lab).text


def test_copy_in_output(lab: LabSource) -> None:
    notebook = filled()
    first = {"output_type": "display_data", "data": {HAND_IN_MIME: {"order": "old"}}, "metadata": {}}
    cell(notebook, "hand-in")["outputs"] = [first, {**first, "data": {HAND_IN_MIME: json.dumps({"order": "new"})}}]
    assert read_notebook(raw(notebook), lab).copy == {"order": "new"}
    cell(notebook, "hand-in")["outputs"] = [{**first, "data": {HAND_IN_MIME: "{broken"}}]
    assert read_notebook(raw(notebook), lab).copy is None


@settings(max_examples=150)
@given(data=st.data())
def test_a_notebook_cut_anywhere_never_raises(lab: LabSource, data: st.DataObject) -> None:
    whole = raw(filled())
    cut = data.draw(st.integers(0, len(whole)))
    noise = data.draw(st.binary(max_size=5))
    reading = read_notebook(whole[:cut] + noise + whole[cut + data.draw(st.integers(0, 9)) :], lab)
    assert reading.state in ("whole", "salvaged", "unreadable", "other")
    rebuild_notebook(lab, reading)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3)
    | st.dictionaries(st.sampled_from(["cells", "metadata", "nbgrader", "grade_id", "source", "outputs", "data"]), inner),
    max_leaves=12,
)  # fmt: skip


@given(value=json_values)
def test_any_json_never_raises(lab: LabSource, value: Any) -> None:
    read_notebook(raw(value), lab)
    read_notebook(raw({"cells": [value]}), lab)


def test_bad_sources_are_named(tmp_path: Path) -> None:
    path = write_lab(tmp_path / "lab03.ipynb")
    notebook = json.loads(path.read_text(encoding="utf-8"))
    notebook["cells"].append(cell(notebook, "answers-report"))
    path.write_text(json.dumps(notebook), encoding="utf-8")
    with pytest.raises(NotebookError, match=r"cell 12: the grade id 'answers-report' stands twice"):
        read_lab_source(path)
    path.write_text('{"cells": []}', encoding="utf-8")
    with pytest.raises(NotebookError, match="no cell is marked"):
        read_lab_source(path)
    with pytest.raises(NotebookError, match="Build the exercises"):
        read_lab_source(tmp_path / "none.ipynb")
