"""Can a learner do lab 3 in a real JupyterLab, from the handed-out folder to the marks?"""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tankside.case import draw_case
from tankside.dispatch import make_order
from tankside.labs import load_lab
from tankside_autograder.classroom import Classroom, make_classroom
from tankside_autograder.cli import cli
from tests.browser.lab_page import LabPage

ROOT = Path(__file__).parent.parent.parent
LEARNER, FAULT = "mara", "element-open"
pytestmark = pytest.mark.browser


def tell(*words: str) -> str:
    """The instructor's command; it must end well."""
    done = CliRunner().invoke(cli, list(words))
    assert done.exit_code == 0, done.output
    return str(done.output)


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    """A class of one. Its key is picked so that her work order hides the fault that this test is about."""
    top = tmp_path_factory.mktemp("class")
    roster = top / "list.csv"
    roster.write_text(f"id,name\n{LEARNER},Mara Holm\n", encoding="utf-8")
    lab, room = load_lab("lab03"), Classroom(top / "room")
    for number in range(400):
        room.__dict__["key"] = f"{number:064x}"
        order = make_order(lab, LEARNER, room.seed(LEARNER, lab.id), date(2030, 1, 1))
        if draw_case(order.model, order.scope, order.seed).fault.id == FAULT:
            break
    room.secret_folder.mkdir(parents=True)
    room.key_file.write_text(f"{number:064x}\n", encoding="utf-8")
    make_classroom(top / "room", roster, "Evening class")
    tell("give", str(top / "room"), "lab03", "--exercises", str(ROOT / "exercises"))
    return Classroom(top / "room")


def find_fault(lab: LabPage) -> list[int]:
    """Outside in, by halves; the log lines of all her readings, to cite."""
    lab.press("Prove the meter")
    cite = []

    def note(before: int) -> None:
        cite.extend(range(before, lab.lines()))

    before = lab.lines()
    lab.probe("supply outlet hot", "supply outlet neutral")
    note(before)
    lab.press("Take the cover off: junction box at the heater")
    before = lab.lines()
    lab.probe("junction box hot (heater side)", "junction box neutral (heater side)")
    note(before)
    lab.press("Take the cover off: behind the heater's front cover")
    before = lab.lines()
    # The last volts by keyboard alone: walk to the terminals, choose the lead by its letter.
    lab.walk_to("element terminal 1", "r")
    lab.walk_to("element terminal 2", "b")
    note(before)
    return cite


def isolate_and_measure(lab: LabPage) -> tuple[str, str]:
    """Off, out, locked, proven dead, leads lifted; the two readings in ohms."""
    lab.flip("breaker is on")
    lab.press("Pull the plug: supply outlet")
    lab.press("Lock out")
    lab.choose("Choose a place", "behind the heater's front cover", "Prove dead")
    assert "It is dead." in lab.log_text()
    lab.press("Lift W10")
    lab.press("Lift W11")
    lab.function("ohms")
    lab.press_meter("Zero the leads")
    coil = lab.probe("element terminal 1", "element terminal 2")
    tank = lab.probe("element terminal 1", "tank shell")
    return coil, tank


def repair_and_prove(lab: LabPage) -> None:
    """A new element in an empty tank, everything back, then run."""
    lab.press("Drain the tank")
    lab.choose_starting("Choose a repair", "Replace the element", "Do the repair")
    lab.press("Put back W10")
    lab.press("Put back W11")
    lab.press("Fill the tank")
    lab.press("Put the cover back: junction box at the heater")
    lab.press("Put the cover back: behind the heater's front cover")
    lab.press("Take the lock off")
    lab.press("Plug in: supply outlet")
    lab.press("Breaker is off: put it on")
    lab.press("Run it and prove it heats")
    assert "It heats." in lab.log_text()


def test_from_handed_out_to_marked(page: Any, jupyterlab: Any, room: Classroom, tmp_path: Path) -> None:
    """Does she find the fault, prove it, cure it, hand in, and get the marks that her work is worth?"""
    url = jupyterlab(room.handed_out(LEARNER, "lab03"), "lab03.ipynb")
    lab = LabPage(page, tmp_path)
    lab.open(url)
    lab.shot("1-opened")
    lab.start()
    lab.usable()
    lab.see_bench()
    lab.shot("2-bench")
    cite = find_fault(lab)
    lab.shot("3-live-volts")
    coil, tank = isolate_and_measure(lab)
    lab.see_bench()
    lab.shot("4-dead-ohms")
    assert "OL" in tank
    repair_and_prove(lab)
    lab.see_bench()
    lab.shot("5-repaired")

    lab.answer("element resistance by the data plate", "10 ohm")
    lab.answer("element resistance by your meter", "open" if "OL" in coil else coil.replace("MΩ", "megohm"))
    lab.answer("resistance from the element to the tank, leads lifted, tank full", "open")
    lab.run_cell_with("element resistance by the data plate")
    lab.says("All of these can be read.")
    lab.shot("6-figures")
    lab.answer("diagnosis", "element burnt open")
    lab.answer("log lines that show it", ", ".join(map(str, cite)))
    lab.answer("remedy", "Replace the element")
    lab.answer("condition left", "in service")
    lab.run_cell_with("log lines that show it")
    lab.shot("7-report")
    lab.run_cell_with("lab.hand_in()")
    lab.says("Every question of the report is answered.")
    lab.shot("8-hand-in")
    lab.save()

    handed_in = tmp_path / "inbox" / LEARNER / "lab03"
    handed_in.mkdir(parents=True)
    for name in ("lab03.ipynb", "work-order.json", "bench-log.jsonl", "service-report.json"):
        shutil.copyfile(url.folder / name, handed_in / name)
    tell("gather", str(room.folder), str(tmp_path / "inbox"))
    tell("mark", str(room.folder), "lab03", "--exercises", str(ROOT / "exercises"))
    result = json.loads(room.marks_file(LEARNER, "lab03").read_text(encoding="utf-8"))
    assert result["verdict"] == "marked" and result["passed"], result
    points = {part["id"]: part["points"] for part in result["marks"]["parts"]}
    lost = [(p["id"], r) for p in result["marks"]["parts"] for r in p["reasons"] if p["points"] < p["out_of"]]
    assert points == {"safe-working": 25, "evidence": 25, "diagnosis": 25, "remedy": 15, "figures": 10}, lost
    assert result["marks"]["fault"] == FAULT and result["marks"]["candidates"] == [FAULT]


def test_closed_and_opened_again(page: Any, jupyterlab: Any, room: Classroom, tmp_path: Path) -> None:
    """Is the bench where she left it when the notebook is opened anew in another kernel, and the notebook alone enough?"""
    url = jupyterlab(room.handed_out(LEARNER, "lab03"), "lab03.ipynb")
    lab = LabPage(page, tmp_path)
    lab.open(url)
    lab.start()
    lab.usable()
    shown = lab.probe("supply outlet hot", "supply outlet neutral")
    lab.save()
    lines = (url.folder / "bench-log.jsonl").read_text(encoding="utf-8").splitlines()
    lab.restart_kernel_and_run_all()
    lab.see_bench()
    lab.usable()
    assert lab.lines() == len(lines)
    assert lab.reading() == shown
    lab.shot("opened-again")
