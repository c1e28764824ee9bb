"""The bench itself: one unit, one technician, one clock, one log."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tankside.bench import (  # noqa: F401  (each registers its actions)
    covers,
    gas,
    ignition,
    leads,
    metering,
    pilot,
    proving_dead,
    repairs,
    running,
    switches,
    tank,
    water,
)
from tankside.bench.actions import ACTIONS, Result, check_arguments
from tankside.bench.log import LogFile, ReadLog, link, start_link
from tankside.bench.rules import RULES
from tankside.bench.state import BenchState
from tankside.bench.view import view_of
from tankside.case import as_found
from tankside.edition import BENCH, edition
from tankside.errors import BenchError, BenchLogError, TanksideError, UnknownNameError
from tankside.heater.simulation import advance
from tankside.heater.unit import Unit
from tankside.instruments.flue_gas_analyzer import FlueGasAnalyzer
from tankside.instruments.manometer import Manometer
from tankside.instruments.multimeter import Multimeter
from tankside.instruments.service import toolbox
from tankside.instruments.water_strip import water_tools
from tankside.streams import Stream
from tankside.workorder import WorkOrder


@dataclass(frozen=True)
class Outcome:
    """What one action gave: its log line, its sentence, its readings, and why the bench stopped, if it did."""

    entry: dict[str, Any]
    text: str
    readings: list[dict[str, Any]]
    stopped: dict[str, Any] | None


def start_state(order: WorkOrder, unit: Unit | None = None) -> BenchState:
    """The bench as it is when work begins; ``unit`` may be a batch whose first row is the order's own."""
    case = order.case()
    return BenchState(
        unit or as_found(case),
        case.healthy(),
        Multimeter(Stream(order.seed, "multimeter")),
        tools=toolbox(order.seed),
        water=water_tools(order.seed),
        manometer=Manometer(order.seed),
        analyzer=FlueGasAnalyzer(order.seed),
    )


def perform(state: BenchState, verb: str, args: dict[str, Any], leave: bool = False) -> Result:
    """Do one action on a state: rules, effect, time. ``BenchError`` leaves the state as it was.

    ``leave``: nobody looks at the heater again, so that its time needn't pass; the clock goes on all the same.
    """
    if verb not in ACTIONS:
        raise UnknownNameError("action", verb, sorted(ACTIONS))
    check_arguments(args)
    if state.stopped and verb != "make safe":
        raise BenchError(f"The bench is stopped: {state.stopped['name']}. Make safe first.")
    if verb == "make safe" and not state.stopped:
        raise BenchError("There is nothing to make safe: the bench isn't stopped.")
    whole = _whole_elements(state)
    result = ACTIONS[verb](state, args)
    ran = 20.0 if verb == "prove operation" else result.ran
    if not leave:
        advance(state.unit, result.minutes)
    if whole - _whole_elements(state) and "dry-fire" not in result.broke:
        # The thermostat of a drained tank calls for heat minutes later: then it is no switch that starts the element.
        result.broke = [*result.broke, "dry-fire"]
        result.text += " Then the element came on without water, and burnt through."
    state.clock = round(state.clock + result.minutes + ran, 6)
    result.minutes = result.minutes + ran
    for rule_id in result.broke:
        rule = RULES[rule_id]
        if rule.dangerous:
            state.stopped = {
                "rule": rule.id,
                "name": rule.name,
                "what": result.text,
                "why": rule.why,
                "now": rule.instead,
            }
    return result


def _whole_elements(state: BenchState) -> set[str]:
    """The elements that no dry start has burnt yet."""
    return {e for e in state.model.of_type("element") if not state.flag(f"{e}.burnt")}


