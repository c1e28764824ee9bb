"""What lesson 10 computes of the cell in the tank, its current, and what that costs the rod: no number is typed in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from tankside.heater import corrosion as heater_corrosion
from tankside.lessons.corrosion_drawings import Potential, cell_in_the_tank, metals_in_a_row
from tankside.lessons.corrosion_rods import aluminum as aluminum
from tankside.lessons.corrosion_rods import failures as failures
from tankside.lessons.corrosion_rods import how_often as how_often
from tankside.lessons.corrosion_rods import joint as joint
from tankside.lessons.corrosion_rods import looks_new as looks_new
from tankside.lessons.corrosion_rods import softener as softener
from tankside.lessons.corrosion_rods import wearing as wearing
from tankside.lessons.corrosion_worked import insulated_example, worth_it
from tankside.lessons.pages import reveal, table, together
from tankside.lessons.scales import Line, Scale, chart
from tankside.measures import amount, chosen
from tankside.notebook import Page
from tankside.physics.corrosion import MAGNESIUM_TAKES, METALS, anode_weight, capacity, mass_loss
from tankside.physics.galvanic import (
    PROTECTED,
    Steel,
    design_current,
    galvanic_cell_si,
    patch_resistance_si,
    rod_resistance_si,
    steel_current_si,
)
from tankside.physics.water import T0
from tankside.physics.water_quality import resistivity_si
from tankside.questions.anode_ways import WARM, fate, idle_gas, tank
from tankside.units import quantity

if TYPE_CHECKING:
    import pint

SERIES = (
    ("magnesium", -1.8, -1.55, "-1.73 V", "–"),
    ("zinc", -1.1, -1.1, "-1.05 V", "-1.03 V"),
    ("aluminum rod", -1.05, -1.05, "–", "-0.79 V (a sheet alloy)"),
    ("steel", -0.8, -0.5, "-0.79 V", "-0.61 V"),
    ("copper", -0.2, -0.2, "–", "-0.36 V"),
)
"""Metal, V against copper sulfate (two ends), and what two pages print for sea water (tests/published/corrosion.toml)."""


def idle_gas_table() -> Page:
    """Hydrogen that an idle tank's rod makes in some weeks."""
    unit = tank()
    rows = []
    for days in (7, 14, 30, 90):
        least, most = (amount(v, "L", "volume") for v in idle_gas(unit, days))
        rows.append((f"{days} days", least, most))
    head = ("nobody draws for", "at least", "at most")
    note = (
        f"{unit.model.plate.name} with a sound rod, kept hot. Hydrogen at the air's pressure, by Faraday's law. Under pressure a part "
        "stays in the water, like the gas in a bottle of soda, until a tap lets it out."
    )
    return reveal(table("Gas from an idle tank", head, rows, note), "Show the gas")


def cell() -> Page:
    """The galvanic cell in the tank, with today's figures."""
    unit = tank()
    now = fate(unit)
    bare = amount(float(unit["vessel.bare_area"][0]), "m^2", "area")
    across = amount(2.0 * float(unit["anode.radius"][0]), "m", "small length")
    said = (
        f"{unit.model.plate.name}, cut open. The rod (1) dissolves. Current leaves it through the water (2) and enters the bare "
        f"spots of the steel (3), which the glass lining (4) leaves: {bare} in all. It goes back through the wall and the plug's "
        f"thread (5). {1e3 * now.current:.1f} mA flow."
    )
    drawn = cell_in_the_tank(
        across, f"{1e3 * now.current:.1f} mA", bare, said, f"Drawing of a tank in section. {said}"
    )
    return Page(drawn, said)


def series() -> Page:
    """Metals in a row, and how three pages write their potentials."""
    said = "Who dissolves for whom: of two metals joined in water, the one further to the left is eaten, and the other is kept."
    drawn = metals_in_a_row([Potential(n, low, high) for n, low, high, _, _ in SERIES], said, said)
    rows = [
        (name, f"{low:g} V" if low == high else f"{low:g} to {high:g} V", silver, calomel)
        for name, low, high, silver, calomel in SERIES
    ]
    head = (
        "metal",
        "against copper sulfate (used here)",
        "page 2, sea water, silver chloride",
        "page 3, sea water, calomel",
    )
    note = (
        "The pages measure against different things, so the volts differ. The order is the same on all three."
    )
    return together(Page(drawn, said), table("Three pages", head, rows, note))


