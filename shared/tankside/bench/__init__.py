"""The bench: a unit, tools and a clock. Every action costs minutes and is written to the bench log."""

from tankside.bench.bench import Bench, Outcome
from tankside.bench.replay import Replay, replay

__all__ = ["Bench", "Outcome", "Replay", "replay"]
