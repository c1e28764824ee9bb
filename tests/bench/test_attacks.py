"""Is a log that isn't what happened named for what it is, without a crash and without long waiting?"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.bench import Bench, replay
from tankside.bench.log import MAX_LINES, link
from tankside.bench.replay import MOST_ACTIONS
from tankside.edition import BENCH, edition
from tankside.labs import load_lab
from tankside.report import ServiceReport
from tankside.scoring import score
from tankside.workorder import WorkOrder
from tests.orders import SAFE, Entry, chained_again, do_all, lines, log_of, order_hiding
from tests.strategies import Step

ORDER = order_hiding("element-wrong")
NEIGHBOUR = order_hiding("element-wrong", 2).model_copy(update={"order": "TEST-OTHER"})
WORK: list[Step] = [
    ("prove meter", {}), ("probe", {"red": "supply.hot", "black": "supply.neutral"}), *SAFE,
    ("lift lead", {"wire": "W10"}), ("lift lead", {"wire": "W11"}), ("meter", {"function": "Ω"}), ("zero leads", {}),
    ("probe", {"red": "element.1", "black": "element.2"}), ("wait", {"minutes": 3}),
]  # fmt: skip
PROBE = 2
"""The line with the supply's volts."""
OHMS = len(WORK) - 1
"""The line with the element's ohms."""


def worked(order: WorkOrder) -> list[Entry]:
    bench = Bench(order)
    assert not do_all(bench, WORK)
    return copy.deepcopy(bench.entries)


HONEST = worked(ORDER)
Tamper = Callable[[list[Entry]], list[str]]


def tampered(change: Callable[[list[Entry]], object], chain: bool) -> list[str]:
    """The honest log after a change, with its chain made anew or left as it is."""
    entries = copy.deepcopy(HONEST)
    entries = change(entries) or entries  # type: ignore[assignment]
    return chained_again(entries, ORDER) if chain else lines(entries)


def edit_reading(entries: list[Entry]) -> None:
    reading = entries[OHMS]["result"]["reading"]
    reading.update(value=10.2, digits="10.2", spoken="10.2 ohms")


def edit_text(entries: list[Entry]) -> None:
    entries[OHMS]["text"] = "10.2 Ω between element terminal 1 and element terminal 2."


def hide_rule(entries: list[Entry]) -> list[Entry]:
    """A careless act, and no word of it in the log."""
    bench = Bench(ORDER)
    do_all(bench, [*SAFE[:3], *SAFE[3:6], ("lift lead", {"wire": "W10"})])
    out = copy.deepcopy(bench.entries)
    assert out[-1]["result"].pop("broke")
    return out


def wrong_order(entries: list[Entry]) -> None:
    entries[3], entries[4] = entries[4], entries[3]


def cut_out(entries: list[Entry]) -> None:
    del entries[5]


def doubled(entries: list[Entry]) -> None:
    entries.insert(5, copy.deepcopy(entries[5]))


def inserted(entries: list[Entry]) -> None:
    """A reading of the element that was never taken: the probes can't have been there yet."""
    entries.insert(3, copy.deepcopy(entries[OHMS]))


def faster(entries: list[Entry]) -> None:
    entries[OHMS + 1]["minutes"] = 0.1


def earlier(entries: list[Entry]) -> None:
    entries[OHMS]["at"] = 1.0


def other_plate(entries: list[Entry]) -> None:
    entries[0]["result"]["positions"]["breaker"] = "off"


def odd_first_line(entries: list[Entry]) -> None:
    entries[0]["result"]["broke"] = ["nonsense"]


def late_beginning(entries: list[Entry]) -> None:
    entries[0]["minutes"] = 99


def endless_minutes(entries: list[Entry]) -> None:
    entries[OHMS + 1]["args"]["minutes"] = 10**350


def huge_argument(entries: list[Entry]) -> None:
    entries[OHMS]["args"]["red"] = "element" * 2000


def argument_of_lists(entries: list[Entry]) -> None:
    entries[OHMS]["args"] = {"red": ["element.1"], "black": {"element.2": 1}}


def no_verb_of_ours(entries: list[Entry]) -> None:
    entries[OHMS]["verb"] = "begin"


def missing_fields(entries: list[Entry]) -> None:
    for key in ("text", "at", "minutes"):
        del entries[OHMS][key]


def value_as_text(entries: list[Entry]) -> None:
    entries[OHMS]["result"]["reading"]["value"] = "13"


def value_beyond_counting(entries: list[Entry]) -> None:
    entries[OHMS]["result"]["reading"]["value"] = 10**350


def surrogates(entries: list[Entry]) -> None:
    entries[OHMS]["args"]["x"] = "\ud800"


