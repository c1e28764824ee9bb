"""Examples that others have printed, worked again with the course's own laws and set beside the printed figure.

The printed figures are those of ``tests/published/electrical.toml`` and ``diagnosis.toml``; a test holds both together.
"""

from __future__ import annotations

from math import ceil

from tankside.diagnosis.chain_plans import by_halves, longest
from tankside.diagnosis.planner import entropy
from tankside.instruments.multimeter import INPUT_RESISTANCE
from tankside.lessons.pages import reveal, say, table, together
from tankside.measures import amount
from tankside.notebook import Page
from tankside.physics.conductors import wire_resistance
from tankside.physics.resistance_heating import current_through, power_from, resistance_from, voltage_across
from tankside.units import quantity

METER_VOLTS, METER_SERIES, METER_READS = 120.0, 1e6, 109.1
"""V of a source, Ω in series with it, and V that a 10 MΩ meter then shows (ibex.tech)."""
PUSH, FLOW, OHMS, WATTS = 12.0, 5.0, 2.4, 60.0
"""V and A of a worked example, its Ω and W (calcady.com)."""
WIRE_AT = 75.0
"""°C of the wire in the electrical code's table."""
WIRES = ((14, 3.07), (12, 1.93), (10, 1.21))
"""AWG and Ω of 1000 ft of solid copper (NEC chapter 9, table 8, as voltdropcalc.com has it)."""
PARTS, TESTS = 2**20, 20
"""Parts in a row, and the tests by halves that find the bad one (troubleshooters.com)."""
ROWS = (4, 8, 16)
"""Rows of contacts that the planner works out in full."""


def meter_in_the_way() -> Page:
    """A meter behind a large resistor: the reading that a page prints, and ours."""
    series, own = quantity(METER_SERIES, "ohm"), quantity(INPUT_RESISTANCE, "ohm")
    source = quantity(METER_VOLTS, "V")
    reads = voltage_across(current_through(source, series + own), own).magnitude
    row = (f"{METER_VOLTS:.0f} V", f"{METER_SERIES / 1e6:.0f} MΩ", f"{INPUT_RESISTANCE / 1e6:.0f} MΩ", f"{METER_READS} V", f"{reads:.1f} V")  # fmt: skip
    head = ("source", "in its way", "the meter's own", "printed: it reads", "worked out here")
    note = "A meter takes a little current too. Behind a large resistor it shows less than is there."
    asked = say(
        f"A source of {METER_VOLTS:.0f} V, {METER_SERIES / 1e6:.0f} MΩ in its way, and a meter of {INPUT_RESISTANCE / 1e6:.0f} MΩ."
    )
    answer = table("A printed example, worked again", head, [row], note)
    return together(asked, reveal(answer, "Show what the meter reads"))


def four_numbers() -> Page:
    """Volts and amps of a printed example: its ohms and watts, and ours."""
    volts, amps = quantity(PUSH, "V"), quantity(FLOW, "A")
    rows = [
        ("ohms", "volts divided by amps", f"{OHMS:g} Ω", f"{resistance_from(volts, amps).magnitude:.1f} Ω"),
        ("watts", "volts times amps", f"{WATTS:g} W", f"{power_from(voltage=volts, current=amps).magnitude:.0f} W"),
    ]  # fmt: skip
    head = ("you want", "the way", "printed", "worked out here")
    return reveal(
        table(f"A printed example: {PUSH:.0f} V push {FLOW:.0f} A", head, rows), "Show ohms and watts"
    )


def wire_table() -> Page:
    """Ohms of 1000 ft of copper wire: the electrical code's table, and ours from diameter and copper."""
    rows = []
    for gauge, printed in WIRES:
        ours = wire_resistance(gauge, quantity(1000.0, "ft"), quantity(WIRE_AT, "degC")).magnitude
        rows.append((f"{gauge} AWG", f"{printed:.2f} Ω", f"{ours:.2f} Ω"))
    note = "Worked out from the wire's diameter and what copper resists. The smaller the number of a wire, the thicker it is."
    head = ("solid copper, 1000 ft", "the code's table", "worked out here")
    return table(f"What wire resists at {amount(WIRE_AT, 'degC', 'temperature')}", head, rows, note)


def halving() -> Page:
    """How many tests by halves find one bad part in a row: a printed example, and ours."""
    rows = [(f"{parts}", "", f"{longest(by_halves(parts), parts)}") for parts in ROWS]
    bits = entropy([1 / PARTS] * PARTS)
    rows.append((f"{PARTS:,}", f"{TESTS}", f"{ceil(bits - 1e-6)}"))
    note = f"{PARTS:,} equal suspects are {bits:.0f} bits. Each fair halving tells one bit. One by one it could take {PARTS - 1:,} tests."
    head = ("parts in a row", "printed: tests at most", "worked out here")
    return reveal(table("Halving, again and again", head, rows, note), "Show how many tests")
