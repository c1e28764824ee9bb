"""Does a picture of the heater get what eyes see, and is every instrument within reach on the screen?"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from tankside.bench import Bench
from tankside.bench.actions import ACTIONS
from tankside.bench.choices import AT
from tankside.errors import BenchError
from tankside.heater.model import load_model, model_names
from tankside.heater.parts import PART_TYPES
from tankside.measures import choose
from tankside.notebook import plain_bench
from tankside.practice import lesson_order

MADE_BY_THE_SCREEN = {
    "switch", "open cover", "close cover", "lift lead", "land lead", "prove dead", "repair", "meter", "probe",
    "sniff", "gas pressure", "soap test", "inspect",
}  # fmt: skip
"""Verbs whose rows the front end makes itself, one for each switch, cover, lead, place, gas point."""
NOT_OFFERED = {"jumper", "plug relief valve", "search with flame"}
"""What nobody should do isn't on a button. (They can be typed, and stop the bench.)"""


def lab_bench(model: str, **values: float) -> Bench:
    """A learner's bench, its heater changed by hand."""
    bench = Bench(lesson_order(model=model).model_copy(update={"learner": "someone"}))
    for key, value in values.items():
        bench.state.unit.set(key.replace("__", "."), value)
    return bench


def test_every_instrument_has_its_way_on_the_screen() -> None:
    """Is each action that the bench knows offered by the screen of some model, apart from what is never right?"""
    offered = {a["verb"] for name in model_names() for a in plain_bench("no-fault", name).view()["actions"]}
    assert set(ACTIONS) - offered - MADE_BY_THE_SCREEN == NOT_OFFERED


@pytest.mark.parametrize("model", model_names())
def test_what_is_offered_can_be_done(model: str) -> None:
    """Does each offered action, with each of its choices, belong to this heater, and do something when it is enabled?"""
    bench = plain_bench("no-fault", model)
    for switch in bench.view()["switches"]:
        if switch["id"] in ("breaker", "dc_panel_switch"):
            bench.switch(switch["id"], "off")
    for place in bench.view()["places"]:
        if place["cover"]:
            bench.open_cover(place["id"])
    terminals = [t["id"] for part in bench.view()["parts"] for t in part["terminals"]]
    for row in bench.view()["actions"]:
        assert set(row["at"]) <= set(bench.state.model.parts)
        args: dict[str, Any] = dict(row.get("args", {}))
        if row.get("leads"):
            args |= {"red": terminals[0], "black": terminals[1]}
        if row["verb"] in ("wait", "run tap"):
            args["minutes"] = 1
        for option in row.get("options", [{"id": None, "why": ""}]):
            chosen = {row["argument"]: option["id"]} if option["id"] else {}
            trial = plain_bench("no-fault", model)
            trial.state = bench.state.snapshot()
            if row["enabled"] and not option["why"]:
                trial.do(row["verb"], **args, **chosen)


def test_actions_are_at_parts_that_there_are() -> None:
    """Does the list of where actions are done name only actions and part types that exist?"""
    assert set(AT) <= set(ACTIONS)
    assert {kind for kinds in AT.values() for kind in kinds} <= set(PART_TYPES)


@pytest.mark.parametrize("model", model_names())
def test_a_lab_shows_only_what_eyes_see(model: str) -> None:
    """With covers on, is a lab's view the same whatever the inside is like: rod, sediment, flame, soot?"""
    types = load_model(model).of_type
    hidden = {f"{p}__used": 0.7 for p in types("anode")} | {f"{p}__sediment": 0.02 for p in types("vessel")}
    hidden |= {f"{p}__soot": 2.0 for p in types("flue")} | {"tank__temperature": 20.0}
    hidden |= {f"{p}__blocked": 0.8 for p in types("flue")} | {f"{p}__web": 0.7 for p in types("burner")}
    plain, changed = lab_bench(model).view(), lab_bench(model, **hidden).view()
    assert plain["scene"]["inside"] is None
    assert plain == changed


def test_the_flame_is_seen_when_its_cover_is_off() -> None:
    """In a lab, is the flame told once nothing hides it, and turned when the water calls for heat?"""
    bench = lab_bench("smew_10")
    assert bench.view()["scene"]["flame"] is None
    bench.open_cover("heater-front")
    assert bench.view()["scene"]["flame"] == {"kind": "none", "pilot": True, "spark": False}
    bench.run_tap(15)
    assert bench.view()["scene"]["flame"]["kind"] == "steady blue"


def test_a_rod_that_was_pulled_stays_in_the_picture() -> None:
    """Is the anode drawn as the caliper found it, until another is fitted?"""
    bench = lab_bench("grebe_12", anode__used=0.6)
    bench.switch("breaker", "off")
    bench.run_tap(30)
    bench.drain()
    bench.open_cover("heater-front")
    bench.do("look at anode")
    reading = bench.entries[-1]["result"]["readings"][0]["reading"]
    rod = bench.view()["scene"]["rod"]
    assert rod["across"] == reading["value"]
    assert 0.3 * 19 < rod["across"] < 19, "a new rod is 19 mm"
    for told, wanted in ((rod["told"], reading["value"]), (bench.view()["scene"]["measures"]["rod_new"], 19)):
        inches, millimeters = (
            float(found) for found in re.search(r"([\d.]+) in\. \(([\d.]+) mm\)", told).groups()
        )
        assert millimeters == pytest.approx(wanted, abs=0.051)
        assert inches == pytest.approx(wanted / 25.4, abs=0.0026), "25.4 mm to the inch, by definition"
    bench.do("lamp in tank")
    told = bench.view()["scene"]["lamp_in_tank"]["told"]
    large, small = (float(found) for found in re.search(r"([\d.]+) in² \(([\d.]+) cm²\)", told).groups())
    assert large == pytest.approx(small / 2.54**2, abs=0.06)
    anew = next(r["id"] for r in bench.view()["remedies"] if "anode" in r["id"])
    bench.repair(anew)
    assert bench.view()["scene"]["rod"] is None


