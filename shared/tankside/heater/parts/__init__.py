"""Part types: the terminals, the parameters and the electrical paths of each kind of part, by subject."""

from tankside.heater.parts import anode, dc, gas, mains, pilot, plumbing, tank
from tankside.heater.parts.base import OPEN, SHARED_NODES, Feed, Parameter, PartType, Path

PART_TYPES: dict[str, PartType] = {
    kind.name: kind for subject in (mains, tank, dc, pilot, gas, plumbing, anode) for kind in subject.TYPES
}

__all__ = ["OPEN", "PART_TYPES", "SHARED_NODES", "Feed", "Parameter", "PartType", "Path"]
