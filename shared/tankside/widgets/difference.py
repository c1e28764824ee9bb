"""What has changed between two views of a bench, so that a screen is sent that and no more.

A view is plain data: dicts, lists, text, numbers. A change is ``[path, value]``; a path is a list of keys and
places in lists. The bench log only grows, so its new lines travel by themselves.
"""

from __future__ import annotations

import json
from typing import Any

Change = list[Any]


def changes(old: Any, new: Any, path: tuple[str | int, ...] = ()) -> list[Change]:
    """The changes that turn ``old`` into ``new``; a dict or list of another shape is replaced as a whole."""
    if isinstance(old, dict) and isinstance(new, dict) and old.keys() == new.keys():
        return [c for key in new for c in changes(old[key], new[key], (*path, key))]
    if isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        return [c for k, (a, b) in enumerate(zip(old, new, strict=True)) for c in changes(a, b, (*path, k))]
    return [] if _same(old, new) else [[list(path), new]]


def _same(old: Any, new: Any) -> bool:
    """Equal, and of one kind: 1 and True are told apart, because JSON does."""
    return bool(old == new) and isinstance(old, bool) == isinstance(new, bool)


def apply(view: dict[str, Any], found: list[Change]) -> dict[str, Any]:
    """A copy of the view with the changes made, as the screen makes them."""
    out: Any = view
    for path, value in found:
        out = _with(out, path, value)
    return dict(out)


def _with(node: Any, path: list[Any], value: Any) -> Any:
    if not path:
        return value
    key, *rest = path
    twin = list(node) if isinstance(node, list) else dict(node)
    twin[key] = _with(node[key], rest, value)
    return twin


def step(old: dict[str, Any], new: dict[str, Any]) -> dict[str, Any] | None:
    """What to send: ``changes`` without the log, and the log's new ``lines``; None if the log didn't just grow."""
    before, after = old.get("log", []), new.get("log", [])
    if after[: len(before)] != before or old.keys() != new.keys():
        return None
    # Most of a view stays: as text it is told at once, so that only what differs is gone through.
    moved = [key for key in new if key != "log" and json.dumps(old[key]) != json.dumps(new[key])]
    rest = [change for key in moved for change in changes(old[key], new[key], (key,))]
    return {"changes": rest, "lines": after[len(before) :]}
