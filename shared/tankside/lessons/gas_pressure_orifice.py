"""What lesson 7 works out about the jet: holes, pressure, the data plate, the wrong jet, altitude, and two sayings."""

from __future__ import annotations

import numpy as np

from tankside.heater.model import load_model
from tankside.lessons.gas_pressure_line import MODEL, PILOT_MODEL, low, readings, usual
from tankside.lessons.pages import reveal, table, together
from tankside.lessons.scales import Line, Scale, chart
from tankside.measures import amount
from tankside.notebook import Page
from tankside.physics.boiling import atmosphere_si
from tankside.physics.fuels import STANDARD_PRESSURE, fuel, heating_value, specific_gravity
from tankside.physics.gas import (
    altitude_bore_si,
    altitude_derate_si,
    drill_diameter,
    heat_input,
    nearest_drill,
    orifice_diameter,
    orifice_flow,
)
from tankside.physics.hot_water import heat_to_warm
from tankside.questions.burning import burning
from tankside.units import quantity

DRILLS = (70, 68, 66, 65, 64, 63, 62, 60)
NATURAL = quantity(4, "inWC")
"""Running pressure that heaters for natural gas are commonly set to (pfct leaflet 3 to 4; from memory)."""


def plate_input(model: str = MODEL) -> float:
    """BTU/h on a model's data plate."""
    return float(quantity(load_model(model).gas_input, "W").to("BTU_per_hour").magnitude)


def input_through(hole_inch: float, inches: float, gas_name: str = "propane") -> float:
    """BTU/h through a clean hole at so many inches of water column, at sea level."""
    one = fuel(gas_name)
    flow = orifice_flow(quantity(hole_inch, "in"), quantity(inches, "inWC"), specific_gravity(one))
    return float(heat_input(flow, one).to("BTU_per_hour").magnitude)


def holes() -> Page:
    """Number drills with what they pass at our heater's running pressure, against its plate."""
    pressure = readings({})[3]
    one, plate, rows = fuel("propane"), plate_input(), []
    for drill in DRILLS:
        hole = drill_diameter(drill)
        flow = orifice_flow(hole, quantity(pressure, "Pa"), specific_gravity(one))
        power = float(heat_input(flow, one).to("BTU_per_hour").magnitude)
        rows.append(
            (
                f"No. {drill}",
                amount(float(hole.magnitude), "in", "small length"),
                amount(float(flow.magnitude), "cfh", "gas flow"),
                amount(power, "BTU_per_hour", "heat rate"),
                f"{100 * power / plate:.0f} %",
            )
        )
    head = ("drill", "hole", "propane", "heat input", "of our plate")
    own = nearest_drill(quantity(usual("orifice.diameter"), "m"))
    note = (
        f"At {low(pressure)}. Our heater wears a No. {own}; its plate says {amount(plate, 'BTU_per_hour', 'heat rate')}. "
        "No drill fits a plate to the percent."
    )
    return reveal(table("Holes by their drill", head, rows, note), "Show the holes")


def square_root() -> Page:
    """Heat input against running pressure for three holes."""
    inches, plate = np.linspace(0.0, 20.0, 81), plate_input()
    own = nearest_drill(quantity(usual("orifice.diameter"), "m"))
    curves = []
    for drill in (own - 4, own, own + 4):
        hole = float(drill_diameter(drill).magnitude)
        curves.append(Line(inches, [input_through(hole, float(p)) for p in inches], f"No. {drill}"))
    at = readings({})[3] / 249.08891
    hole = float(drill_diameter(own).magnitude)
    full, half, four = (input_through(hole, at * share) for share in (1.0, 0.5, 0.25))
    said = (
        f"Heat input grows with the root of the pressure. Our jet at half the pressure still gives {100 * half / full:.0f} %, "
        f"at a quarter {100 * four / full:.0f} %. A smaller hole (higher number) runs below it, a bigger one above."
    )
    body = chart(
        "Heat input",
        Scale(0, 20, "inWC", "gas pressure", "pressure at the jet"),
        Scale(0, 18000, "BTU_per_hour", "heat rate"),
        curves,
        said,
        said,
        ((plate, "our data plate"),),
        "right",
    )
    return reveal(Page(body, said), "Show the curves")


def natural_jet() -> float:
    """m: the hole that natural gas needs for our plate's input."""
    methane = fuel("methane")
    flow = quantity(plate_input(), "BTU_per_hour") / heating_value(methane)
    return float(orifice_diameter(flow.to("cfh"), NATURAL, specific_gravity(methane)).to("m").magnitude)


def jets() -> tuple[tuple[str, dict[str, float]], ...]:
    """Right and wrong jets and gases, as numbers of the heater."""
    hole = usual("orifice.diameter")
    return (
        ("the right one", {}),
        ("a fifth of it blocked", {"orifice.blocked": 0.2}),
        ("half of it blocked", {"orifice.blocked": 0.5}),
        (f"too small: No. {nearest_drill(quantity(0.85 * hole, 'm'))}", {"orifice.diameter": 0.85 * hole}),
        (f"too big: No. {nearest_drill(quantity(1.11 * hole, 'm'))}", {"orifice.diameter": 1.11 * hole}),
        ("right jet, butane in the cylinder", {"cylinder.fuel": 1.0}),
        ("one made for natural gas", {"orifice.diameter": natural_jet()}),
    )


def parts(ppm: float) -> str:
    """Parts in a million, not finer than three digits: an analyzer shows no more."""
    return f"{float(f'{ppm:.3g}'):,.0f} ppm"


