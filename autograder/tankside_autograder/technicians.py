"""Simulated technicians: invented people who work a call-out at the bench as a learner could.

Each sees only what a learner sees: the bench's view, the readings that come back, the lists of faults and remedies.
None looks at what a work order hides. The brilliant one asks ``tankside.diagnosis`` after each reading what is still
possible, as a person with all the trade's tables in their head would.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import Any

from tankside.bench import Bench
from tankside.bench.bench import perform
from tankside.diagnosis.bench_tests import bench_tests
from tankside.diagnosis.candidates import Follower
from tankside.errors import BenchError
from tankside.faults.catalogue import fault_named
from tankside.labs import Lab
from tankside.streams import Stream
from tankside_autograder import learners
from tankside_autograder.hands import (
    KNOWN_FIGURES,
    Hands,
    answers,
    isolate,
    live_pairs,
    measure_dead,
    measure_live,
    outside,
    repair,
)

SCALDING = 62.0
"""°C that no thermostat of this kind allows (common practice, no source)."""


JUDGED = (
    "polarity-swapped", "neutral-open", "supply-low", "breaker-off", "panel-switch-off", "heater-switch-off",
    "thermostat-stuck-open", "link-bar-burnt", "limit-tripped", "panel-switch-failed", "heater-switch-failed",
    "thermostat-welded", "thermostat-burnt-contact", "splice-loose", "neutral-splice-loose", "element-open",
    "sheath-breached-wet", "element-low", "element-wrong", "no-fault",
)  # fmt: skip
"""What ``judge`` may say."""


def judge(hands: Hands) -> str:
    """A diagnosis from the readings by the trade's rules of thumb (common practice, no source); cites its lines."""
    supply, element, tank = hands.part("mains supply"), hands.part("element"), hands.part("tank")
    watts, volts = hands.plate()

    def cite(function: str, *pairs: tuple[str, str]) -> None:
        for red, black in pairs:
            seen = hands.read(function, red, black)
            if seen:
                hands.evidence.append(seen.seq)

    hot, ground = (f"{supply}.hot", f"{supply}.neutral"), (f"{supply}.hot", f"{supply}.ground")
    to_ground = (f"{supply}.neutral", f"{supply}.ground")
    if hands.volts(*ground) < 20 and hands.volts(*to_ground) > 60:
        cite("V~", ground, to_ground)
        return "polarity-swapped"
    if hands.volts(*hot) < 60 and hands.volts(*ground) > 60:
        cite("V~", hot, ground)
        return "neutral-open"
    if hands.volts(*hot) < 0.9 * volts:
        cite("V~", hot)
        return "supply-low"
    found: dict[str, tuple[int, str]] = {}
    for entry in (e for e in hands.bench.entries if e["verb"] == "look"):
        for part, position in entry["result"]["positions"].items():
            found.setdefault(part, (entry["seq"], position))
    for part, name in ((hands.part("breaker"), "breaker-off"), ("panel_switch", "panel-switch-off"), ("heater_switch", "heater-switch-off")):
        line, position = found.get(part, (0, ""))
        if position == "off":
            hands.evidence.append(line)
            return name
    across = (f"{element}.1", f"{element}.2")
    load = hands.volts(*across)
    contacts = {
        "thermostat": "thermostat-stuck-open", "link_bar": "link-bar-burnt", "high_limit": "limit-tripped",
        "panel_switch": "panel-switch-failed", "heater_switch": "heater-switch-failed",
    }  # fmt: skip
    for part, name in contacts.items():
        drop = hands.volts(f"{part}.line", f"{part}.load")
        if load < 20 and drop > 60:
            cite("V~", (f"{part}.line", f"{part}.load"), across)
            felt = [e["seq"] for e in hands.bench.entries if e["result"].get("temperature", 0) > SCALDING]
            if name == "limit-tripped" and felt:
                # Water far above the setting: the thermostat didn't open, and the limit did its work.
                hands.evidence.append(felt[0])
                return "thermostat-welded"
            return name
        if part == "thermostat" and load > 60 and drop > 4:
            cite("V~", (f"{part}.line", f"{part}.load"), across)
            return "thermostat-burnt-contact"
    for box in hands.parts("splice box"):
        for side, name in (("hot", "splice-loose"), ("neutral", "neutral-splice-loose")):
            if hands.volts(f"{box}.{side}_in", f"{box}.{side}_out") > 4:
                cite("V~", (f"{box}.{side}_in", f"{box}.{side}_out"))
                return name
    ohms = hands.read("Ω", *across)
    leak = hands.read("Ω", f"{element}.1", f"{tank}.shell")
    cite("Ω", across, (f"{element}.1", f"{tank}.shell"))
    if ohms is None or ohms.base is None or ohms.base > 1000:
        return "element-open"
    if leak is not None and leak.base is not None and leak.base < 1e6:
        return "sheath-breached-wet"
    good = volts**2 / watts
    if ohms.base < 0.85 * good or ohms.base > 1.2 * good:
        return "element-low" if ohms.base < good else "element-wrong"
    # Everything measures as it should: then it is a thermostat that doesn't open, or nothing.
    return "thermostat-welded" if too_hot(hands) or "no-fault" not in hands.lab.faults else "no-fault"


