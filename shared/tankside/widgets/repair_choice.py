"""The calculator of lesson 11: repair or a new heater. A view of ``tankside.quoting``; it has no formula of its own."""

from __future__ import annotations

from typing import Any

from tankside.faults.catalogue import remedies, remedy_named
from tankside.heater.model import load_model
from tankside.questions.upkeep_ways import laid_side_by_side, pays_from
from tankside.quoting import load_prices
from tankside.widgets.calculator import Calculator, Rows

HEATERS = ("plover_12", "pintail_10", "heron_6")
REPAIRS = (
    "replace-thermostat", "replace-element", "replace-anode", "flush-tank", "replace-relief-valve", "replace-igniter",
    "replace-burner", "replace-gas-valve", "replace-board", "renew-jacket", "replace-heater-tank",
)  # fmt: skip


def fields() -> list[dict[str, Any]]:
    """What is chosen and typed."""
    known = remedies()
    return [
        {"id": "heater", "label": "Heater", "choices": [[h, load_model(h).plate.name] for h in HEATERS], "start": HEATERS[0]},
        {"id": "remedy", "label": "Repair", "choices": [[r, known[r].name] for r in REPAIRS], "start": "replace-board"},
        {"id": "testing", "label": "Finding the fault, proving the repair", "unit": "min", "low": 0, "high": 480, "step": 5, "start": 45},
        {"id": "age", "label": "Age of the tank", "unit": "years", "low": 0, "high": 30, "step": 0.5, "start": 8},
        {"id": "lasts", "label": "Years a tank lasts at this site", "unit": "years", "low": 1, "high": 30, "step": 0.5, "start": 12},
    ]  # fmt: skip


def repair_rows(heater: str, remedy: str, testing: float, age: float, lasts: float) -> Rows:
    """Rows of the calculator: the bill, the new heater, and money for each year of hot water.

    Parameters
    ----------
    heater : one of ``HEATERS``
    remedy : one of ``REPAIRS``; a new tank starts its years anew
    testing : 0 to 480 min
    age : 0 to 30 years
    lasts : 1 to 30 years, of a tank on this site

    Raises
    ------
    ValueError
        Minutes or years out of range.
    UnknownNameError
        Another heater or remedy.
    """
    prices = load_prices()
    left = lasts if "vessel.*" in remedy_named(remedy).renews else max(lasts - age, 0.0)
    found = laid_side_by_side(remedy, testing, left, lasts, heater, prices)
    share = found.repair.total / found.new.total

    def row(label: str, text: str, how: str, mark: str = "") -> dict[str, Any]:
        return {"label": label, "text": text, "how": how, "mark": mark}

    yearly = "–" if left <= 0 else prices.money(found.repair_a_year)
    better = found.better == "repair" and left > 0
    return [
        {"group": "The repair"},
        *(row(line.what, prices.money(line.amount), line.how) for line in found.repair.lines),
        row("Price of the repair", prices.money(found.repair.total), f"{found.repair.minutes:.0f} min charged"),
        {"group": "A new heater"},
        row("Price, fitted", prices.money(found.new.total), f"{found.new.minutes:.0f} min charged"),
        {"group": "For each year of hot water"},
        row("Repaired", yearly, f"the tank has {left:g} {'year' if left == 1 else 'years'} left" if left else "the tank is past its years", "good" if better else "bad"),
        row("New", prices.money(found.new_a_year), f"over {lasts:g} {'year' if lasts == 1 else 'years'}", "bad" if better else "good"),
        row("Cheaper a year", "repair" if better else "replace", f"the repair pays if the tank has {pays_from(found):.1f} years or more left"),
        row("The saying", "repair" if share <= 0.5 else "replace", f"the repair costs {100 * share:.0f} % of a new one"),
    ]  # fmt: skip


def repair_or_replace_calculator() -> Calculator:
    """The calculator of lesson 11."""
    return Calculator("Calculator for repair or replacement", fields(), repair_rows)
