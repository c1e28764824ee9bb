"""A whole heater over hours to years: one run from event to event, with its books.

``run`` reduces one heater to what matters between two events (how much each side heats when its thermostat
calls and when it doesn't, asked of the heater's own network and burner) and then follows draws, thermostats, limits,
relief valve, anode, steel and sediment in closed form. It is a hundred times faster than the bench, which also follows
contacts and currents; a test holds the two together.

The laws
--------
[1] One node of water: ``physics.tank_heat``. [2] Anode and steel: ``heater.corrosion``, spent four weeks at a time.
[3] Sediment: of the hardness that is drawn through, a share falls out that grows with the water's temperature above
    50 °C (order of magnitude, ours). [4] A mixed draw takes hot water in the share (M - C) / (H - C).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tankside.heater import burner, controls, corrosion, ignition, plumbing
from tankside.heater.electrics import breaker_load
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import Unit
from tankside.physics.corrosion import METALS
from tankside.physics.stratified import stratified_step_si
from tankside.physics.tank_heat import heat_capacity_si
from tankside.physics.water import T0, density_si

Array = NDArray[np.float64]

DAY = 86_400.0
"""s."""
PERIOD = 28
"""Days after which metal and sediment are brought up to date."""
FALLS_OUT = 0.005
"""Share of the hardness that falls out for each kelvin above 50 °C (order of magnitude, ours)."""
LOOSE = 1500.0
"""kg/m³ of sediment as it lies (from memory)."""
_GAS_THERMOSTATS = ("12 V thermostat", "pilot thermostat", "hand gas valve")
_GAS_LIMITS = ("12 V high limit", "pilot high limit")
_MOST_EVENTS = 5_000_000


@dataclass(frozen=True)
class Draw:
    """Water taken each day: minute of the day, litres at the tap, litres a minute, °C wanted (None: as hot as it comes)."""

    at: float
    litres: float
    flow: float = 5.0
    mixed_to: float | None = 40.0


@dataclass(frozen=True)
class Schedule:
    """The draws of a day, and the days (first, last) when nobody is there."""

    draws: tuple[Draw, ...]
    away: tuple[tuple[int, int], ...] = ()

    def on(self, day: int) -> tuple[Draw, ...]:
        """The draws of one day, in order."""
        gone = any(first <= day <= last for first, last in self.away)
        return () if gone else tuple(sorted(self.draws, key=lambda draw: draw.at))


TWO_PEOPLE = Schedule(
    (
        Draw(405, 18, 5.0),
        Draw(425, 18, 5.0),
        Draw(450, 6, 4.0),
        Draw(760, 6, 4.0, 45.0),
        Draw(1110, 8, 4.0, 45.0),
        Draw(1150, 12, 4.0, 50.0),
        Draw(1320, 4, 3.0),
    )
)
"""Two people on a boat: two short showers, dishes, hands (invented)."""


@dataclass
class _Source:
    """One side that heats: W when its thermostat calls and when it doesn't, its levels in °C, and its limit."""

    name: str
    calls: float
    rests: float
    opens_at: float
    closes_at: float
    limit_at: float = math.inf
    welded_limit: bool = False
    calling: bool = True
    tripped: bool = False
    keeps: float = 1.0
    """Share that sediment lets through."""

    @property
    def watts(self) -> float:
        """W into the water now."""
        if self.tripped and not self.welded_limit:
            return 0.0
        return self.keeps * (self.calls if self.calling else self.rests)


