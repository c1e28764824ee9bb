"""What hypothesis draws from: networks, heaters with faults, and walks of a technician's probes and hands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from hypothesis import settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from tankside.bench.actions import ACTIONS
from tankside.faults.catalogue import faults, remedies
from tankside.faults.effects import put_in
from tankside.heater.model import HeaterModel, load_model
from tankside.heater.unit import Unit, make_unit, site_of, spread_of
from tankside.heater.wiring import loose_end
from tankside.instruments.multimeter import FUNCTIONS
from tankside.physics.circuit import Capacitance, Circuit, Conductance, Drive, Load, Solution, Source
from tankside.streams import Stream

Array = NDArray[np.float64]

# A busy machine must not fail a property for being slow.
settings.register_profile("core", deadline=None)
settings.load_profile("core")


@dataclass(frozen=True)
class Network:
    """A network with its values: one variant, arrays of shape (1, branches)."""

    circuit: Circuit
    conductance: Array
    emf: Array
    inner: Array
    capacitance: Array

    @property
    def nodes(self) -> tuple[str, ...]:
        """Every node, the reference too."""
        return (*self.circuit.nodes, self.circuit.reference)

    def solve(self, drive: Drive = "alternating", loads: Sequence[Load] = (), **changed: Array) -> Solution:
        """Its solution; ``conductance=…`` and so on solve it with other values."""
        values = {"conductance": self.conductance, "emf": self.emf, "inner": self.inner} | changed
        capacitance = values.pop("capacitance", self.capacitance)
        return self.circuit.solve(**values, capacitance=capacitance, drive=drive, loads=loads)


def network(
    pairs: Sequence[tuple[int, int]],
    ohms: Sequence[float],
    sources: Sequence[tuple[int, int, float, float, bool]],
    capacitors: Sequence[tuple[int, int, float]],
) -> Network:
    """Node 0 is the reference. Sources are (plus, minus, volts, inner ohms, alternating)."""

    def name(node: int) -> str:
        return "earth" if node == 0 else f"n{node}"

    circuit = Circuit(
        [Conductance(f"R{k}", name(a), name(b)) for k, (a, b) in enumerate(pairs)],
        [
            Source(f"V{k}", name(a), name(b), "alternating" if ac else "direct")
            for k, (a, b, _, _, ac) in enumerate(sources)
        ],
        [Capacitance(f"C{k}", name(a), name(b)) for k, (a, b, _) in enumerate(capacitors)],
    )
    return Network(
        circuit,
        1.0 / np.array([ohms]),
        np.array([[volts for _, _, volts, _, _ in sources]]).reshape(1, -1),
        np.array([[inner for _, _, _, inner, _ in sources]]).reshape(1, -1),
        np.array([[farads for _, _, farads in capacitors]]).reshape(1, -1),
    )


_OHMS = st.floats(-1, 6).map(lambda power: 10.0**power)


@st.composite
def networks(
    draw: st.DrawFn, most_nodes: int = 6, sources: int | None = None, capacitors: bool = True
) -> Network:
    """Connected networks: a random tree to the reference and some more branches, 0.1 ohm to 1 Mohm."""
    size = draw(st.integers(2, most_nodes))
    tree = [(node, draw(st.integers(0, node - 1))) for node in range(1, size)]
    ends = st.tuples(st.integers(0, size - 1), st.integers(0, size - 1)).filter(
        lambda pair: pair[0] != pair[1]
    )
    pairs = tree + draw(st.lists(ends, max_size=size))
    ohms = draw(st.lists(_OHMS, min_size=len(pairs), max_size=len(pairs)))
    count = draw(st.integers(1, 3)) if sources is None else sources
    feeds = [
        (*draw(ends), draw(st.floats(-200, 200)), draw(st.floats(0.01, 100)), draw(st.booleans()))
        for _ in range(count)
    ]
    farads = st.floats(-12, -6).map(lambda power: 10.0**power)
    caps = draw(st.lists(st.tuples(ends, farads), max_size=3)) if capacitors else []
    return network(pairs, ohms, feeds, [(a, b, value) for (a, b), value in caps])


SEEDS = st.integers(0, 2**64 - 1).map(lambda number: f"{number:016x}")


@st.composite
def heaters(draw: st.DrawFn, model: str = "heron_6") -> Unit:
    """A healthy heater somewhere: its site and its own figures drawn, cold, full, switched on."""
    seed, found = draw(SEEDS), load_model(model)
    return make_unit(
        found, site_of(found, Stream(seed, "site")), spread_of(found, Stream(seed, "own figures"))
    )


@st.composite
def faulty_heaters(draw: st.DrawFn, model: str = "heron_6") -> tuple[Unit, str, float]:
    """A heater with one fault: the unit, the fault's id and its severity."""
    unit = draw(heaters(model))
    name, severity = draw(st.sampled_from(fitting_faults(unit.model))), draw(st.floats(0, 1))
    put_in(unit, faults()[name], severity)
    return unit, name, severity


