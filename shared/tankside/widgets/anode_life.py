"""The anode calculator of lesson 10: a view of the heater's galvanic cell and its wear, with no formula of its own."""

from __future__ import annotations

from typing import Any

from tankside.heater.corrosion import ALLOYS, bare_steel
from tankside.measures import amount, chosen
from tankside.questions.anode_ways import alone, fate, in_water, tank, years
from tankside.units import quantity
from tankside.widgets.calculator import Calculator, Rows


def fields(system: str | None = None) -> list[dict[str, Any]]:
    """What is typed, in the learner's measures; U.S. customary for who reads both."""
    si = (chosen() if system is None else system) == "si"
    hardness = {"unit": "mg/L", "low": 0, "high": 700, "step": 5, "start": 150}
    diameter = {"unit": "mm", "low": 6, "high": 50, "step": 0.5, "start": 19}
    length = {"unit": "mm", "low": 100, "high": 1200, "step": 5, "start": 230}
    bare = {"unit": "cm²", "low": 1, "high": 2000, "step": 1, "start": 50}
    warm = {"unit": "°C", "low": 5, "high": 80, "step": 1, "start": 57}
    if not si:
        hardness = {"unit": "gpg", "low": 0, "high": 40, "step": 0.5, "start": 9}
        diameter = {"unit": "in.", "low": 0.25, "high": 2, "step": 0.05, "start": 0.75}
        length = {"unit": "in.", "low": 4, "high": 48, "step": 0.5, "start": 9}
        bare = {"unit": "in²", "low": 0.2, "high": 300, "step": 0.2, "start": 7.8}
        warm = {"unit": "°F", "low": 40, "high": 176, "step": 1, "start": 135}
    return [
        {"id": "conductivity", "label": "Water conducts", "unit": "µS/cm", "low": 50, "high": 5000, "step": 10, "start": 600},
        {"id": "hardness", "label": "Hardness", **hardness},
        {"id": "metal", "label": "Metal of the rod", "choices": [[name, name] for name in ALLOYS], "start": ALLOYS[0]},
        {"id": "diameter", "label": "Rod across, as it is", **diameter},
        {"id": "length", "label": "Length of the rod", **length},
        {"id": "bare", "label": "Bare steel in the tank", **bare},
        {"id": "warm", "label": "Water in the tank", **warm},
    ]  # fmt: skip


def anode_life(
    conductivity: float,
    hardness: float,
    metal: str,
    diameter: float,
    length: float,
    bare: float,
    warm: float,
    system: str | None = None,
) -> Rows:
    """Rows of the calculator.

    Parameters
    ----------
    conductivity : 50 to 5000 µS/cm, at 25 °C
    hardness : 0 to 40 gpg; mg/L in SI
    metal : one of ``ALLOYS``
    diameter : 0.25 to 2 in., as it is now; mm in SI
    length : 4 to 48 in.; mm in SI
    bare : steel that the lining leaves bare, 0.2 to 300 in²; cm² in SI
    warm : 40 to 176 °F; °C in SI
    system : "us", "si", "both"; None for the learner's choice

    Raises
    ------
    ValueError
        A metal that there is no rod of.
    """
    system = chosen() if system is None else system
    if metal not in ALLOYS:
        raise ValueError(f"metal is {metal!r}: rods are made of {', '.join(ALLOYS)}")
    hard, inch, degree = ("mg/L", "mm", "degC") if system == "si" else ("gpg", "inch", "degF")
    area = quantity(bare, f"{'cm' if system == 'si' else 'inch'}^2")
    celsius = float(quantity(warm, degree).to("degC").magnitude)
    unit = tank(
        {
            **in_water(conductivity, float(quantity(hardness, hard).to("mg/L").magnitude)),
            "anode.alloy": float(ALLOYS.index(metal)),
            "anode.radius": float(quantity(diameter, inch).to("m").magnitude) / 2.0,
            "anode.length": float(quantity(length, inch).to("m").magnitude),
            "vessel.bare_area": float(area.to("m^2").magnitude),
        }
    )
    found = fate(unit, celsius)

    def row(label: str, text: str, how: str, mark: str = "") -> dict[str, Any]:
        return {"label": label, "text": text, "how": how, "mark": mark}

    drawing = amount(float(bare_steel(unit)[0]), "m^2", "area", system)
    core = amount(2.0 * float(unit["anode.core"][0]), "m", "small length", system)
    useful = f"{100 * unit['anode.efficiency'][0]:.0f} % of its charge useful"
    if metal != ALLOYS[0]:  # the model has one share for all rods; zinc wastes less
        useful += f", as for {ALLOYS[0]}"
    return [
        {"group": "Today"},
        row("Bare steel that draws", drawing, "the rest is under lime"),
        row("Current", f"{1e3 * found.current:.2f} mA", "from rod to steel"),
        row("Steel", f"{found.steel:.2f} V", "safe" if found.protected else "NOT safe", "good" if found.protected else "bad"),
        row("Metal on the rod", amount(found.mass, "kg", "small mass", system), f"without its wire of {core}"),
        {"group": "If nobody looks again"},
        row("Rod used up after", years(found.life), f"by Faraday, {useful}"),
        row("Steel through after", years(found.through), "a pit eats the wall once the rod is gone"),
        row("Without any rod", years(alone(unit, celsius)), "to the first hole, reckoned alike in every water"),
    ]  # fmt: skip


def anode_calculator() -> Calculator:
    """The calculator of lesson 10: current and years of an anode, and what becomes of the tank."""
    return Calculator("Calculator for an anode and its tank", fields(), anode_life)
