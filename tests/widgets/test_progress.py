"""Does the rule of what fades hold whatever was done, and is no result ever lost?"""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankside.errors import TanksideError
from tankside.practice_screen import progress
from tankside.widgets.progress import (
    DAYS,
    ProgressStore,
    Result,
    from_text,
    kept_here,
    merged,
    next_up,
    standing,
    to_text,
)
from tankside.widgets.quiz import self_check

DAY = timedelta(days=1)
START = datetime(2030, 1, 1, tzinfo=UTC)
MOMENTS = st.floats(min_value=0, max_value=400).map(lambda d: START + timedelta(days=d))
RESULTS = st.lists(
    st.builds(
        lambda at, item, good: Result(at.isoformat(timespec="microseconds"), item, good),
        MOMENTS,
        st.sampled_from(["a", "b"]),
        st.booleans(),
    ),
    max_size=30,
)


def done(*days: tuple[float, bool]) -> list[Result]:
    return [
        Result((START + timedelta(days=d)).isoformat(timespec="microseconds"), "a", good) for d, good in days
    ]


def test_the_rule_by_hand() -> None:
    """Worked out on paper from the rule's four sentences: is every box and every due day as written?"""
    steps = [(0, True), (1, True), (4, True), (11, True), (25, True), (55, True)]
    wanted = [(1, 1), (2, 4), (3, 11), (4, 25), (5, 55), (5, 85)]
    for n, (box, due) in enumerate(wanted, 1):
        row = standing("a", done(*steps[:n]), START + due * DAY - timedelta(hours=1))
        assert (row.box, row.due) == (box, START + due * DAY)
        assert row.state == ("mastered" if box == 5 else "holds")
        assert standing("a", done(*steps[:n]), START + due * DAY).state == "fades"
    early = standing("a", done((0, True), (0.5, True), (0.9, True)), START)
    assert (early.box, early.due) == (1, START + DAY), "too early: it proves nothing new"
    wrong = standing("a", done(*steps, (60, False)), START + 60 * DAY)
    assert (wrong.box, wrong.due) == (1, START + 61 * DAY)
    missed = standing("a", done((0, True), (1, False)), START + DAY)
    assert (missed.box, missed.state) == (1, "missed"), "what went wrong last time doesn't hold"
    assert standing("a", done((0, True), (1, False), (1.1, True)), START + 1.2 * DAY).state == "holds"
    assert standing("a", done((0, False)), START).box == 1
    assert standing("b", done((0, True)), START).state == "new"


@given(RESULTS, MOMENTS)
def test_whatever_was_done(results: list[Result], now: datetime) -> None:
    """Is a box 1 to 5 (0 for nothing), due its days after some result, and the state what the clock says?"""
    row = standing("a", results, now)
    mine = [r for r in results if r.item == "a"]
    if not mine:
        assert (row.box, row.due, row.state) == (0, None, "new")
        return
    assert 1 <= row.box <= len(DAYS) and row.due is not None
    set_by = row.due - timedelta(days=DAYS[row.box - 1])
    assert any(abs(datetime.fromisoformat(r.at) - set_by) < timedelta(seconds=1) for r in mine)
    assert (row.state == "fades") == (now >= row.due)
    assert (row.state == "mastered") == (now < row.due and row.box == len(DAYS))


@given(RESULTS, st.randoms(use_true_random=False), MOMENTS)
def test_order_and_doubles_dont_matter(results: list[Result], shuffle: Any, now: datetime) -> None:
    """Do the same results in another order, some of them twice, give the same standing?"""
    mixed = [*results, *results[::2]]
    shuffle.shuffle(mixed)
    assert standing("a", mixed, now) == standing("a", results, now)


@given(RESULTS, MOMENTS)
def test_a_wrong_answer_never_moves_on(results: list[Result], now: datetime) -> None:
    """After a wrong one last of all: is it box 1, due a day later?"""
    last = Result((START + 500 * DAY).isoformat(timespec="microseconds"), "a", False)
    row = standing("a", [*results, last], now)
    assert (row.box, row.due) == (1, START + 501 * DAY)


@given(RESULTS, RESULTS, RESULTS)
def test_putting_files_together(a: list[Result], b: list[Result], c: list[Result]) -> None:
    """Is a merge the same in any order and any grouping, done twice the same as once, and without loss?"""
    assert merged(a, b) == merged(b, a)
    assert merged(merged(a, b), c) == merged(a, merged(b, c))
    assert merged(a, a) == merged(a)
    assert set(merged(a, b)) == set(a) | set(b)
    assert merged(from_text(to_text(a)), b) == merged(a, b)


@given(RESULTS, MOMENTS)
def test_what_comes_next(results: list[Result], now: datetime) -> None:
    """Does everything that fades come before everything new, the longest overdue for its box first, and nothing else?"""
    rows = [standing(item, results, now) for item in ("a", "b", "c")]
    told = next_up(rows, now)
    assert {r.item for r in told} == {r.item for r in rows if r.state in ("fades", "new")}
    states = [r.state for r in told]
    assert states == sorted(states, key=["fades", "new"].index)
    late = [(now - r.due) / DAYS[r.box - 1] for r in told if r.state == "fades" and r.due]
    assert late == sorted(late, reverse=True)


