"""What a technician has in mind about the gas: where it was smelt for, what was opened, when a flame was last out."""

from __future__ import annotations

from dataclasses import dataclass

PURGE_MINUTES = 5.0
"""min to wait with the gas shut before another try (common practice, no source; the maker's instructions decide)."""
SNIFFED_FOR = 30.0
"""min for which having smelt for gas counts."""


@dataclass(frozen=True)
class GasNotes:
    """Never changed in place, so that a bench's snapshot can share it."""

    sniffed: tuple[tuple[str, float], ...] = ()
    opened: frozenset[str] = frozenset()
    """Joints that were opened since they were last proven tight."""
    out_at: float | None = None
    """Clock when lighting last failed."""
    over_limit: bool = False
    """True if the analyzer showed too much carbon monoxide and nothing was done about it."""

    def fresh(self, place: str, clock: float) -> bool:
        """True if that place was smelt for gas not long ago."""
        return any(p == place and clock - at <= SNIFFED_FOR for p, at in self.sniffed)
