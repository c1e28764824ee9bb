"""Does the demo's invented class get what its twelve people deserve, in under a minute?"""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from rich.console import Console

from tankside.errors import TanksideError
from tankside_autograder.demo import CLASS, MARKER, Demo, main, run_demo, show_demo

from .fakelab import write_lab

EXPECTED = {
    "amaro.fenn": "marked", "brisa.holt": "marked", "corin.dask": "marked", "delia.wick": "marked",
    "edda.marl": "no-bench-log", "falk.orme": "edited-log", "gita.rowe": "neighbours-order",
    "hale.tarn": "broken-notebook", "inga.voss": "notebook-only", "jory.pell": "empty", "kaya.lund": "late",
    "lior.ash": "marked",
}  # fmt: skip


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    folder = tmp_path_factory.mktemp("demo")
    write_lab(folder / "exercises" / "lab03" / "lab03.ipynb")
    return run_demo(folder / "out", Console(file=io.StringIO()), folder / "exercises", folder / "none")


def test_verdicts(demo: Demo) -> None:
    assert {row.learner: row.verdict for row in demo.report.rows} == EXPECTED


def test_good_work_earns_more_than_bad(demo: Demo) -> None:
    total = {row.learner: row.total for row in demo.report.rows if row.total is not None}
    careful, brilliant, guess = total["amaro.fenn"], total["lior.ash"], total["brisa.holt"]
    assert min(careful, brilliant) >= 80 > 60 > guess
    assert [row.learner for row in demo.report.unsafe] == ["corin.dask"]
    passed = {row.learner for row in demo.report.rows if row.passed}
    assert {"amaro.fenn", "lior.ash"} <= passed and not passed & {"brisa.holt", "corin.dask", "falk.orme", "gita.rowe"}


def test_nothing_of_another_learner_went_out(demo: Demo) -> None:
    entries = {entry.learner: entry for entry in demo.room.ledger.entries()}
    for pupil in CLASS:
        folder = demo.room.handed_out(pupil.id, "lab03")
        text = "".join(p.read_text(encoding="utf-8") for p in folder.iterdir())
        assert entries[pupil.id].token in text
        assert not any(e.token in text or who in text for who, e in entries.items() if who != pupil.id)


def test_it_says_that_it_is_invented_and_where_to_look(demo: Demo) -> None:
    out = io.StringIO()
    show_demo(demo, Console(file=out, width=200))
    text = out.getvalue()
    assert "All of it is invented" in text and all(pupil.name in text for pupil in CLASS)
    for line in text.splitlines():
        if str(demo.room.folder.parent) in line:
            assert Path(line.split(maxsplit=9)[-1] if ":" not in line else line.split(":", 1)[1].strip()).exists(), line


def test_again_and_in_a_folder_of_somebody_elses(demo: Demo, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert (demo.room.folder.parent / MARKER).is_file()
    (tmp_path / "thesis.txt").write_text("years of work", encoding="utf-8")
    with pytest.raises(TanksideError, match="no demo made"):
        run_demo(tmp_path, Console(file=io.StringIO()))
    assert main(["--folder", str(tmp_path)]) == 2
    assert (tmp_path / "thesis.txt").read_text(encoding="utf-8") == "years of work"
    assert "Name another folder" in capsys.readouterr().err
