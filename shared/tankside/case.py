"""The case behind a work order: its unit, and the same unit with every other fault in scope.

Everything random about a case comes from the order's seed, each draw from its own named
sub-stream, so that adding a draw never changes another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tankside.errors import WorkOrderError
from tankside.faults.catalogue import Fault, apart, fault_named
from tankside.faults.effects import put_in
from tankside.heater import burner, gas, plumbing, touch
from tankside.heater.ignition import lamp_glows
from tankside.heater.model import HeaterModel, load_model
from tankside.heater.simulation import advance, energise
from tankside.heater.unit import Unit, make_unit, site_of, spread_of
from tankside.physics.flame import KINDS
from tankside.streams import Stream

RUN_BEFORE = 180.0
"""min the owner let the heater run before calling."""
LEVELS = 9
"""Severities, evenly spread, at which each fault is tried when asking what else it could be. The case's own severity
is tried as well, so that the fault that is really there can't be ruled out by what happens between two rungs."""


@dataclass(frozen=True)
class Case:
    """What a work order hides: model, site, the heater's own figures, the fault and how far it has gone."""

    model: HeaterModel
    site: dict[str, float]
    own: dict[str, float]
    fault: Fault
    severity: float

    @property
    def faults(self) -> tuple[Fault, ...]:
        """The fault, or both of two at once."""
        return tuple(fault_named(name) for name in apart(self.fault.id))

    def healthy(self) -> dict[str, float]:
        """This heater's numbers as they'd be without the fault, cold, full and switched on."""
        return {
            key: float(value[0]) for key, value in make_unit(self.model, self.site, self.own).values.items()
        }


def draw_case(model_name: str, scope: Sequence[str], seed: str) -> Case:
    """The case that a seed gives for a model and the faults in scope."""
    model = load_model(model_name)
    fitting = [f for f in (fault_named(name) for name in scope) if f.applies_to(model)]
    if not fitting:
        raise WorkOrderError(f"None of the order's faults fits the heater {model_name}: {', '.join(scope)}.")
    return Case(
        model,
        site_of(model, Stream(seed, "site")),
        spread_of(model, Stream(seed, "own figures")),
        Stream(seed, "fault").choice(fitting),
        round(Stream(seed, "severity").uniform(), 6),
    )


def winter_low(case: Case, seed: str) -> float | None:
    """°C, the coldest air of the winter before the call, where the model's sites have one; None elsewhere.

    It is the site's, not the fault's: a heater that was drained stands in the same frost. But frost damage is only
    drawn after a winter that was cold enough for it.
    """
    ends = case.model.data.site.winter_low
    if ends is None:
        return None
    low, high = (case.model.number("site.winter_low", end, "degC") for end in ends)
    if case.fault.winter_below is not None:
        high = min(high, case.fault.winter_below)
    return round(Stream(seed, "winter").uniform(min(low, high), high), 1)


def _run_by_owner(units: Sequence[Unit]) -> None:
    """The hours before the call; the first one is remembered, because people notice how fast water warms.

    Where a heater has two sources, its owner has run it on each alone as well. All of it goes through the hours as one
    batch, and every unit's last variant is healthy.
    """
    model = units[0].model
    ways = list(units)
    if model.timing:
        gas, switches = _gas_switches(model), [f"{part}.closed" for part in model.of_type("switch")]
        ways += [_with_off(unit, gas) for unit in units] + [_with_off(unit, switches) for unit in units]
    whole = ways[0] if len(ways) == 1 else _joined(ways)
    advance(whole, 60.0)
    whole.values["seen.first_hour"] = whole["tank.temperature"].copy()
    advance(whole, RUN_BEFORE - 60.0)
    ends = np.cumsum([unit.batch for unit in ways])
    done = [whole.take(np.arange(end - way.batch, end)) for way, end in zip(ways, ends, strict=True)]
    for k, unit in enumerate(units):
        unit.values, unit.solved, unit.kept = done[k].values, {}, {}
        if model.timing:
            mains, on_gas = done[k + len(units)], done[k + 2 * len(units)]
            on_mains = _symptoms(mains)
            seen = np.where(on_mains > 0, on_mains, _gas_symptoms(on_gas))
        else:
            seen = _gas_symptoms(unit) if burner.has_burner(unit) else _symptoms(unit)
        unit.values["seen.symptom"] = seen.astype(float)
        _water_symptoms(unit)
        _touch_symptoms(unit)


def _with_off(unit: Unit, keys: Sequence[str]) -> Unit:
    """A copy with these switches off."""
    twin = unit.copy()
    for key in keys:
        twin.set(key, 0.0)
    return twin


