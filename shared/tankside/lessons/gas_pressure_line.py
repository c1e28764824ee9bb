"""What lesson 7 works out about cylinder, regulator, hose and gauge: curves and tables of one heater's gas line."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tankside.heater import gas
from tankside.heater.model import load_model
from tankside.heater.simulation import energise
from tankside.heater.unit import Unit, make_unit
from tankside.lessons.gas_pressure_drawings import Station, Tube, u_tubes
from tankside.lessons.gas_pressure_drawings import way_of_gas as draw_way
from tankside.lessons.pages import reveal, table, together
from tankside.lessons.scales import Line, Scale, chart
from tankside.measures import amount, chosen
from tankside.notebook import Page
from tankside.physics.cylinder import (
    cylinder_draw,
    liquid_temperature_si,
    vaporisation_capacity_si,
    vapour_pressure_si,
)
from tankside.physics.fuels import STANDARD_PRESSURE, fuel
from tankside.physics.gas import pressure_in
from tankside.physics.supply import INWC, pipe_drop
from tankside.units import quantity

Array = NDArray[np.float64]

MODEL, PILOT_MODEL = "pintail_10", "smew_10"
OTHER = quantity(20000, "BTU_per_hour")
"""Another burner on the same cylinder, such as a cabin heater (invented)."""
COLD = -5.0
"""°C of a cold day."""
FULL, QUARTER = 8.7, 2.2
"""kg: filled to 80 % of the shell, and a quarter of that."""
LOWEST = STANDARD_PRESSURE + 5 * 6894.757293168
"""Pa absolute that the regulator is to keep before it: 5 psi gauge (from memory; makers state their own)."""

NEEDLE = 0.05 * 6894.757293168
"""Pa below which a cylinder's gauge shows nothing."""


def unit_with(changed: Mapping[str, float | Array], model: str = MODEL, batch: int = 1) -> Unit:
    """A model's nominal heater with the numbers of ``changed``, by ``part.parameter``."""
    unit = make_unit(load_model(model), batch=batch)
    energise(unit)
    for key, value in changed.items():
        unit.set(key, value)
    return unit


@cache
def usual(key: str, model: str = MODEL) -> float:
    """One number of a model's nominal heater."""
    return float(make_unit(load_model(model)).values[key][0])


def low(pascal: float) -> str:
    """A low gas pressure in the learner's measures."""
    return amount(float(pascal), "Pa", "gas pressure")


def high(pascal: float) -> str:
    """A cylinder's gauge pressure in the learner's measures; what its needle can't show is nothing."""
    return amount(float(pascal) if pascal > NEEDLE else 0.0, "Pa", "pressure")


def _lines(value: float, kind: str) -> list[str]:
    systems = ("us", "si") if chosen() == "both" else (chosen(),)
    return [amount(float(value), "Pa", kind, system) for system in systems]


def way_of_gas() -> Page:
    """The way of the gas, with pressures at rest and with the burner on."""
    unit = unit_with({})
    rest, on = gas.line(unit, 0.0), gas.line(unit, 1.0)
    rows = (
        ("cylinder", "1", rest.pigtail[0], on.pigtail[0], "pressure"),
        ("behind the regulator", "", rest.regulator[0], on.regulator[0], "gas pressure"),
        ("end of the line", "2", rest.before_cock[0], on.before_cock[0], "gas pressure"),
        ("valve inlet", "3", rest.inlet[0], on.inlet[0], "gas pressure"),
    )
    stations = [Station(name, tap, _lines(a, kind), _lines(b, kind)) for name, tap, a, b, kind in rows]
    step = rest.pigtail[0] / on.regulator[0]
    said = (
        "The way of the gas: cylinder, regulator, hose and line, cock, valve, jet, flame. "
        + "; ".join(
            f"{s.name}: at rest {' or '.join(s.rest)}, burner on {' or '.join(s.running)}" for s in stations
        )
        + f". The regulator takes the pressure down about {step:.0f} times."
    )
    title = f"Our heater at {amount(usual('cylinder.liquid'), 'degC', 'temperature')}. The regulator takes the pressure down about {step:.0f} times."
    return Page(draw_way(stations, title, said), said)


