"""Tanks against scipy's integrator, their closed forms and the published rows."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal, localcontext

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tankside.physics import ratings, tank_heat
from tankside.units import quantity, registry
from tests.published import row

TANK = st.fixed_dictionaries(
    {
        "start": st.floats(275, 350),
        "capacity": st.floats(2e4, 5e5),
        "power": st.floats(0, 5000),
        "loss": st.floats(0, 20),
        "ambient": st.floats(260, 310),
        "draw": st.floats(0, 800),
        "inlet": st.floats(275, 300),
    }
)
NO_LOSS = quantity(0, "W/delta_degC")


Balance = Callable[[float, Sequence[float]], list[float]]


def random_tanks(count: int) -> Iterator[tuple[bool, float, float, tuple[float, ...]]]:
    """(reachable, target, how long to watch, kernel arguments): heating, cooling, drawing, without losses too."""
    draw_from = random.Random(20)
    for index in range(count):
        start, ambient, inlet = (draw_from.uniform(a, b) for a, b in ((278, 330), (265, 308), (276, 298)))
        capacity, power = draw_from.uniform(2e4, 4e5), draw_from.uniform(200, 5000)
        loss, draw = draw_from.uniform(0.5, 12), draw_from.choice([0.0, draw_from.uniform(1, 300)])
        arguments = (start, capacity, power, loss, ambient, draw, inlet)
        if index % 10 == 0:  # no way out: a straight line
            rise = draw_from.uniform(1, 50)
            yield (
                True,
                start + rise,
                2 * capacity * rise / power,
                (start, capacity, power, 0.0, ambient, 0.0, inlet),
            )
            continue
        if index % 4 == 1:
            arguments = (start, capacity, 0.0, loss, ambient, draw, inlet)
        settles = (arguments[2] + loss * ambient + draw * inlet) / (loss + draw)
        reachable = index % 5 != 2
        part = draw_from.uniform(0.05, 0.95) if reachable else draw_from.choice([-0.2, 1.05])
        yield reachable, start + part * (settles - start), 4 * capacity / (loss + draw), arguments


def balance(
    start: float, capacity: float, power: float, loss: float, ambient: float, draw: float, inlet: float
) -> Balance:
    """The differential equation, written here once more: temperature, and its integral."""

    def slope(_: float, y: Sequence[float]) -> list[float]:
        return [(power - loss * (y[0] - ambient) - draw * (y[0] - inlet)) / capacity, y[0]]

    return slope


def test_random_heat_ups_against_scipy() -> None:
    """solve_ivp with an event at the target: are time, temperature and mean (energies) the closed form's?"""
    reached = 0
    for reachable, target, end, arguments in random_tanks(150):

        def hits(_: float, y: Sequence[float], at: float = target) -> float:
            return y[0] - at

        solved = solve_ivp(
            balance(*arguments),
            (0, end),
            [arguments[0], 0.0],
            method="DOP853",
            events=hits,
            rtol=1e-10,
            atol=1e-9,
        )
        assert tank_heat.temperature_after_si(end, *arguments) == pytest.approx(solved.y[0, -1], abs=1e-5)
        assert tank_heat.mean_temperature_si(end, *arguments) == pytest.approx(
            solved.y[1, -1] / end, abs=1e-5
        )
        when = tank_heat.time_to_temperature_si(target, *arguments)
        assert (len(solved.t_events[0]) == 1) == reachable
        if reachable:
            reached += 1
            assert when == pytest.approx(solved.t_events[0][0], rel=1e-6, abs=1e-3)
        else:
            assert when == math.inf
    assert reached >= 100


@given(TANK, st.floats(1, 1e5))
def test_energy_balances(tank: dict[str, float], seconds: float) -> None:
    """Is heat in minus lost minus drawn what is stored, to 1e-9?"""
    after = tank_heat.temperature_after_si(seconds, **tank)
    mean = tank_heat.mean_temperature_si(seconds, **tank)
    terms = [
        tank["power"] * seconds,
        -tank["loss"] * (mean - tank["ambient"]) * seconds,
        -tank["draw"] * (mean - tank["inlet"]) * seconds,
        -tank["capacity"] * (after - tank["start"]),
    ]
    # Rounding is of temperatures near 300 K, so it goes with what a kelvin is worth.
    scale = max(map(abs, terms)) + 300 * (tank["capacity"] + (tank["loss"] + tank["draw"]) * seconds)
    assert abs(sum(terms)) <= 1e-9 * scale