def _path(conductivity: float) -> float:
    """Ohm from the rod through water of so many µS/cm to the bare spots, and back through the thread."""
    unit = tank({"tank.water_conductivity": conductivity / 500.0})
    rho = resistivity_si(conductivity, WARM + T0)
    area = heater_corrosion.bare_steel(unit)[0]
    rod = rod_resistance_si(rho, unit["anode.length"][0], 2.0 * unit["anode.radius"][0])
    spots = patch_resistance_si(rho, area, unit["vessel.patches"][0])
    return float(rod + spots + heater_corrosion.bond(unit)[0])


WATERS = (150.0, 600.0, 1500.0)
"""µS/cm: poor in salts, usual, rich."""


def curves() -> Page:
    """Where the steel's curve and the rod's line meet, in three waters."""
    unit, most = tank(), 15.0
    area = float(heater_corrosion.bare_steel(unit)[0])
    volts = np.linspace(-1.4, -0.6, 161)
    cathodic, anodic = steel_current_si(volts, Steel())
    draws = 1e3 * area * (cathodic - anodic)
    inside = draws <= most
    lines = [Line(draws[inside], volts[inside], "steel")]
    anode = heater_corrosion.POTENTIALS[0]
    met = []
    for conductivity in WATERS:
        ohms = _path(conductivity)
        found = galvanic_cell_si(Steel(), area, ohms, anode)
        met.append((conductivity, 1e3 * float(found.current), float(found.steel)))
        end = min(most, 1e3 * (PROTECTED + 0.2 - anode) / ohms)
        lines.append(Line([0.0, end], [anode, anode + ohms * end / 1e3], f"rod, {conductivity:.0f} µS/cm"))
    words = "; ".join(f"{c:.0f} µS/cm: {i:.1f} mA, steel at {v:.2f} V" for c, i, v in met)
    said = f"Where they meet: {words}. The steel is safe below {PROTECTED:.2f} V."
    drawn = chart(
        "Volts against copper sulfate",
        Scale(0.0, most, "mA", marks=tuple((float(k), str(k)) for k in range(0, 16, 3)), words="current from rod to steel"),
        Scale(-1.6, -0.5, "V", marks=tuple((k / 10, f"{k / 10:.1f}") for k in range(-16, -4, 2))),
        lines, said, f"Chart of volts over current: the steel's curve falls, the rod's lines rise. {said}",
        ((PROTECTED, "below this line the steel is safe"),), "right", high=230.0,
    )  # fmt: skip
    return reveal(Page(drawn, said), "Show where they meet")


def waters() -> Page:
    """The rod's current over the water's conductivity, for three linings."""
    micro = np.linspace(100.0, 2000.0, 39)
    lines, told = [], []
    for factor, name in ((0.25, "a quarter as large"), (1.0, "as made"), (4.0, "four times as large")):
        unit = tank(
            {"tank.water_conductivity": micro / 500.0}, {"vessel.bare_area": factor}, batch=len(micro)
        )
        found = heater_corrosion.cell(unit, np.full(len(micro), WARM))
        current = 1e3 * np.asarray(found.current)
        lines.append(Line(micro, current, f"bare steel {name}"))
        ends = f"{current[0]:.1f} to {current[-1]:.1f} mA"
        kept = "all protected" if np.all(found.protected) else "not all protected"
        told.append(f"{name} ({amount(float(unit['vessel.bare_area'][0]), 'm^2', 'area')}): {ends}, {kept}")
    top = float(max(np.max(line.y) for line in lines))
    step = 5.0 if top < 30 else 10.0
    said = f"Current of a new rod, water from {micro[0]:.0f} to {micro[-1]:.0f} µS/cm. Bare steel {'; '.join(told)}."
    drawn = chart(
        "Current of a new rod, mA",
        Scale(0.0, 2000.0, "", marks=tuple((float(k), str(k)) for k in range(0, 2001, 400)), words="conductivity of the water, µS/cm"),
        Scale(0.0, step * np.ceil(top / step), "", marks=tuple((step * k, f"{step * k:.0f}") for k in range(int(np.ceil(top / step)) + 1))),
        lines, said, said,
    )  # fmt: skip
    return reveal(Page(drawn, said), "Show the current")


