"""Is a quote what a workshop would work out on paper, and is a bad price list refused?"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankside.datafiles import load
from tankside.errors import DataFileError, UnknownNameError
from tankside.faults.catalogue import remedies
from tankside.heater.model import load_model, model_names
from tankside.quoting import (  # fmt: skip
    FOLDER,
    Prices,
    charged_minutes,
    load_prices,
    quote,
    quote_for,
    repair_or_replace,
    replacement,
)

ROUND = Prices(
    name="round numbers", sign="€", call_out=50, hour=60, least_minutes=30, round_minutes=15,
    parts_markup=0.5, tax=0.1, heater=({"up_to_gallons": 20, "cost": 1000, "minutes": 120},),
)  # fmt: skip


def test_by_hand() -> None:
    """50 to come, 45 min at 60 an hour, a part of p with half on top, a tenth of tax: worked on paper."""
    remedy = remedies()["replace-element"]
    worked = (50 + 45 + 1.5 * remedy.parts_cost) * 1.1
    found = quote_for(remedy, 0.0, ROUND)
    assert 30 < remedy.minutes <= 45
    assert found.minutes == 45
    assert found.total == pytest.approx(worked, abs=0.005)
    assert replacement(load_model("heron_6"), ROUND).total == pytest.approx((50 + 120 + 1500) * 1.1)


@pytest.mark.parametrize(("minutes", "charged"), [(0, 30), (30, 30), (30.1, 45), (45, 45), (61, 75)])
def test_minutes(minutes: float, charged: float) -> None:
    assert charged_minutes(minutes, ROUND) == charged


@given(st.lists(st.sampled_from(sorted(remedies())), max_size=4), st.floats(0, 300))
def test_laws(done: list[str], testing: float) -> None:
    """Does more work never cost less, do the lines add up, and is one visit never dearer than two?"""
    found = quote(done, testing)
    assert found.total == pytest.approx(sum(line.amount for line in found.lines), abs=0.006)
    assert quote(done, testing + 20).total >= found.total
    one_by_one = sum(quote([name]).total for name in done) + quote([], testing).total
    assert found.total <= one_by_one + 0.01


def test_every_model_and_remedy_has_a_price() -> None:
    for name in model_names():
        assert replacement(load_model(name)).total > load_prices().call_out
    for remedy in remedies().values():
        assert quote_for(remedy).total > 0


def test_repair_or_replace() -> None:
    """A quarter of the price for a tenth of the life is no bargain; half the price for most of it is."""
    new = replacement(load_model("heron_6"), ROUND)
    cheap = quote([], 0, ROUND)
    assert repair_or_replace(cheap, 1.0, new, 10.0).better == (
        "repair" if cheap.total * 10 < new.total else "replace"
    )
    assert repair_or_replace(cheap, 0.0, new, 10.0).better == "replace"
    assert repair_or_replace(cheap, 9.0, new, 10.0).better == "repair"
    for bad in (-1.0, math.nan, math.inf):
        with pytest.raises(ValueError, match="years_repaired"):
            repair_or_replace(cheap, bad, new, 10.0)
    with pytest.raises(ValueError, match="years_new"):
        repair_or_replace(cheap, 1.0, new, 0.0)


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [("hour = 96.00", "hour = -1", "hour"), ("tax = 0.07", "tax = 7", "tax"), ("up_to_gallons = 7\n", "up_to_gallons = 12\n", "order"),
     ("sign = ", "sing = ", "sign"), ("round_minutes = 15", "round_minutes = 0", "round_minutes")],
)  # fmt: skip
def test_bad_price_lists(old: str, new: str, key: str, tmp_path: Path) -> None:
    text = (FOLDER / "workshop.toml").read_text(encoding="utf-8")
    assert old in text
    file = tmp_path / "mine.toml"
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(DataFileError, match=key):
        load(file, Prices)


def test_bad_requests() -> None:
    with pytest.raises(UnknownNameError, match="remedy"):
        quote(["hit-it"])
    with pytest.raises(UnknownNameError, match="price list"):
        load_prices("cheap")
    with pytest.raises(ValueError, match="testing_minutes"):
        quote([], -1)
    small = ROUND.model_copy(update={"heater": (ROUND.heater[0].model_copy(update={"up_to_gallons": 2.0}),)})
    with pytest.raises(ValueError, match="ends at 2 gal"):
        replacement(load_model("heron_6"), small)
