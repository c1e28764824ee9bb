"""Are all places on the table, with faults, instruments and published values, and no value forgotten?"""

from __future__ import annotations

from pathlib import Path

import pytest

from tankside.check.places import PLACES, PUBLISHED, Touches, fits, published_rows, table, touching
from tankside.check.work import prove_model
from tankside.datafiles import load
from tankside.errors import TanksideError
from tankside.faults.catalogue import faults
from tests.published import rows, subjects


def test_the_places_are_the_catalogues() -> None:
    """Are there eighteen, and does every fault sit at one of them, and every place have a fault?"""
    assert len(PLACES) == len(set(PLACES)) == 18
    assert {fault.place for fault in faults().values()} == set(PLACES)


def test_every_published_row_is_touched() -> None:
    """Is every row named by a place or put elsewhere on purpose, and does every place have hard ones?"""
    found = published_rows()
    assert set(found) == {f"{subject}/{row.id}" for subject in subjects() for row in rows(subject)}
    assert all(found[f"{subject}/{row.id}"] == row.hard for subject in subjects() for row in rows(subject))
    touches = touching()
    elsewhere = load(PUBLISHED / "touches" / "places.toml", Touches).elsewhere
    named = {row for here in touches.values() for row in here}
    spared = {row for row in found if any(fits(pattern, row) for pattern in elsewhere)}
    assert set(touches) == set(PLACES)
    assert not set(found) - named - spared, "name these in touches/places.toml: a place, or elsewhere"
    assert not named & spared
    assert all(here for here in touches.values())


def test_a_wrong_name_is_told(tmp_path: Path) -> None:
    """Is a pattern that fits nothing one sentence, and a copy without tests another?"""
    (tmp_path / "touches").mkdir()
    (tmp_path / "water.toml").write_text(
        'title = "x"\n[[row]]\nid = "mixing"\nstatus = "C"\n', encoding="utf-8"
    )
    (tmp_path / "touches" / "places.toml").write_text('elsewhere = ["watr"]\n[place]\n"orifice" = ["water"]\n', encoding="utf-8")  # fmt: skip
    with pytest.raises(TanksideError, match="'watr' fits no published row"):
        touching(tmp_path)
    with pytest.raises(TanksideError, match="aren't in this copy"):
        published_rows(tmp_path / "nowhere")


def test_the_table() -> None:
    """From one model's proof: does a row hold its place's faults, instruments that show them, and its weakest fault?"""
    proven = prove_model("dipper_6")
    with pytest.raises(ValueError, match="empty"):
        table([proven])  # a heater without an anode has no fault there: the table wants every model
    here = {s.fault: s for s in proven.faults if faults()[s.fault].place == "mains limit chain"}
    assert len(here) == 5 and all("multimeter" in " ".join(s.instruments) for s in here.values())
