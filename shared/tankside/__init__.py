"""Tankside: a bench course for people who service compact storage water heaters.

Names that notebooks use are listed in ``_PUBLIC`` and loaded when they are first
touched, so that ``import tankside`` stays quick.
"""

from importlib import import_module

__version__ = "0.1.0"

_PUBLIC: dict[str, str] = {
    "open_lab": "tankside.notebook",
    "lesson_bench": "tankside.notebook",
    "plain_bench": "tankside.notebook",
    "price_list": "tankside.notebook",
    "practice_room": "tankside.practice_screen",
    "progress": "tankside.practice_screen",
    "quantity": "tankside.units",
    "significant": "tankside.units",
    "load_model": "tankside.heater.model",
    "faults": "tankside.faults.catalogue",
    "Bench": "tankside.bench",
    "ohm_watt_calculator": "tankside.widgets",
    "self_check": "tankside.widgets",
    "entry_check": "tankside.lessons.entry",
    "counter": "tankside.widgets",
    "TextBench": "tankside.widgets",
}
"""Public name -> the module that holds it."""

__all__ = sorted(_PUBLIC)


def __getattr__(name: str) -> object:
    if name in _PUBLIC:
        return getattr(import_module(_PUBLIC[name]), name)
    raise AttributeError(f"tankside has no public name {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *_PUBLIC})
