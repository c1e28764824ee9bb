"""Does a unit in time do what an independent integration of the same heater does?"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tankside.case import draw_case, variants
from tankside.faults.catalogue import faults
from tankside.heater.electrics import branch_current
from tankside.heater.model import load_model
from tankside.heater.simulation import advance, drain, draw, energise, fill, heat_into_water
from tankside.heater.unit import Unit, make_unit, site_of, spread_of
from tankside.streams import Stream
from tests.published import row
from tests.strategies import faulty_heaters

MODEL = load_model("heron_6")
UNITS = 60
LITRES = row("water", "density").pairs(), row("water", "specific-heat").pairs()
# 60 °F: lb/gal and BTU/lb °F as published, to J/K for each m³.
J_PER_K_M3 = dict(LITRES[0])[60] * dict(LITRES[1])[60] * (1055.05585 / (5 / 9)) / 3.785411784e-3
NICHROME = np.array(row("electrical", "nichrome-80-factor").pairs(), dtype=float)


def random_unit(number: int, welded: bool = False) -> Unit:
    """A healthy heater somewhere, or one whose thermostat has welded; from its number alone."""
    seed = f"{number}"
    unit = make_unit(MODEL, site_of(MODEL, Stream(seed, "site")), spread_of(MODEL, Stream(seed, "own")))
    unit.set("thermostat.welded", float(welded))
    return unit


@dataclass
class Independent:
    """The same heater as an equation for scipy: one node of water, Ohm's law for one loop, controls as events.

    It knows no network, no closed form and none of the package's tables: wires and contacts are one series
    resistance, the coil's factor comes from the published alloy table at the water's temperature all the time.
    """

    unit: Unit
    at: list[float] = field(default_factory=list)
    temperature: list[float] = field(default_factory=list)
    switched: list[float] = field(default_factory=list)
    limit: bool = False

    def __post_init__(self) -> None:
        u = {key: float(value[0]) for key, value in self.unit.values.items()}
        self.u = u
        series = ["supply.hot_resistance", "supply.neutral_resistance", "link_bar.resistance"]
        series += ["junction_box.hot_splice", "junction_box.neutral_splice"]
        series += [
            f"{p}.contact_resistance" for p in ("breaker", "panel_switch", "heater_switch", "thermostat")
        ]
        series += ["high_limit.contact_resistance"]
        series += [f"W{k}.resistance" for k in (1, 2, 3, 4, 6, 7, 8, 9, 10, 11)]
        self.series = sum(u[key] for key in series) + 2e-3
        self.capacity = u["tank.volume"] * J_PER_K_M3

    def watts(self, water: float) -> float:
        """Into the water, while the chain is closed."""
        ohms, power = self.u["element.resistance"], 1400.0
        for _ in range(4):
            hot = ohms * np.interp(
                water + power * self.u["element.thermal_resistance"], NICHROME[:, 0], NICHROME[:, 1]
            )
            power = self.u["supply.voltage"] ** 2 * hot / (hot + self.series) ** 2
        return float(power)

    def run(self, seconds: float) -> None:
        """From cold; welded contacts and the limit as the unit has them."""
        u, now, water = self.u, 0.0, self.u["tank.temperature"]
        welded = u["thermostat.welded"] > 0
        closed = True
        while now < seconds:
            heating = (closed or welded) and not self.limit
            target = [
                u["thermostat.opens_at"] if closed else u["thermostat.closes_at"],
                u["high_limit.opens_at"],
            ]

            def slope(_t: float, y: np.ndarray, heating: bool = heating) -> list[float]:
                gain = self.watts(float(y[0])) if heating else 0.0
                return [(gain - u["tank.loss"] * (float(y[0]) - u["site.room"])) / self.capacity]

            events = []
            for value, up in ((target[0], closed), (target[1], True)):

                def event(_t: float, y: np.ndarray, value: float = value) -> float:
                    return float(y[0]) - value

                event.terminal, event.direction = True, 1.0 if up else -1.0  # type: ignore[attr-defined]
                events.append(event)
            got = solve_ivp(
                slope,
                (now, seconds),
                [water],
                events=events,
                rtol=1e-8,
                atol=1e-8,
                dense_output=True,
                max_step=600,
            )
            self.at += list(got.t)
            self.temperature += list(got.y[0])
            now, water = float(got.t[-1]), float(got.y[0, -1])
            if got.status != 1:
                return
            if len(got.t_events[1]):
                self.limit = True
                self.switched.append(now)
                water += 1e-9
            if len(got.t_events[0]):
                closed = not closed
                if not welded:
                    self.switched.append(now)
                water += 1e-9 if not closed else -1e-9

    def at_time(self, seconds: float) -> float:
        """°C."""
        return float(np.interp(seconds, self.at, self.temperature))


TIMES = [10.0, 25.0, 45.0, 60.0, 90.0, 180.0, 600.0]
"""min"""


@pytest.mark.parametrize("welded", [False, True], ids=["cycling", "welded"])
def test_against_scipy(welded: bool) -> None:
    """Do 60 random units heat up, cycle, and (with the thermostat welded) trip their limit as scipy says?

    Tolerance: 0.35 K. The closed form holds the coil's resistance from one event to the next, 0.3 % off at most.
    """
    count = UNITS if not welded else UNITS // 3
    for number in range(count):
        unit = random_unit(number, welded)
        other = Independent(unit.copy())
        other.run(TIMES[-1] * 60)
        before = 0.0
        for minutes in TIMES:
            advance(unit, minutes - before)
            before = minutes
            edges = [abs(minutes * 60 - t) for t in other.switched]
            slack = (
                0.35 if min(edges, default=1e9) > 60 else 0.7
            )  # beside an edge a second more or less shows
            assert unit["tank.temperature"][0] == pytest.approx(other.at_time(minutes * 60), abs=slack), (
                number,
                minutes,
            )
        assert bool(unit["high_limit.tripped"][0]) == other.limit == welded
        assert len(other.switched) >= 1


def test_time_to_the_thermostat() -> None:
    """Is the moment at which a thermostat opens within 0.5 % of scipy's?"""
    for number in range(10):
        unit = random_unit(number)
        other = Independent(unit.copy())
        other.run(4 * 3600)
        first = other.switched[0] / 60
        early, late = unit.copy(), unit.copy()
        advance(early, 0.995 * first)
        advance(late, 1.005 * first)
        assert early["thermostat.closed"][0] == 1 and late["thermostat.closed"][0] == 0