@pytest.mark.parametrize("x", [1e-12, 9e-10, 1.1e-9, 1e-6, 1e-3, 9.9e-3, 1.01e-2, 0.1, 1.0, 30.0])
def test_both_ends_of_a_slow_loss(x: float) -> None:
    """Where a formula gives way to its series: are temperature and mean those of fifty decimal places?"""
    with localcontext() as context:
        context.prec = 50
        d = Decimal(x)
        decay, mean = (1 - (-d).exp()) / d, (d - 1 + (-d).exp()) / d**2
    tank = {"start": 0.0, "capacity": 1.0, "power": 1.0, "loss": x, "ambient": 0.0}
    assert tank_heat.temperature_after_si(1.0, **tank) == pytest.approx(float(decay), rel=1e-12)
    assert tank_heat.mean_temperature_si(1.0, **tank) == pytest.approx(float(mean), rel=1e-12)
    reached = tank_heat.time_to_temperature_si(float(decay), **tank)
    assert reached == pytest.approx(1.0, rel=1e-9 if x < 10 else 1e-3)


@given(TANK, st.floats(0, 5e4), st.floats(0, 5e4))
def test_two_steps_are_one(tank: dict[str, float], first: float, second: float) -> None:
    """Is a time the same in one step or two?"""
    middle = tank_heat.temperature_after_si(first, **tank)
    twice = tank_heat.temperature_after_si(second, **{**tank, "start": middle})
    assert twice == pytest.approx(tank_heat.temperature_after_si(first + second, **tank), abs=1e-7)


@given(TANK, st.floats(0.05, 0.95))
def test_time_and_temperature_are_inverses(tank: dict[str, float], part: float) -> None:
    """Does the tank have the target's temperature at the time given for it?"""
    end = tank_heat.temperature_after_si(3600.0, **tank)
    target = tank["start"] + part * (end - tank["start"])
    when = tank_heat.time_to_temperature_si(target, **tank)
    if abs(end - tank["start"]) > 1e-6:
        assert 0 <= when <= 3600.001
        assert tank_heat.temperature_after_si(when, **tank) == pytest.approx(target, abs=1e-7)


@given(TANK)
def test_what_can_never_be_is_infinite(tank: dict[str, float]) -> None:
    """Is a target beyond the settling temperature, or behind the tank, never reached - and never NaN?"""
    if tank["loss"] + tank["draw"] < 1e-3:
        return
    settles = tank_heat.settling_temperature_si(
        *(tank[k] for k in ("power", "loss", "ambient", "draw", "inlet"))
    )
    way = settles - tank["start"]
    if abs(way) > 1e-3:
        assert tank_heat.time_to_temperature_si(settles + 0.1 * way, **tank) == math.inf
        assert tank_heat.time_to_temperature_si(tank["start"] - 0.1 * way, **tank) == math.inf
    assert tank_heat.time_to_temperature_si(tank["start"], **tank) == 0.0
    assert tank_heat.temperature_after_si(1e9, **tank) == pytest.approx(
        settles, abs=max(1e-3, abs(way) * 1e-3)
    ) or (tank["loss"] + tank["draw"] < 0.05)


@given(TANK, st.floats(60, 2e4))
def test_monotonic(tank: dict[str, float], seconds: float) -> None:
    """Do more power and warmer surroundings never make the tank colder?"""
    base = tank_heat.temperature_after_si(seconds, **tank)
    assert tank_heat.temperature_after_si(seconds, **{**tank, "power": tank["power"] + 100}) > base
    assert tank_heat.temperature_after_si(seconds, **{**tank, "ambient": tank["ambient"] + 5}) >= base - 1e-9


def test_kernels_take_batches() -> None:
    """Do arrays over units give what each unit gives alone?"""
    power = np.array([0.0, 1440.0, 5000.0])
    draw = np.array([[0.0], [50.0]])
    batch = tank_heat.temperature_after_si(1800.0, 290.0, 8e4, power, 2.0, 293.0, draw, 285.0)
    assert batch.shape == (2, 3)
    for i, w in enumerate(draw[:, 0]):
        for j, p in enumerate(power):
            assert batch[i, j] == tank_heat.temperature_after_si(1800.0, 290.0, 8e4, p, 2.0, 293.0, w, 285.0)