def too_hot(hands: Hands) -> bool:
    """Whether the water was found hotter than a good thermostat lets it get."""
    return any(e["result"].get("temperature", 0) > SCALDING for e in hands.bench.entries)


def cite_the_rest(hands: Hands) -> None:
    """Cite what cleared the usual suspects, too: the supply's volts and the water's temperature."""
    supply = hands.part("mains supply")
    seen = hands.read("V~", f"{supply}.hot", f"{supply}.neutral")
    first = [e["seq"] for e in hands.bench.entries if "temperature" in e["result"]][:1]
    hands.evidence += [*([seen.seq] if seen else []), *first]


def allowed(hands: Hands, fault: str) -> str:
    """The fault itself when the lab has it on its list, else the first on the list with the same repair."""
    if fault in hands.lab.faults:
        return fault
    same = [f for f in hands.lab.faults if fault_named(f).remedy == fault_named(fault).remedy]
    return same[0] if same else hands.lab.faults[0]


def careful(bench: Bench, lab: Lab) -> dict[str, str]:
    """Measures outside in, isolates, proves dead, decides by rules of thumb, repairs, proves."""
    hands = Hands(bench, lab)
    outside(hands)
    hands.do("temperature")
    measure_live(hands)
    if all(hands.volts(f"{e}.1", f"{e}.2") < 20 for e in hands.parts("element")):
        hands.do("run tap", minutes=10)  # a satisfied thermostat looks like a broken one
        for red, black in live_pairs(hands):
            hands.probe(red, black)
    isolate(hands)
    measure_dead(hands)
    fault = allowed(hands, judge(hands))
    cite_the_rest(hands)
    return answers(hands, fault, repair(hands, fault))


def brilliant(bench: Bench, lab: Lab) -> dict[str, str]:
    """As careful, but knows after each reading what is still possible, and stops when nothing more would tell."""
    hands = Hands(bench, lab)
    follower = Follower(bench.order)
    follower.after(0)
    sizes = [len(follower.candidates.now)]

    def watch(verb: str, args: dict[str, Any]) -> None:
        with suppress(BenchError):
            perform(follower.state, verb, args)
        follower.after(len(sizes))
        now = len(follower.candidates.now)
        if now < sizes[-1]:
            hands.evidence.append(bench.entries[-1]["seq"])
        sizes.append(now)

    def known() -> bool:
        """The fault itself: a minute more with the leads on is worth it, even when its repair is plain."""
        return len(follower.candidates.now) <= 1

    def measure() -> None:
        for red, black in live_pairs(hands):
            if known():
                break
            hands.probe(red, black)

    hands.watch = watch
    outside(hands)
    for place in hands.covered():
        hands.do("open cover", place=place)
    hands.do("look")
    measure()
    if not known():
        hands.do("temperature")
    if not known():
        hands.do("run tap", minutes=10)  # so that the thermostat calls
        measure()
    isolate(hands)
    measure_dead(hands)
    hands.watch = None
    left = follower.candidates.now or lab.faults
    cited = list(hands.evidence)
    thought = judge(hands)  # among faults of one repair, the one that the trade would think of first
    hands.evidence = cited or hands.evidence  # what was plain on arrival is shown by what bears it out
    fault = thought if thought in left else left[0]
    return answers(hands, fault, repair(hands, fault))


