"""Part types: the terminals, the parameters and the electrical paths of each kind of part, by subject."""

from tankside.heater.parts import dc, gas, mains, pilot, tank
from tankside.heater.parts.base import OPEN, SHARED_NODES, Feed, Parameter, PartType, Path

PART_TYPES: dict[str, PartType] = {
    kind.name: kind for kind in (*mains.TYPES, *tank.TYPES, *dc.TYPES, *pilot.TYPES, *gas.TYPES)
}

__all__ = ["OPEN", "PART_TYPES", "SHARED_NODES", "Feed", "Parameter", "PartType", "Path"]
