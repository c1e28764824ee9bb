"""Does the proof of the faults say what is so: shown, by how much, and never that two alike things differ?"""

from __future__ import annotations

import numpy as np
import pytest

from tankside.case import HEALTHY
from tankside.check import apart, observations
from tankside.check.__main__ import errors_of, main
from tankside.check.apart import Distances, shown
from tankside.check.observations import OWNER, Observations, Seen, observe
from tankside.check.work import prove_all
from tankside.faults.catalogue import Fault, fault_named, faults
from tankside.heater.model import load_model


@pytest.fixture(scope="module")
def heron() -> Observations:
    """Every observation of the mains heater's faults."""
    return observe(load_model("heron_6"))


def test_every_fault_shows(heron: Observations) -> None:
    """On the mains heater: does every fault show by more than its instrument's error, and look like no other repair?"""
    found = list(shown(heron))
    scope = {f.id for f in faults().values() if f.applies_to(heron.model)} - {"no-fault"}
    assert {s.fault for s in found} == scope
    assert all(s.holds for s in found), [s for s in found if not s.holds]
    for s in found:
        assert s.fault not in s.mistaken_for
        others = [fault_named(name) for name in s.mistaken_for]
        assert all(other.remedy != fault_named(s.fault).remedy for other in others)
    assert "panel-switch-off" in next(s for s in found if s.fault == "breaker-off").mistaken_for


def test_the_distance_is_the_instruments(heron: Observations) -> None:
    """Is an observation's distance the difference of what the meter finds over its accuracy, a digit and its step?"""
    at = next(
        k
        for k, s in enumerate(heron.seen)
        if s.test == "probe element.1 element.2" and s.instrument == "multimeter, Ω"
    )
    distances = Distances(heron)
    rows = distances.rows[heron.found.names.index("element-wrong")]
    worst = rows[0]
    ohms = heron.seen[at].value
    assert ohms[distances.healthy] == pytest.approx(10.0, abs=0.05) and ohms[worst] == pytest.approx(
        13.5, abs=0.05
    )
    slack = 0.009 * ohms[worst] + 4 * 600 / 6000  # 0.9 % and 3 digits, and one digit for what is rounded off
    assert distances.from_healthy[worst, at] == pytest.approx(3.5 / slack, rel=0.01)


def of_two(one: list[float], two: list[float], slack: float) -> Observations:
    """Observations of two made-up faults: element-open at two severities, breaker-off at one, and the healthy heater."""
    model = load_model("heron_6")
    unit = observe.__globals__["variants"](
        observations.Case(model, {}, {}, fault_named("no-fault"), 0.0), ["element-open", "breaker-off"], 1
    )
    fault_of = np.array([-1, 0, 0, 1, HEALTHY])
    found = type(unit)(unit.unit, ("element-open", "breaker-off"), fault_of)
    seen = tuple(
        Seen(f"test {k}", "multimeter, Ω", "Ω", np.array([0.0, *one, b, 0.0]), np.full(5, slack))
        for k, b in enumerate(two)
    )
    return Observations(model, found, seen, np.zeros(5, dtype=int))


def test_alike_is_said() -> None:
    """Between two severities, within the error, at the healthy heater: is each told as it is?"""
    near = {s.fault: s for s in shown(of_two([5.0, 9.0], [7.0], 0.5))}
    assert near["breaker-off"].alike == ("element-open",) and not near["breaker-off"].holds
    apart_ = {s.fault: s for s in shown(of_two([5.0, 9.0], [12.0], 0.5))}
    assert apart_["breaker-off"].alike == () and apart_["breaker-off"].errors == pytest.approx(24.0)
    assert apart_["element-open"].errors == pytest.approx(10.0)  # at its least
    hidden = {s.fault: s for s in shown(of_two([0.3, 9.0], [12.0], 0.5))}
    assert hidden["element-open"].errors == pytest.approx(0.6) and not hidden["element-open"].holds


def test_a_fault_that_changes_nothing_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """With every effect of a fault nil: does the proof say that it doesn't show?"""
    real = faults()["thermostat-burnt-contact"]
    idle = real.effect[0].model_copy(update={"low": 0.02, "high": 0.02})
    nothing: Fault = real.model_copy(update={"effect": (idle,)})
    changed = {**faults(), real.id: nothing}
    for module in (observations, apart):
        for name, fake in (("faults", lambda: changed), ("fault_named", changed.__getitem__)):
            if hasattr(module, name):
                monkeypatch.setattr(module, name, fake)
    monkeypatch.setattr("tankside.case.fault_named", changed.__getitem__)
    by_name = {s.fault: s for s in shown(observe(load_model("heron_6"), 1))}
    assert not by_name[real.id].holds and by_name["element-open"].holds


def test_instruments_have_names(heron: Observations) -> None:
    """Does each observation name its instrument, and does only what is seen have no error?"""
    for seen in heron.seen:
        assert seen.instrument and seen.test
        assert (seen.slack > 0).all() == bool(seen.unit)
        assert np.isfinite(seen.value).all() and np.isfinite(seen.slack).all()
    assert heron.seen[0].instrument == OWNER


def test_one_model_needs_no_pool(capsys: pytest.CaptureFixture[str]) -> None:
    """Is one model proven in this process, with a progress line and a table; and an unknown one told?"""
    assert [p.model for p in prove_all(["heron_6"])] == ["heron_6"]
    assert main(["faults", "heron_6"]) == 0
    out = capsys.readouterr().out
    assert "1/1 heron_6" in out and "thermostat-welded" in out and "look here" not in out
    assert main(["faults", "heron_7"]) == 1
    assert "heron_6" in capsys.readouterr().out
    assert errors_of(float("inf")) == "plain" and errors_of(2.04) == "2.0"
