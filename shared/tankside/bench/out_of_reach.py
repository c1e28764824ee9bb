"""What the bench says of something that a cover hides."""

from __future__ import annotations

from tankside.errors import BenchError


def out_of_reach(name: str, place: str) -> BenchError:
    """The error for a part or terminal behind a cover that is on, with what to do about it.

    Parameters
    ----------
    name : the part's or terminal's name, as the data has it ("12 V link bar line side": never in other letters)
    place : the name of the place whose cover is on
    """
    return BenchError(f"Out of reach, behind a cover: {name}. Take the cover off first: {place}.")