@dataclass
class History:
    """What happened. Arrays over events: ``time`` s, ``temperature`` °C, ``power`` W from then on, ``event`` words.

    Totals in J, kg, C; ``days`` and ``periods`` are tables by name, one entry a day or four weeks.
    """

    time: Array
    temperature: Array
    power: Array
    event: tuple[str, ...]
    heat: dict[str, float]
    lost: float
    drawn: float
    relief: float
    seep: float
    steam: float
    stored: float
    charge: float
    metal_charge: float
    days: dict[str, Array]
    periods: dict[str, Array]

    @property
    def energy_balance(self) -> float:
        """What the books leave open of the energy, over all that came in."""
        came = sum(self.heat.values())
        went = self.lost + self.drawn + self.relief + self.seep + self.steam + self.stored
        return (came - went) / max(came, 1.0)

    @property
    def charge_balance(self) -> float:
        """Charge that the anode gave less the charge of the metal that it lost, over the first."""
        return (self.charge - self.metal_charge) / max(self.charge, 1e-9)

    @property
    def kilowatt_hours(self) -> dict[str, float]:
        """Heat into the water by side, kWh."""
        return {name: joules / 3.6e6 for name, joules in self.heat.items()}


def sources(unit: Unit) -> list[_Source]:
    """Every side of the first variant that heats, as its own network and burner do."""
    found = []
    if unit.model.of_type("element"):
        found.append(_mains(unit))
    if burner.has_burner(unit) or unit.model.timing:
        found.append(_gas(unit))
    return found


def _level(unit: Unit, kinds: Iterable[str], key: str, otherwise: float) -> float:
    parts = [part for kind in kinds for part in unit.model.of_type(kind) if f"{part}.{key}" in unit.values]
    return float(unit[f"{parts[0]}.{key}"][0]) if parts else otherwise


def _mains(unit: Unit) -> _Source:
    opens = _level(unit, ("thermostat",), "opens_at", math.inf)
    closes = _level(unit, ("thermostat",), "closes_at", -math.inf)
    watts = []
    for closed in (1.0, 0.0):
        twin = unit.take([0])
        warm = (opens + closes) / 2 if math.isfinite(opens) else 50.0
        twin.set("tank.temperature", warm)
        for part in twin.model.of_type("thermostat"):
            twin.set(f"{part}.closed", closed)
        solution = energise(twin)
        power = float(controls.heat(twin, solution)[0])
        for part in twin.model.of_type("breaker"):
            if breaker_load(twin, part, solution)[0] > twin[f"{part}.trips_at"][0]:
                power = 0.0
        watts.append(power)
    welded = _level(unit, ("high limit",), "welded", 0.0) > 0
    tripped = _level(unit, ("high limit",), "tripped", 0.0) > 0
    limit = _level(unit, ("high limit",), "opens_at", math.inf)
    return _Source("mains", watts[0], watts[1], opens, closes, limit, welded, tripped=tripped)


def _gas(unit: Unit) -> _Source:
    opens = _level(unit, _GAS_THERMOSTATS, "opens_at", 57.0)
    closes = _level(unit, _GAS_THERMOSTATS, "closes_at", 49.0)
    twin = unit.take([0])
    twin.set("tank.temperature", min(closes - 2.0, 45.0))
    twin.set("vessel.sediment", 0.0)
    for part in twin.model.of_type("element"):  # only the flame counts here
        twin.set(f"{part}.resistance", 1e9)
    advance(twin, 5.0)
    solution = energise(twin)
    watts = float((burner.heat(twin, solution) + ignition.heat(twin, solution))[0])
    welded = _level(unit, _GAS_THERMOSTATS, "welded", 0.0) > 0
    limit = _level(unit, _GAS_LIMITS, "opens_at", math.inf)
    stuck = _level(unit, _GAS_LIMITS, "welded", 0.0) > 0
    keeps = 1.0 - float(plumbing.sediment_loss(unit)[0])
    return _Source("gas", watts, watts if welded else 0.0, opens, closes, limit, stuck, keeps=keeps)


