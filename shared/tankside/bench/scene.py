"""What a picture of the heater shows: its measures, what eyes see of it now, and (in practice only) what is inside.

In a lab nothing is told that a technician couldn't see: a flame behind a closed cover, the water in the tank, the rod
in it. What was taken out and looked at stays in the picture as it was found, because the log says so.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from tankside.bench.both_measures import both_measures
from tankside.bench.choices import behind_cover
from tankside.bench.looked import inside as seen_inside
from tankside.bench.looked import looked_at
from tankside.bench.state import BenchState
from tankside.faults.catalogue import remedies
from tankside.heater import burner, corrosion
from tankside.heater.electrics import coil_power, side
from tankside.heater.ignition import lamp_glows
from tankside.heater.model import HeaterModel, Wire
from tankside.measures import amount
from tankside.physics.circuit import Drive
from tankside.physics.flame import KINDS

LIVE_ALTERNATING = 25.0
"""V to ground from which a conductor is drawn live (order of the extra-low voltage limits; from memory)."""
LIVE_DIRECT = 2.0
"""V to the minus from which a 12 V conductor is drawn live (ours)."""
LAMP = 1e5
"""Ohm of a test lamp (ours): light enough to load nothing that is fed, heavy enough to bring down what floats."""
VALVES = ("gas valve", "pilot gas valve", "hand gas valve")
SMOOTH_FILM = 500.0
"""Ohm of a film from which a skin is seen on a rod, as ``look at anode`` sees it."""


def scene(state: BenchState, entries: list[dict[str, Any]], practice: bool) -> dict[str, Any]:
    """Measures in metres, shares from 0 to 1, temperatures in °C; ``…_read`` as the learner chose to read them.

    ``flame`` is None where a cover hides it. ``inside`` is None in a lab.
    """
    return {
        "practice": practice,
        "measures": measures(state.model),
        "flame": _flame(state) if practice or not _hidden(state) else None,
        "flame_hidden": _hidden(state),
        "lamp": _lamp(state),
        "rod": _rod(entries),
        "lamp_in_tank": _found(entries, "lamp in tank", "vessel"),
        "looked_at": looked_at(entries),
        "inside": _inside(state) if practice else None,
    }


def measures(model: HeaterModel) -> dict[str, Any]:
    """What a drawing to scale needs: from the data file, the same for every unit of the model."""
    nominal = model.nominal
    volume = nominal["tank.volume"]
    out: dict[str, Any] = {"volume": round(volume, 5)}
    for vessel in model.of_type("vessel"):
        out["bottom"] = round(nominal[f"{vessel}.bottom"], 4)
        out["aluminum"] = nominal[f"{vessel}.aluminum"] > 0
    for anode in model.of_type("anode"):
        out["rod"] = {key: round(nominal[f"{anode}.{key}"], 4) for key in ("length", "radius", "core")}
        new = 2e3 * nominal[f"{anode}.radius"]
        out["rod_new"] = both_measures(new, "mm", f"{new:.1f} mm")
    out["elements"] = {e: round(nominal[f"{e}.height"], 2) for e in model.of_type("element")}
    return out


def _fire(state: BenchState) -> str | None:
    """The part that burns, or whose gas does; None on a heater without gas."""
    kinds = ("burner", *VALVES)
    return next((part for kind in kinds for part in state.model.of_type(kind)), None)


def _hidden(state: BenchState) -> bool:
    fire = _fire(state)
    return fire is not None and bool(behind_cover(state, fire))


def _flame(state: BenchState) -> dict[str, Any] | None:
    """Its class and the pilot's, as an eye at the sight hole sees them; None on a heater without gas."""
    if _fire(state) is None:
        return None
    unit = state.unit
    kind = "none"
    if burner.has_burner(unit):
        if burner.burns(unit)[0]:
            kind = KINDS[int(burner.fire(unit).kind[0])]
    elif unit.values.get("burner.lit", np.zeros(1))[0] > 0:
        kind = "steady blue"
    pilots = [p for kind_ in VALVES for p in state.model.of_type(kind_) if f"{p}.pilot" in unit.values]
    sparks = [b for b in state.model.of_type("control board") if unit[f"{b}.spark_jumps"][0] > 0]
    return {
        "kind": kind,
        "pilot": state.flag(f"{pilots[0]}.pilot") if pilots else None,
        "spark": bool(sparks),
    }


def _lamp(state: BenchState) -> dict[str, bool]:
    """The fault lamps in the panel's face."""
    switches = state.model.of_type("12 V panel switch")
    return {switch: bool(lamp_glows(state.unit)[0]) for switch in switches} if switches else {}