def metals() -> Page:
    """What a kilogram of each metal gives, and what an ampere takes away in a year."""
    rows = []
    for name in (*heater_corrosion.ALLOYS, "iron"):
        gives = capacity(name)
        year = mass_loss(name, quantity(1, "mA"), quantity(1, "year"))
        rows.append(
            (
                "steel (iron)" if name == "iron" else name,
                f"{gives.to('A*hour/kg').magnitude:,.0f} Ah/kg",
                f"{gives.to('A*hour/lb').magnitude:,.0f} Ah/lb",
                amount(year.to("kg").magnitude, "kg", "small mass"),
                f"{METALS[name].density / 1e3:.1f} kg/L",
            )
        )
    head = ("metal", "gives", "or", "one mA takes in a year", "weighs")
    note = "By Faraday's law, with nothing wasted. An old paper prints 1000 Ah/lb for magnesium and 372 for zinc."
    return reveal(table("What a metal gives", head, rows, note), "Show the metals")


MANUAL = (
    ("first example", quantity(0.7, "A")),
    ("second example", quantity(0.858, "A")),
)
MANUAL_YEARS, MANUAL_EACH, MANUAL_SOIL = quantity(15, "year"), quantity(17, "lb"), quantity(4500, "ohm*cm")


def manual() -> Page:
    """Two examples of a public engineering manual, worked again."""
    rows = []
    for name, current in MANUAL:
        weight = anode_weight(current, MANUAL_YEARS)
        count = (weight / MANUAL_EACH).to("dimensionless").magnitude
        digits = 1 if name.startswith("first") else 0
        rows.append((name, f"{current.magnitude:g} A for {MANUAL_YEARS.magnitude:g} years", _weight(weight, digits),
                     f"{count:.1f} anodes of {_weight(MANUAL_EACH, 0)}" if digits else _by_current(current)))  # fmt: skip
    each = amount(MAGNESIUM_TAKES, "lb", "mass")
    head = ("", "the structure takes", f"weight = years × {each} × amps ÷ 0.50", "which is")
    note = (
        "The manual reckons in pounds. It prints 184.8 lb, 10.9 (and takes 12, to set them evenly), 227 lb, "
        "26.7 mA and 32."
    )
    return reveal(table("TM 5-811-7, worked again", head, rows, note), "Show the manual's answer")


def _weight(weight: pint.Quantity[Any], digits: int) -> str:
    """With the manual's own pounds always, for they are what the learner holds against it."""
    pounds, kilograms = (
        f"{weight.to('lb').magnitude:.{digits}f} lb",
        amount(weight.to("kg").magnitude, "kg", "mass", "si"),
    )
    written = {"us": pounds, "si": f"{kilograms} ({pounds})"}
    return written.get(chosen(), f"{pounds} ({kilograms})")


def _by_current(current: pint.Quantity[Any]) -> str:
    each = design_current(MANUAL_SOIL)
    count = (current / each).to("dimensionless").magnitude
    return f"{each.to('mA').magnitude:.1f} mA an anode at {MANUAL_SOIL.magnitude:g} Ω cm: {count:.0f} anodes"


def example() -> Page:
    """The worked example: a rod that looks like new, with the faults still possible after each step."""
    rows = [(str(s.line), s.did, s.why, str(s.left)) for s in insulated_example()]
    head = ("log line", "done, and what it showed", "what it tells", "faults left")
    return table("Worked example", head, rows)


def repair_or_new() -> Page:
    """Repair or replace, by how many years the rod did nothing."""
    return reveal(worth_it(), "Show the money")