NAMED: dict[str, tuple[Callable[[list[Entry]], object], str, str]] = {
    # change, what it is called with the old chain, what it is called with the chain made anew
    "edited reading": (edit_reading, "edited", "edited"),
    "hidden rule": (hide_rule, "edited", "edited"),
    "wrong order": (wrong_order, "spliced", "impossible"),
    "line cut out": (cut_out, "spliced", "edited"),
    "line doubled": (doubled, "spliced", "impossible"),
    "reading inserted": (inserted, "spliced", "impossible"),
    "too fast": (faster, "edited", "impossible"),
    "too early": (earlier, "edited", "impossible"),
    "other beginning": (other_plate, "edited", "edited"),
    "odd first line": (odd_first_line, "edited", "edited"),
    "late beginning": (late_beginning, "edited", "impossible"),
    "endless minutes": (endless_minutes, "edited", "impossible"),
    "huge argument": (huge_argument, "edited", "impossible"),
    "lists for words": (argument_of_lists, "edited", "impossible"),
    "begins again": (no_verb_of_ours, "edited", "impossible"),
    "fields left out": (missing_fields, "edited", "impossible"),
    "value as text": (value_as_text, "edited", "edited"),
    "value beyond counting": (value_beyond_counting, "edited", "edited"),
}


def marks_of(log: list[str]) -> Any:
    return score(ORDER, ServiceReport(diagnosis="element-wrong", remedy="replace-element"), log)


@pytest.mark.parametrize("chain", [False, True], ids=["as it was", "chained again"])
@pytest.mark.parametrize("what", NAMED)
def test_named(what: str, chain: bool) -> None:
    """Is it found, called by its kind, told in a short sentence, and worth no safe working and no pass?"""
    change, plain, chained = NAMED[what]
    log = tampered(change, chain)
    done = replay(ORDER, log)
    assert done.tampered
    assert [finding.kind for finding in done.findings] == [chained if chain else plain]
    assert all(len(finding.text) < 1500 and "\n" not in finding.text for finding in done.findings)
    assert len(done.entries) == done.findings[0].seq <= len(HONEST)
    marks = marks_of(log)
    assert not marks.passed and marks.part("safe-working").points == 0


def test_the_honest_log_holds() -> None:
    """Is the log that the others are made from without finding, with all its lines?"""
    done = replay(ORDER, lines(HONEST))
    assert done.findings == [] and not done.tampered
    assert done.entries == HONEST
    assert replay(ORDER, chained_again(HONEST, ORDER)).findings == []


@pytest.mark.parametrize(("digits", "found"), [(-2, True), (-1, False), (1, False), (2, True)])
def test_the_last_digit_may_fall_the_other_way(digits: int, found: bool) -> None:
    """Is one count more or less, as another processor's rounding may give it, accepted, and two are not?"""

    def shift(entries: list[Entry]) -> None:
        reading = entries[PROBE]["result"]["reading"]
        reading["value"] = round(reading["value"] + digits * reading["full"] / 6000, 9)
        reading["digits"] = f"{reading['value']:.1f}"
        reading["spoken"] = f"{reading['digits']} volts, alternating"

    done = replay(ORDER, tampered(shift, True))
    assert done.tampered is found
    if not found:  # and what counts is what this meter shows
        assert done.entries[PROBE]["result"] == HONEST[PROBE]["result"]


def test_words_are_ours() -> None:
    """With a line's sentence rewritten and chained again: is the reader shown the sentence that is true?"""
    log = tampered(edit_text, True)
    done = replay(ORDER, log)
    assert done.entries[OHMS]["text"] == HONEST[OHMS]["text"]
    assert all("10.2" not in row["text"] for row in marks_of(log).path)
    assert replay(ORDER, tampered(edit_text, False)).findings[0].kind == "edited"


def test_surrogates() -> None:
    """Is half a character, which no file can hold, a finding like any other?"""
    assert replay(ORDER, lines(_with(surrogates))).findings[0].kind == "edited"
    escaped = [json.dumps(entry) for entry in _with(surrogates)]
    assert replay(ORDER, escaped).findings[0].kind == "edited"


def _with(change: Callable[[list[Entry]], object]) -> list[Entry]:
    entries = copy.deepcopy(HONEST)
    change(entries)
    return entries


def test_neighbours_log() -> None:
    """Is another learner's log, and one with only its order's number changed, told for what it is?"""
    theirs = worked(NEIGHBOUR)
    done = replay(ORDER, lines(theirs))
    assert done.findings[0].kind == "someone-else" and "TEST-OTHER" in done.findings[0].text
    theirs[0]["args"]["order"] = ORDER.order
    assert replay(ORDER, lines(theirs)).findings[0].kind == "edited"
    # Chained again as one's own: the first reading that this heater doesn't give tells.
    done = replay(ORDER, chained_again(theirs, ORDER))
    assert done.findings[0].kind == "edited" and done.findings[0].seq <= OHMS


