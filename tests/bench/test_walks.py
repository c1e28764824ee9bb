"""Whatever anyone does at the bench, possible or not: does the log hold, and does a refusal leave everything as it was?"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.bench import Bench, replay
from tankside.bench.log import LOG_NAME
from tankside.bench.rules import RULES
from tankside.diagnosis.candidates import candidates
from tankside.errors import BenchError, UnknownNameError
from tankside.heater.model import load_model, model_names
from tankside.labs import load_lab
from tankside.workorder import WorkOrder
from tests.orders import OPEN_ALL, SAFE, Entry, lines, order_hiding
from tests.strategies import Step, fitting_faults, walks

FAULTS = load_lab("lab03").faults


def readings(entry: Entry) -> list[dict[str, object]]:
    """Every display in a line."""
    result = entry["result"]
    alone = [result["reading"]] if "reading" in result else []
    return alone + [item["reading"] for item in result.get("readings", [])]


@given(st.sampled_from(FAULTS), st.integers(1, 2), st.sampled_from([[], OPEN_ALL, SAFE]), walks(most=30))
@settings(max_examples=50)
def test_a_walk_holds(fault: str, number: int, first: list[Step], walk: list[Step]) -> None:
    """On the mains heater: what holds for every walk?"""
    check_walk(order_hiding(fault, number), [*first, *walk])


@pytest.mark.parametrize("model", [name for name in model_names() if name != "heron_6"])
@given(st.data())
@settings(max_examples=8)
def test_a_walk_holds_elsewhere(model: str, data: st.DataObject) -> None:
    """On every other heater, covers off or not: the same?"""
    found = load_model(model)
    fault = data.draw(st.sampled_from(fitting_faults(found)))
    covers: list[Step] = [("open cover", {"place": p.id}) for p in found.places.values() if p.cover]
    first = data.draw(st.sampled_from([[], covers]))
    check_walk(order_hiding(fault, 1, "lab03", model), [*first, *data.draw(walks(most=20, model=model))])


def check_walk(order: WorkOrder, walk: list[Step]) -> None:
    """Done again on one heater and on the batch that marking uses: no finding, and the same readings and rules?"""
    bench = Bench(order)
    for verb, args in walk:
        before = bench.view()
        values = {key: array.copy() for key, array in bench.state.unit.values.items()}
        refused = ""
        try:
            bench.do(verb, **args)
        except (BenchError, UnknownNameError) as error:
            refused = str(error)
        if refused:
            assert 5 < len(refused) < 1500
            assert bench.view() == before
            assert all((bench.state.unit[key] == array).all() for key, array in values.items())
    log = lines(bench.entries)
    alone = replay(order, log)
    assert alone.findings == [] and alone.entries == bench.entries
    left = candidates(order, log)
    assert left.replay is not None
    assert left.replay.findings == [], left.replay.findings
    assert [readings(e) for e in left.replay.entries] == [readings(e) for e in bench.entries]
    rules = [(e["seq"], rule) for e in bench.entries for rule in e["result"].get("broke", [])]
    assert left.replay.broke == alone.broke == rules and {rule for _, rule in rules} <= set(RULES)
    # Soundness and monotonicity of the candidate set, on the same walks.
    assert order.case().fault.id in left.now
    sizes = [len(left.at_first), *(len(now) for now in left.history)]
    assert sizes == sorted(sizes, reverse=True)


@given(st.sampled_from(FAULTS), walks(least=5, most=20), st.integers(0, 20))
@settings(max_examples=25)
def test_a_walk_taken_up(fault: str, walk: list[Step], stop: int) -> None:
    """Closed in the middle and opened again from the file: does the walk end just as without the break?"""
    order = order_hiding(fault)
    with TemporaryDirectory() as folder:
        file = Path(folder) / LOG_NAME
        broken, whole = Bench(order, file), Bench(order)
        for k, (verb, args) in enumerate(walk):
            if k == stop:
                broken = Bench(order, file)
            for bench in (broken, whole):
                with suppress(BenchError, UnknownNameError):
                    bench.do(verb, **args)
        assert broken.entries == whole.entries
        assert broken.view() == whole.view()
        for key, array in whole.state.unit.values.items():
            assert np.array_equal(array, broken.state.unit[key]), key
