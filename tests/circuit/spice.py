"""Many circuits in one run of ngspice, which solves them by its own methods.

Every circuit becomes an island of one netlist, so that a thousand of them cost one process.
Node voltages come back through an ASCII raw file, with all their digits.
"""

from __future__ import annotations

import math
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from tankside.physics.circuit import FLOOR, Circuit, Load

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Island:
    """One circuit with one variant's values and what touches it."""

    circuit: Circuit
    conductance: Array
    emf: Array
    inner: Array
    capacitance: Array | None
    loads: tuple[Load, ...] = ()


def _lines(number: int, island: Island) -> list[str]:
    circuit = island.circuit
    names = {node: f"x{number}_{i}" for node, i in circuit.index.items()} | {circuit.reference: "0"}
    out = [f"rf{number}_{i} x{number}_{i} 0 {1 / FLOOR!r}" for i in circuit.index.values()]
    for k, (branch, siemens) in enumerate(zip(circuit.conductances, island.conductance, strict=True)):
        if siemens > 0:
            out.append(f"r{number}_{k} {names[branch.a]} {names[branch.b]} {1 / float(siemens)!r}")
    for k, (source, volts, ohms) in enumerate(zip(circuit.sources, island.emf, island.inner, strict=True)):
        ac = source.drive == "alternating"
        value = f"dc {0.0 if ac else float(volts)!r} ac {float(volts) if ac else 0.0!r}"
        plus = f"y{number}_{k}" if ohms > 0 else names[source.a]
        out.append(f"v{number}_{k} {plus} {names[source.b]} {value}")
        if ohms > 0:
            out.append(f"ri{number}_{k} {plus} {names[source.a]} {float(ohms)!r}")
    if island.capacitance is not None:
        for k, (capacitor, farads) in enumerate(zip(circuit.capacitances, island.capacitance, strict=True)):
            out.append(f"c{number}_{k} {names[capacitor.a]} {names[capacitor.b]} {float(farads)!r}")
    for k, load in enumerate(island.loads):
        ends = f"{names[load.a]} {names[load.b]}"
        if load.conductance:
            out.append(f"rl{number}_{k} {ends} {1 / load.conductance!r}")
        if load.capacitance:
            out.append(f"cl{number}_{k} {ends} {load.capacitance!r}")
        if load.current:  # ngspice's current flows inside the source from the first node to the second
            out.append(
                f"i{number}_{k} {names[load.b]} {names[load.a]} dc {load.current!r} ac {load.current!r}"
            )
    return out


def solve(
    islands: Sequence[Island], folder: Path, frequency: float = 60.0
) -> tuple[list[Array], list[Array]]:
    """Per island the nodes' potentials in the order of ``circuit.nodes``: phasors at ``frequency``, and direct."""
    program = shutil.which("ngspice")
    if program is None:
        pytest.fail("ngspice isn't installed: it is the Debian package ngspice, or --leave-out ngspice")
    netlist = ["* circuits of the tests"]
    for number, island in enumerate(islands):
        netlist += _lines(number, island)
    control = [
        ".control",
        "set filetype=ascii",
        "op",
        f"write {folder.as_posix()}/op.raw",
        f"ac lin 1 {frequency} {frequency}",
        f"write {folder.as_posix()}/ac.raw",
        "quit",
        ".endc",
        ".end",
    ]
    file = folder / "circuits.cir"
    file.write_text("\n".join([*netlist, *control]) + "\n", encoding="utf-8")
    done = subprocess.run(
        [program, "-b", str(file)], capture_output=True, text=True, timeout=300, check=False
    )
    op, ac = folder / "op.raw", folder / "ac.raw"
    assert op.exists() and ac.exists(), f"ngspice gave no answer: {done.stdout[-2000:]} {done.stderr[-2000:]}"
    return _collect(islands, _read(ac)), [np.real(found) for found in _collect(islands, _read(op))]


def _read(file: Path) -> dict[str, complex]:
    """The single point of an ASCII raw file: name -> value."""
    head, _, body = file.read_text(encoding="utf-8", errors="replace").partition("Values:")
    names = [line.split()[1] for line in head.partition("\nVariables:")[2].splitlines() if line.strip()]
    words = body.split()[1:]  # the first is the point's number
    values = [
        complex(*map(float, word.split(","))) if "," in word else complex(float(word)) for word in words
    ]
    assert len(names) == len(values) and all(math.isfinite(abs(value)) for value in values)
    return dict(zip(names, values, strict=True))


def _collect(islands: Sequence[Island], found: dict[str, complex]) -> list[Array]:
    def value(number: int, i: int) -> complex:
        name = f"x{number}_{i}"
        return found[f"v({name})"] if f"v({name})" in found else found[name]

    return [
        np.array([value(number, i) for i in range(len(island.circuit.nodes))])
        for number, island in enumerate(islands)
    ]
