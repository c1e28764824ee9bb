"""Volts lost in a 12 V run: wire, length, current and one joint. A view of the library; it has no formula of its own."""

from __future__ import annotations

from functools import partial
from typing import Any

from tankside.measures import amount, chosen
from tankside.physics.conductors import voltage_drop
from tankside.physics.resistance_heating import power_from
from tankside.units import quantity, significant
from tankside.widgets.calculator import Calculator, Rows

GAUGES = (18, 16, 14, 12, 10, 8)


def fields(system: str | None = None) -> list[dict[str, Any]]:
    """What is typed or chosen, in the learner's measures; U.S. customary for who reads both."""
    si = (chosen() if system is None else system) == "si"
    run = (
        {"unit": "m", "low": 0.3, "high": 30, "step": 0.1, "start": 10.5}
        if si
        else {"unit": "ft", "low": 1, "high": 100, "step": 1, "start": 35}
    )
    return [
        {"id": "gauge", "label": "Wire", "choices": [[str(g), f"{g} AWG"] for g in GAUGES], "start": "16"},
        {"id": "length", "label": "Length of the run, one way", **run},
        {"id": "amps", "label": "Current while the load runs", "unit": "A", "low": 0, "high": 30, "step": 0.1, "start": 1.5},
        {"id": "joint", "label": "Ohms of one bad joint in it", "unit": "Ω", "low": 0, "high": 50, "step": 0.1, "start": 2},
        {"id": "supply", "label": "Volts at the battery", "unit": "V", "low": 8, "high": 15, "step": 0.1, "start": 12.6},
    ]  # fmt: skip


def wire_drop(
    gauge: str, length: float, amps: float, joint: float, supply: float, system: str | None = None
) -> Rows:
    """Rows of the calculator: volts left behind in the wire and in the joint, what is left, and the joint's heat.

    Parameters
    ----------
    gauge : one of ``GAUGES``, AWG
    length : 1 to 100 ft, one way; for ``system`` "si" 0.3 to 30 m; copper at 20 °C
    amps : 0 to 30 A, taken as steady: a load that takes less at fewer volts is better off than this
    joint : 0 to 50 Ω
    supply : 8 to 15 V
    system : "us", "si", "both"; None for the learner's choice

    Raises
    ------
    ValueError
        More volts would be lost than the supply has: so much current can't flow.
    """
    system = chosen() if system is None else system
    unit = "m" if system == "si" else "ft"
    run, current, bad = quantity(length, unit), quantity(amps, "A"), quantity(joint, "ohm")
    wire = voltage_drop(int(gauge), run, current, quantity(20, "degC"), stranded=True).magnitude
    across = (current * bad).to("V").magnitude
    left = supply - wire - across
    if left < 0:
        raise ValueError(
            f"{amps:g} A through {joint:g} Ω and this wire would need {wire + across:.1f} V, and the battery gives "
            f"{supply:g} V. So this much can't flow: take fewer amps, or fewer ohms"
        )
    heat = power_from(resistance=bad, current=current).to("W").magnitude if joint else 0.0
    way = amount(length, unit, "length", system)
    return [
        {"group": "Left behind"},
        {"label": "In the wire, there and back", "text": f"{significant(wire)} V", "how": f"{gauge} AWG, {way} each way, at {amps:g} A", "mark": ""},
        {"label": "In the joint", "text": f"{significant(across)} V", "how": "amps × ohms", "mark": "bad" if across > 0.5 else ""},
        {"group": "What arrives"},
        {"label": "Volts at the load", "text": f"{significant(left)} V", "how": f"{100 * (left / supply):.0f} % of the battery's", "mark": "good" if left > 10.5 else "bad"},
        {"label": "Heat in the joint", "text": f"{significant(heat)} W", "how": "amps × amps × ohms", "mark": ""},
        {"label": "Same ohms and amps on mains", "text": f"{100 * ((wire + across) / 120):.1f} % lost", "how": f"against {100 * ((wire + across) / supply):.0f} % here", "mark": ""},
    ]  # fmt: skip


def wire_drop_calculator() -> Calculator:
    """The calculator of lesson 5, in the learner's measures."""
    system = chosen()  # as it is now: the fields and the rows stay with one another
    return Calculator(
        "Calculator for volts lost in a 12 V run", fields(system), partial(wire_drop, system=system)
    )