def boiling() -> Page:
    """Pressure in the cylinder against its temperature, for propane and butane."""
    degrees = np.linspace(-40.0, 45.0, 86)
    curves = [
        Line(
            degrees,
            np.maximum(vapour_pressure_si(fuel(name), degrees + 273.15) - STANDARD_PRESSURE, 0.0)
            / 6894.757293168,
            name,
        )
        for name in ("propane", "butane")
    ]
    points = ", ".join(
        f"{amount(t, 'degC', 'temperature')}: {high(float(vapour_pressure_si(fuel('propane'), t + 273.15)) - STANDARD_PRESSURE)}"
        for t in (-30.0, 0.0, 20.0, 40.0)
    )
    said = f"Gauge pressure over the liquid. Propane at {points}. Butane gives none below its boiling point near freezing."
    body = chart(
        "Gauge pressure in the cylinder",
        Scale(-40, 45, "degC", "temperature", "temperature of the liquid"),
        Scale(0, 225, "psi", "pressure"),
        curves,
        "The liquid's temperature sets the pressure. How much is left does not.",
        said,
    )
    return reveal(Page(body, said), "Show the curves")


def _area(mass: float) -> float:
    """m2 of wall below the liquid, as the heater's own model takes it."""
    share = min(max(mass / usual("cylinder.volume") / 430.0, 0.05), 1.0)
    return usual("cylinder.wetted_area") * share


def _input() -> float:
    """W that our heater burns."""
    now = gas.line(unit_with({}), 1.0)
    return float(now.burner[0]) * _heat_of_gas()


def _heat_of_gas() -> float:
    """J in a m3 of propane, counted at 60 °F."""
    from tankside.physics.fuels import heating_value

    return float(heating_value(fuel("propane")).to("J/m^3").magnitude)


def draws() -> tuple[tuple[str, float, float], ...]:
    """(words, kg in the cylinder, W drawn) of the four cylinders that the lesson compares."""
    both = _input() + float(OTHER.to("W").magnitude)
    return (
        ("full", FULL, _input()),
        ("a quarter", QUARTER, _input()),
        ("full, with cabin heat", FULL, both),
        ("a quarter, with cabin heat", QUARTER, both),
    )


def cooled(mass: float, watts: float, hours: Array) -> tuple[Array, Array]:
    """°C of the liquid and Pa gauge in the cylinder over rising ``hours``, on a cold day, as it is drawn from."""
    one, room, here = fuel("propane"), COLD + 273.15, COLD + 273.15
    rate = watts / (one.higher_si / one.molar_mass_si)
    degrees = [here]
    for step in np.diff(hours) * 3600:
        held, drawn = max(mass, 0.2), rate
        if (
            vapour_pressure_si(one, here) <= LOWEST
        ):  # starved: it gives what the wall lets it boil, and no more
            drawn = min(rate, float(vaporisation_capacity_si(one, room, _area(mass), LOWEST)))
        here = float(liquid_temperature_si(one, room, drawn, _area(mass), held, here, step))
        mass = max(mass - drawn * step, 0.0)
        degrees.append(here)
    kelvin = np.array(degrees)
    return kelvin - 273.15, vapour_pressure_si(one, kelvin) - STANDARD_PRESSURE


def drawn_from() -> Page:
    """Pressure in the cylinder while it is drawn from, and what it can give for ever."""
    hours, curves, rows = np.linspace(0.0, 2.0, 121), [], []
    for words, mass, watts in draws():
        degrees, pressure = cooled(mass, watts, hours)
        curves.append(Line(hours, pressure / 6894.757293168, words))
        steady = cylinder_draw(
            fuel("propane"),
            quantity(watts, "W"),
            quantity(COLD + 273.15, "K"),
            quantity(_area(mass), "m^2"),
            quantity(LOWEST, "Pa"),
        )
        rows.append(
            (
                words,
                amount(watts, "W", "heat rate"),
                amount(degrees[-1], "degC", "temperature"),
                high(pressure[-1]),
                amount(float(steady.capacity.to("W").magnitude), "W", "heat rate"),
                "yes" if steady.enough else "no",
            )
        )
    day = amount(COLD, "degC", "temperature")
    said = f"A cylinder outdoors at {day}. After two hours: " + "; ".join(
        f"{row[0]}: {row[2]}, {row[3]}" for row in rows
    )
    body = chart(
        "Gauge pressure in the cylinder",
        Scale(
            0, 2, "h", words="hours of drawing gas", marks=tuple((h, f"{h:g}") for h in (0, 0.5, 1, 1.5, 2))
        ),
        Scale(0, 50, "psi", "pressure"),
        curves,
        f"The same cylinder outdoors at {day}. Boiling takes heat, so the liquid cools.",
        said,
    )
    head = (
        "cylinder",
        "burners take",
        "liquid after two hours",
        "gauge then",
        "can give for ever",
        "enough?",
    )
    note = "For ever: until the liquid is as cold as leaves the regulator just enough. Bare steel in still air; frost and wind change it."
    return reveal(together(Page(body, said + "."), table("Two hours later", head, rows, note)), "Show the four cylinders")  # fmt: skip


