"""Safe working: full at first; rules broken, actions missing and things left undone cost."""

from __future__ import annotations

from tankside.bench.gas_points import JOINTS
from tankside.bench.replay import Replay
from tankside.bench.rules import RULES
from tankside.bench.state import BenchState
from tankside.labs import Lab
from tankside.scoring.marks import PartMark, Tally
from tankside.scoring.readings import lines_named, repaired, worked

CARELESS_FIRST = 0.25
"""Share of the safe-working part that breaking a careless rule costs the first time; each further time a tenth."""
LEFT_UNDONE = 0.10
"""Share of the safe-working part for each thing left undone at the end."""
EXPECTED = 0.20
"""Share of the safe-working part for each action that the lab asks for and the log lacks."""
ASKED = {
    "prove meter": "prove the meter on the proving unit",
    "lock out": "put your lock on the isolator",
    "prove dead": "prove a place dead: meter proven, each conductor to neutral and to ground, meter proven again",
}
"""The actions that labs ask for, in words."""
PROVEN_BEFORE_LIGHTING = frozenset(("cylinder", "hose", "gas_cock"))
"""Joints that can be tested before there is a flame; the orifice's thread has gas only while the burner runs."""
AT_A_DISTANCE = frozenset({"begin", "look", "wait", "meter", "zero leads", "prove meter"})
"""Actions at which nothing can go wrong: a log of these alone shows no safe work."""

_MAINS = (
    "Practice making safe until it is a habit: off, out, lock, prove the meter, prove dead, prove the meter."
)
_GAS = (
    "Practice the gas side until it is a habit: smell first, shut before you open, soap after you close, "
    "and never a flame to look for a leak."
)
_WATER = (
    "Practice the water side until it is a habit: off and cool, cold shut, a hot tap open, drained; "
    "and full again before any heat."
)
_GUARDS = "A safety device that opens, or runs, tells of a fault. Practice finding that fault with the device in place."
HABITS = {
    **dict.fromkeys(
        ("hands-on-live", "no-lock-out", "not-proven-dead", "ohms-on-live", "lifted-live-12v", "board-overvoltage"), _MAINS
    ),
    "energised-open": _MAINS,
    **dict.fromkeys(("dry-fire", "dry-burner", "scald", "flood", "under-pressure"), _WATER),
    **dict.fromkeys(("bridged-safety", "plugged-relief"), _GUARDS),
    **dict.fromkeys(("flame-search", "lit-in-smell", "relight-unpurged", "gas-not-shut"), _GAS),
    **dict.fromkeys(("no-sniff", "no-leak-test", "relit-over-limit"), _GAS),
}  # fmt: skip
"""The habit that each safety rule asks for; what is practised next when it was broken."""


def safe_working(lab: Lab, done: Replay) -> PartMark:
    """Marks for the way of working; none if the log shows no work or can't be trusted."""
    tally = Tally("safe-working", lab.weights["safe-working"])
    if done.tampered:
        tally.add(0.0, "The log isn't as the bench wrote it, so nobody can vouch for safe work.")
        tally.advise("Do the work again at the bench, and leave the log as the bench writes it.")
        return tally.done()
    if not worked(done):
        tally.add(0.0, "The log shows no work, so there is no safe work to mark.")
        tally.advise(
            "Open the lab's notebook, run its cells from the top, and work at the bench that they show."
        )
        return tally.done()
    verbs = {entry["verb"] for entry in done.entries}
    if verbs <= AT_A_DISTANCE:
        tally.add(0.0, "You only looked on. Safe working shows when hands or leads go to the heater.")
        tally.advise("Work at the heater: measure, make safe, repair, prove that it heats.")
        return tally.done()
    assert done.state is not None
    shown = verbs - {"prove dead"} | ({"prove dead"} if done.state.once_proven else set())
    missing = [verb for verb in lab.expects if verb not in shown]
    water = [e["verb"] for e in done.entries if e["verb"] in ("drain", "fill", "winterise")]
    undone = left_undone(done.state, water[-1:] == ["winterise"], _ran_after_repair(done))
    flawless = not (done.broke or missing or undone)
    tally.add(
        1.0,
        "You broke no safety rule, and left nothing undone."
        if flawless
        else "You start with all marks for safe working.",
    )
    _broken(tally, done)
    for verb in missing:
        tally.add(-EXPECTED, f"This lab asks you to {ASKED.get(verb, verb)}. The log doesn't show it.")
        tally.advise("Read the lab's task list again before you start: it names what is done in any case.")
    for text in undone:
        tally.add(-LEFT_UNDONE, text)
        tally.advise(
            "Before you leave, go round the heater once: covers, leads, water, gas, lock, and a run that proves that it heats."
        )
    return tally.done()


def _broken(tally: Tally, done: Replay) -> None:
    """What each broken rule costs: the first time with its reason, all later times in one sentence."""
    at: dict[str, list[int]] = {}
    for line, rule_id in done.broke:
        at.setdefault(rule_id, []).append(line)
    for rule_id, lines in at.items():
        rule = RULES[rule_id]
        first, further = (1.0, 1.0) if rule.dangerous else (CARELESS_FIRST, CARELESS_FIRST / 10)
        tally.add(-first, f"Line {lines[0]}: {rule.name}. {rule.why} {rule.instead}")
        if lines[1:]:
            named = lines_named(lines[1:])
            tally.add(-further * len(lines[1:]), f"{named[0].upper()}{named[1:]}: {rule.name}, again.")
    for rule_id in sorted(at, key=lambda rule: not RULES[rule].dangerous):
        tally.advise(HABITS[rule_id])


def _ran_after_repair(done: Replay) -> bool:
    """True if the heater was run after the last repair to see whether it heats."""
    lines = [entry["verb"] for entry in done.entries if repaired(entry) or entry["verb"] == "prove operation"]
    return lines[-1:] == ["prove operation"]


def left_undone(state: BenchState, winterised: bool = False, ran: bool = False) -> list[str]:
    """What a careful technician would still do before leaving, as sentences.

    ``winterised``: the tank was drained for the winter, sources off and a note on the panel, so it may be empty.
    ``ran``: the heater was run after the last repair.
    """
    out = [
        f"The cover is still off: {state.model.places[place].name}." for place in sorted(state.open_covers)
    ]
    lifted = [w.name for w in state.model.wires.values() if w.lifts_at and state.lifted(w.id)]
    out += [f"The lead is still off: {name}." for name in lifted]
    untested = sorted(state.gas.opened & PROVEN_BEFORE_LIGHTING)
    out += [
        f"You opened {JOINTS[joint]} and didn't test it tight with soap or a gauge." for joint in untested
    ]
    if state.unit["tank.fill"][0] < 0.98 and not winterised:
        out.append("The tank was left empty. The next person to switch it on burns the element out.")
    if state.repaired and state.locked:
        out.append(
            "Your lock is still on after the repair. Take it off, run the heater, and prove that it heats."
        )
    if state.repaired and not state.locked and not state.operated:
        out.append(
            "You ran the heater after the repair, but the run didn't prove that it heats. Read what the log says of it."
            if ran
            else "After the repair you didn't run the heater and prove that it heats."
        )
    return out