def _joined(units: Sequence[Unit]) -> Unit:
    """All variants of some units of one model as one batch."""
    return Unit(units[0].model, {key: np.concatenate([u.values[key] for u in units]) for key in units[0].values})


def _gas_switches(model: HeaterModel) -> list[str]:
    """What a hand moves to run the heater on the mains alone."""
    out = [f"{part}.closed" for part in model.of_type("12 V panel switch")]
    return out + [f"{part}.knob" for part in model.of_type("pilot gas valve")]


SYMPTOMS = (
    "normal",
    "slow",
    "cold",
    "trips",
    "scalding",
    "gas slow",
    "gas dead",
    "gas lockout",
    "gas scalding",
    "gas smell",
    "weak hot tap",
    "lukewarm tap",
    "relief runs",
    "puddle",
    "rumbles",
    "yellow flame",
    "noisy flame",
    "carbon monoxide alarm",
    "tingles",
)
"""What an owner can notice, by the number that ``seen.symptom`` holds."""


def _symptoms(unit: Unit) -> NDArray[np.int_]:
    """(B,) index into ``SYMPTOMS``, from the simulated hours; the last row of the batch is the healthy heater."""
    first, cold = unit["seen.first_hour"], unit["site.cold_water"]
    share = (first - cold) / np.maximum(first[-1] - cold, 1.0)
    tripped = np.zeros(unit.batch, dtype=bool)
    scalding = np.zeros(unit.batch, dtype=bool)
    for part in unit.model.of_type("breaker"):
        tripped |= unit[f"{part}.tripped"] > 0
    for part in unit.model.of_type("high limit"):
        scalding |= unit[f"{part}.tripped"] > 0
    out = np.where(share < 0.85, 1, 0)
    out = np.where(share < 0.2, 2, out)
    out = np.where(scalding, 4, out)
    return np.where(tripped, 3, out)


SMELT = 5e-4
"""Share of the burner's gas that, passing a shut valve, is smelt in a closed locker (order of magnitude, ours)."""


def _gas_symptoms(unit: Unit) -> NDArray[np.int_]:
    """(B,) what an owner notices on gas alone; the last row of the batch is the healthy heater."""
    first, cold = unit["seen.first_hour"], unit["site.cold_water"]
    share = (first - cold) / np.maximum(first[-1] - cold, 1.0)
    out = np.where(share < 0.85, SYMPTOMS.index("gas slow"), 0)
    out = np.where(share < 0.2, SYMPTOMS.index("gas dead"), out)
    lamp = lamp_glows(unit) > 0
    out = np.where((share < 0.85) & lamp, SYMPTOMS.index("gas lockout"), out)
    for kind in ("12 V high limit", "pilot high limit"):
        for part in unit.model.of_type(kind):
            out = np.where(unit[f"{part}.tripped"] > 0, SYMPTOMS.index("gas scalding"), out)
    for kind in ("gas valve", "pilot gas valve"):
        for part in unit.model.of_type(kind):
            out = np.where(unit[f"{part}.leak_by"] > SMELT, SYMPTOMS.index("gas smell"), out)
    return _flame_symptoms(unit, out) if burner.has_burner(unit) else out


SMELT_FLOW = 1e-6
"""m3/s out of a joint that an owner smells without looking for it (order of magnitude, ours)."""
ALARM = 50e-6
"""Share of carbon monoxide in the cabin from which an alarm sounds in these hours (of the order of OSHA's limit)."""


def _flame_symptoms(unit: Unit, out: NDArray[np.int_]) -> NDArray[np.int_]:
    """(B,) ``out``, or what eyes, ears, nose and the alarm notice of the flame and the gas, where that is more urgent."""
    now = burner.fire(unit)
    first, cold = unit["seen.first_hour"], unit["site.cold_water"]
    burnt = first > cold + 0.2 * np.maximum(first[-1] - cold, 1.0)
    harsh = np.isin(now.kind, (KINDS.index("lifting"), KINDS.index("flashback")))
    out = np.where(burnt & harsh, SYMPTOMS.index("noisy flame"), out)
    lazy = (now.kind == KINDS.index("lazy orange")) | (unit["flue.soot"] > 1.0)
    out = np.where(burnt & lazy, SYMPTOMS.index("yellow flame"), out)
    escapes = np.max(np.stack(list(gas.leaks(unit).values())), axis=0)
    out = np.where(escapes > SMELT_FLOW, SYMPTOMS.index("gas smell"), out)
    return np.where(unit["burner.room_co"] > ALARM, SYMPTOMS.index("carbon monoxide alarm"), out)


NOTICED = 0.03
"""kg of water in some hours that leaves a mark on the floor (ours)."""