@dataclass
class _Run:
    """The state between events, as plain numbers."""

    unit: Unit
    sides: list[_Source]
    temperature: float
    now: float = 0.0
    flow: float = 0.0
    """W/K carried off by the draw."""
    books: dict[str, float] = field(default_factory=dict)
    rows: list[tuple[float, float, float, str]] = field(default_factory=list)
    warmth: float = 0.0
    """K s since the last period's end."""

    def __post_init__(self) -> None:
        self.capacity = float(heat_capacity_si(self.unit["tank.volume"][0]))
        self.room, self.cold = float(self.unit["site.room"][0]), float(self.unit["site.cold_water"][0])
        self.relief_open = False
        self.valve = next(iter(self.unit.model.of_type("relief valve")), "")
        self.vessel = next(iter(self.unit.model.of_type("vessel")), "")
        self.lift_at = math.inf
        self.constants()
        for side in self.sides:  # at or above its level from the start
            side.calling = side.calling and self.temperature < side.opens_at
        hottest = max((side.opens_at for side in self.sides), default=0.0) + 3.0
        wild = any(side.rests > 1.0 for side in self.sides)
        self.lifts = bool(self.valve and self.vessel) and (wild or self._lift(self.cold) < hottest)

    def constants(self) -> None:
        """What changes from one period to the next only."""
        loss, leak, _ = plumbing.standing(self.unit)
        self.loss, self.leak = float(loss[0]), float(np.atleast_1d(leak)[0])
        tap = plumbing.hot_tap(self.unit)
        self.tap_flow, self.tap_share = float(tap.flow[0]) * 60e3, float(tap.through_tank[0])
        self.relief_share = 0.0
        self.capacity_flow = 0.0
        if self.valve:
            free = self.unit[f"{self.valve}.seized"][0] <= 0
            self.opens, self.closes = (
                float(self.unit[f"{self.valve}.{k}"][0]) for k in ("opens_at", "closes_at")
            )
            self.opens = self.opens if free else math.inf
            self.capacity_flow = float(self.unit[f"{self.valve}.capacity"][0]) * plumbing.KILO
            weep = float(self.unit[f"{self.valve}.weep"][0]) * plumbing.KILO
            self.relief_share = weep / self.leak if self.leak > 0 else 0.0

    def _lift(self, since: float) -> float:
        """°C at which the relief valve lifts by pressure, after the taps were shut at ``since`` °C."""
        self.unit.set("tank.temperature", since)
        plumbing.refilled(self.unit, np.array([True]))
        if self.unit[f"{self.valve}.seized"][0] > 0:
            return math.inf
        return float(plumbing.warm_to(self.unit, self.unit[f"{self.valve}.lifts_at"])[0])

    def tap_shut(self) -> None:
        """The taps are shut: from here the pressure rises."""
        if self.lifts:
            self.lift_at = self._lift(self.temperature)

    def watts(self) -> float:
        """W into the water now."""
        return sum(side.watts for side in self.sides)

    def step(self, end: float) -> str:
        """Go to the next event, or to ``end``; what happened, or nothing."""
        heat, flow = self.watts(), self.flow
        leak = self.leak + (self.capacity_flow if self.relief_open else 0.0)
        rate = (self.loss + leak + flow) / self.capacity
        start = self.temperature
        net = heat - self.loss * (start - self.room) - (leak + flow) * (start - self.cold)
        steams = start >= plumbing.CEILING - 1e-6 and net > 0
        target, word, side = self._next(net)
        seconds = end - self.now
        if word and not steams:
            need = self._until(target - start, net / self.capacity, rate)
            if need < seconds:
                seconds = need
            else:
                word = ""
        else:
            word = ""
        x = rate * seconds
        if steams:
            mean = start
            self._add("steam", net * seconds)
        else:
            self.temperature = start + net * seconds / self.capacity * _decay(x)
            mean = start + net * seconds / self.capacity * _decay_mean(x)
        for one in self.sides:
            self._add(one.name, one.watts * seconds)
        self._add("lost", self.loss * (mean - self.room) * seconds)
        self._add("drawn", flow * (mean - self.cold) * seconds)
        over = (mean - self.cold) * seconds
        self._add("relief", (leak - self.leak * (1 - self.relief_share)) * over)
        self._add("seep", self.leak * (1 - self.relief_share) * over)
        self.warmth += mean * seconds
        self.now += seconds
        if word:
            self._happens(word, side, target)
        return word

    def _add(self, book: str, joules: float) -> None:
        self.books[book] = self.books.get(book, 0.0) + joules

    def _next(self, net: float) -> tuple[float, str, _Source | None]:
        """The nearest temperature at which something happens in the direction that the water goes."""
        best, word, who = math.inf, "", None
        rising = net > 0
        t = self.temperature
        for side in self.sides:
            if rising and side.calling and t < side.opens_at and side.opens_at - t < best:
                best, word, who = side.opens_at - t, "thermostat opens", side
            if not rising and not side.calling and t > side.closes_at and t - side.closes_at < best:
                best, word, who = t - side.closes_at, "thermostat closes", side
            if rising and not side.tripped and t < side.limit_at and side.limit_at - t < best:
                best, word, who = side.limit_at - t, "high limit trips", side
        if self.valve:
            if rising and not self.relief_open and t < self.opens and self.opens - t < best:
                best, word, who = self.opens - t, "relief valve opens", None
            if not rising and self.relief_open and t > self.closes and t - self.closes < best:
                best, word, who = t - self.closes, "relief valve shuts", None
            if rising and self.lifts and not self.flow and not self.relief_open and self.lift_at - t < best:
                best, word, who = max(self.lift_at - t, 0.0), "relief valve drips", None
        if rising and t < plumbing.CEILING and plumbing.CEILING - t < best:
            best, word, who = plumbing.CEILING - t, "steams", None
        return (t + best if rising else t - best), word, who

    @staticmethod
    def _until(rise: float, speed: float, rate: float) -> float:
        if rise == 0.0:
            return 0.0
        straight = rise / speed if speed else math.inf
        if not straight > 0.0:
            return math.inf
        x = rate * straight
        if x < 1e-9:
            return straight * (1.0 + x / 2.0)
        return -straight * math.log1p(-x) / x if x < 1.0 else math.inf

    def _happens(self, word: str, side: _Source | None, target: float) -> None:
        self.temperature = target
        if word == "thermostat opens":
            # Two that open at one temperature open together: neither is below it afterwards.
            for each in self.sides:
                each.calling = each.calling and each.opens_at > target
        elif word == "thermostat closes":
            for each in self.sides:
                each.calling = each.calling or each.closes_at >= target
            self._cooled()
        elif word == "high limit trips":
            for each in self.sides:
                each.tripped = each.tripped or each.limit_at <= target
        elif word == "relief valve opens":
            self.relief_open = True
        elif word == "relief valve shuts":
            self.relief_open = False
            self.tap_shut()
        elif word == "relief valve drips":
            self.unit.set("tank.temperature", self.temperature)
            before = float(self.unit[f"{self.valve}.passed"][0])
            plumbing.lift(self.unit, self.vessel, self.valve, np.array([True]))
            passed = float(self.unit[f"{self.valve}.passed"][0]) - before
            self._add("relief", passed * plumbing.KILO * (self.temperature - self.cold))
            self.temperature -= passed * plumbing.KILO * (self.temperature - self.cold) / self.capacity
            self.lift_at = float(plumbing.warm_to(self.unit, self.unit[f"{self.valve}.lifts_at"])[0])

    def _cooled(self) -> None:
        """Water that shrank while it cooled was made up: the next rise begins from here."""
        if self.lifts:
            water = plumbing.water_room(self.unit)
            mass = max(
                float(self.unit[f"{self.vessel}.mass"][0]), float(density_si(self.temperature + T0)) * water
            )
            self.unit.set(f"{self.vessel}.mass", mass)
            self.lift_at = float(plumbing.warm_to(self.unit, self.unit[f"{self.valve}.lifts_at"])[0])

    def note(self, word: str) -> None:
        """One row of the record."""
        self.rows.append((self.now, self.temperature, self.watts(), word))


