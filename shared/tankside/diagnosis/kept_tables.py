"""Test-by-fault tables kept in the learner's own folder: the next notebook doesn't wait for what the last one computed.

A table takes seconds and is the same for everybody with the same model, faults and code. It is kept under a name made
from all of these, so that a changed data file or program never meets an old table.
"""

from __future__ import annotations

import hashlib
import json
import os
import platform
from contextlib import suppress
from dataclasses import asdict
from io import BytesIO
from pathlib import Path
from zipfile import BadZipFile

import numpy as np

from tankside.diagnosis.situations import Column
from tankside.diagnosis.table import Cell, Table, TableTest, make_table
from tankside.edition import edition
from tankside.heater.model import load_model
from tankside.measures import own_folder

MOST_KEPT = 60
"""Tables kept; the ones unused for longest go first."""
_ARRAYS = ("low", "high", "noticed")


def table_for(model: str, scope: tuple[str, ...]) -> Table:
    """The table of a model's heaters for the faults in scope: from the folder if it is there, otherwise made and kept.

    A file that can't be read is made anew; a folder that can't be written to costs nothing but the time.
    """
    file = own_folder() / "tables" / f"{_name(model, scope)}.npz"
    found = _read(file, model)
    if found is None:
        found = make_table(load_model(model), scope)
        _write(file, found)
    return found


def _name(model: str, scope: tuple[str, ...]) -> str:
    told = json.dumps([_everything(), model, scope])
    return hashlib.sha256(told.encode()).hexdigest()[:32]


def _everything() -> str:
    """The program, its data files and the machine's arithmetic."""
    return f"{edition()} {np.__version__} {platform.machine()} {platform.system()}"


def _read(file: Path, model: str) -> Table | None:
    try:
        with np.load(BytesIO(file.read_bytes()), allow_pickle=False) as kept:
            low, high, noticed = (kept[name] for name in _ARRAYS)
            words = json.loads(kept["words"].tobytes())
        os.utime(file)
        return Table(
            load_model(model),
            tuple(Cell(**one) for one in words["cells"]),
            tuple(Column(**one) for one in words["columns"]),
            low,
            high,
            noticed,
            tuple(words["minutes"]),
            tuple(_test(one) for one in words["tests"]),
        )
    except (OSError, ValueError, KeyError, TypeError, EOFError, BadZipFile):
        return None


def _test(words: dict[str, object]) -> TableTest:
    one = TableTest(**words)  # type: ignore[arg-type]
    return TableTest(
        one.name,
        one.situation,
        one.minutes,
        frozenset(one.places),
        tuple((verb, args) for verb, args in one.steps),
        tuple((label, column) for label, column in one.columns),
    )


def _write(file: Path, table: Table) -> None:
    words = {
        "cells": [asdict(cell) for cell in table.cells],
        "columns": [asdict(column) for column in table.columns],
        "minutes": table.minutes,
        "tests": [vars(test) | {"places": sorted(test.places)} for test in table.tests],
    }
    waiting = file.with_name(f"{file.stem}.{os.getpid()}.new")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with waiting.open("wb") as out:
            np.savez_compressed(
                out,
                allow_pickle=False,
                words=np.frombuffer(json.dumps(words).encode(), dtype=np.uint8),
                **{name: getattr(table, name) for name in _ARRAYS},
            )
        waiting.replace(file)
        kept = sorted(file.parent.glob("*.npz"), key=lambda f: f.stat().st_mtime)
        for old in kept[:-MOST_KEPT]:
            old.unlink(missing_ok=True)
    except OSError:
        with suppress(OSError):
            waiting.unlink()