def test_heating_ten_gallons() -> None:
    """How long do 1440 W take to warm 10 gal by 80 °F? (Published: 81.4 min.)"""
    published = row("water", "heat-up-electric")
    unit = make_unit(MODEL, {"room": 15.0, "cold_water": 15.0})
    unit.set("tank.volume", 10 * 3.785411784e-3)
    unit.set("tank.loss", 0.05)
    rise = 80 * 5 / 9
    unit.set("thermostat.opens_at", 15.0 + rise)
    middle = unit.copy()
    middle.set("tank.temperature", 15.0 + rise / 2)
    for _ in range(6):  # a supply that gives the element 1440 W
        power = heat_into_water(middle, energise(middle))
        for each in (unit, middle):
            each.set("supply.voltage", each["supply.voltage"] * np.sqrt(1440 / power))
    low, high = 60.0, 120.0
    while high - low > 0.01:
        half = (low + high) / 2
        twin = unit.copy()
        advance(twin, half)
        low, high = (low, half) if twin["thermostat.closed"][0] == 0 else (half, high)
    assert published.agrees(high)


def test_nothing_is_lost_without_losses() -> None:
    """Is the heat in the water all the energy that the element took, to the last joule?"""
    unit = random_unit(3)
    unit.set("tank.loss", 0.0)
    unit.set("thermostat.opens_at", 99.0)
    start = unit["tank.temperature"].copy()
    power = heat_into_water(unit, energise(unit))
    advance(unit, 20.0)
    joules = (unit["tank.temperature"] - start) * unit["tank.volume"] * J_PER_K_M3
    assert joules[0] == pytest.approx(
        power[0] * 1200, rel=6e-4
    )  # the published heat capacity has four digits


@given(st.floats(1.05, 3.0), st.floats(5, 300))
def test_breaker_heats_and_trips(overload: float, tau: float) -> None:
    """Does an overloaded breaker trip when its bimetal's first-order equation says?

    dh/dt = (i² - h) / τ from cold reaches h = 1.3 after -τ ln(1 - 1.3/i²), i the current over the rating.
    """
    unit = make_unit(MODEL)
    unit.set("breaker.time_constant", tau)
    current = branch_current(unit, "breaker: contact", energise(unit))[0]
    unit.set("breaker.rating", current / overload)
    share = overload**2
    if share <= 1.3:
        advance(unit, 20 * tau / 60)
        assert unit["breaker.tripped"][0] == 0
        return
    trips = -tau * np.log(1 - 1.3 / share) / 60
    early, late = unit.copy(), unit.copy()
    advance(early, 0.98 * trips)
    advance(late, 1.02 * trips)
    assert early["breaker.tripped"][0] == 0
    assert late["breaker.tripped"][0] == 1 and late["breaker.closed"][0] == 0


