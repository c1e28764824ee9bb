"""Benches for the widgets' tests: a real one on a fixed work order, and made-up views of other heaters."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from tankside.bench import Bench
from tankside.dispatch import make_order
from tankside.labs import load_lab
from tankside.workorder import WorkOrder


@cache
def order(seed: str = "ab") -> WorkOrder:
    """A work order of the mains-side lab; the seed's two digits are repeated."""
    return make_order(load_lab("lab03"), "demo", seed * 16, date(2030, 1, 1))


def real_bench(seed: str = "ab", log_path: Path | None = None) -> Bench:
    """A bench on that order."""
    return Bench(order(seed), log_path)


def renamed(view: dict[str, Any]) -> dict[str, Any]:
    """The same view with every part, place and wire under another id and another name."""
    ids = {p["id"]: f"p{k}" for k, p in enumerate(view["parts"])}
    ids |= {p["id"]: f"place{k}" for k, p in enumerate(view["places"])}
    ids |= {w["id"]: f"w{k}" for k, w in enumerate(view["wires"])}

    def new(node: Any, key: str = "") -> Any:
        if isinstance(node, dict):
            return {ids.get(k, k): new(v, k) for k, v in node.items()}
        if isinstance(node, list):
            return [new(item, key) for item in node]
        if not isinstance(node, str) or key in ("type", "role", "verb", "text", "position", "positions"):
            return node
        first, dot, rest = node.partition(".")
        if node in ids or (dot and first in ids):
            return ids.get(node) or f"{ids[first]}.{rest}"
        return f"thing {len(node)} {node[:3]}" if key == "name" else node

    return dict(new(view))


def two_system_view() -> dict[str, Any]:
    """A made-up heater with mains and a branching 12 V side, a part with several terminals on one side,
    and wires that pass over parts: what no data file here has yet, to see that it draws itself."""
    parts = [
        ("outlet", "wall outlet", "mains supply", "wall", ["hot", "neutral", "ground"]),
        ("battery", "battery", "battery", "wall", ["plus", "minus"]),
        ("fuse", "fuse", "fuse", "wall", ["line", "load"]),
        ("rocker", "double rocker", "switch", "panel", ["in", "out", "dc in", "dc out"]),
        ("relay", "relay", "relay", "box", ["in", "out", "coil plus", "coil minus"]),
        ("board", "ignition board", "board", "box", ["supply", "return", "valve", "spark", "lamp", "case"]),
        ("valve", "gas valve", "valve", "burner", ["plus", "minus"]),
        ("igniter", "spark igniter", "igniter", "burner", ["plus", "minus"]),
        ("lamp", "fault lamp", "lamp", "panel", ["plus", "minus"]),
        ("coil", "element", "element", "box", ["1", "2", "sheath"]),
        ("vessel", "tank", "tank", "burner", ["shell"]),
    ]
    wires = [
        ("hot", "outlet.hot", "rocker.in"),
        ("switched hot", "rocker.out", "relay.in"),
        ("switched hot", "relay.out", "coil.1"),
        ("neutral", "coil.2", "outlet.neutral"),
        ("ground", "outlet.ground", "vessel.shell"),
        ("ground", "board.case", "vessel.shell"),
        ("bond", "coil.sheath", "vessel.shell"),
        ("dc+", "battery.plus", "fuse.line"),
        ("dc+", "fuse.load", "rocker.dc in"),
        ("dc+", "rocker.dc out", "board.supply"),
        ("dc+", "rocker.dc out", "relay.coil plus"),
        ("dc-", "relay.coil minus", "board.return"),
        ("dc+", "board.valve", "valve.plus"),
        ("dc+", "board.spark", "igniter.plus"),
        ("dc+", "board.lamp", "lamp.plus"),
        ("dc-", "valve.minus", "board.return"),
        ("dc-", "igniter.minus", "board.return"),
        ("dc-", "lamp.minus", "battery.minus"),
        ("dc-", "board.return", "battery.minus"),
    ]
    places = [
        ("wall", "wall", False),
        ("panel", "panel", True),
        ("box", "junction box", True),
        ("burner", "burner", True),
    ]
    return {
        "order": {"id": "TW-AAA-AAA", "lab": "none", "complaint": "No hot water.", "plate": [], "site": []},
        "clock": 0.0,
        "stopped": None,
        "places": [{"id": i, "name": n, "cover": c, "open": True} for i, n, c in places],
        "parts": [
            {
                "id": i,
                "name": n,
                "type": kind,
                "place": place,
                "terminals": [{"id": f"{i}.{t}", "name": f"{n} {t}", "reachable": True} for t in ts],
            }
            for i, n, kind, place, ts in parts
        ],
        "wires": [
            {
                "id": f"W{k}",
                "name": f"{a} to {b}",
                "from": a,
                "to": b,
                "role": role,
                "liftable": b == "coil.1",
                "lifts_at": "to" if b == "coil.1" else None,
                "lifted": b == "coil.1",
                "end": {"id": f"W{k}.end", "name": "loose end"} if b == "coil.1" else None,
            }
            for k, (role, a, b) in enumerate(wires, start=1)
        ],
        "switches": [
            {
                "id": "rocker",
                "name": "double rocker",
                "positions": ["on", "off"],
                "position": "off",
                "locked": False,
            }
        ],
        "water": {"text": "full", "fraction": 1.0},
        "meter": {
            "functions": [{"id": "V~", "name": "volts, alternating"}],
            "function": "V~",
            "red": None,
            "black": None,
            "reading": None,
        },
        "actions": [],
        "log": [{"seq": 0, "at": 0.0, "text": "Arrived."}],
    }
