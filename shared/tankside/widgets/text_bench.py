"""The bench in typed words and plain text, for who would rather read and type than look and click.

It needs no widget library, and works in a notebook cell as in a terminal.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Protocol

from tankside.errors import TanksideError
from tankside.widgets.careless import heed


class BenchLike(Protocol):
    """What the text bench needs of a bench."""

    def do(self, verb: str, **arguments: Any) -> Any:
        """Carry out one action; a ``BenchError`` says why not."""

    def view(self) -> dict[str, Any]:
        """Everything that a screen shows."""


HELP = """Type one of these. Names may be cut short, as long as only one thing fits.
  show                             the heater: places, parts, terminals, switches
  order | log | wires              the work order; the bench log; the conductors
  open PLACE | close PLACE         take a cover off; put it back
  SWITCH on | SWITCH off           for example: breaker off, supply out
  lock | unlock                    your lock and tag
  meter FUNCTION                   volts, direct, ohms, continuity
  probe TERMINAL and TERMINAL      red lead first: probe element 1 and element 2
  prove meter | prove dead PLACE
  zero                             zero the leads
  lift WIRE | land WIRE            for example: lift W10
  drain | fill | temperature | tap MINUTES | wait MINUTES
  look                             at every switch
  repair REMEDY | prove operation
  do VERB key=value ...            any other action of the list that "actions" prints
  actions                          what can be done now, with its minutes
  safe                             after the bench has stopped: make safe"""

_METER = {"volts": "V~", "v~": "V~", "ac": "V~", "direct": "V⎓", "dc": "V⎓", "ohms": "Ω", "ohm": "Ω"}


class _NoCommandError(TanksideError):
    """Words that are no command."""


class TextBench:
    """A bench that takes a line of words and gives back lines of text. ``bench("open heater front")``."""

    def __init__(self, bench: BenchLike) -> None:
        self.bench = bench

    def __call__(self, line: str) -> _Text:
        """Carry out one line; what can't be done comes back as a sentence."""
        return _Text(self.type(line))

    def type(self, line: str) -> str:
        """Carry out one line and return what a screen would show."""
        words = line.strip()
        if not words or words.casefold() == "help":
            return HELP
        try:
            return self._carry_out(words)
        except TanksideError as error:
            return str(error)

    def run(self, read: Callable[[str], str] = input, write: Callable[[str], None] = print) -> None:
        """Read lines and write answers until the word "quit"."""
        write(self.order() + "\n\n" + HELP)
        while True:
            try:
                line = read("bench> ")
            except EOFError:
                return
            if line.strip().casefold() in ("quit", "exit"):
                return
            write(self.type(line))

    # ---- what can be read

    def show(self) -> str:
        """The heater as one sees it, place by place."""
        view = self.bench.view()
        switches = {s["id"]: s for s in view["switches"]}
        lines = [f"Clock: {view['clock']:g} min. Tank: {view['water']['text']}. {_meter(view['meter'])}"]
        for place in view["places"]:
            cover = "" if not place["cover"] else ", cover off" if place["open"] else ", cover on"
            lines += ["", f"{place['name']}{cover}"]
            for part in view["parts"]:
                if part["place"] != place["id"]:
                    continue
                switch = switches.get(part["id"])
                locked = ", your lock is on it" if switch and switch["locked"] else ""
                seen = switch["position"] or "not seen, behind the cover" if switch else ""
                position = f": {seen}{locked}" if switch else ""
                lines.append(f"  {part['name']}{position}")
                if place["open"]:
                    lines += [f"    {t['name']}" for t in part["terminals"]]
        lifted = [f"{w['id']}, {w['name']}" for w in view["wires"] if w["lifted"]]
        if lifted:
            lines += ["", "Lifted: " + "; ".join(lifted) + "."]
        return "\n".join(lines)

    def order(self) -> str:
        """The work order."""
        order = self.bench.view()["order"]
        rows = [
            ("Work order", order["id"]),
            ("The owner says", order["complaint"]),
            *order["plate"],
            *order["site"],
        ]
        return "\n".join(f"{label}: {text}" for label, text in rows)

    def log(self) -> str:
        """The bench log, a line each with its number."""
        lines = [(e["seq"], e["at"], e["text"]) for e in self.bench.view()["log"]]
        return "\n".join(f"{seq:>3}  {at:>6g} min  {text}" for seq, at, text in lines)

    def wires(self) -> str:
        """The conductors: from where to where, and which can be lifted."""
        view = self.bench.view()
        names = {t["id"]: t["name"] for part in view["parts"] for t in part["terminals"]}
        lines = []
        for wire in view["wires"]:
            state = ", lifted" if wire["lifted"] else ", can be lifted" if wire["liftable"] else ""
            ends = f"{names.get(wire['from'], wire['from'])} to {names.get(wire['to'], wire['to'])}"
            lines.append(f"{wire['id']:>4}  {wire['role']}: {ends}{state}")
        return "\n".join(lines)

    def actions(self) -> str:
        """What can be done now without a target, and why not where it can't."""
        rows = self.bench.view()["actions"]
        return "\n".join(
            f"{a['verb']}: {a['label']}, {a['minutes']:g} min"
            + ("" if a["enabled"] else f" (not now: {a['why']})")
            for a in rows
        )

    # ---- what can be done

    def _carry_out(self, line: str) -> str:
        first, _, rest = line.partition(" ")
        first, rest = first.casefold(), rest.strip()
        readers = {
            "show": self.show,
            "order": self.order,
            "log": self.log,
            "wires": self.wires,
            "actions": self.actions,
        }
        if first in readers and not rest:
            return readers[first]()
        verb, args = self._action(first, rest, line)
        outcome = self.bench.do(verb, **args)
        text = "\n".join(filter(None, (str(outcome.text), heed(self.bench, outcome))))
        stopped = getattr(outcome, "stopped", None)
        if stopped:
            text += (
                f"\n\nWORK STOPPED: {stopped['name']}.\nWhy: {stopped['why']}\n"
                f"What a technician does: {stopped['now']}\nType: safe"
            )
        return text

    def _action(self, first: str, rest: str, line: str) -> tuple[str, dict[str, Any]]:
        view = self.bench.view()
        places = {p["id"]: p["name"] for p in view["places"]}
        wires = {w["id"]: w["name"] for w in view["wires"] if w["liftable"]}
        plain = {
            "lock": "lock out", "lock out": "lock out", "unlock": "unlock", "zero": "zero leads",
            "drain": "drain", "fill": "fill", "temperature": "temperature", "look": "look", "safe": "make safe",
            "prove meter": "prove meter", "prove operation": "prove operation",
        }  # fmt: skip
        plain |= {a["verb"]: a["verb"] for a in view["actions"] if a["verb"] not in ("wait", "run tap")}
        whole = line.casefold()
        if whole in plain:
            return plain[whole], {}
        if first in ("open", "close"):
            return f"{first} cover", {"place": _find("place", rest.removeprefix("cover "), places)}
        if first in ("lift", "land"):
            return f"{first} lead", {"wire": _find("lead that comes off", rest, wires)}
        if first in ("wait", "tap"):
            return ("wait" if first == "wait" else "run tap"), {"minutes": _number(rest)}
        if first == "meter":
            return "meter", {"function": _METER.get(rest.casefold(), rest)}
        if first == "probe":
            return "probe", self._leads(rest, view)
        if first == "prove" and rest.casefold().startswith("dead"):
            return "prove dead", {"place": _find("place", rest[4:], places)}
        if first == "repair":
            return "repair", {"remedy": _find("repair", rest, {r["id"]: r["name"] for r in view["remedies"]})}
        if first == "do":
            return _free(rest)
        return self._switch(line, view)

    def _leads(self, rest: str, view: dict[str, Any]) -> dict[str, str]:
        names = {t["id"]: t["name"] for part in view["parts"] for t in part["terminals"]}
        names |= {w["end"]["id"]: w["end"]["name"] for w in view["wires"] if w["lifted"] and w.get("end")}
        ends = re.split(r"\s+and\s+|\s*;\s*|\s*,\s*", rest)
        if len(ends) != 2:
            raise _NoCommandError("Say two terminals, red lead first: probe element 1 and element 2")
        return {"red": _find("terminal", ends[0], names), "black": _find("terminal", ends[1], names)}

    def _switch(self, line: str, view: dict[str, Any]) -> tuple[str, dict[str, Any]]:
        name, _, position = line.rpartition(" ")
        position = position.casefold()
        fitting = [s for s in view["switches"] if position in s["positions"]]
        if not name or not fitting:
            raise _NoCommandError(f"I don't know “{line}”. Type help for the words that I know.")
        name = re.sub(r"^(switch|put|turn)\s+(?=.)", "", name) if len(name.split()) > 1 else name
        part = _find("switch", name, {s["id"]: s["name"] for s in fitting})
        return "switch", {"part": part, "position": position}