def slow(bench: Bench, lab: Lab) -> dict[str, str]:
    """Thorough and anxious: measures everything twice, waits in between, cites half the log."""
    hands = Hands(bench, lab)
    outside(hands)
    hands.do("temperature")
    hands.do("wait", minutes=15)
    measure_live(hands)
    hands.do("run tap", minutes=10)
    for red, black in live_pairs(hands):
        hands.probe(red, black)
        hands.do("prove meter")
    isolate(hands)
    hands.do("wait", minutes=10)
    measure_dead(hands)
    measure_dead(hands)
    fault = allowed(hands, judge(hands))
    hands.evidence += range(1, len(bench.entries), 2)
    return answers(hands, fault, repair(hands, fault))


def guesser(bench: Bench, lab: Lab) -> dict[str, str]:
    """Measures once at the outlet, then names what it always is."""
    hands = Hands(bench, lab)
    supply = hands.part("mains supply")
    hands.do("meter", function="V~")
    hands.probe(f"{supply}.hot", f"{supply}.neutral")
    pick = Stream(bench.order.order, "guess").choice(lab.faults)
    return answers(hands, pick, "in service", cite=False)


SWAPS = ("element-open", "thermostat-stuck-open", "limit-tripped", "link-bar-burnt", "heater-switch-failed")
"""What a part-swapper changes, in the order in which the parts lie in the van."""


def part_swapper(bench: Bench, lab: Lab) -> dict[str, str]:
    """Works safely enough, but measures nothing: changes one part after another until the water warms."""
    hands = Hands(bench, lab)
    outside(hands)
    changed = SWAPS[0]
    for changed in SWAPS:
        for place in hands.covered():
            hands.do("open cover", place=place)
        isolate(hands)
        repair(hands, changed)
        if bench.entries[-1]["result"].get("heats"):
            break
    return answers(hands, allowed(hands, changed), "in service", cite=False)


def unsafe(bench: Bench, lab: Lab) -> dict[str, str]:
    """Takes the covers off and reaches in with the power on; then isolates, and goes on."""
    hands = Hands(bench, lab)
    outside(hands)
    for place in hands.covered():
        hands.do("open cover", place=place)
    element = hands.part("element")
    for wire in bench.view()["wires"]:
        if wire["liftable"] and element in (wire["from"].split(".")[0], wire["to"].split(".")[0]):
            hands.do("lift lead", wire=wire["id"])
            hands.do("make safe")
    for part in ("thermostat", "high limit"):
        for name in hands.parts(part)[:1]:
            hands.do("jumper", part=name)
            hands.do("make safe")
    isolate(hands, prove=False)
    measure_dead(hands)
    fault = allowed(hands, judge(hands))
    return answers(hands, fault, repair(hands, fault, prove=False))


Kind = Callable[[Bench, Lab], dict[str, str]]


def _either(mains: Kind, any_heater: Kind) -> Kind:
    """By rules of thumb where a heater has only its mains side; with all the trade's tables where it has more."""

    def kind(bench: Bench, lab: Lab) -> dict[str, str]:
        more = bench_tests(bench.state.model) or not _by_thumb(lab)
        return (any_heater if more else mains)(bench, lab)

    return kind


def _by_thumb(lab: Lab) -> bool:
    """Whether ``judge`` knows a repair for every fault of the lab, and ``hands`` every figure."""
    known = {fault_named(fault).remedy for fault in JUDGED}
    return {fault_named(f).remedy for f in lab.faults} <= known and {f.source for f in lab.figure} <= KNOWN_FIGURES


KINDS: dict[str, Kind] = {
    "careful": _either(careful, learners.careful),
    "brilliant": _either(brilliant, learners.brilliant),
    "slow": _either(slow, learners.slow),
    "part-swapper": _either(part_swapper, learners.part_swapper),
    "guesser": _either(guesser, learners.guesser),
    "unsafe": _either(unsafe, learners.unsafe),
}