# ---- published rows ----------------------------------------------------------------------------


def test_published_heat_up() -> None:
    """Ten gallons by 80 °F: are the minutes with 1440 W, and with a 10 000 BTU/h burner, as published?"""
    cold, volume = quantity(60, "degF"), row("water", "heat-ten-gallons").condition("volume")
    hot = cold + row("water", "heat-ten-gallons").condition("rise")
    electric, gas = row("water", "heat-up-electric"), row("water", "heat-up-gas")
    burner = gas.condition("input") * float(str(gas.given["efficiency"]))
    for published, power in ((electric, electric.condition("power")), (gas, burner)):
        wait = tank_heat.time_to_temperature(hot, cold, volume, power, NO_LOSS, cold)
        assert published.agrees(wait.to("minute").magnitude)


def test_published_recovery() -> None:
    """Recovery at 90 °F rise, electric and gas, as published?"""
    electric, gas = row("water", "recovery-electric"), row("water", "recovery-gas")
    rate = ratings.recovery_rate(electric.condition("power"), electric.condition("rise"))
    assert electric.agrees(rate.to("gallon/hour").magnitude)
    rate = ratings.recovery_rate(
        gas.condition("input"), gas.condition("rise"), float(str(gas.given["efficiency"]))
    )
    assert gas.agrees(rate.to("gallon/hour").magnitude)


def test_published_first_hour() -> None:
    """Is the part of the stored volume that counts as published?"""
    stored = ratings.first_hour_rating(quantity(1, "gallon"), quantity(0, "gallon/hour"))
    assert row("water", "first-hour-fraction").agrees(stored.to("gallon").magnitude)


def test_published_day() -> None:
    """WHAM with the laboratory's inputs: is the day's energy as published?"""
    p = row("water", "wham-day")
    energy = ratings.daily_energy(
        p.condition("volume"),
        p.condition("tank"),
        p.condition("inlet"),
        p.condition("ambient"),
        float(str(p.given["recovery_efficiency"])),
        p.condition("loss"),
        p.condition("input"),
        p.condition("density"),
        p.condition("specific_heat"),
    )
    assert p.agrees(energy.to("Btu").magnitude)


def test_day_without_draw_is_standby_and_without_loss_is_heat_over_efficiency() -> None:
    """WHAM's two ends: only standby, and only drawn heat?"""
    warm, cold, room = quantity(60, "degC"), quantity(10, "degC"), quantity(20, "degC")
    loss, power = quantity(2, "W/delta_degC"), quantity(3000, "W")
    standby = ratings.daily_energy(quantity(0, "L"), warm, cold, room, 0.8, loss, power)
    assert standby.to("kWh").magnitude == pytest.approx(2 * 40 * 24 / 1000)
    drawn = ratings.daily_energy(quantity(100, "L"), warm, cold, room, 0.5, NO_LOSS, power)
    once = ratings.daily_energy(quantity(100, "L"), warm, cold, room, 1.0, NO_LOSS, power)
    assert (drawn / once).to("dimensionless").magnitude == pytest.approx(2)
    litres, mean = 0.1, 273.15 + 35
    rho, cp = (PropsSI(key, "T", mean, "P", 101325.0, "Water") for key in ("D", "C"))
    assert once.to("J").magnitude == pytest.approx(litres * rho * cp * 50, rel=1e-3)


def test_first_hour_is_store_and_recovery() -> None:
    """Is the estimate the usable part of the tank and an hour's recovery?"""
    rating = ratings.first_hour_rating(quantity(10, "gallon"), quantity(6.5, "gallon/hour"), 0.8)
    assert rating.to("gallon").magnitude == pytest.approx(0.8 * 10 + 6.5)


