"""What a learner waits for before the first cell's result: fresh processes."""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time

from benchmarks.figure import Figure

ROUNDS = 7
LINES = {
    "python itself": ("pass", None),
    "import numpy": ("import numpy", None),
    "import tankside": ("import tankside", 0.4),
    "from tankside import open_lab": ("from tankside import open_lab", 0.4),
    "open a lab that was opened before, bench and all": (
        "from tankside import open_lab; import sys; open_lab('lab03', sys.argv[1]).the_bench()",
        0.5,
    ),
    "open a lab for practice for the first time": (
        "from tankside import open_lab; import sys, tempfile; open_lab('lab03', tempfile.mkdtemp(dir=sys.argv[1]))",
        None,
    ),
}
"""What is run, and its aim in s."""


def seconds(code: str, folder: str) -> float:
    """The best of some fresh processes."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", code, folder], check=True)
        times.append(time.perf_counter() - start)
    return min(times)


def figures() -> list[Figure]:
    """Seconds of each."""
    with tempfile.TemporaryDirectory() as folder:
        return [Figure(name, seconds(code, folder), "s", aim) for name, (code, aim) in LINES.items()]
