"""Safety rules: each has a name, a reason, and what a technician does instead.

A rule is *dangerous* (it fails the safety part whatever else is right, and stops the bench)
or *careless* (it costs marks). Local codes, the maker's instructions and licensed practice
come before any rule here; a simulation is no license to work live.
"""

from __future__ import annotations

from dataclasses import dataclass

from tankside.bench.gas_notes import SNIFFED_FOR


@dataclass(frozen=True)
class Rule:
    """One safety rule."""

    id: str
    name: str
    dangerous: bool
    why: str
    instead: str


RULES: dict[str, Rule] = {
    rule.id: rule
    for rule in (
        Rule(
            "hands-on-live",
            "Hands on a live conductor",
            True,
            "Mains current through the body can kill. What you touched would have sent a felt current through you.",
            "Isolate, lock out, and prove the place dead with a proven meter before a hand goes near a conductor.",
        ),
        Rule(
            "no-lock-out",
            "Hands on the wiring without a lock on the isolator",
            False,
            "Someone else can switch the power back on while your hands are in there.",
            "Switch off at the breaker or pull the plug, then put your lock on it and keep the key.",
        ),
        Rule(
            "not-proven-dead",
            "Hands on the wiring before it was proven dead",
            False,
            "A switch that is off is not proof. Swapped wires or a second feed keep a heater live.",
            "Live, dead, live: prove the meter, test hot-neutral, hot-ground and neutral-ground, prove the meter again.",
        ),
        Rule(
            "ohms-on-live",
            "Ohms or continuity on a live circuit",
            False,
            "The meter drives its own small current. Outside volts make the number worthless and can hurt the meter.",
            "Measure volts first. Only when they are gone, turn to ohms.",
        ),
        Rule(
            "lifted-live-12v",
            "Lead lifted or put back with the 12 V side live",
            False,
            "12 volts don't hurt a hand, but an end that slips onto the case blows the fuse, burns the wire, or kills "
            "the board. And a spark lead bites.",
            "Switch the 12 V side off at the panel first (common practice). To measure volts, leave the lead where it is.",
        ),
        Rule(
            "board-overvoltage",
            "Insulation test into the control board",
            False,
            "500 volts break the board's parts down. A board that was good is dead now.",
            "Lift the lead at the part, and test only what no electronics hangs on.",
        ),
        Rule(
            "dry-fire",
            "Element switched on with the tank empty",
            True,
            "Without water nothing carries the heat off: the element reaches red heat and parts within minutes.",
            "Fill the tank and run a hot tap until it flows without air. Then switch on.",
        ),
        Rule(
            "dry-burner",
            "Burner lit under an empty tank",
            True,
            "Without water nothing carries the flame's heat off: the lining cracks and the seams open within minutes.",
            "Fill the tank and run a hot tap until it flows without air. Then light it.",
        ),
        Rule(
            "bridged-safety",
            "Safety device bridged",
            True,
            "A jumper across a thermostat or limit leaves nothing to stop the water from scalding or the tank from bursting.",
            "Never bridge it. Test it with a meter. Replace it if it has failed, and find what made it open.",
        ),
        Rule(
            "scald",
            "Hot water let out",
            False,
            "Water above 120 °F burns skin; at 140 °F it takes seconds.",
            "Let it cool, or run a tap until it is cool, before you drain.",
        ),
        Rule(
            "flood",
            "Part taken out of a full tank",
            False,
            "The tank empties through the hole, over the wiring and over you.",
            "Shut the water off and drain the tank first.",
        ),
        Rule(
            "under-pressure",
            "Fitting opened with the tank full and under pressure",
            True,
            "Water under pressure throws the part, and hot water follows it.",
            "Power and gas off, cold water shut, a hot tap open, and the tank drained before a fitting comes out.",
        ),
        Rule(
            "plugged-relief",
            "Relief valve plugged",
            True,
            "Without it nothing lets the pressure go if a thermostat fails: the tank bursts and its water flashes to steam.",
            "Never plug or cap it, and put no valve before or behind it. Find out why it runs, or replace it.",
        ),
        Rule(
            "energised-open",
            "Power switched on with a lead hanging loose",
            False,
            "A loose end that is live touches the case, or the next hand.",
            "Land every lead, or cap it, before the power goes on.",
        ),
        Rule(
            "flame-search",
            "Leak looked for with a flame",
            True,
            "A flame finds the leak by lighting it. Gas that has gathered burns all at once.",
            "Smell gas: no flame, no switches, gas off at the cylinder, air the place. Look for it with soap solution.",
        ),
        Rule(
            "lit-in-smell",
            "A light struck where gas can be smelt",
            True,
            "Where you smell gas there is gas to burn. Fuel gas is heavier than air and gathers low, in lockers and bilges.",
            "Shut the cylinder, open doors and hatches, touch no switch, and find the leak with soap before any flame.",
        ),
        Rule(
            "relight-unpurged",
            "Another try without airing the burner",
            True,
            "Gas from the last try still hangs in the chamber. The next spark lights all of it at once.",
            "Shut the gas, wait five minutes or as long as the maker says, smell, and only then try again.",
        ),
        Rule(
            "gas-not-shut",
            "Gas joint opened with gas behind it",
            True,
            "The whole line empties through the open joint, into the place where you work.",
            "Shut the cylinder, or the cock before the joint, and let the burner burn the line empty.",
        ),
        Rule(
            "no-sniff",
            "Lit without smelling for gas first",
            False,
            "A leak gathers low down, where a standing person doesn't notice it.",
            f"Smell at floor level around the heater in the {SNIFFED_FOR:g} minutes before you bring a flame to it.",
        ),
        Rule(
            "no-leak-test",
            "Lit with a joint that wasn't tested tight",
            False,
            "A joint that was apart may not be tight. Tight is what soap or a gauge has shown, not what it felt like.",
            "Put pressure on it, and test every joint that you opened with soap solution or a timed pressure test.",
        ),
        Rule(
            "relit-over-limit",
            "Lit again after too much carbon monoxide",
            False,
            "Carbon monoxide has no smell. What the analyzer showed goes wherever the flue gas goes.",
            "Leave the gas off and tagged until the cause is found and cured; then measure again.",
        ),
    )
}

SCALDS_ABOVE = 49.0
"""°C (120 °F): the scald table's five-minute line, CPSC, in ``tests/published/water.toml``."""
