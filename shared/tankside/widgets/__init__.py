"""What a notebook shows: the bench, its text twin, calculators and self-check questions.

Names are loaded when they are first touched, so that the text bench works without the widget library.
"""

from importlib import import_module

_PUBLIC = {
    "BenchWidget": "tankside.widgets.bench_widget",
    "show_bench": "tankside.widgets.bench_widget",
    "TextBench": "tankside.widgets.text_bench",
    "Calculator": "tankside.widgets.calculator",
    "ohm_watt_calculator": "tankside.widgets.calculators",
    "air_fuel_calculator": "tankside.widgets.air_fuel",
    "orifice_calculator": "tankside.widgets.gas_input",
    "hot_water_calculator": "tankside.widgets.hot_water",
    "anode_calculator": "tankside.widgets.anode_life",
    "flame_calculator": "tankside.widgets.flame_current",
    "limit_chain_builder": "tankside.widgets.limit_chain",
    "repair_or_replace_calculator": "tankside.widgets.repair_choice",
    "wire_drop_calculator": "tankside.widgets.wire_drop",
    "measures_choice": "tankside.widgets.measures_buttons",
    "SelfCheck": "tankside.widgets.quiz",
    "self_check": "tankside.widgets.quiz",
    "counter": "tankside.widgets.front_desk",
    "print_on_one_page": "tankside.widgets.summary_sheet",
}


def __getattr__(name: str) -> object:
    if name in _PUBLIC:
        return getattr(import_module(_PUBLIC[name]), name)
    raise AttributeError(f"tankside.widgets has no public name {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *_PUBLIC})
