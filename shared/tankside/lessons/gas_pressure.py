"""What lesson 7 shows: the gas line, its jet, its leaks, and an example; each page is worked out, none is typed in."""

from __future__ import annotations

from tankside.lessons.gas_pressure_leaks import bigger_line as bigger_line
from tankside.lessons.gas_pressure_leaks import explosive_cabin as explosive_cabin
from tankside.lessons.gas_pressure_leaks import fill_by_weight as fill_by_weight
from tankside.lessons.gas_pressure_leaks import procedures as procedures
from tankside.lessons.gas_pressure_leaks import small_leaks as small_leaks
from tankside.lessons.gas_pressure_leaks import warm_or_leak as warm_or_leak
from tankside.lessons.gas_pressure_line import air_in_line as air_in_line
from tankside.lessons.gas_pressure_line import boiling as boiling
from tankside.lessons.gas_pressure_line import drawn_from as drawn_from
from tankside.lessons.gas_pressure_line import hose_drop as hose_drop
from tankside.lessons.gas_pressure_line import manometer as manometer
from tankside.lessons.gas_pressure_line import regulator_curves as regulator_curves
from tankside.lessons.gas_pressure_line import riddle as riddle
from tankside.lessons.gas_pressure_line import same_pressure as same_pressure
from tankside.lessons.gas_pressure_line import way_of_gas as way_of_gas
from tankside.lessons.gas_pressure_orifice import altitude as altitude
from tankside.lessons.gas_pressure_orifice import bigger_orifice as bigger_orifice
from tankside.lessons.gas_pressure_orifice import good_at_rest as good_at_rest
from tankside.lessons.gas_pressure_orifice import holes as holes
from tankside.lessons.gas_pressure_orifice import square_root as square_root
from tankside.lessons.gas_pressure_orifice import wrong_jets as wrong_jets
from tankside.lessons.gas_pressure_worked import gas_example
from tankside.lessons.pages import table
from tankside.notebook import Page


def example() -> Page:
    """The worked example, with the faults still possible after each step, up to the proof."""
    rows = [(str(step.line), step.did, step.why, str(step.left)) for step in gas_example()]
    head = ("log line", "done, and what it showed", "what it tells", "faults left")
    return table("Worked example", head, rows)
