"""Can a call-out be worked by typing alone, with the same log as by clicking?"""

from __future__ import annotations

import subprocess
import sys

import pytest

from tankside.widgets.text_bench import HELP, TextBench
from tests.widgets.benches import real_bench

WALK = """open heater front
probe supply hot and supply neutral
meter volts
prove meter
breaker off
lock
prove dead heater front
meter ohms
zero
lift w10
probe element 1 and element 2
land w10
wait 5
unlock
close front"""


def test_a_whole_walk() -> None:
    """Does each typed line become the action that a click would be?"""
    bench = real_bench()
    text = TextBench(bench)
    for line in WALK.splitlines():
        answer = text.type(line)
        assert bench.entries[-1]["text"] == answer, f"{line}: {answer}"
    assert [(e["verb"], e["args"]) for e in bench.entries[1:]] == [
        ("open cover", {"place": "heater-front"}),
        ("probe", {"red": "supply.hot", "black": "supply.neutral"}),
        ("meter", {"function": "V~"}),
        ("prove meter", {}),
        ("switch", {"part": "breaker", "position": "off"}),
        ("lock out", {}),
        ("prove dead", {"place": "heater-front"}),
        ("meter", {"function": "Ω"}),
        ("zero leads", {}),
        ("lift lead", {"wire": "W10"}),
        ("probe", {"red": "element.1", "black": "element.2"}),
        ("land lead", {"wire": "W10"}),
        ("wait", {"minutes": 5.0}),
        ("unlock", {}),
        ("close cover", {"place": "heater-front"}),
    ]


def test_every_terminal_can_be_named() -> None:
    """Does each terminal's whole name find that terminal and no other?"""
    bench = real_bench()
    for place in ("panel", "junction-box", "heater-front"):
        bench.open_cover(place)
    text = TextBench(bench)
    terminals = [t for part in bench.view()["parts"] for t in part["terminals"]]
    for t in terminals:
        if t["id"] == "supply.ground":
            continue
        text.type(f"probe {t['name']} and supply outlet ground")
        assert bench.entries[-1]["args"] == {"red": t["id"], "black": "supply.ground"}, t["name"]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("dance", "help"),
        ("open", "Say which place"),
        ("open moon", "There are"),
        ("probe element", "two terminals"),
        ("probe line and element 1", "More than one"),
        ("probe element 1 and element 2", "behind a cover"),
        ("wait", "how many minutes"),
        ("wait long", "how many minutes"),
        ("unlock", "no lock"),
        ("meter frequency", "frequency"),
        ("repair", "Say which repair"),
        ("do fly high=1", "fly"),
        ("heater off", "behind a cover"),
    ],
)
def test_what_cannot_be_done_is_a_sentence(line: str, words: str) -> None:
    """Is a line that can't be carried out answered in words, with nothing written to the log?"""
    bench = real_bench()
    before = len(bench.entries)
    answer = TextBench(bench).type(line)
    assert words in answer
    assert len(bench.entries) == before


def test_reading_costs_nothing() -> None:
    """Do the words that only show something leave the log and the clock alone?"""
    bench = real_bench()
    text = TextBench(bench)
    for line in ("", "help", "show", "order", "log", "wires", "actions"):
        assert text.type(line)
    assert len(bench.entries) == 1
    assert text.type("help") == HELP
    assert "breaker: on" in text.type("show")
    assert "W10" in text.type("wires")


def test_an_unsafe_act_is_told_in_full() -> None:
    """Does a stop say why, and what a technician does, and how to go on?"""
    bench = real_bench()
    text = TextBench(bench)
    text.type("open junction")
    answer = text.type("repair splices")
    assert bench.state.stopped is not None
    for key in ("name", "why", "now"):
        assert bench.state.stopped[key] in answer
    assert "Type: safe" in answer
    text.type("safe")
    assert bench.state.stopped is None


def test_a_session_at_a_terminal() -> None:
    """Does the loop read lines, answer them, and end at "quit" or at the end of the input?"""
    bench = real_bench()
    lines = iter(["look", "quit"])
    said: list[str] = []
    TextBench(bench).run(lambda _: next(lines), said.append)
    assert said[-1] == bench.entries[-1]["text"]

    def ended(_: str) -> str:
        raise EOFError

    TextBench(bench).run(ended, said.append)


def test_it_needs_no_widget_library() -> None:
    """Can the text bench be used where the notebook's widgets aren't installed?"""
    code = (
        "import sys; sys.modules['anywidget'] = None; sys.modules['ipywidgets'] = None\n"
        "from tankside.widgets.text_bench import TextBench; print(TextBench)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr
