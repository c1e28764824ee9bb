"""Can a learner do at a lesson's bench what its text asks for, and does a lesson's technician work safely?"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tankside.bench import bench
from tankside.bench.actions import Result
from tankside.heater.gas import has_gas
from tankside.heater.model import load_model
from tankside.heater.unit import make_unit
from tankside.lessons import ohm_watt, safety, twelve_volt, worked
from tankside.lessons.ignition_example import ignition_example

COURSE = Path(__file__).parents[2] / "course"
TRIES = re.compile(r"## Try it yourself\n(.*?)\n## ", re.DOTALL)
BENCH = re.compile(r'lesson_bench\("[\w-]+"(?:, "(\w+)")?')


def benches() -> list[tuple[str, str, str]]:
    """Each lesson's benches: the lesson, the text before the bench, the heater's model."""
    found = []
    for path in sorted(COURSE.glob("[0-9]*.md")):
        part = TRIES.search(path.read_text(encoding="utf-8"))
        if part is None:
            continue
        at = 0
        for shown in BENCH.finditer(part[1]):
            found.append((path.stem, part[1][at : shown.start()], shown[1] or "heron_6"))
            at = shown.end()
    return found


def test_there_are_benches_to_try() -> None:
    """Does the search below find the lessons' benches at all?"""
    assert len({lesson for lesson, _, _ in benches()}) >= 6


@pytest.mark.parametrize(("lesson", "words", "model"), benches())
def test_a_bench_where_one_shall_smell_has_gas_to_smell(lesson: str, words: str, model: str) -> None:
    """Where the text says "smell at ...", does the bench offer it? A heater without a gas side doesn't."""
    if re.search(r"\b[Ss]mell (at|again)\b", words):
        assert has_gas(make_unit(load_model(model))), f"{lesson}: {model} has no gas side to smell at"


@pytest.mark.parametrize(
    "example",
    [
        safety.worked, ohm_watt.worked, worked.element_example, worked.chain_example, twelve_volt.ground_example,
        ignition_example.__wrapped__,
    ],
    ids=lambda f: f"{f.__module__.split('.')[-1]}.{f.__name__}",
)  # fmt: skip
def test_no_worked_example_breaks_a_safety_rule(
    example: Callable[[], object], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The technician in a lesson's worked example: is each act safe by the bench's own rules?"""
    done: list[Result] = []
    perform = bench.perform

    def watched(*args: object) -> Result:
        done.append(perform(*args))  # type: ignore[arg-type]
        return done[-1]

    monkeypatch.setattr(bench, "perform", watched)
    example()
    assert len(done) > 5, "the example didn't work a bench"
    assert not [result.text for result in done if result.broke]