def _decay(x: float) -> float:
    return 1.0 - x / 2.0 if x < 1e-9 else -math.expm1(-x) / x


def _decay_mean(x: float) -> float:
    if x < 1e-2:
        return 1 / 2 - x / 6 + x**2 / 24 - x**3 / 120 + x**4 / 720
    return (x + math.expm1(-x)) / x**2


def run(unit: Unit, schedule: Schedule = TWO_PEOPLE, days: float = 1.0) -> History:
    """Follow the first variant of a unit for so many days of draws; the unit itself stays as it is.

    Parameters
    ----------
    unit : any; one without a water side gives the usual 5 L a minute, and nothing but steam limits its pressure
    schedule : the draws of a day
    days : above 0

    Raises
    ------
    ValueError
        ``days`` is not above 0.
    """
    if not 0 < days < 36_600:
        raise ValueError(f"days = {days} is out of range; expected above 0 and up to a century")
    twin = unit.take([0])
    advance(twin, 0.0)
    going = _Run(twin, sources(twin), float(twin["tank.temperature"][0]))
    began = going.temperature
    charge = float(twin["anode.charge"][0]) if "anode.charge" in twin.values else 0.0
    metal_before = metal_charge(twin)
    tables = _Tables()
    going.tap_shut()
    going.note("start")
    for day in range(math.ceil(days)):
        stop = min((day + 1) * DAY, days * DAY)
        for draw in schedule.on(day):
            at = day * DAY + draw.at * 60.0
            if at < going.now:
                at = going.now
            if at >= stop:
                break
            _go(going, at)
            tables.litres += _draw(going, draw, stop, tables)
        _go(going, stop)
        tables.end_of_day(going)
        if (day + 1) % PERIOD == 0 or stop >= days * DAY:
            tables.end_of_period(going, stop)
    given = float(twin["anode.charge"][0]) - charge if "anode.charge" in twin.values else 0.0
    going.note("end")
    times, temperatures, powers, words = zip(*going.rows, strict=True)
    books = going.books
    return History(
        time=np.array(times),
        temperature=np.array(temperatures),
        power=np.array(powers),
        event=words,
        heat={side.name: books.get(side.name, 0.0) for side in going.sides},
        lost=books.get("lost", 0.0),
        drawn=books.get("drawn", 0.0),
        relief=books.get("relief", 0.0),
        seep=books.get("seep", 0.0),
        steam=books.get("steam", 0.0),
        stored=going.capacity * (going.temperature - began),
        charge=given,
        metal_charge=metal_charge(twin) - metal_before,
        days={name: np.array(values) for name, values in tables.days.items()},
        periods={name: np.array(values) for name, values in tables.periods.items()},
    )