def test_a_close_look_stays_in_the_picture() -> None:
    """Are nest, soot and web told only after a close look, in the words' steps, and each until it is cleared away?"""
    bench = lab_bench("plover_12", flue__blocked=0.8, flue__soot=0.5, burner__web=0.7)
    bench.open_cover("burner-bay")
    assert bench.view()["scene"]["looked_at"] == {}, "an open cover isn't a look into the tube"
    bench.do("inspect", part="flue")
    seen = bench.view()["scene"]["looked_at"]
    assert set(seen) == {"flue"}
    assert seen["flue"]["words"] == bench.entries[-1]["result"]["seen"]
    assert {k: seen["flue"]["steps"][k] for k in ("blocked", "soot", "baffle")} == {
        "blocked": 2,
        "soot": 1,
        "baffle": 0,
    }
    bench.do("inspect", part="burner")
    assert bench.view()["scene"]["looked_at"]["burner"]["steps"] == {"web": 2, "rust": 0, "askew": 0}
    for part, position in (("cylinder", "shut"), ("gas_cock", "shut")):
        bench.switch(part, position)
    bench.repair("clear-flue")
    left = bench.view()["scene"]["looked_at"]["flue"]
    assert "blocked" not in left["steps"]
    assert left["steps"]["soot"] == 1
    assert not any("stopped" in word and "flue" in word for word in left["words"])
    bench.repair("clean-burner-tube")
    bench.repair("replace-burner")
    assert "burner" not in bench.view()["scene"]["looked_at"], "nothing of the old burner is left to show"


def test_practice_shows_flue_and_tube_as_they_are() -> None:
    """Does looking inside tell in practice, unasked, what a close look would, for each heater with a burner?"""
    for model in model_names():
        bench = plain_bench("no-fault", model)
        inside = bench.view()["scene"]["inside"]["looked_at"]
        assert set(inside) == {"burner", "flue"} & set(bench.state.model.parts)
        for place in bench.view()["places"]:
            if place["cover"]:
                bench.open_cover(place["id"])
        for part, found in inside.items():
            bench.do("inspect", part=part)
            assert bench.entries[-1]["result"]["seen"][: len(found["words"])] == found["words"]


def test_inside_is_told_in_the_chosen_measures(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Do the tank's temperature and its sediment stand in the picture as the learner chose to read amounts?

    140 °F are 60 °C, an inch is 25.4 mm: both by definition.
    """
    monkeypatch.setenv("TANKSIDE_HOME", str(tmp_path))
    bench = plain_bench("no-fault", "plover_12")
    bench.state.unit.set("tank.temperature", 60.0)
    bench.state.unit.set("vessel.sediment", 0.0254)
    for system, warm, mud in (
        ("us", "140 °F", "1.00 in."),
        ("si", "60 °C", "25.4 mm"),
        ("both", "140 °F (60 °C)", "1.00 in. (25.4 mm)"),
    ):
        choose(system)
        inside = bench.view()["scene"]["inside"]
        assert inside["layers_read"] == [warm]
        assert inside["sediment_read"] == mud


def test_live_conductors_in_practice() -> None:
    """Do conductors go dead from the breaker on when it is off, and is the half of an open chain told apart?"""
    bench = plain_bench("no-fault", "heron_6")
    live = bench.view()["scene"]["inside"]["wires"]
    assert (live["W1"], live["W2"], live["W3"]) == ("live", "live", "live")
    assert live["W4"] == "dead", "a neutral has no volts to ground"
    bench.switch("breaker", "off")
    live = bench.view()["scene"]["inside"]["wires"]
    assert live["W1"] == "live"
    assert {live[wire] for wire in ("W2", "W3", "W6")} == {"dead"}


@pytest.mark.parametrize("model", model_names())
def test_a_switch_behind_a_cover_is_not_told(model: str) -> None:
    """Do looking around, the first line and the screen tell only what no closed cover hides, and can it not be moved?"""
    bench = lab_bench(model)
    hidden = [
        p
        for p, r in bench.state.model.parts.items()
        if PART_TYPES[r.type].positions and bench.state.hidden(p)
    ]
    others = {p["id"] for p in bench.view()["switches"]} - set(hidden)
    assert all(not bench.state.model.places[bench.state.model.parts[p].place].cover for p in others - PANEL)
    for part in hidden:
        record = bench.state.model.parts[part]
        made, broken = PART_TYPES[record.type].positions
        twin = lab_bench(model, **{f"{part}__{PART_TYPES[record.type].moves}": 0.0})
        assert twin.view() == bench.view(), part
        assert twin.entries[0]["result"] == bench.entries[0]["result"]
        looked = twin.look()
        assert part not in looked.entry["result"]["positions"]
        assert record.name in looked.text.partition("behind a cover")[2]
        with pytest.raises(BenchError, match="behind a cover"):
            twin.switch(part, made)
        twin.open_cover(record.place)
        assert next(s["position"] for s in twin.view()["switches"] if s["id"] == part) == broken
        assert twin.look().entry["result"]["positions"][part] == broken


PANEL = {"panel_switch", "dc_panel_switch"}
"""Their handles stand out of the panel's cover."""
