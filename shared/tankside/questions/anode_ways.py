"""A tank and its anode with some numbers changed: what lesson 10, its questions and its calculator ask of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tankside.heater import corrosion
from tankside.heater.unit import REFERENCE_CONDUCTIVITY, Unit
from tankside.physics.corrosion import FARADAY, YEAR, penetration_rate_si
from tankside.questions.water_ways import Changes, heater

MODEL = "grebe_12"
WARM = 57.0
"""°C of the water over the year (135 °F)."""
LONG = 30.0
"""Years beyond which nobody counts."""
MOLE_OF_GAS = 8.314462618 * 293.15 / 101_325.0 * 1e3
"""L of a gas in a mole, at 20 °C and the air's pressure (ideal gas)."""


def tank(
    changes: Changes | None = None, times: Changes | None = None, model: str = MODEL, batch: int = 1
) -> Unit:
    """A sound, hot unit of the model; ``changes`` sets some of its numbers, ``times`` multiplies others."""
    unit = heater(model, changes, batch)
    for key, factor in (times or {}).items():
        unit.set(key, unit[key] * factor)
    return unit


def in_water(conductivity: float, hardness: float) -> dict[str, float]:
    """Changes that put a tank on water of so many µS/cm at 25 °C and mg/L."""
    return {"tank.water_conductivity": conductivity / REFERENCE_CONDUCTIVITY, "inlet.hardness": hardness}


@dataclass(frozen=True)
class Fate:
    """What an anode gives today, and what will become of rod and steel if nobody looks again."""

    current: float
    """A, from the rod to the steel."""
    steel: float
    """V against copper sulfate."""
    protected: bool
    mass: float
    """kg of metal that is left on the rod."""
    life: float
    """Years until the rod is used up; infinite beyond ``LONG``."""
    through: float
    """Years until the deepest pit is through the wall; infinite beyond ``LONG``."""


def alone(unit: Unit, temperature: float = WARM) -> float:
    """Years until the wall of a steel tank without any anode is through, from whole."""
    bare = unit.take([0])
    bare.set("anode.missing", 1.0)
    rate = (
        penetration_rate_si(corrosion.cell(bare, np.full(1, temperature)).dissolving) * bare["vessel.pitting"]
    )
    return float(np.atleast_1d(bare["vessel.wall"] / rate)[0]) / YEAR


def fate(unit: Unit, temperature: float = WARM) -> Fate:
    """The first variant of a steel tank's fate, at a mean water temperature in °C."""
    now = corrosion.cell(unit.take([0]), np.full(1, temperature))
    mass, per_kilo = (float(v[0]) for v in corrosion.metal(unit))
    left = mass * (1.0 - min(float(unit["anode.used"][0]), 1.0)) * float(unit["anode.missing"][0] <= 0)
    amperes = max(float(np.atleast_1d(now.current)[0]), 0.0)
    pit, wall_lasts = float(unit["vessel.pit"][0]), alone(unit, temperature)
    life, through = 0.0, (1.0 - pit) * wall_lasts
    if left > 0 and amperes > 0:
        # As the rod thins its current falls, so it lasts longer than today's current says.
        horizon = min(2.5 * left * per_kilo / amperes / YEAR, LONG)
        life, through = _ends(
            corrosion.wear(unit, horizon, temperature, horizon / 60.0), per_kilo, wall_lasts
        )
    return Fate(
        amperes,
        float(np.atleast_1d(now.steel)[0]),
        bool(np.atleast_1d(now.protected)[0]),
        left,
        life,
        through,
    )


def _ends(wear: corrosion.Wear, per_kilo: float, wall_lasts: float) -> tuple[float, float]:
    """Years to the end of rod and wall, between the steps of ``wear``."""
    life = through = float("inf")
    pit = float(wear.pit[-1])
    if np.isfinite(wear.life):
        k = int(np.argmax(wear.years >= wear.life)) - 1
        life = float(wear.years[k] + wear.mass[k] * per_kilo / wear.current[k] / YEAR)
        pit = float(wear.pit[k])
        through = life + (1.0 - pit) * wall_lasts
    if np.isfinite(wear.perforated) and wear.perforated <= life:
        k = int(np.argmax(wear.pit >= 1.0)) - 1
        speed = (wear.pit[k] - wear.pit[0]) / wear.years[k] if k else 1.0 / wear.perforated
        through = float(wear.years[k] + (1.0 - wear.pit[k]) / speed)
    return life, through if through <= LONG else float("inf")


def idle_gas(unit: Unit, days: float) -> tuple[float, float]:
    """L of hydrogen in so many days, at the air's pressure: from the rod's own corrosion, and if the steel's side makes it too.

    Two electrons a molecule (Faraday). What the rod loses beyond its useful charge turns to hydrogen on the rod. The
    current makes hydrogen on the steel where oxygen is short, as in a tank that nobody draws from.
    """
    charge = max(float(np.atleast_1d(corrosion.cell(unit).current)[0]), 0.0) * days * 86_400.0
    efficiency = float(unit["anode.efficiency"][0])
    a_coulomb = MOLE_OF_GAS / (2.0 * FARADAY)
    return charge * (1.0 / efficiency - 1.0) * a_coulomb, charge / efficiency * a_coulomb


def years(span: float) -> str:
    """Years as one says them: in months where they are few."""
    if span > LONG:
        return f"more than {LONG:.0f} years"
    if span <= 0:
        return "gone"
    return f"{12 * span:.0f} months" if span < 1.45 else f"{span:.1f} years"
