"""Which edition of the program this is: a number made from its own files, so that nobody has to think of raising one."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent
BENCH = ("bench", "case.py", "faults", "heater", "instruments", "physics", "streams.py", "units.py")
"""What a reading at the bench hangs on."""


@cache
def edition(*parts: str) -> str:
    """Twelve hexadecimal digits for the programs and data files of some packages and modules; of all, if none is named."""
    out = hashlib.sha256()
    for path in [ROOT / part for part in parts] or [ROOT]:
        files = [path] if path.is_file() else [f for kind in ("*.py", "*.toml") for f in path.rglob(kind)]
        for file in sorted(files, key=lambda f: f.relative_to(ROOT).as_posix()):  # in one order on every system
            out.update(file.relative_to(ROOT).as_posix().encode())
            # Line ends may differ between checkouts of one edition.
            out.update(hashlib.sha256(file.read_bytes().replace(b"\r\n", b"\n")).digest())
    return out.hexdigest()[:12]