def _found(entries: list[dict[str, Any]], verb: str, kind: str) -> dict[str, Any] | None:
    """What the last such look found, with the minute and the words of the log; None if none was made, or the part was renewed since."""
    for entry in reversed(entries):
        if entry["verb"] == "repair":
            renews = (
                remedies()[entry["args"]["remedy"]].renews
                if entry["args"].get("remedy") in remedies()
                else ()
            )
            if any(on.startswith(f"{kind}.") for on in renews):
                return None
        if entry["verb"] == verb and ("readings" in entry["result"] or "rod" in entry["result"]):
            result = entry["result"]
            found = [item["reading"]["value"] for item in result.get("readings", [])]
            facts = {key: value for key, value in result.items() if key not in ("readings", "broke")}
            told = entry["text"].partition(": ")[2].removesuffix(".")
            return {"at": entry["at"], "values": found, "told": told, **facts}
    return None


def _rod(entries: list[dict[str, Any]]) -> dict[str, Any] | None:
    """The anode as it came out: mm across, whether the wire shows, whether a skin is on it; or a plain plug."""
    found = _found(entries, "look at anode", "anode")
    if found is None:
        return None
    across = found["values"][0] if found["values"] else None
    return {"at": found["at"], "across": across, "told": found["told"], "rod": found["rod"],
            "core": found.get("core", False), "skin": found.get("skin", False)}  # fmt: skip


def _inside(state: BenchState) -> dict[str, Any]:
    """The tank in section, the flue's way, and which conductors are live."""
    unit, model = state.unit, state.model
    out: dict[str, Any] = {
        "fill": round(float(unit["tank.fill"][0]), 3),
        "layers": [round(float(unit["tank.temperature"][0]), 1)],
        "layers_read": [amount(float(unit["tank.temperature"][0]), "degC", "temperature")],
        "wires": conductors(state),
    }
    solution = side(unit, "alternating")
    heights = {e: float(unit[f"{e}.height"][0]) for e in model.of_type("element")}
    out["elements"] = {
        e: {"on": bool(coil_power(unit, e, solution)[0] > 1.0), "height": round(height, 2)}
        for e, height in heights.items()
    }
    for vessel in model.of_type("vessel"):
        out["sediment"] = round(float(unit[f"{vessel}.sediment"][0]), 4)
        out["sediment_read"] = amount(1000 * out["sediment"], "mm", "small length")
    for anode in model.of_type("anode"):
        out["rod"] = {
            "radius": round(float(corrosion.radius(unit)[0]), 4),
            "used": round(float(unit[f"{anode}.used"][0]), 3),
            "skin": bool(unit[f"{anode}.film"][0] > SMOOTH_FILM),
        }
    for valve in model.of_type("relief valve"):
        out["relief"] = {
            "open": state.flag(f"{valve}.open"),
            "drips": bool(unit[f"{valve}.weep"][0] > 1e-6),
        }
    out["looked_at"] = seen_inside(state)
    for valve in (v for kind in VALVES for v in model.of_type(kind)):
        out["gas"] = state.flag(f"{valve}.open")
    return out


def conductors(state: BenchState) -> dict[str, str]:
    """For each conductor that carries current: live, dead, or half where only one of its ends is live.

    As a lamp between it and the ground (12 V: the minus) would show: what hangs loose on a switched-off wire is dead.
    """
    ends = {w.id: _ends(state, w) for w in state.model.wires.values() if w.role not in ("ground", "bond")}
    out = {}
    sides: tuple[tuple[Drive, float], ...] = (("alternating", LIVE_ALTERNATING), ("direct", LIVE_DIRECT))
    for drive, least in sides:
        mine = [w for w in ends if (state.model.wires[w].role.startswith("dc")) == (drive == "direct")]
        minus = _minus(state) if drive == "direct" else None
        if not mine or (drive == "direct" and minus is None):
            continue
        volts = _lamp_volts(state, sorted({end for w in mine for end in ends[w]}), drive, minus)
        for wire in mine:
            live = [volts[end] > least for end in ends[wire]]
            out[wire] = "dead" if not any(live) else "live" if all(live) else "half"
    return out


def _ends(state: BenchState, wire: Wire) -> list[str]:
    """The terminals that a conductor is on now."""
    lifted = wire.lifts_at if wire.lifts_at and state.lifted(wire.id) else None
    return [end for end, name in ((wire.from_, "from"), (wire.to, "to")) if name != lifted]


def _minus(state: BenchState) -> str | None:
    sources = [*state.model.of_type("battery"), *state.model.of_type("converter")]
    return f"{sources[0]}.minus" if sources else None


def _lamp_volts(state: BenchState, terminals: list[str], drive: Drive, minus: str | None) -> dict[str, float]:
    """V across the lamp from each terminal to the minus, or to ground."""
    asked = [*terminals, *([minus] if minus else [])]
    volts, seen = state.unit.wiring.seen_from(state.unit.values, asked, drive)
    own = np.real(np.diagonal(seen[0])) if drive == "direct" else np.abs(np.diagonal(seen[0]))
    if minus is None:
        return {t: float(abs(volts[0, k]) * LAMP / (LAMP + own[k])) for k, t in enumerate(terminals)}
    last = len(asked) - 1
    between = own + own[last] - 2 * np.real(seen[0, :, last])
    return {
        t: float(abs(volts[0, k] - volts[0, last]) * LAMP / (LAMP + between[k]))
        for k, t in enumerate(terminals)
    }
