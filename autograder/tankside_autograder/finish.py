"""From the verdict to the door: the repair, putting back, tests for tightness, power and flame on, proof of operation."""

from __future__ import annotations

from typing import Any

from tankside.bench.running import HOT_ALREADY
from tankside.errors import BenchError
from tankside.faults.catalogue import Remedy
from tankside.report import CONDITIONS
from tankside_autograder.safe_hands import GAS_KNOBS, SafeHands

LAST = "winterise"
"""What a lab may ask for that is done after the proof of operation."""
IN_SERVICE, REPORTED = CONDITIONS


def finished(hands: SafeHands, remedy: Remedy, expects: tuple[str, ...]) -> str:
    """What the lab asks for, the repair, back into service, and drained if it is left for the winter; its condition."""
    do_what_is_asked(hands, expects)
    condition = put_right(hands, remedy)
    if LAST in expects and not remedy.other_trade:
        leave_for_the_winter(hands)
    return condition


def put_right(hands: SafeHands, remedy: Remedy) -> str:
    """Carry out a remedy and bring the heater back into service; the condition in which it is left."""
    if remedy.other_trade:
        hands.land()
        hands.fill()
        hands.isolate()
        close_covers(hands)
        return REPORTED
    if remedy.hands_on or remedy.needs_empty_tank or remedy.opens_gas:
        hands.isolate()
    hands.safely("repair", remedy=remedy.id)
    return into_service(hands)


def into_service(hands: SafeHands) -> str:
    """Leads on, tank full, joints tested tight, power on, burner lit, covers on; then run it and see it heat."""
    hands.land()
    hands.fill()
    if hands.model.of_type("gas cylinder"):
        hands.open_gas()
        hands.test_joints()
    close_covers(hands, but=_burner_places(hands))
    if hands.bench.state.locked:
        hands.safely("unlock")
    power_up(hands)
    light(hands)
    close_covers(hands)
    prove(hands)
    return IN_SERVICE


def power_up(hands: SafeHands) -> None:
    """Plug in, then everything on, from the supply to the heater; spark ignition and the gas valve's knob last."""
    late = ("12 V panel switch", *GAS_KNOBS)
    plugs = list(hands.switches("mains supply"))
    rest = [part for part, kind in hands.model.types.items() if kind.positions and part not in plugs]
    for part in [*plugs, *sorted(rest, key=lambda p: hands.model.parts[p].type in late)]:
        hands.set_to(part, hands.normally(part))


def light(hands: SafeHands) -> None:
    """A burner that is lit by hand is lit; one with a standing pilot too."""
    if hands.model.of_type("hand gas valve") and not hands.bench.state.flag("gas_valve.pilot"):
        hands.safely("light")
    for valve in hands.model.of_type("pilot gas valve"):
        if not hands.bench.state.flag(f"{valve}.pilot"):
            hands.safely("light pilot")


def prove(hands: SafeHands) -> None:
    """Run it. Where the tank is hot and the thermostats rest, let cold water in and look again.

    A board that locked out before the repair starts its burner only after the switch was off and on.
    """
    for _ in range(3):
        entry = hands.safely("prove operation").entry
        if _runs(entry):
            return
        hands.safely("run tap", minutes=15)
        cold = entry["result"]["before"] <= HOT_ALREADY
        if cold and entry["result"]["idle"] and hands.model.of_type("control board"):
            start_again(hands)


def start_again(hands: SafeHands) -> None:
    """Off, on, and a look: once, and once more after airing, when air in the line kept the first start from lighting."""
    for _ in range(2):
        outcome = hands.try_to("watch start", meter="none")
        if outcome is None or outcome.entry["result"]["seen"]["flame stays"]:
            return
        hands.safely("wait", minutes=10)


def _runs(entry: dict[str, Any]) -> bool:
    return bool(entry["result"]["heats"])


def close_covers(hands: SafeHands, but: frozenset[str] = frozenset()) -> None:
    """Every cover back on, but these."""
    for place in hands.view("places"):
        if place["cover"] and place["open"] and place["id"] not in but:
            hands.do("close cover", place=place["id"])


def _burner_places(hands: SafeHands) -> frozenset[str]:
    """Where one lights, and looks at the flame."""
    kinds = ("burner", *GAS_KNOBS, "12 V panel switch")
    return frozenset(hands.model.parts[part].place for kind in kinds for part in hands.model.of_type(kind))


def leave_for_the_winter(hands: SafeHands) -> None:
    """Everything off, the water cooled, the tank drained, valves and taps open: frost can do nothing."""
    for part in hands.switches("breaker", "12 V panel switch", *GAS_KNOBS):
        hands.set_to(part, False)
    hands.shut_gas()
    hands.cool()
    hands.safely("winterise")
    close_covers(hands)


def do_what_is_asked(hands: SafeHands, expects: tuple[str, ...]) -> None:
    """The actions that a lab asks for in any case and that weren't needed so far."""
    for verb in expects:
        if verb == LAST or any(entry["verb"] == verb for entry in hands.bench.entries):
            continue
        if verb == "lock out":
            hands.isolate()
        elif verb == "prove dead":
            hands.isolate()
            kinds = hands.model.of_type("element") or hands.model.of_type("breaker")
            for part in kinds[:1]:
                hands.prove_dead(hands.model.parts[part].place)
        else:
            try:
                if verb == "prove meter":
                    hands.safely("meter", function="V~")
                hands.safely(verb, **_target(hands, verb))
            except BenchError:
                continue


def _target(hands: SafeHands, verb: str) -> dict[str, Any]:
    burner = hands.model.of_type("burner")
    if verb == "sniff" and burner:
        return {"place": hands.model.parts[burner[0]].place}
    return _TARGETS.get(verb, {})


_TARGETS: dict[str, dict[str, Any]] = {
    "tap test": {"tap": "hot"},
    "gas pressure": {"tap": "heater", "draw": "yes"},
    "soap test": {"part": "gas_cock"},
    "run tap": {"minutes": 10},
    "wait": {"minutes": 10},
}
"""What an action is done to, where a lab only asks for the action."""