class _Text(str):
    """Text that a notebook shows as it is, without quotes."""

    def __repr__(self) -> str:
        return str(self)


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[^\w+~]+", text.casefold().replace("_", " ")) if word]


def _find(kind: str, typed: str, names: dict[str, str]) -> str:
    """The id whose name has a word that starts with each typed word. One clear sentence if none or several fit."""
    wanted = [word for word in _words(typed) if word not in ("the", "of", "at", "on")]
    if typed.strip() in names:
        return typed.strip()
    if not wanted:
        raise _NoCommandError(f"Say which {kind}: {_listed(names.values())}.")
    fits = [key for key, name in names.items() if _fits(wanted, _words(f"{name} {key}"))]
    exact = [key for key in fits if set(wanted) <= set(_words(f"{names[key]} {key}"))]
    same = [key for key in fits if set(wanted) == set(_words(names[key]))]
    first = [key for key in fits if _words(names[key])[:1] and _words(names[key])[0].startswith(wanted[0])]
    for found in (same, exact, first, fits):
        if len(found) == 1:
            return found[0]
    if fits:
        raise _NoCommandError(
            f"More than one {kind} fits “{typed.strip()}”: {_listed(names[k] for k in fits)}."
        )
    raise _NoCommandError(f"No {kind} fits “{typed.strip()}”. There are: {_listed(names.values())}.")


def _fits(wanted: Sequence[str], have: Sequence[str]) -> bool:
    return all(any(word.startswith(part) for word in have) for part in wanted)


def _listed(names: Iterable[str]) -> str:
    return "; ".join(names)


def _number(text: str) -> float:
    try:
        return float(text.split()[0])
    except (IndexError, ValueError):
        raise _NoCommandError("Say how many minutes, for example: wait 10") from None


def _free(rest: str) -> tuple[str, dict[str, Any]]:
    pairs = re.findall(r"(\w+)=(\S+)", rest)
    verb = re.sub(r"\s*\w+=\S+", "", rest).strip()
    return verb, dict(pairs)


def _meter(meter: dict[str, Any]) -> str:
    name = next((f["name"] for f in meter["functions"] if f["id"] == meter["function"]), meter["function"])
    reading = meter["reading"]
    return f"Meter on {name}" + (f", reads {reading['spoken']}." if reading else ".")
