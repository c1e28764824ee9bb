"""Does every amount come out in the system the learner chose, and does the choice last?"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankside import measures
from tankside.errors import TanksideError, UnknownNameError
from tankside.measures import KINDS, SYSTEMS, amount, choose, chosen
from tankside.units import quantity


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TANKSIDE_HOME", str(tmp_path / "mine"))
    return tmp_path / "mine"


# Conversion factors as printed in NIST SP 811 (2008), appendix B.8 (from memory; exact by definition of inch, pound and BTU_IT).
@pytest.mark.parametrize(
    ("value", "unit", "kind", "us", "si"),
    [
        (60, "degC", "temperature", "140 °F", "60 °C"),
        (10, "delta_degC", "temperature rise", "18 °F", "10 K"),
        (6, "gallon", "volume", "6.00 gal", "22.7 L"),
        (11, "inWC", "gas pressure", "11.0 in. WC", "27.4 mbar"),
        (100, "psi", "pressure", "100 psi", "6.89 bar"),
        (12000, "BTU_per_hour", "heat rate", "12,000 BTU/h", "3.52 kW"),
        (20, "pound", "mass", "20.0 lb", "9.07 kg"),
        (1, "gpg", "hardness", "1.00 gpg", "17.1 mg/L"),
    ],
)
def test_amounts(value: float, unit: str, kind: str, us: str, si: str) -> None:
    assert amount(value, unit, kind, "us") == us
    assert amount(value, unit, kind, "si") == si
    assert amount(value, unit, kind, "both") == f"{us} ({si})"


@pytest.mark.parametrize("kind", KINDS)
@given(value=st.floats(1, 1e4))
def test_both_systems_mean_the_same(kind: str, value: float) -> None:
    """Is what stands in one system, read back, what stands in the other, within the digits shown?"""
    how = KINDS[kind]
    read = {}
    for system, (unit, sign) in (("us", how.us), ("si", how.si)):
        text = amount(value, how.si[0], kind, system)
        assert text.endswith(sign)
        read[system] = quantity(float(text.removesuffix(sign).replace(",", "")), unit).to(how.si[0]).magnitude
    assert read["us"] == pytest.approx(read["si"], rel=0.012, abs=1.0 if how.places else 0.0)


def test_the_choice_lasts(home: Path) -> None:
    assert chosen() == measures.FIRST
    for system in SYSTEMS:
        choose(system)
        assert chosen() == system
        assert amount(20, "degC", "temperature") == amount(20, "degC", "temperature", system)
    (home / "measures.json").write_text("[not this", encoding="utf-8")
    assert chosen() == measures.FIRST


def test_what_cannot_be_written_or_chosen(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(UnknownNameError):
        choose("troy")
    with pytest.raises(UnknownNameError):
        amount(1, "degC", "warmth")
    with pytest.raises(ValueError, match="finite"):
        amount(float("nan"), "degC", "temperature")
    home.write_text("a file stands where the folder should be", encoding="utf-8")
    with pytest.raises(TanksideError, match="TANKSIDE_HOME"):
        choose("si")