class Bench:
    """A bench on a work order. With a log path, an existing log is replayed and then continued.

    >>> bench.do("open cover", place="heater-front")     # doctest: +SKIP
    >>> bench.do("probe", red="element.1", black="element.2").text     # doctest: +SKIP
    """

    def __init__(self, order: WorkOrder, log_path: Path | None = None) -> None:
        self.order = order
        self.state = start_state(order)
        self.entries: list[dict[str, Any]] = []
        self.notes: list[str] = []
        self._last = start_link(order.order)
        self._file = LogFile(log_path) if log_path else None
        found = self._file.read() if self._file else ReadLog()
        self.notes += found.problems
        if found.entries:
            self._resume(found.entries)
        else:
            about = {"order": order.order, "edition": edition(*BENCH)}
            self._write("begin", about, arrival(order, self.state), 0.0)

    def _resume(self, entries: Iterable[dict[str, Any]]) -> None:
        """Do again what the log says was done, so that work goes on where it stopped."""
        for i, entry in enumerate(entries):
            if i == 0:
                if entry["verb"] != "begin" or entry["args"].get("order") != self.order.order:
                    raise BenchLogError(
                        f"The bench log here belongs to another work order. Move it away to start {self.order.order}."
                    )
                self._keep(entry)
                continue
            try:
                perform(self.state, entry["verb"], entry["args"])
            except TanksideError as error:
                raise BenchLogError(
                    f"Line {i + 1} of the bench log can't be done again: {error} "
                    "Move the log out of this folder to begin again, and tell your instructor."
                ) from None
            self._keep(entry)

    def _keep(self, entry: dict[str, Any]) -> None:
        self.entries.append(entry)
        self._last = str(entry.get("link", ""))

    def _write(self, verb: str, args: dict[str, Any], result: Result, began: float) -> dict[str, Any]:
        entry: dict[str, Any] = {
            "seq": len(self.entries),
            "at": began,
            "minutes": result.minutes,
            "verb": verb,
            "args": args,
            "result": result.logged,
            "text": result.text,
        }
        entry["link"] = link(self._last, entry)
        if self._file:
            self._file.append(entry)
        self._keep(entry)
        return entry

    def do(self, verb: str, **arguments: Any) -> Outcome:
        """One action, one log line. ``BenchError`` says why it can't be done; then nothing changed."""
        before = self.state.snapshot()
        try:
            result = perform(self.state, verb, arguments)
            entry = self._write(verb, arguments, result, before.clock)
        except BaseException:  # an interrupted kernel, too, must not leave state and log apart
            self.state = before
            raise
        readings = [entry["result"]["reading"]] if "reading" in entry["result"] else []
        readings += [item["reading"] for item in entry["result"].get("readings", [])]
        stopped = self.state.stopped if result.broke else None
        return Outcome(entry, result.text, readings, stopped)

    def view(self) -> dict[str, Any]:
        """Everything that a screen shows, as plain data."""
        return view_of(self.order, self.state, self.entries)

    # Plain methods, one an action, for whoever types rather than clicks.

    def open_cover(self, place: str) -> Outcome:
        """Take a cover off."""
        return self.do("open cover", place=place)

    def close_cover(self, place: str) -> Outcome:
        """Put a cover back."""
        return self.do("close cover", place=place)

    def switch(self, part: str, position: str) -> Outcome:
        """Move a switch, the breaker or the plug."""
        return self.do("switch", part=part, position=position)

    def lock_out(self, part: str | None = None) -> Outcome:
        """Put your lock on an isolator that is off."""
        return self.do("lock out", **({"part": part} if part else {}))

    def unlock(self) -> Outcome:
        """Take your lock off."""
        return self.do("unlock")

    def meter(self, function: str) -> Outcome:
        """Set the meter: "V~", "V⎓", "Ω" or "continuity"."""
        return self.do("meter", function=function)

    def zero_leads(self) -> Outcome:
        """Hold the tips together on ohms, and take the leads off every reading from now on."""
        return self.do("zero leads")

    def probe(self, red: str, black: str) -> Outcome:
        """Put the leads on two terminals and read."""
        return self.do("probe", red=red, black=black)

    def prove_meter(self) -> Outcome:
        """Check the meter on the proving unit."""
        return self.do("prove meter")

    def prove_dead(self, place: str) -> Outcome:
        """Live, dead, live at a place, in one go."""
        return self.do("prove dead", place=place)

    def lift(self, wire: str) -> Outcome:
        """Lift a lead off its terminal."""
        return self.do("lift lead", wire=wire)

    def land(self, wire: str) -> Outcome:
        """Put a lifted lead back."""
        return self.do("land lead", wire=wire)

    def drain(self) -> Outcome:
        """Shut the water off and drain the tank."""
        return self.do("drain")

    def fill(self) -> Outcome:
        """Fill the tank and let the air out."""
        return self.do("fill")

    def run_tap(self, minutes: float) -> Outcome:
        """Run the hot tap."""
        return self.do("run tap", minutes=minutes)

    def temperature(self) -> Outcome:
        """Measure the hot water at the tap."""
        return self.do("temperature")

    def look(self) -> Outcome:
        """Look at every switch and at the breaker."""
        return self.do("look")

    def wait(self, minutes: float) -> Outcome:
        """Let time pass."""
        return self.do("wait", minutes=minutes)

    def repair(self, remedy: str) -> Outcome:
        """Carry out a remedy."""
        return self.do("repair", remedy=remedy)

    def prove_operation(self) -> Outcome:
        """Run the heater and see that the water gets warmer."""
        return self.do("prove operation")

    def make_safe(self) -> Outcome:
        """After an unsafe act: pull the plug and think it over."""
        return self.do("make safe")


def arrival(order: WorkOrder, state: BenchState) -> Result:
    """What the first line of a log says."""
    text = f"Arrived at work order {order.order}. The owner says: {order.complaint}"
    return Result({"positions": state.seen_switches()}, text, 0)
