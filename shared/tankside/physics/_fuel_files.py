"""Schemas of ``data/gases.toml`` and ``data/fuels.toml``. Imported on first use: pydantic is slow to start."""

from __future__ import annotations

from pathlib import Path

from pydantic import Field, model_validator

from tankside.datafiles import Record, load
from tankside.errors import DataFileError

Pair = tuple[float, float]
Four = tuple[float, float, float, float]


class Liquid(Record):
    """Coefficients of a stored liquid's fits; the file's head gives the forms."""

    range: Pair
    critical: tuple[float, float, float]
    vapour_pressure: Four
    density: Four
    latent_heat: tuple[float, float, float]
    heat_capacity: Four


class Gas(Record):
    """A pure gas. Units as the file's head says."""

    name: str
    cas: str
    atoms: tuple[int, int, int, int]
    molar_mass: float = Field(gt=0)
    higher: float = Field(ge=0)
    lower: float = Field(ge=0)
    formation: float
    critical: Pair | None = None
    acentric: float | None = None
    viscosity: float = Field(default=1.7e-5, gt=0)  # of nitrogen; carbon dioxide is near it
    flammable_iec: Pair | None = None
    flammable_nfpa: Pair | None = None
    liquid: Liquid | None = None

    @model_validator(mode="after")
    def _burns(self) -> Gas:
        if self.higher > 0 and (self.flammable_iec is None or self.flammable_nfpa is None):
            raise ValueError(f"{self.name} burns, so it needs flammable_iec and flammable_nfpa")
        return self


class GasFile(Record):
    gas: list[Gas] = Field(min_length=1)


class FuelRow(Record):
    """A named mixture."""

    name: str = Field(min_length=1)
    label: str = Field(min_length=1)
    source: str = Field(min_length=1)
    composition: dict[str, float]


class FuelFile(Record):
    fuel: list[FuelRow] = Field(min_length=1)


def read_gases(file: Path) -> dict[str, Gas]:
    """Gases by name."""
    return {gas.name: gas for gas in load(file, GasFile).gas}


def read_fuels(file: Path, gases: set[str]) -> list[FuelRow]:
    """The file's fuels, their gases known and their shares adding up."""
    fuels = load(file, FuelFile).fuel
    for row in fuels:
        unknown = sorted(set(row.composition) - gases)
        if unknown:
            raise DataFileError(
                file, f"fuel {row.name}: composition", f"gases among {sorted(gases)}", unknown
            )
        total = sum(row.composition.values())
        if not abs(total - 1) <= 1e-6 or min(row.composition.values()) < 0:
            raise DataFileError(
                file, f"fuel {row.name}: composition", "shares from 0 to 1 adding up to 1", total
            )
    return fuels