def metal_charge(unit: Unit) -> float:
    """C that the metal which the rod has lost stands for: from its radius, by Faraday's law."""
    if not unit.model.of_type("anode"):
        return 0.0
    anode = unit.model.of_type("anode")[0]
    _, per_kilo = corrosion.metal(unit)
    now = corrosion.radius(unit) if unit[f"{anode}.missing"][0] <= 0 else unit[f"{anode}.radius"]
    density = [METALS[name].density for name in corrosion.ALLOYS][round(float(unit[f"{anode}.alloy"][0]))]
    gone = math.pi * unit[f"{anode}.length"] * (unit[f"{anode}.radius"] ** 2 - now**2) * density
    return float((gone * per_kilo)[0])


def _go(going: _Run, until: float) -> None:
    for _ in range(_MOST_EVENTS):
        if going.now >= until - 1e-9:
            return
        word = going.step(until)
        if word:
            going.note(word)
    raise RuntimeError("a control chatters")


def _draw(going: _Run, draw: Draw, stop: float, tables: _Tables) -> float:
    """Take one draw; litres that went through the tank."""
    hot = going.cold + (going.temperature - going.cold) * going.tap_share
    most = going.tap_flow
    tables.coldest = min(tables.coldest, hot)
    flow = min(draw.flow, most)
    if draw.mixed_to is not None and hot > draw.mixed_to:
        flow *= (draw.mixed_to - going.cold) / (hot - going.cold)
    seconds = draw.litres / max(min(draw.flow, most), 1e-3) * 60.0
    through = flow / 60e3 * going.tap_share
    going.flow = float(heat_capacity_si(through))
    end = min(going.now + seconds, stop)
    litres = through * 1e3 * (end - going.now)
    going.note("draw begins")
    _go(going, end)
    going.flow = 0.0
    going.tap_shut()
    going.note("draw ends")
    return litres


