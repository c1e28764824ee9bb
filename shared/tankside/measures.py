"""Amounts as the learner wants to read them: U.S. customary, SI, or both. Chosen once, for every lesson.

The choice is one small file in the learner's own folder (``own_folder``).
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import platformdirs

from tankside.errors import TanksideError, UnknownNameError
from tankside.units import quantity, significant

SYSTEMS = {"us": "U.S. customary", "si": "SI", "both": "both"}
"""What can be chosen, and its name on the screen."""
FIRST = "both"
"""What a learner sees who has not chosen."""
_FILE = "measures.json"


@dataclass(frozen=True)
class Kind:
    """How one kind of amount is written: unit and sign in each system, and how many digits after the point, if fixed."""

    us: tuple[str, str]
    si: tuple[str, str]
    places: tuple[int, int] | None = None


KINDS = {
    "temperature": Kind(("degF", "°F"), ("degC", "°C"), (0, 0)),
    "temperature rise": Kind(("delta_degF", "°F"), ("delta_degC", "K"), (0, 0)),
    "volume": Kind(("gallon", "gal"), ("liter", "L")),
    "small volume": Kind(("fl_oz", "fl oz"), ("milliliter", "mL")),
    "small gas volume": Kind(("inch^3", "in³"), ("milliliter", "mL")),
    "water flow": Kind(("gpm", "gal/min"), ("liter/minute", "L/min")),
    "gas flow": Kind(("cfh", "ft³/h"), ("m^3/hour", "m³/h")),
    "gas volume": Kind(("foot^3", "ft³"), ("m^3", "m³")),
    "gas pressure": Kind(("inWC", "in. WC"), ("mbar", "mbar"), (1, 1)),
    "pressure": Kind(("psi", "psi"), ("bar", "bar")),
    "heat rate": Kind(("BTU_per_hour", "BTU/h"), ("kilowatt", "kW")),
    "heat": Kind(("Btu", "BTU"), ("megajoule", "MJ")),
    "mass": Kind(("pound", "lb"), ("kilogram", "kg")),
    "small mass": Kind(("ounce", "oz"), ("gram", "g")),
    "length": Kind(("foot", "ft"), ("meter", "m")),
    "speed": Kind(("foot/second", "ft/s"), ("meter/second", "m/s")),
    "small length": Kind(("inch", "in."), ("millimeter", "mm")),
    "area": Kind(("inch^2", "in²"), ("centimeter^2", "cm²")),
    "hardness": Kind(("gpg", "gpg"), ("milligram/liter", "mg/L")),
}
"""Amounts that the two systems write differently. Volts, amps, ohms, watts, seconds and ppm are the same in both."""


def own_folder() -> Path:
    """The learner's own folder on this machine: ``TANKSIDE_HOME``, or where the system keeps a user's data."""
    named = os.environ.get("TANKSIDE_HOME")
    return Path(named) if named else platformdirs.user_data_path("tankside", appauthor=False)


def chosen() -> str:
    """``"us"``, ``"si"`` or ``"both"``; both for who never chose, or whose file can't be read."""
    try:
        found = json.loads((own_folder() / _FILE).read_text(encoding="utf-8"))["system"]
    except (OSError, ValueError, KeyError, TypeError):
        return FIRST
    return found if isinstance(found, str) and found in SYSTEMS else FIRST


def choose(system: str) -> None:
    """Keep the choice; ``UnknownNameError`` for another word, ``TanksideError`` if the folder can't be written."""
    if system not in SYSTEMS:
        raise UnknownNameError("system of measures", system, sorted(SYSTEMS))
    folder = own_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        waiting = folder / f"{_FILE}.new"
        waiting.write_text(json.dumps({"system": system}), encoding="utf-8")
        waiting.replace(folder / _FILE)
    except OSError as error:
        raise TanksideError(
            f"The choice can't be kept in {folder} ({error.strerror}). "
            "Set TANKSIDE_HOME to a folder that you may write to."
        ) from None


def amount(value: float, unit: str, kind: str, system: str | None = None) -> str:
    """``value`` in ``unit`` as the learner reads it: "140 °F", "60 °C" or "140 °F (60 °C)".

    Parameters
    ----------
    value : finite
    unit : any unit that pint knows, of the kind's dimension
    kind : a key of ``KINDS``
    system : "us", "si", "both"; None for the learner's choice

    Raises
    ------
    UnknownNameError
        Another kind or system.
    ValueError
        ``value`` is not finite.
    """
    if kind not in KINDS:
        raise UnknownNameError("kind of amount", kind, sorted(KINDS))
    system = chosen() if system is None else system
    if system not in SYSTEMS:
        raise UnknownNameError("system of measures", system, sorted(SYSTEMS))
    if not -float("inf") < value < float("inf"):
        raise ValueError(f"value is {value}: only a finite amount can be written")
    how = KINDS[kind]
    texts = {}
    for at, name in enumerate(("us", "si")):
        wanted, sign = getattr(how, name)
        number = _converted(value, unit, wanted)
        written = significant(number) if how.places is None else f"{number:,.{how.places[at]}f}"
        texts[name] = f"{'0' if written == '-0' else written} {sign}"
    return f"{texts['us']} ({texts['si']})" if system == "both" else texts[system]


_EXACT: dict[tuple[str, str], Callable[[float], float]] = {
    ("degC", "degF"): lambda celsius: 1.8 * celsius + 32.0,
    ("mm", "millimeter"): lambda millimeters: millimeters,
    ("mm", "inch"): lambda millimeters: millimeters / 25.4,
}
"""What a bench shows before anybody asked for a picture: exact by definition (NIST SP 811), so that opening a lab needn't
wait for the library of units."""


def _converted(value: float, unit: str, wanted: str) -> float:
    if unit == wanted:
        return value
    exact = _EXACT.get((unit, wanted))
    return exact(value) if exact else float(quantity(value, unit).to(wanted).magnitude)