def wrong_jets() -> Page:
    """Right and wrong jets: pressure, input, flame, flue gas."""
    rows = []
    for words, changed in jets():
        now = burning(MODEL, changed)
        rows.append(
            (
                words,
                low(now.pressure[0]),
                amount(now.input[0], "W", "heat rate"),
                f"{100 * now.input[0] / quantity(plate_input(), 'BTU_per_hour').to('W').magnitude:.0f} %",
                now.kind[0],
                f"{now.oxygen[0]:.1f} %",
                parts(now.air_free[0]),
            )
        )
    head = ("jet", "valve inlet, running", "heat input", "of the plate", "flame", "O2", "CO air-free")
    return reveal(table("Seven jets", head, rows), "Show the seven jets")


def altitude() -> Page:
    """The two published rules for high places, beside what thin air does by itself."""
    metres = np.linspace(0.0, 3100.0, 311)
    alone = 100 * np.sqrt(atmosphere_si(metres) / STANDARD_PRESSURE)
    first, second = (
        100 * (1 - altitude_derate_si(metres, rule)) for rule in ("above sea level", "above 2000 ft")
    )
    curves = [
        Line(metres, first, "4 % from the sea up"),
        Line(metres, second, "4 % from 2000 ft up"),
        Line(metres, alone, "sea-level jet, left alone"),
    ]
    stands = usual("burner.altitude", PILOT_MODEL)
    rows = []
    for height in (610.0, stands, 2438.0):
        cells = [amount(height, "m", "length")]
        for rule in ("above sea level", "above 2000 ft"):
            less = float(altitude_derate_si(height, rule))
            hole = usual("orifice.diameter") * float(altitude_bore_si(height, rule))
            cells.append(f"{100 * less:.0f} % off: No. {nearest_drill(quantity(hole, 'm'))}")
        cells.append(f"{100 - 100 * (float(atmosphere_si(height)) / STANDARD_PRESSURE) ** 0.5:.0f} % off")
        rows.append(tuple(cells))
    said = "Share of the sea-level input that is left. " + "; ".join(
        f"at {row[0]}: 4 % above the sea {row[1]}, above 2000 ft {row[2]}, left alone {row[3]}"
        for row in rows
    )
    body = chart(
        "Input left, of that at sea level",
        Scale(0, 3100, "m", "length", "height above the sea"),
        Scale(55, 100, "%", marks=tuple((v, f"{v}") for v in (60, 70, 80, 90, 100))),
        curves,
        "Two rules are about. They don't agree.",
        said + ".",
    )
    head = (
        "height",
        "4 % for each 1000 ft above the sea",
        "4 % for each 1000 ft above 2000 ft",
        "jet left alone",
    )
    wears = nearest_drill(quantity(usual("orifice.diameter", PILOT_MODEL), "m"))
    note = f"The hole is the nearest number drill, for a heater that takes our jet at sea level. Thin air takes its share by itself, so the hole need not take it again. The cabin heater on the bench below stands at {rows[1][0]} and wears a No. {wears}."  # fmt: skip
    return reveal(
        together(Page(body, said + "."), table("What each asks for", head, rows, note)), "Show both rules"
    )


def good_at_rest() -> Page:
    """The first saying: regulators and lines whose pressure is read at rest, and then with the burner on."""
    normal = readings({})
    rows = []
    for words, changed in (
        ("healthy", {}),
        ("regulator a little fouled", {"regulator.open_flow": 6.0e-6}),
        ("regulator badly fouled", {"regulator.open_flow": 1.5e-6}),
        ("hose kinked", {"hose.open_share": 0.012}),
        ("cock half shut", {"gas_cock.turned": 0.02}),
        ("regulator set low", {"regulator.set_pressure": 0.65 * usual("regulator.set_pressure")}),
        ("vent plugged", {"regulator.vent": 0.3}),
    ):
        found = readings(changed)
        judged = ["right" if abs(a / b - 1) < 0.05 else "too low" if a < b else "too high" for a, b in ((found[0], normal[0]), (found[3], normal[3]))]  # fmt: skip
        now = burning(MODEL, changed)
        rows.append(
            (
                words,
                f"{low(found[0])}: {judged[0]}",
                f"{low(found[3])}: {judged[1]}",
                amount(now.input[0], "W", "heat rate"),
            )
        )
    head = ("line", "valve inlet at rest", "valve inlet, burner on", "heat input")
    return reveal(table("Seven lines", head, rows), "Show the seven lines")


def bigger_orifice() -> Page:
    """The second saying: bigger jets, what they bring the water, and what they send up the flue."""
    rows, hole, data = [], usual("orifice.diameter"), load_model(MODEL).data.plate
    load = heat_to_warm(quantity(str(data.capacity)), quantity(60, "degF"), quantity(120, "degF"))
    joules = float(load.to("J").magnitude)
    for more in (0, 5, 10, 20, 30):
        now = burning(MODEL, {"orifice.diameter": (1 + more / 100) * hole})
        useful = now.input[0] * now.efficiency[0] / 100
        rows.append(
            (
                "the right jet" if not more else f"{more} % wider",
                amount(now.input[0], "W", "heat rate"),
                f"{joules / useful / 60:.0f} min",
                f"{now.oxygen[0]:.1f} %",
                parts(now.air_free[0]),
                now.kind[0],
            )
        )
    span = f"{amount(60, 'degF', 'temperature')} to {amount(120, 'degF', 'temperature')}"
    note = f"One tank from {span}, no heat lost on the way. Pressure, shutter and flue as they were."
    head = ("jet", "heat input", "to heat the tank", "O2", "CO air-free", "flame")
    return reveal(table("Bigger and bigger", head, rows, note), "Show the bigger jets")
