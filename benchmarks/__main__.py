"""``python -m benchmarks [NAME ...] [--strict]``: the figures of every module, or of those that are named.

The name of a longer measurement runs it with the rest of the line as its arguments:
``python -m benchmarks grading --hand-ins 12``.
"""

from __future__ import annotations

import argparse
import importlib
import importlib.util
import pkgutil
import sys
from collections.abc import Sequence
from types import ModuleType

from rich.console import Console
from rich.table import Table

import benchmarks
from benchmarks.figure import Figure

NOT_MEASURED = ("__main__", "figure")


def names() -> list[str]:
    """The package's modules, in alphabetical order."""
    found = (module.name for module in pkgutil.iter_modules(benchmarks.__path__))
    return sorted(name for name in found if name not in NOT_MEASURED)


def load(name: str) -> ModuleType:
    """One module of the package."""
    return importlib.import_module(f"benchmarks.{name}")


def source(name: str) -> str:
    """What is written in a module, without running it: some load a browser's tools."""
    spec = importlib.util.find_spec(f"benchmarks.{name}")
    assert spec is not None and spec.loader is not None
    return str(spec.loader.get_source(spec.name))  # type: ignore[attr-defined]


def joins(name: str) -> bool:
    """True for a module with ``figures()``."""
    return "\ndef figures(" in source(name)


def show(rows: Sequence[tuple[str, Figure]]) -> None:
    """All figures as one table."""
    table = Table("measured", "what", "figure", "aim", "", title="Figures")
    for name, row in rows:
        aim = "" if row.aim is None else f"{'at least' if row.more_is_better else 'at most'} {row.aim:,.6g}"
        mark = {True: "reached", False: "MISSED", None: ""}[row.reached]
        value = f"{row.value:,.0f}" if row.value >= 1000 else f"{row.value:.3g}"
        table.add_row(name, row.name, f"{value} {row.unit}", aim, mark)
    Console(width=max(Console().width, 110)).print(table)


def main(arguments: Sequence[str] | None = None) -> int:
    """Exit code 1 with ``--strict`` and an aim missed."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    if words and words[0] in names() and not joins(words[0]):
        sys.argv = [words[0], *words[1:]]
        return int(load(words[0]).main())
    quick, long = [n for n in names() if joins(n)], [n for n in names() if not joins(n)]
    parser = argparse.ArgumentParser(
        "python -m benchmarks", epilog=f"longer ones, one at a time: {', '.join(long)}"
    )
    parser.add_argument("name", nargs="*", help=f"of {', '.join(quick)}; all of them by default")
    parser.add_argument("--strict", action="store_true", help="exit code 1 if an aim is missed")
    chosen = parser.parse_args(words)
    unknown = [name for name in chosen.name if name not in quick]
    if unknown:
        parser.error(f"there is no measurement called {unknown[0]!r}; there are {', '.join([*quick, *long])}")
    rows = [(name, row) for name in chosen.name or quick for row in load(name).figures()]
    show(rows)
    missed = any(row.reached is False for _, row in rows)
    return int(chosen.strict and missed)


if __name__ == "__main__":
    sys.exit(main())