def _water_symptoms(unit: Unit) -> None:
    """What an owner notices at the taps, on the floor and by ear, where it is plainer than what was noticed so far."""
    if not plumbing.has_plumbing(unit):
        return
    seen = unit["seen.symptom"]
    tap = plumbing.hot_tap(unit)
    seen = np.where((tap.through_tank < 0.8) & (tap.flow >= 0.4 * tap.flow[-1]), SYMPTOMS.index("lukewarm tap"), seen)
    seen = np.where(tap.flow < 0.4 * tap.flow[-1], SYMPTOMS.index("weak hot tap"), seen)
    seen = np.where(plumbing.rumbles(unit, energise(unit)), SYMPTOMS.index("rumbles"), seen)
    for part in unit.model.of_type("relief valve"):
        seen = np.where(unit[f"{part}.passed"] > NOTICED, SYMPTOMS.index("relief runs"), seen)
    for part in unit.model.of_type("vessel"):
        seen = np.where(unit[f"{part}.seeped"] > NOTICED, SYMPTOMS.index("puddle"), seen)
    unit.values["seen.symptom"] = seen.astype(float)


def _touch_symptoms(unit: Unit) -> None:
    """A tank or a tap that tingles comes before everything else that an owner says."""
    felt = touch.tingles(unit)
    if felt.any():
        seen = np.where(felt, SYMPTOMS.index("tingles"), unit["seen.symptom"])
        unit.values["seen.symptom"] = seen.astype(float)


def as_found(case: Case) -> Unit:
    """The unit when the technician arrives: faulty, and run for some hours by its owner."""
    return all_as_found([case])[0]


def all_as_found(cases: Sequence[Case]) -> list[Unit]:
    """The same of several cases of one model, which is quicker than one by one."""
    units = []
    for case in cases:
        unit = make_unit(case.model, case.site, case.own, batch=2)
        put_in(unit, case.fault, case.severity, np.array([0]))
        units.append(unit)
    _run_by_owner(units)
    return [unit.take([0]) for unit in units]


def symptom(unit: Unit) -> str:
    """What the owner noticed of the first variant."""
    return SYMPTOMS[int(unit["seen.symptom"][0])]


HEALTHY = -2
"""In ``Variants.fault_of``: the row without a fault."""


@dataclass(frozen=True)
class Variants:
    """One batch: row 0 is the true unit, then every fault in scope at rising severities, last the healthy one.

    ``fault_of`` (B,) indexes ``names``; row 0 has -1, the healthy row has ``HEALTHY``.
    """

    unit: Unit
    names: tuple[str, ...]
    fault_of: NDArray[np.int_]


def variants(case: Case, scope: Sequence[str], levels: int = LEVELS) -> Variants:
    """The same heater at the same site with each fault in scope instead, at so many severities, as found."""
    return variants_of([case], scope, levels)[0]


def variants_of(cases: Sequence[Case], scope: Sequence[str], levels: int = LEVELS) -> list[Variants]:
    """``variants`` of several heaters of one model, run through the owner's hours together."""
    out = [_with_faults(case, scope, levels) for case in cases]
    _run_by_owner([found.unit for found in out])
    return out


def variants_with(case: Case, altered: Sequence[tuple[Fault, float]]) -> Variants:
    """The same heater with each of these faults instead, at its severity, as found; also faults in no catalogue.

    Every fault must fit the model. ``fault_of`` counts them in their order, also where two have one name.
    """
    fault_of = np.concatenate([[-1], np.arange(len(altered)), [HEALTHY]])
    unit = make_unit(case.model, case.site, case.own, batch=len(fault_of))
    put_in(unit, case.fault, case.severity, np.array([0]))
    for k, (fault, severity) in enumerate(altered):
        put_in(unit, fault, severity, np.array([k + 1]))
    _run_by_owner([unit])
    return Variants(unit, tuple(fault.id for fault, _ in altered), fault_of)


def _with_faults(case: Case, scope: Sequence[str], levels: int) -> Variants:
    """Each fault put in, nothing run yet."""
    found = [f for f in (fault_named(name) for name in scope) if f.applies_to(case.model)]
    ladder = np.sort(np.append(np.linspace(0.0, 1.0, levels), case.severity))
    rungs = [ladder if fault.graded else ladder[:1] for fault in found]
    sizes = [len(rung) for rung in rungs]
    fault_of = np.concatenate([[-1], np.repeat(np.arange(len(found)), sizes), [HEALTHY]])
    unit = make_unit(case.model, case.site, case.own, batch=len(fault_of))
    put_in(unit, case.fault, case.severity, np.array([0]))
    for k, fault in enumerate(found):
        put_in(unit, fault, rungs[k], np.flatnonzero(fault_of == k))
    return Variants(unit, tuple(f.id for f in found), fault_of)