def regulators() -> tuple[tuple[str, dict[str, float]], ...]:
    """Regulators by what is wrong with them."""
    return (
        ("healthy", {}),
        ("set low", {"regulator.set_pressure": 0.65 * usual("regulator.set_pressure")}),
        ("vent plugged", {"regulator.vent": 0.3}),
        ("fouled", {"regulator.open_flow": 1.6e-5}),
    )


def regulator_curves() -> Page:
    """Pressure behind four regulators against the flow, and their readings at rest and with the burner on."""
    holes = np.concatenate([[1e-6], np.geomspace(5e-5, 3.2e-3, 90)])
    curves, rows = [], []
    for words, changed in regulators():
        many = gas.line(unit_with({**changed, "orifice.diameter": holes}, batch=len(holes)), 1.0)
        flow, at = many.total * 3600 / 0.3048**3, many.regulator / INWC
        keep = flow <= 36
        curves.append(Line(flow[keep], at[keep], words))
        unit = unit_with(changed)
        rest, on = gas.line(unit, 0.0), gas.line(unit, 1.0)
        three = gas.line(unit_with({**changed, "orifice.diameter": 3**0.5 * usual("orifice.diameter")}), 1.0)
        rows.append((words, low(rest.regulator[0]), low(on.regulator[0]), low(three.regulator[0])))
    said = "Pressure behind the regulator. " + ". ".join(
        f"{row[0]}: at rest {row[1]}, our heater on {row[2]}, three such burners {row[3]}" for row in rows
    )
    body = chart(
        "Pressure behind the regulator",
        Scale(0, 36, "cfh", "gas flow", "gas that flows"),
        Scale(0, 20, "inWC", "gas pressure"),
        curves,
        "The left end of each line is lock-up. From there it falls: that is droop.",
        said + ".",
    )
    head = ("regulator", "at rest: lock-up", "our heater on", "three such burners")
    note = "How a regulator falls off is a teaching model. How the four differ is the trade's experience."
    return reveal(together(Page(body, said + "."), table("The same in numbers", head, rows, note)), "Show the four regulators")  # fmt: skip


def hose_drop() -> Page:
    """What hoses of three bores lose, for our heater alone and with another burner on the line."""
    length, alone = quantity(usual("hose.length"), "m"), quantity(_input(), "W")
    rows = []
    for bore in (0.25, 0.375, 0.5):
        lost = [
            pipe_drop(heat, fuel("propane"), quantity(bore, "in"), length) for heat in (alone, alone + OTHER)
        ]
        rows.append((amount(bore, "in", "small length"), *(low(float(x.to("Pa").magnitude)) for x in lost)))
    other = pipe_drop(alone + OTHER, fuel("propane"), quantity(0.5, "in"), length, formula="Spitzglass")
    run = amount(usual("hose.length"), "m", "length")
    note = f"A smooth line of {run} without bends. Another formula of the trade, Spitzglass, gives {low(float(other.to('Pa').magnitude))} for the last number."  # fmt: skip
    return reveal(
        table("Lost in the line", ("bore", "our heater", f"and {amount(float(OTHER.magnitude), 'BTU_per_hour', 'heat rate')} more"), rows, note),
        "Show the hoses",
    )  # fmt: skip