def test_the_coldest_tank_binds() -> None:
    """Many units at once: is an inlet, a place or a loss refused that fits some of them only?"""
    tanks, loss, power = (
        registry().Quantity([40.0, 70.0], "degC"),
        quantity(2, "W/delta_degC"),
        quantity(1, "kW"),
    )
    cool, good = quantity(10, "degC"), (quantity(10, "L"), tanks)
    assert ratings.daily_energy(*good, cool, cool, 0.8, loss, power).shape == (2,)
    for inlet, ambient, lost in (
        (quantity(50, "degC"), cool, loss),
        (cool, quantity(50, "degC"), loss),
        (cool, cool, quantity(20, "W/delta_degC")),
    ):
        with pytest.raises(ValueError, match="expected"):
            ratings.daily_energy(*good, inlet, ambient, 0.8, lost, power)
    with pytest.raises(ValueError, match="expected -50 to 60"):
        ratings.daily_energy(
            quantity(10, "L"), quantity(90, "degC"), cool, quantity(65, "degC"), 0.8, loss, power
        )


def test_draw_alone_is_the_flow_form() -> None:
    """Is drawing 6 of 6 gallons the same by volume and by flow and time?"""
    hot, cold, volume = quantity(60, "degC"), quantity(10, "degC"), quantity(6, "gallon")
    by_volume = tank_heat.temperature_after_draw(volume, volume, hot, cold)
    by_flow = tank_heat.temperature_after(
        quantity(3, "minute"), hot, volume, quantity(0, "W"), NO_LOSS, hot, quantity(2, "gallon/minute"), cold
    )
    assert by_volume.to("degC").magnitude == pytest.approx(by_flow.to("degC").magnitude)
    assert by_volume.to("degC").magnitude == pytest.approx(10 + 50 * math.exp(-1))


def test_refusals() -> None:
    """Are a flow without inlet, an unreachable target, a leakless settling and NaN refused in one sentence?"""
    t, v, p = quantity(20, "degC"), quantity(20, "L"), quantity(1000, "W")
    hot, loss, flow = quantity(60, "degC"), quantity(2, "W/delta_degC"), quantity(1, "L/minute")
    for call in (
        lambda: tank_heat.temperature_after(quantity(1, "s"), t, v, p, loss, t, flow),
        lambda: tank_heat.time_to_temperature(hot, t, v, quantity(10, "W"), loss, t),
        lambda: tank_heat.settling_temperature(p, NO_LOSS, t),
        lambda: tank_heat.settling_temperature(p, registry().Quantity([0.0, 2.0], "W/delta_degC"), t),
        lambda: tank_heat.temperature_after(quantity(-1, "s"), t, v, p, loss, t),
        lambda: tank_heat.temperature_after(quantity(math.nan, "s"), t, v, p, loss, t),
        lambda: tank_heat.temperature_after(quantity(1, "s"), t, quantity(0, "L"), p, loss, t),
        lambda: tank_heat.temperature_after(quantity(1, "s"), t, v, quantity(-1, "W"), loss, t),
        lambda: tank_heat.temperature_after_draw(quantity(-1, "L"), v, hot, t),
        lambda: ratings.recovery_rate(p, quantity(0, "delta_degC")),
        lambda: ratings.recovery_rate(p, quantity(50, "delta_degC"), 1.2),
        lambda: ratings.first_hour_rating(v, quantity(5, "gallon/hour"), 1.5),
        lambda: ratings.daily_energy(v, hot, t, t, 0.8, quantity(100, "W/delta_degC"), p),
        lambda: ratings.daily_energy(v, t, hot, t, 0.8, loss, p),
    ):
        with pytest.raises(ValueError, match=r"expected|never"):
            call()


def test_one_tank_of_several_that_never_gets_there() -> None:
    """Of two tanks, the second too weak for its target: are both refused, rather than endless minutes given for one?"""
    hot, cold, volume = quantity(60, "degC"), quantity(15, "degC"), quantity(23, "L")
    loss = quantity(2, "W/delta_degC")
    power = registry().Quantity([1000.0, 10.0], "W")
    with pytest.raises(ValueError, match="never gets there"):
        tank_heat.time_to_temperature(hot, cold, volume, power, loss, cold)


def test_a_tank_that_hardly_loses_anything_settles_all_the_same() -> None:
    """2 W into a tank that loses 0.05 W for each kelvin: 40 K above the room, by the first law."""
    room = quantity(20, "degC")
    found = tank_heat.settling_temperature(quantity(2, "W"), quantity(0.05, "W/delta_degC"), room)
    assert found.to("degC").magnitude == pytest.approx(60.0)
