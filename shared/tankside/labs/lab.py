"""The schema of a lab's data file, and reading one."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from pydantic import Field, model_validator

from tankside.datafiles import Record, load
from tankside.errors import UnknownNameError
from tankside.faults.catalogue import fault_named
from tankside.heater.model import load_model

FOLDER = Path(__file__).parent
PARTS = {
    "safe-working": "Safe working",
    "evidence": "Evidence",
    "diagnosis": "Diagnosis",
    "remedy": "Remedy",
    "figures": "Figures",
}
"""The five parts of every mark, in the order in which they are shown."""


class Figure(Record):
    """One calculated or measured value that the service report asks for.

    ``source`` names a computation of ``tankside.figures``; ``share`` and ``least`` are the
    tolerance: that share of the value, but at least so much, in ``unit``.
    """

    id: str = Field(pattern=r"^[a-z0-9-]+$")
    label: str
    source: str
    unit: str
    share: float = Field(ge=0, le=0.5)
    least: float = Field(default=0.0, ge=0)


class EvidenceShares(Record):
    """What the evidence part is given for: the information in the readings, citing them, and not wasting time."""

    information: int = Field(default=60, ge=0, le=100)
    citing: int = Field(default=25, ge=0, le=100)
    economy: int = Field(default=15, ge=0, le=100)

    @model_validator(mode="after")
    def _adds_up(self) -> EvidenceShares:
        if self.information + self.citing + self.economy != 100:
            raise ValueError("information, citing and economy add up to 100")
        return self


class Lab(Record):
    """A lab: what learners do, on what, and how it is marked."""

    id: str = Field(pattern=r"^[a-z0-9]+$")
    title: str
    level: int = Field(ge=1, le=3)
    minutes: int = Field(ge=10, le=240)
    needs: tuple[str, ...] = ()
    models: tuple[str, ...] = Field(min_length=1)
    faults: tuple[str, ...] = Field(min_length=1)
    weights: dict[str, int]
    pass_mark: int = Field(default=60, ge=0, le=100)
    difficulty: tuple[float, float] = (0.0, 100.0)
    """Of the orders: bits to find out about the repair plus quarter hours of the reference path."""
    faults_at_once: int = Field(default=1, ge=1, le=2)
    """How many of the faults a heater has: 2 for advanced labs, with different remedies."""
    least_suspects: int = Field(default=3, ge=1)
    """How many faults the owner's words leave open, if any wording does."""
    evidence: EvidenceShares = EvidenceShares()
    """How the evidence part is divided, in hundredths."""
    expects: tuple[str, ...] = ()
    """Actions that the lab asks for in any case; each one missing costs safe-working marks."""
    figure: tuple[Figure, ...] = ()

    @model_validator(mode="after")
    def _fits(self) -> Lab:
        if set(self.weights) != set(PARTS):
            raise ValueError(f"weights names exactly the parts {', '.join(PARTS)}")
        if sum(self.weights.values()) != 100 or min(self.weights.values()) < 0:
            raise ValueError("the weights are not negative and add up to 100")
        return self


def lab_ids() -> list[str]:
    """Every lab, in teaching order."""
    return sorted(file.stem for file in FOLDER.glob("*.toml"))


@cache
def load_lab(lab_id: str) -> Lab:
    """The lab of that id; names of models and faults are checked."""
    if lab_id not in lab_ids():
        raise UnknownNameError("lab", lab_id, lab_ids())
    lab = load(FOLDER / f"{lab_id}.toml", Lab)
    for model in lab.models:
        load_model(model)
    for fault in lab.faults:
        fault_named(fault)
    return lab