def manometer() -> Page:
    """Our heater's pressure in a U-tube: nothing connected, at rest, burner on."""
    unit = unit_with({})
    values = (("open to the air", 0.0), ("at rest", gas.line(unit, 0.0).inlet[0]), ("burner on", gas.line(unit, 1.0).inlet[0]))  # fmt: skip
    row = [
        Tube(words, float(pascal) / INWC, _lines(float(pascal), "gas pressure")) for words, pascal in values
    ]
    said = "Water in a U-tube. " + "; ".join(f"{tube.words}: {' or '.join(tube.shown)}" for tube in row)
    said += ". One leg sinks by half of it, the other rises by half. The pressure is the whole difference."
    return Page(u_tubes(row, "The pressure is the whole difference between the legs.", said), said)


def same_pressure() -> Page:
    """Our heater's running pressure in the units that one meets."""
    pascal = quantity(float(gas.line(unit_with({}), 1.0).inlet[0]), "Pa")
    rows = [
        (words, f"{float(pressure_in(pascal, unit).magnitude):.{places}f} {sign}")
        for words, unit, sign, places in (
            ("inches of water column", "inWC", "in. WC", 1),
            ("millibar", "mbar", "mbar", 1),
            ("pounds on a square inch", "psi", "psi", 2),
            ("ounces on a square inch", "ounce_force/inch**2", "oz/in²", 1),
        )
    ]
    note = "A cylinder's gauge can't show this at all: its needle wouldn't leave the stop."
    return table("One pressure, four names", ("unit", "burner on"), rows, note)


def states() -> tuple[tuple[str, dict[str, float]], ...]:
    """What can be wrong with the line, each with its numbers."""
    return (
        ("nothing wrong", {}),
        ("regulator set low", {"regulator.set_pressure": 0.65 * usual("regulator.set_pressure")}),
        ("regulator's vent plugged", {"regulator.vent": 0.3}),
        ("regulator fouled", {"regulator.open_flow": 5.0e-6}),
        ("regulator creeps", {"regulator.seat_leak": 5e-6}),
        ("excess-flow check has shut", {"cylinder.passage": 2.2e-6}),
        ("hose kinked", {"hose.open_share": 0.012}),
        ("cock half shut", {"gas_cock.turned": 0.02}),
        ("jet half blocked", {"orifice.blocked": 0.5}),
    )


def readings(changed: Mapping[str, float]) -> tuple[float, float, float, float]:
    """Pa gauge: valve inlet at rest; then with the burner on: cylinder tap, end of the line, valve inlet."""
    unit = unit_with(changed)
    rest, on = gas.line(unit, 0.0), gas.line(unit, 1.0)
    return float(rest.inlet[0]), float(on.pigtail[0]), float(on.before_cock[0]), float(on.inlet[0])


def riddle() -> Page:
    """Nine lines by their readings at rest and running, first without their names."""
    rows = []
    for letter, (name, changed) in zip("ABCDEFGHI", states(), strict=True):
        rest, pigtail, end, inlet = readings(changed)
        rows.append((letter, low(rest), high(pigtail), low(end), low(inlet), name))
    head = ("line", "3 at rest", "1 burner on", "2 burner on", "3 burner on")
    shown = table("Nine gas lines", head, [row[:5] for row in rows], "1 cylinder, 2 end of the line, 3 valve inlet.")  # fmt: skip
    names = table("What is wrong with them", ("line", "it is"), [(row[0], row[5]) for row in rows])
    return together(shown, reveal(names, "Show what each is"))


def air_in_line() -> Page:
    """How long the burner's gas takes to drive the air out of the line."""
    rows = []
    for words, model in (("spark heater, main burner", MODEL), ("pilot heater, pilot alone", PILOT_MODEL)):
        unit = unit_with({}, model)
        share = 1.0 if model == MODEL else float(unit["gas_valve.pilot_flow"][0])
        flow, held = float(gas.line(unit, share).burner[0]), float(gas.line_volume(unit)[0])
        seconds = held / flow
        spark = unit.model.data.ignition
        tries = ""
        if spark is not None and spark.kind == "spark":
            trial = float(quantity(spark.trial).to("s").magnitude)
            tries = f"{seconds / trial:.0f} tries of {trial:g} s; it locks out after {spark.tries}"
        rows.append(
            (
                words,
                amount(held, "m^3", "volume"),
                amount(flow, "m^3/s", "gas flow"),
                f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min",
                tries or "the button held all the while",
            )
        )
    head = ("", "the line holds", "gas that follows", "all air out after", "at the heater")
    return reveal(table("A line full of air", head, rows), "Show how long it takes")