def test_a_good_heater_holds_its_breaker() -> None:
    """Is the plate's current, times the 125 % of a continuous load, within the breaker's rating?"""
    plate = MODEL.plate
    amps = MODEL.number("plate.wattage", plate.wattage, "W") / MODEL.number(
        "plate.voltage", plate.voltage, "V"
    )
    assert amps * float(row("electrical", "continuous-load").value) <= MODEL.number("b", plate.breaker, "A")
    for number in range(20):
        unit = random_unit(number)
        unit.set("supply.voltage", 126.0)
        advance(unit, 600)
        assert unit["breaker.tripped"][0] == 0


def test_a_dry_element_burns_out() -> None:
    """Does a dry element part when the energy for its red heat has gone in, and not before?"""
    unit = random_unit(5)
    drain(unit)
    power = heat_into_water(unit, energise(unit))
    assert power[0] == 0  # what it gives off no longer warms any water
    amps = branch_current(unit, "breaker: contact", energise(unit))[0]
    hot = unit["element.resistance"][0] * unit["element.hot_factor"][0]
    joules = (950.0 - 20.0) * unit["element.heat_capacity"][0]
    seconds = joules / (amps**2 * hot)
    early, late = unit.copy(), unit.copy()
    advance(early, 0.9 * seconds / 60)
    advance(late, 1.1 * seconds / 60)
    assert early["element.burnt"][0] == 0 and late["element.burnt"][0] == 1
    fill(late)
    assert branch_current(late, "breaker: contact", energise(late))[0] < 1e-6


@given(
    st.lists(faulty_heaters(), min_size=2, max_size=4),
    st.lists(st.sampled_from("adfrs"), min_size=1, max_size=5),
)
@settings(max_examples=30)
def test_batched_is_one_by_one(heaters: list[tuple[Unit, str, float]], doings: list[str]) -> None:
    """Does time treat every variant of a batch as it is treated alone?

    Contacts and trips exactly; numbers to three parts in a million, to which the hot coil is solved.
    """
    units = [unit for unit, _, _ in heaters]
    joined = Unit(MODEL, {key: np.concatenate([u[key] for u in units]) for key in units[0].values})
    for each in (joined, *units):
        for doing in doings:
            {
                "a": lambda u: advance(u, 37.0),
                "d": drain,
                "f": fill,
                "r": lambda u: draw(u, 7.0),
                "s": lambda u: u.set("panel_switch.closed", 1.0 - u["panel_switch.closed"]),
            }[doing](each)
        energise(each)
    for row_number, unit in enumerate(units):
        for key, value in unit.values.items():
            flag = key.endswith((".closed", ".tripped", ".burnt", ".covered", ".welded", ".stuck_open"))
            expected = value[0] if flag else pytest.approx(value[0], rel=3e-6, abs=1e-9)
            assert joined[key][row_number] == expected, key


@pytest.mark.parametrize("name", ["dipper_6", "heron_6", "teal_10"])
def test_many_are_one_by_one(name: str) -> None:
    """Does each of many variants, most of which are there long before the last, get what it gets alone?"""
    model = load_model(name)
    every = tuple(fault.id for fault in faults().values() if fault.applies_to(model))
    together = variants(draw_case(name, every, "ab" * 16), every, levels=2).unit
    rows = range(0, together.batch, 9)
    alone = [together.take([row]) for row in rows]
    for unit in (together, *alone):
        advance(unit, 45.0)
    for k, unit in zip(rows, alone, strict=True):
        for key, value in unit.values.items():
            assert together[key][k] == pytest.approx(value[0], rel=3e-6, abs=1e-9), (key, k)


@given(st.floats(0, 60), st.floats(0, 60))
def test_draw_mixes(litres: float, more: float) -> None:
    """Do two draws, one after the other, leave what one draw of both leaves, between cold and hot?"""
    unit = make_unit(MODEL, {"cold_water": 10.0})
    unit.set("tank.temperature", 55.0)
    once, twice = unit.copy(), unit.copy()
    draw(once, litres + more)
    draw(twice, litres)
    draw(twice, more)
    assert once["tank.temperature"][0] == pytest.approx(twice["tank.temperature"][0], rel=1e-12)
    assert 10.0 - 1e-9 <= once["tank.temperature"][0] <= 55.0
