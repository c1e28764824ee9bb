"""A unit's gas side as gauges, soap, eyes and nose find it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.heater import burner, gas
from tankside.heater.unit import Unit
from tankside.instruments import senses
from tankside.instruments.gauge import Gauge, Scale
from tankside.streams import Stream

Array = NDArray[np.float64]

NEAR_AIR = 1e-3
"""m3/s of air that drifts past a nose at a joint (our figure)."""


@dataclass(frozen=True)
class Tap:
    """A test tap: at which part, what gauge, in words."""

    part: str
    words: str
    high: bool = False


TAPS = {
    "cylinder": Tap("cylinder", "between cylinder and regulator", True),
    "line": Tap("hose", "at the end of the line, before the gas cock"),
    "heater": Tap("gas_valve", "at the inlet of the heater's gas valve"),
}
JOINTS = {
    "cylinder": "the cylinder's connection",
    "hose": "the union at the end of the hose",
    "gas_cock": "the union behind the gas cock",
    "orifice": "the orifice's thread",
}


@dataclass(frozen=True)
class Look:
    """What one sees of a part: senses and gauges on its numbers; ``apart`` if the burner must come out for it."""

    senses: tuple[tuple[str, senses.Sense], ...] = ()
    gauges: tuple[tuple[str, Gauge], ...] = ()
    apart: bool = False
    minutes: float = 2.0


BORE = Gauge(Scale("plug gauge", "mm", (6.0,), 0.0, 1, 600), Stream("plug gauge"))
SHUTTER = Gauge(Scale("shutter open", "%", (100.0,), 0.0, 2, 50), Stream("shutter"))

LOOKS = {
    "regulator": Look((("regulator.vent", senses.VENT),)),
    "hose": Look((("hose.open_share", senses.BEND),)),
    "gas_cock": Look((("gas_cock.turned", senses.TURNED),)),
    "burner": Look(
        (("burner.web", senses.TUBE), ("burner.rust", senses.PORTS), ("burner.askew", senses.PLACED)),
        (("burner.opening", SHUTTER),),
        minutes=4,
    ),
    "orifice": Look((("orifice.blocked", senses.HOLE),), (("orifice.diameter", BORE),), True, 15),
    "flue": Look(
        (
            ("flue.blocked", senses.WAY),
            ("flue.soot", senses.SOOT),
            ("flue.inlet", senses.GRILLE),
            ("flue.baffle", senses.BAFFLE),
        ),
        minutes=4,
    ),
}
_IN_UNITS = {"burner.opening": 100.0, "orifice.diameter": 1000.0}


class GasPoints:
    """The instruments' view of a unit's gas side, as it stands now."""

    def __init__(self, unit: Unit) -> None:
        self.unit = unit
        self.drawn = False
        """True while a test hose leads as much gas outdoors as the burner takes."""

    def pressure(self, tap: str) -> Array:
        """(B,) Pa gauge at a test tap."""
        now = gas.line(self.unit, 1.0 if self.drawn else None)
        return {"cylinder": now.pigtail, "line": now.before_cock, "heater": now.inlet}[tap]

    def escapes(self, part: str) -> Array:
        """(B,) m3/s that escape at a joint."""
        return gas.leaks(self.unit)[part]

    def under_pressure(self, part: str) -> NDArray[np.bool_]:
        """(B,) whether soap on a joint can say anything: there is gas behind it."""
        now = gas.line(self.unit)
        behind = {
            "cylinder": now.pigtail,
            "hose": now.before_cock,
            "gas_cock": now.inlet,
            "orifice": np.where(gas.valve_flow(self.unit) > 0, now.inlet, 0.0),
        }[part]
        return behind > 500.0

    def smell(self, place: str) -> Array:
        """(B,) share of gas in the air at a nose held along the joints of a place."""
        flow = np.zeros(self.unit.batch)
        for part, leak in gas.leaks(self.unit).items():
            if self.unit.model.parts[part].place == place:
                flow = flow + leak
        share = flow / (flow + NEAR_AIR)
        if self.unit.model.parts["burner"].place == place and burner.has_burner(self.unit):
            share = np.maximum(share, self.unit["burner.chamber"])
        return share

    def closed_line(self, start: float) -> tuple[Array, Array]:
        """(B,) Pa that the closed line can be brought to, and (B,) m3/s that it then loses."""
        unit = self.unit
        shut = gas.line(unit, 0.0)
        begins = np.minimum(np.maximum(shut.before_cock, 0.0), start)
        loss = gas.leaks_at(unit, begins)
        return begins, loss

    def value(self, key: str) -> Array:
        """(B,) a part's number in the unit that its gauge shows."""
        return self.unit[key] * _IN_UNITS.get(key, 1.0)
