"""The bench as a screen shows it: plain data, and nothing that a technician couldn't see."""

from __future__ import annotations

from typing import Any

from tankside.bench.choices import Choice, parts_of, with_choices
from tankside.bench.gas_view import gas_actions, gas_view
from tankside.bench.ignition import ignition_actions
from tankside.bench.scene import scene
from tankside.bench.state import BenchState
from tankside.bench.switches import NO_ISOLATOR
from tankside.bench.water import water_actions
from tankside.bench.where_to_prove import proof_pairs
from tankside.faults.catalogue import remedies_for
from tankside.heater.model import plate_lines
from tankside.heater.wiring import loose_end
from tankside.instruments.multimeter import FUNCTIONS
from tankside.workorder import WorkOrder


def view_of(order: WorkOrder, state: BenchState, entries: list[dict[str, Any]]) -> dict[str, Any]:
    """See ``Bench.view``."""
    model = state.model
    positions = state.switches()
    return {
        "order": {
            "id": order.order,
            "lab": order.lab,
            "complaint": order.complaint,
            "plate": [list(line) for line in plate_lines(model)],
            "site": [[label, text] for label, text in order.site.items()],
        },
        "clock": state.clock,
        "stopped": state.stopped,
        "places": [
            {
                "id": p.id,
                "name": p.name,
                "cover": p.cover,
                "open": not p.cover or p.id in state.open_covers,
                # No mains conductor ends there: there is nothing to prove dead.
                "provable": bool(proof_pairs(state, p.id)),
            }
            for p in model.places.values()
        ],
        "parts": [_part(state, part) for part in model.parts],
        "wires": [
            {
                "id": wire.id,
                "name": wire.name,
                "from": wire.from_,
                "to": wire.to,
                "role": wire.role,
                "liftable": wire.lifts_at is not None,
                "lifts_at": wire.lifts_at,
                "lifted": wire.lifts_at is not None and state.lifted(wire.id),
                "end": {"id": loose_end(wire.id), "name": state.name_of(loose_end(wire.id))}
                if wire.lifts_at
                else None,
            }
            for wire in model.wires.values()
        ],
        "switches": [
            {
                "id": part,
                "name": model.parts[part].name,
                "place": model.parts[part].place,
                "positions": list(model.types[part].positions),
                "position": None if state.hidden(part) else position,
                "outside": model.parts[part].outside,
                "locked": state.locked == part,
            }
            for part, position in positions.items()
        ],
        "water": {
            "text": "full" if state.unit["tank.fill"][0] > 0.98 else "empty",
            "fraction": float(state.unit["tank.fill"][0]),
        },
        "meter": {
            "functions": [{"id": f.id, "name": f.name} for f in FUNCTIONS.values()],
            "function": state.function,
            "red": state.red,
            "black": state.black,
            "reading": state.reading,
        },
        "gas": gas_view(state),
        "scene": scene(state, entries, practice=order.learner is None),
        "actions": _actions(state, positions),
        "remedies": [{"id": r.id, "name": r.name, "minutes": r.minutes} for r in remedies_for(model)],
        "log": [
            {"seq": e["seq"], "at": e["at"], "minutes": e["minutes"], "text": e["text"]} for e in entries
        ],
    }


def _part(state: BenchState, part: str) -> dict[str, Any]:
    record, kind = state.model.parts[part], state.model.types[part]
    place = state.model.places[record.place]
    reachable = not place.cover or place.id in state.open_covers
    return {
        "id": part,
        "name": record.name,
        "type": record.type,
        "place": record.place,
        "terminals": [
            {"id": f"{part}.{t}", "name": state.name_of(f"{part}.{t}"), "reachable": reachable}
            for t in kind.terminals
        ],
    }


def _actions(state: BenchState, positions: dict[str, str]) -> list[dict[str, Any]]:
    """The actions without a target, with the minutes they cost and why one can't be done now."""
    full = bool(state.unit["tank.fill"][0] > 0.98)
    safe = any(
        position in ("off", "out", "tripped")
        for part, position in positions.items()
        if _isolates(state, part)
    )
    rows: list[tuple[str, str, float, str]] = [
        ("lock out", "Lock out", 3, "" if safe and not state.locked else _why_no_lock(state)),
        ("unlock", "Take the lock off", 2, "" if state.locked else "There is no lock on."),
        ("prove meter", "Prove the meter", 1, "" if state.function == "V~" else "Set the meter to V~ first."),
        (
            "zero leads",
            "Zero the leads",
            0.5,
            "" if state.function in ("Ω", "continuity") else "Set the meter to ohms first.",
        ),
        ("drain", "Drain the tank", 15, "" if full else "The tank is empty."),
        ("fill", "Fill the tank", 10, "The tank is full." if full else ""),
        ("temperature", "Measure the hot water", 1, "" if full else "The tank is empty."),
        ("run tap", "Run the hot tap", 5, "" if full else "The tank is empty."),
        ("look", "Look at the switches", 1, ""),
        ("wait", "Wait", 10, ""),
        ("prove operation", "Run it and prove it heats", 22, "" if full else "Fill the tank first."),
        ("make safe", "Make safe and go on", 10, "" if state.stopped else "The bench isn't stopped."),
    ]
    rows += gas_actions(state) + ignition_actions(state)
    rows += water_actions(state)
    choices = [Choice(verb, label, minutes, why) for verb, label, minutes, why in rows]
    out = []
    for choice in with_choices(state, choices):
        why = choice.why
        if state.stopped and choice.verb != "make safe":
            why = "The bench is stopped. Make safe first."
        row = {
            "verb": choice.verb,
            "label": choice.label,
            "minutes": choice.minutes,
            "enabled": not why,
            "why": why,
            "at": parts_of(state, choice.verb),
        }
        if choice.verb == "lock out" and (pulled := _pulled_plug(state, positions)):
            row["args"] = {"part": pulled}
        out.append(row | choice.more)
    return out


def _isolates(state: BenchState, part: str) -> bool:
    return state.model.parts[part].type in ("breaker", "mains supply")


def _pulled_plug(state: BenchState, positions: dict[str, str]) -> str | None:
    """The plug that is out. The lock goes there even if the breaker is off too: a plug opens every wire."""
    return next((p for p in state.model.of_type("mains supply") if positions.get(p) == "out"), None)


def _why_no_lock(state: BenchState) -> str:
    if state.locked:
        return "Your lock is on."
    if not any(_isolates(state, part) for part in state.model.parts):
        return NO_ISOLATOR
    return "Switch the breaker off or pull the plug first."
