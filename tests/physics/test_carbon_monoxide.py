"""Carbon monoxide: the teaching model's directions and ends, the room's closed form, the published limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tankside.errors import UnknownNameError
from tankside.physics.carbon_monoxide import (
    CO_SHARE,
    air_free_monoxide_si,
    limits,
    monoxide_made,
    room_monoxide,
    room_monoxide_si,
    unburnt_carbon_si,
    within_limit,
)
from tankside.physics.combustion import ultimate_co2
from tankside.physics.combustion_heat import equilibrium_si
from tankside.physics.fuels import fuel
from tankside.units import quantity
from tests.published import row

PROPANE = fuel("propane")
names = st.sampled_from(["propane", "butane", "methane", "natural gas"])


@pytest.mark.parametrize(
    ("id", "limit"),
    [
        ("co-osha-pel", "OSHA PEL"),
        ("co-niosh-rel", "NIOSH REL"),
        ("co-niosh-ceiling", "NIOSH ceiling"),
        ("co-acgih-tlv", "ACGIH TLV"),
        ("co-limit-vented-heating", "vented heating equipment"),
        ("co-limit-water-heater", "residential water heater"),
    ],
)
def test_published_limits(id: str, limit: str) -> None:
    """Are all the limits that disagree there, each with its figure and a source?"""
    assert row("combustion", id).agrees(limits()[limit].ppm)
    assert limits()[limit].source and limits()[limit].status == row("combustion", id).status
    assert within_limit(quantity(limits()[limit].ppm, "ppm"), limit)
    assert not within_limit(quantity(limits()[limit].ppm + 1, "ppm"), limit)


@given(names, st.floats(-0.6, 3), st.floats(0.01, 1), st.floats(0, 0.5), st.floats(0.01, 0.5))
def test_model_is_monotone_and_bounded(
    name: str, excess: float, spread: float, quench: float, more: float
) -> None:
    """Less air, poorer mixing, more quenching: never less CO; never below none or above all the carbon."""
    one = fuel(name)
    base = unburnt_carbon_si(one, excess, spread, quench)
    assert 0 <= base <= 1
    assert unburnt_carbon_si(one, excess - more, spread, quench) >= base - 1e-12
    assert unburnt_carbon_si(one, excess, spread + more, quench) >= base - 1e-12
    assert unburnt_carbon_si(one, excess, spread, min(quench + more, 1.0)) >= base - 1e-12
    assert (
        0
        <= air_free_monoxide_si(one, excess, spread, quench) * 100
        <= ultimate_co2(one).magnitude * (1 + 1e-12)
    )


@pytest.mark.parametrize("equivalence", [1.05, 1.1, 1.2, 1.3])
def test_well_mixed_rich_flame_lies_near_equilibrium(equivalence: float) -> None:
    """What the model is fitted to: CO over carbon of propane's flue gas at 1500 K (checked against cantera), within 15 %."""
    _, x = equilibrium_si(PROPANE, equivalence, 1500.0)
    share = float(x["CO"] / (x["CO"] + x["CO2"]))
    assert float(unburnt_carbon_si(PROPANE, 1 / equivalence - 1, 0.001, 0.0)) == pytest.approx(
        share, rel=0.15
    )


@pytest.mark.parametrize("temperature", [1300.0, 1500.0, 1700.0])
def test_share_of_monoxide(temperature: float) -> None:
    """Does CO's stated share lie in the range that its source line states?"""
    _, x = equilibrium_si(PROPANE, np.array([1.02, 1.1, 1.3, 1.5]), temperature)
    share = x["CO"] / (x["CO"] + x["H2"])
    assert np.all((share > 0.495) & (share < 0.715)) and 0.495 < CO_SHARE < 0.715


def test_clean_and_starved() -> None:
    """A good flame stays under every flue limit, a starved one breaks them all: the model's purpose."""
    clean, starved = monoxide_made(PROPANE, 0.5), monoxide_made(PROPANE, 0.05, spread=0.3)
    flue = [limit.ppm for limit in limits().values() if limit.kind == "flue"]
    assert clean.magnitude < min(flue) < max(flue) < starved.magnitude


@pytest.mark.parametrize("changes", [0.0, 1e-6, 0.3, 5.0])
def test_room_against_integration(changes: float) -> None:
    """The closed form against scipy's integration of dC/dt = G/V - n (C - C_out)."""
    source, volume, n, start, outside = 2e-3 / 3600, 25.0, changes / 3600, 3e-5, 1e-6
    times = np.linspace(0, 6 * 3600, 7)
    run = solve_ivp(
        lambda t, c: source / volume - n * (c - outside),
        (0, times[-1]),
        [start],
        t_eval=times,
        rtol=1e-10,
        atol=1e-14,
    )
    assert room_monoxide_si(source, volume, n, times, start, outside) == pytest.approx(run.y[0], rel=1e-7)


@given(st.floats(0.001, 10), st.floats(5, 200), st.floats(0.01, 20), st.floats(0, 48), st.floats(0.1, 10))
def test_room_directions(litres: float, volume: float, changes: float, hours: float, more: float) -> None:
    """More time never less, more air never more, and never above the steady state G/(n V)."""
    args = (quantity(litres, "L/hour"), quantity(volume, "m**3"))
    base = room_monoxide(*args, quantity(changes, "1/hour"), quantity(hours, "hour")).magnitude
    assert (
        room_monoxide(*args, quantity(changes, "1/hour"), quantity(hours + more, "hour")).magnitude
        >= base - 1e-9
    )
    assert (
        room_monoxide(*args, quantity(changes + more, "1/hour"), quantity(hours, "hour")).magnitude
        <= base + 1e-9
    )
    assert base <= 1e3 * litres / (volume * changes) * (1 + 1e-6)


@pytest.mark.parametrize(
    "call",
    [
        lambda: monoxide_made(PROPANE, -0.9),
        lambda: monoxide_made(PROPANE, math.nan),
        lambda: monoxide_made(PROPANE, 0.5, spread=2),
        lambda: room_monoxide(
            quantity(1, "L"), quantity(20, "m**3"), quantity(1, "1/hour"), quantity(1, "hour")
        ),
        lambda: within_limit(quantity(math.nan, "ppm"), "OSHA PEL"),
    ],
)
def test_out_of_range(call: object) -> None:
    """Refused with what would be right?"""
    with pytest.raises(ValueError, match="expected"):
        call()  # type: ignore[operator]


def test_unknown_limit() -> None:
    """Does a limit that isn't there name those that are?"""
    with pytest.raises(UnknownNameError, match="NIOSH"):
        within_limit(quantity(10, "ppm"), "NIOSH")