def fitting_faults(model: HeaterModel) -> list[str]:
    """The ids of the faults that a model can have."""
    return [fault.id for fault in faults().values() if fault.applies_to(model)]


def terminals_of(model: HeaterModel) -> list[str]:
    """Everything that a lead can be held on, loose ends too."""
    return [*model.terminals, *(loose_end(wire.id) for wire in model.wires.values() if wire.lifts_at)]


Step = tuple[str, dict[str, Any]]


MAIN_VERBS = (
    "open cover", "switch", "lock out", "unlock", "meter", "probe", "prove dead", "lift lead", "land lead", "repair",
    "drain", "fill", "make safe",
)  # fmt: skip


def steps(model: str = "heron_6") -> st.SearchStrategy[Step]:
    """Single actions that are named as they should be, sensible or not."""
    found = load_model(model)
    terminal = st.sampled_from(terminals_of(found))
    place, part = st.sampled_from(list(found.places)), st.sampled_from(list(found.parts))
    lead = st.sampled_from([wire.id for wire in found.wires.values() if wire.lifts_at] or list(found.wires))
    switch = st.sampled_from(
        [(part, position) for part, kind in found.types.items() for position in kind.positions]
    )
    words: dict[str, st.SearchStrategy[dict[str, Any]]] = {
        "open cover": st.fixed_dictionaries({"place": place}),
        "close cover": st.fixed_dictionaries({"place": place}),
        "prove dead": st.fixed_dictionaries({"place": place}),
        "sniff": st.fixed_dictionaries({"place": place}),
        "switch": switch.map(lambda pair: {"part": pair[0], "position": pair[1]}),
        "meter": st.fixed_dictionaries({"function": st.sampled_from(list(FUNCTIONS))}),
        "probe": st.fixed_dictionaries({"red": terminal, "black": terminal}),
        "insulation test": st.fixed_dictionaries({"red": terminal, "black": terminal}),
        "lift lead": st.fixed_dictionaries({"wire": lead}),
        "land lead": st.fixed_dictionaries({"wire": lead}),
        "clamp": st.fixed_dictionaries({"wire": st.sampled_from(list(found.wires))}),
        "soap test": st.fixed_dictionaries({"part": part}),
        "inspect": st.fixed_dictionaries({"part": part}),
        "tap test": st.fixed_dictionaries({"tap": st.sampled_from(["hot", "cold"])}),
        "gas pressure": st.fixed_dictionaries(
            {"tap": st.sampled_from(["cylinder", "line", "heater"]), "draw": st.sampled_from(["yes", "no"])}
        ),
        "watch start": st.fixed_dictionaries(
            {"meter": st.sampled_from(["none", "volts", "flame"]), "red": terminal, "black": terminal}
        ),
        "run tap": st.fixed_dictionaries({"minutes": st.sampled_from([1, 5, 10.5, 30])}),
        "wait": st.fixed_dictionaries({"minutes": st.sampled_from([0.5, 20, 300])}),
        "jumper": st.fixed_dictionaries({"part": st.sampled_from(["thermostat", "high_limit"])}),
        "repair": st.fixed_dictionaries({"remedy": st.sampled_from(list(remedies()))}),
    }
    # Twice the verbs that change what the others find, or most walks would be refusals.
    verbs = [*sorted(ACTIONS), *MAIN_VERBS, *MAIN_VERBS]
    return st.sampled_from(verbs).flatmap(lambda verb: st.tuples(st.just(verb), words.get(verb, st.just({}))))


def walks(least: int = 0, most: int = 25, model: str = "heron_6") -> st.SearchStrategy[list[Step]]:
    """What someone does at the bench, one thing after another, possible or not."""
    return st.lists(steps(model), min_size=least, max_size=most)
