"""Safe working: full at first; rules broken, actions missing and things left undone cost."""

from __future__ import annotations

from tankside.bench.gas_points import JOINTS
from tankside.bench.replay import Replay
from tankside.bench.rules import RULES
from tankside.bench.state import BenchState
from tankside.labs import Lab
from tankside.scoring.marks import PartMark, Tally
from tankside.scoring.readings import worked

CARELESS_FIRST = 0.25
"""Share of the safe-working part that breaking a careless rule costs the first time; each further time a tenth."""
LEFT_UNDONE = 0.10
"""Share of the safe-working part for each thing left undone at the end."""
EXPECTED = 0.20
"""Share of the safe-working part for each action that the lab asks for and the log lacks."""
PROVEN_BEFORE_LIGHTING = frozenset(("cylinder", "hose", "gas_cock"))
"""Joints that can be tested before there is a flame; the orifice's thread has gas only while the burner runs."""
AT_A_DISTANCE = frozenset({"begin", "look", "wait", "meter", "zero leads", "prove meter"})
"""Actions at which nothing can go wrong: a log of these alone shows no safe work."""


def safe_working(lab: Lab, done: Replay) -> PartMark:
    """Marks for the way of working; none if the log shows no work or can't be trusted."""
    tally = Tally("safe-working", lab.weights["safe-working"])
    if not worked(done):
        tally.add(0.0, "The log shows no work, so there is no safe work to mark.")
        return tally.done()
    verbs = {entry["verb"] for entry in done.entries}
    if verbs <= AT_A_DISTANCE:
        tally.add(0.0, "You only looked on. Safe working shows when hands or leads go to the heater.")
        return tally.done()
    if done.tampered:
        tally.add(0.0, "The log isn't as the bench wrote it, so nobody can vouch for safe work.")
        return tally.done()
    tally.add(1.0, "You start with all marks for safe working.")
    seen: set[str] = set()
    for line, rule_id in done.broke:
        rule = RULES[rule_id]
        cost = 1.0 if rule.dangerous else CARELESS_FIRST if rule_id not in seen else CARELESS_FIRST / 10
        words = f"{rule.name}, again." if rule_id in seen else f"{rule.name}. {rule.why} {rule.instead}"
        tally.add(-cost, f"Line {line}: {words}")
        seen.add(rule_id)
    for verb in lab.expects:
        if verb not in verbs:
            tally.add(-EXPECTED, f"This lab asks you to {verb}. The log doesn't show it.")
    assert done.state is not None
    water = [e["verb"] for e in done.entries if e["verb"] in ("drain", "fill", "winterise")]
    for text in left_undone(done.state, winterised=water[-1:] == ["winterise"]):
        tally.add(-LEFT_UNDONE, text)
    return tally.done()


def left_undone(state: BenchState, winterised: bool = False) -> list[str]:
    """What a careful technician would still do before leaving, as sentences.

    ``winterised``: the tank was drained for the winter, sources off and a note on the panel, so it may be empty.
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
        out.append("After the repair you didn't run the heater and prove that it heats.")
    return out
