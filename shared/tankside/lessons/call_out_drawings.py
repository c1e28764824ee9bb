"""The drawing of lesson 12: a list of suspects that gets shorter, test by test, over the minutes. Plain SVG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tankside.lessons.element_drawings import path, picture, text

STYLE = """<style>
.tsl .suspect{fill:#1590a5;fill-opacity:.45}
.tsl .last{fill:#e8861a;fill-opacity:.9}
.tsl .when{fill:none;stroke:var(--jp-content-font-color2,#566068);stroke-width:1.2;stroke-dasharray:3 4}
</style>"""
LEFT, RIGHT, TOP, ROW = 284.0, 700.0, 46.0, 28.0
"""Where the bars begin and end, where the first one stands, and how far the next one is below it."""


@dataclass(frozen=True)
class Suspect:
    """A fault that may be it: its name, and the minute in which a test rules it out; None for the one that is left."""

    name: str
    out_at: float | None


def shrinking_list(suspects: Sequence[Suspect], tests: Sequence[float], title: str, said: str) -> str:
    """A bar for each suspect that ends where a test rules it out; ``tests``: minutes at which each is done, numbered."""
    last = max(tests)

    def x(minutes: float) -> float:
        return LEFT + (RIGHT - LEFT) * minutes / last

    foot = TOP + ROW * len(suspects)
    out = [STYLE, text(LEFT - 10, 20, "test", "soft", "end"), text(LEFT - 10, foot + 20, "minutes", "soft", "end")]  # fmt: skip
    free = LEFT
    for number, minutes in enumerate(tests, 1):
        here = max(
            x(minutes), free + 16
        )  # two tests within a minute or two: their numbers stand side by side
        free = here
        out += [
            path(f"M{x(minutes):.1f} {TOP - 14:g} V{foot:g}", "when"),
            text(round(here, 1), 20, number, "bold num", "middle"),
            path(f"M{here:.1f} 25 L{x(minutes):.1f} {TOP - 14:g}", "when"),
        ]
    for row, suspect in enumerate(suspects):
        top = TOP + ROW * row
        end = x(last if suspect.out_at is None else suspect.out_at)
        kind = "last" if suspect.out_at is None else "suspect"
        out += [
            text(LEFT - 10, top + 14, suspect.name, "bold" if suspect.out_at is None else "", "end"),
            f'<rect x="{LEFT:g}" y="{top + 2:g}" width="{end - LEFT:.1f}" height="17" class="{kind}"/>',
        ]
    out.append(path(f"M{LEFT:g} {TOP - 14:g} V{foot:g} H{RIGHT:g}", "line"))
    step = next(s for s in (1, 2, 5, 10, 15, 30, 60, 120) if last / s <= 8)
    for minutes in range(0, int(last) + 1, step):
        out.append(text(round(x(minutes), 1), foot + 20, minutes, "soft num", "middle"))
    return picture("".join(out), 720, foot + 30, title, said)