def test_two_notebooks_write_by_turns(tmp_path: Path) -> None:
    """Does each find what the other wrote, with nothing left beside the file?"""
    one, two = (
        ProgressStore(tmp_path / "p" / "progress.json"),
        ProgressStore(tmp_path / "p" / "progress.json"),
    )
    for n in range(5):
        (one if n % 2 else two).add("a", True, now=START + n * DAY)
    assert len(one.results()) == len(two.results()) == 5
    assert [p.name for p in (tmp_path / "p").iterdir()] == ["progress.json"]


def test_there_and_back(tmp_path: Path) -> None:
    """Does an export taken in on another machine add what is new once, and never take anything away?"""
    home, away = ProgressStore(tmp_path / "home.json"), ProgressStore(tmp_path / "away.json")
    home.add("a", True, "note", START)
    away.add("b", False, now=START)
    assert away.take_in(home.export()) == 1
    assert away.take_in(home.export()) == 0
    assert home.take_in(away.export()) == 1
    assert home.results() == away.results() and len(home.results()) == 2


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", "null", "7", '{"tankside progress": 2, "results": []}', '{"tankside progress": 1, "results": 7}',
     '{"tankside progress": 1, "results": [7]}', "[" * 100_000, "x" * 1_000_000,
     '{"tankside progress": 1, "results": [{"at": "yesterday", "item": "a", "good": true}]}',
     '{"tankside progress": 1, "results": [{"at": "2030-01-01T00:00:00", "item": "a", "good": true}]}',
     '{"tankside progress": 1, "results": [{"at": "2030-01-01T00:00:00+00:00", "item": "a", "good": "yes"}]}'],
    ids=str,
)  # fmt: skip
def test_a_file_that_is_none(tmp_path: Path, text: str) -> None:
    """Is it refused with a sentence, with what was there left as it was; and as the kept file put aside, not lost?"""
    store = ProgressStore(tmp_path / "progress.json")
    store.add("a", True, now=START)
    before = store.path.read_text(encoding="utf-8")
    page = progress(tmp_path)
    answer = page.receive({"do": "take in", "text": text})
    assert not answer["ok"] and "progress file" in answer["text"] and len(answer["text"]) < 200
    assert store.path.read_text(encoding="utf-8") == before
    store.path.write_text(text, encoding="utf-8")
    assert store.results() == [] and "kept as progress-before-1.json" in store.trouble
    assert (tmp_path / "progress-before-1.json").read_text(encoding="utf-8") == text
    assert len(ProgressStore(tmp_path / "progress.json").results()) == 0


@pytest.mark.parametrize(
    "content", [None, 7, [], {}, {"do": "dance"}, {"do": "take in"}, {"do": "take in", "text": 7}]
)
def test_messages_that_make_no_sense(tmp_path: Path, content: Any) -> None:
    """Is a broken message answered in words?"""
    assert progress(tmp_path).receive(content)["ok"] is False


def test_the_page(tmp_path: Path) -> None:
    """Are the page's figures those of the rule, and is a thing that no list names shown all the same?"""
    store = ProgressStore(tmp_path / "progress.json")
    now = datetime.now(UTC)
    store.add("call-out/gas/1", True, now=now - 6 * DAY)
    store.add("call-out/mains/1", True, now=now)
    store.add("question/ohm_watt/which-way", False, now=now - 3 * DAY)
    page = progress(tmp_path).page
    counts = {state: number for state, number, _ in page["counts"]}
    assert (counts["fades"], counts["holds"], counts["mastered"]) == (2, 1, 0)
    assert [row["name"] for row in page["next"][:2]] == ["Gas, easy", "Ohm watt: which way"]
    assert page["next"][0]["why"] == "It fades. It has been due for 5 days."
    assert [len(box["cards"]) for box in page["boxes"]] == [3, 0, 0, 0, 0]


def test_first_answers_are_kept(tmp_path: Path) -> None:
    """Does a question's first choice go to the store, a second one not; and outside a notebook nothing at all?"""
    store = ProgressStore(tmp_path / "progress.json")
    widget = self_check("ohm_watt", 2, "seed")
    assert widget.store is None and kept_here() is None
    widget.store = store
    order = widget.round.question(0)[1]
    widget.receive({"do": "choose", "choice": order.index(1)})
    widget.receive({"do": "choose", "choice": order.index(0)})
    widget.receive({"do": "next"})
    widget.receive({"do": "choose", "choice": widget.round.question(1)[1].index(0)})
    names = [f"question/ohm_watt/{widget.round.question(i)[0].id}" for i in (0, 1)]
    assert [(r.item, r.good) for r in store.results()] == [(names[0], False), (names[1], True)]


def test_a_store_that_cant_be_written(tmp_path: Path) -> None:
    """Is that said in a sentence, while the question is still answered?"""
    (tmp_path / "file").write_text("", encoding="utf-8")
    store = ProgressStore(tmp_path / "file" / "progress.json")
    with pytest.raises(TanksideError, match="TANKSIDE_HOME"):
        store.add("a", True)
    widget = self_check("ohm_watt", 1, "seed")
    widget.store = store
    widget.receive({"do": "choose", "choice": widget.round.question(0)[1].index(0)})
    assert widget.quiz["verdict"] == "Right." and "can't be kept" in widget.quiz["note"]
    assert json.loads(to_text([])) == {"tankside progress": 1, "results": []}