def test_another_edition() -> None:
    """Is a log that another edition of the bench wrote taken as far as it fits, and its learner called no cheat?"""

    def older(entries: list[Entry]) -> None:
        entries[0]["args"]["edition"] = "0" * 12

    assert not replay(ORDER, tampered(older, True)).findings  # as long as everything reads the same
    changed = _with(older)
    edit_reading(changed)
    done = replay(ORDER, chained_again(changed, ORDER))
    assert [finding.kind for finding in done.findings] == ["other-edition"] and not done.tampered
    assert len(done.entries) == done.findings[0].seq > 0
    # Under this edition's own name the same change is what it is; so is a line that breaks the chain under any.
    changed[0]["args"]["edition"] = edition(*BENCH)
    assert replay(ORDER, chained_again(changed, ORDER)).findings[0].kind == "edited"
    assert replay(ORDER, tampered(older, False)).tampered


def test_spliced_from_a_neighbour() -> None:
    """Is one's own log with a neighbour's lines at the end found at the seam?"""
    theirs = worked(NEIGHBOUR)
    done = replay(ORDER, lines([*HONEST[:4], *theirs[4:]]))
    assert done.findings[0].seq == 4 and done.tampered


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("", "empty"),
        ("\n\n", "empty"),
        ("null", "cut"),
        ("[]", "cut"),
        ("{}", "cut"),
        ('{"verb": "begin", "args": {}, "result": {}}', "spliced"),
        ('{"verb": "begin", "args": {"order": ["x"]}, "result": {}}', "someone-else"),
        ('{"verb": "look", "args": {}, "result": {}, "seq": 0}', "spliced"),
        ('{"verb": "begin", "args": {"order": NaN}, "result": {}}', "cut"),
        ('{"verb": "begin", "args": {"order": 1e999}, "result": {}}', "someone-else"),
        ("[" * 19_000, "cut"),
        ('{"a":' * 3_000, "cut"),
        ("9" * 15_000, "cut"),
        ("\ufeff{}", "cut"),
        ("x" * 1_000_000, "cut"),
    ],
    ids=range(15),
)
def test_not_a_log(text: str, kind: str) -> None:
    """Is text that is no log at all a finding, and no exception?"""
    done = replay(ORDER, text.split("\n"))
    assert kind in [finding.kind for finding in done.findings]
    assert done.entries == []
    assert marks_of(text.split("\n")).total < 60


def deep(levels: int) -> Any:
    out: Any = 1
    for _ in range(levels):
        out = [out]
    return out


def test_deep_json_that_parses() -> None:
    """Does nesting that the parser takes, in any field, stop anything later?"""
    for levels in (50, 400, 900):
        for field in ("args", "result", "text", "seq", "at", "link"):
            entries = copy.deepcopy(HONEST)
            value = deep(levels)
            entries[3][field] = {"x": value} if field in ("args", "result") else value
            try:
                log = lines(entries)
            except RecursionError:
                continue
            assert replay(ORDER, log).findings


def test_a_hundred_thousand_lines() -> None:
    """Is a log of 100,000 lines, each one possible, cut at what a call-out can hold and told to be impossible?"""
    bench = Bench(ORDER)
    do_all(bench, [("meter", {"function": "Ω"})] * 3)
    entries = bench.entries
    while len(entries) < MAX_LINES + 5:
        entry = {**entries[-1], "seq": len(entries), "at": round(entries[-1]["at"] + 0.2, 6)}
        entry["link"] = link(entries[-1]["link"], entry)
        entries.append(entry)
    log = lines(entries)
    done = replay(ORDER, log)
    kinds = [finding.kind for finding in done.findings]
    assert kinds == ["cut", "impossible"]
    assert len(done.entries) == MOST_ACTIONS


def test_the_slowest_possible_log() -> None:
    """Is a log of 200 of the slowest actions there are marked like any other?"""
    bench = Bench(ORDER)
    do_all(bench, [("wait", {"minutes": 600}), ("run tap", {"minutes": 30})] * 100)
    log = log_of(bench)
    marks = score(ORDER, ServiceReport(), log)
    assert marks.findings == ()


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=10),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=8,
)


@given(
    st.integers(0, len(HONEST) - 1),
    st.sampled_from(["seq", "at", "minutes", "verb", "args", "result", "text", "link"]),
    JSON,
    st.booleans(),
)
@settings(max_examples=60)
def test_any_field_may_be_anything(at: int, field: str, value: Any, chain: bool) -> None:
    """Whatever a field is replaced by: does marking end with marks, and the field either not matter or get found?"""
    entries = copy.deepcopy(HONEST)
    honest = entries[at][field]
    entries[at][field] = value
    if chain and isinstance(value, str) and not value.isprintable():
        return
    try:
        log = chained_again(entries, ORDER) if chain else [json.dumps(entry) for entry in entries]
    except (ValueError, TypeError):
        return
    done = replay(ORDER, log)
    assert done.findings or value == honest or (chain and field in ("text", "seq", "link", "args"))
    marks = score(ORDER, ServiceReport(), log, load_lab("lab03"))
    assert 0 <= marks.total <= marks.out_of


@given(st.lists(st.text(max_size=60), max_size=6))
@settings(max_examples=60)
def test_any_text(texts: list[str]) -> None:
    """Does marking end with marks, whatever the lines hold?"""
    marks = score(ORDER, ServiceReport(), texts)
    assert marks.findings and marks.total < 60
