"""What a job costs, told before it is done; and what a year of hot water costs if one repairs, or replaces.

Prices are a data file in ``prices/``: a workshop's own. Minutes and parts come from the remedies of the catalogue.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Self

from pydantic import Field, model_validator

from tankside.datafiles import Record, load
from tankside.errors import UnknownNameError
from tankside.faults.catalogue import Remedy, remedies
from tankside.heater.model import HeaterModel

FOLDER = Path(__file__).parent / "prices"
CUBIC_METRES_A_GALLON = 0.003785411784


class NewHeater(Record):
    """A new heater up to a size: buying price and minutes to change it."""

    up_to_gallons: float = Field(gt=0)
    cost: float = Field(gt=0)
    minutes: float = Field(gt=0, le=1440)


class Prices(Record):
    """A workshop's prices. Money in its own currency, minutes at the heater, shares from 0 to 1."""

    name: str
    sign: str = Field(min_length=1, max_length=4)
    call_out: float = Field(ge=0)
    hour: float = Field(gt=0)
    least_minutes: float = Field(ge=0, le=480)
    round_minutes: float = Field(gt=0, le=60)
    parts_markup: float = Field(ge=0, le=3)
    tax: float = Field(ge=0, lt=1)
    heater: tuple[NewHeater, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _rising(self) -> Self:
        sizes = [h.up_to_gallons for h in self.heater]
        if sizes != sorted(set(sizes)):
            raise ValueError("the heaters stand in the order of their sizes, each size once")
        return self

    def money(self, amount: float) -> str:
        """An amount as it stands on a quote."""
        return f"{self.sign}{amount:,.2f}"


@dataclass(frozen=True)
class Line:
    """One line of a quote: what it is for, how it was worked out, and the money."""

    what: str
    how: str
    amount: float


@dataclass(frozen=True)
class Quote:
    """A price with its lines; ``total`` is their sum, rounded to the cent."""

    lines: tuple[Line, ...]
    minutes: float
    """min at the heater that are charged."""

    @property
    def total(self) -> float:
        """What the customer pays."""
        return round(sum(line.amount for line in self.lines), 2)


@cache
def load_prices(name: str = "workshop") -> Prices:
    """The prices of that name; ``UnknownNameError`` for another, ``DataFileError`` for a bad file."""
    names = sorted(file.stem for file in FOLDER.glob("*.toml"))
    if name not in names:
        raise UnknownNameError("price list", name, names)
    return load(FOLDER / f"{name}.toml", Prices)


def charged_minutes(minutes: float, prices: Prices) -> float:
    """Minutes at the heater as they are charged: at least the least, rounded up to whole steps.

    Raises
    ------
    ValueError
        ``minutes`` is not finite or below 0.
    """
    if not 0 <= minutes < math.inf:
        raise ValueError(f"minutes is {minutes}: a job takes 0 minutes or more")
    at_least = max(minutes, prices.least_minutes)
    return math.ceil(at_least / prices.round_minutes - 1e-9) * prices.round_minutes


def quote(done: Sequence[str], testing_minutes: float = 0.0, prices: Prices | None = None) -> Quote:
    """The price of one visit on which the remedies ``done`` (ids) are carried out.

    Parameters
    ----------
    done : ids of remedies; none for a visit that only finds the fault
    testing_minutes : 0 min or more, for finding the fault and proving the repair

    Raises
    ------
    UnknownNameError
        A remedy that isn't in the catalogue.
    ValueError
        ``testing_minutes`` is below 0 or not finite.
    """
    prices = prices or load_prices()
    known = remedies()
    for name in done:
        if name not in known:
            raise UnknownNameError("remedy", name, sorted(known))
    work = [known[name] for name in done]
    return _quote(
        prices, sum(r.minutes for r in work), testing_minutes, [(r.name, r.parts_cost) for r in work]
    )


def quote_for(remedy: Remedy, testing_minutes: float = 0.0, prices: Prices | None = None) -> Quote:
    """``quote`` for one remedy."""
    return quote([remedy.id], testing_minutes, prices)


def replacement(model: HeaterModel, prices: Prices | None = None) -> Quote:
    """The price of a new heater of the model's size, fitted.

    Raises
    ------
    ValueError
        The price list has none so large.
    """
    prices = prices or load_prices()
    gallons = model.number("plate.capacity", model.plate.capacity, "m^3") / CUBIC_METRES_A_GALLON
    fitting = next((h for h in prices.heater if gallons <= h.up_to_gallons), None)
    if fitting is None:
        largest = prices.heater[-1].up_to_gallons
        raise ValueError(f"the heater holds {gallons:.1f} gal: the price list ends at {largest:g} gal")
    return _quote(prices, fitting.minutes, 0.0, [("new heater", fitting.cost)])


def _quote(prices: Prices, working: float, testing: float, parts: Sequence[tuple[str, float]]) -> Quote:
    if not 0 <= testing < math.inf:
        raise ValueError(f"testing_minutes is {testing}: 0 or more")
    minutes = charged_minutes(working + testing, prices)
    lines = [
        Line("call-out", "for coming", prices.call_out),
        Line(
            "labor", f"{minutes:.0f} min at {prices.money(prices.hour)} an hour", minutes / 60 * prices.hour
        ),
    ]
    for name, cost in parts:
        if cost:
            words = f"{prices.money(cost)} and {100 * prices.parts_markup:.0f} %"
            lines.append(Line(f"parts: {name}", words, cost * (1 + prices.parts_markup)))
    before = sum(line.amount for line in lines)
    lines.append(Line("tax", f"{100 * prices.tax:.1f} % of {prices.money(before)}", before * prices.tax))
    return Quote(tuple(lines), minutes)


@dataclass(frozen=True)
class Choice:
    """Repair or replace: price, years of service that it buys, and price a year."""

    repair: Quote
    years_repaired: float
    new: Quote
    years_new: float

    @property
    def repair_a_year(self) -> float:
        """Money for each year that the repaired heater lasts; infinite if it lasts none."""
        return self.repair.total / self.years_repaired if self.years_repaired > 0 else math.inf

    @property
    def new_a_year(self) -> float:
        """Money for each year that a new heater lasts."""
        return self.new.total / self.years_new if self.years_new > 0 else math.inf

    @property
    def better(self) -> str:
        """ "repair" or "replace": the one that costs less a year of hot water."""
        return "repair" if self.repair_a_year <= self.new_a_year else "replace"


def repair_or_replace(repair: Quote, years_repaired: float, new: Quote, years_new: float) -> Choice:
    """The two laid side by side.

    Parameters
    ----------
    years_repaired : 0 years or more that the repaired heater is expected to last
    years_new : above 0, the same for a new one at this site

    Raises
    ------
    ValueError
        Years out of range.
    """
    if not 0 <= years_repaired < math.inf:
        raise ValueError(f"years_repaired is {years_repaired}: 0 years or more")
    if not 0 < years_new < math.inf:
        raise ValueError(f"years_new is {years_new}: more than 0 years")
    return Choice(repair, years_repaired, new, years_new)