class _Tables:
    """What is kept by day and by four weeks."""

    def __init__(self) -> None:
        self.days: dict[str, list[float]] = {}
        self.periods: dict[str, list[float]] = {}
        self.litres = self.period_litres = 0.0
        self.coldest = math.inf
        self._last: dict[str, float] = {}
        self._period_at = 0.0

    def end_of_day(self, going: _Run) -> None:
        """A day's row: kWh by side, lost and drawn; litres of hot water; coldest tap; kg past the relief valve so far."""
        names = [side.name for side in going.sides]
        for book in (*names, "lost", "drawn", "relief"):
            total = going.books.get(book, 0.0)
            self.days.setdefault(f"{book} kWh", []).append((total - self._last.get(book, 0.0)) / 3.6e6)
            self._last[book] = total
        self.days.setdefault("litres", []).append(self.litres)
        self.days.setdefault("coldest", []).append(
            self.coldest if math.isfinite(self.coldest) else going.temperature
        )
        self.period_litres += self.litres
        self.litres, self.coldest = 0.0, math.inf

    def end_of_period(self, going: _Run, now: float) -> None:
        """Metal and sediment of the four weeks, and a row of how far they are."""
        unit, seconds = going.unit, now - self._period_at
        mean = going.warmth / seconds
        if going.vessel:
            corrosion.spend(unit, np.full(1, seconds), np.full(1, mean))
            share = min(max(FALLS_OUT * (mean - 50.0), 0.0), 0.3)
            hardness = float(unit[f"{unit.model.of_type('cold inlet')[0]}.hardness"][0])
            fallen = hardness * 1e-6 * self.period_litres * share
            depth = unit[f"{going.vessel}.sediment"][0] + fallen / LOOSE / unit[f"{going.vessel}.bottom"][0]
            unit.set(f"{going.vessel}.sediment", min(float(depth), 0.1))
            for side in going.sides:
                if side.name == "gas":
                    side.keeps = 1.0 - float(plumbing.sediment_loss(unit)[0])
            rows = {
                "day": now / DAY,
                "radius": float(corrosion.radius(unit)[0]),
                "pit": float(unit[f"{going.vessel}.pit"][0]),
                "sediment": float(unit[f"{going.vessel}.sediment"][0]),
                "mean": mean,
            }
            for name, value in rows.items():
                self.periods.setdefault(name, []).append(value)
            going.constants()
        going.warmth, self.period_litres, self._period_at = 0.0, 0.0, now


def tap_curve(unit: Unit, minutes: Sequence[float], flow: float = 5.0, layers: int = 10) -> Array:
    """°C at the hot tap while so many litres a minute are drawn without heating, at each of ``minutes``.

    One layer is the well-mixed tank: the least that a tank gives. Many layers keep hot over cold.
    """
    if not 1 <= layers <= 50:
        raise ValueError(f"layers = {layers} is out of range; expected 1 to 50")
    twin = unit.take([0])
    tap = plumbing.hot_tap(twin)
    share, cold = float(tap.through_tank[0]), float(twin["site.cold_water"][0])
    carried = float(heat_capacity_si(flow * share / 60e3))
    capacity = float(heat_capacity_si(twin["tank.volume"][0]))
    loss = float(plumbing.standing(twin)[0][0])
    nodes = np.full(layers, float(twin["tank.temperature"][0]) + T0)
    heated = np.full(layers, 1.0 / layers)
    out, now = [], 0.0
    for minute in minutes:
        seconds = minute * 60.0 - now
        if seconds > 0:
            room = float(twin["site.room"][0]) + T0
            step = stratified_step_si(seconds, nodes, capacity, 0.0, heated, loss, room, carried, cold + T0)
            nodes, now = step.temperature, minute * 60.0
        out.append(cold + (float(nodes[-1]) - T0 - cold) * share)
    return np.array(out)
