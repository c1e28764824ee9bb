"""Does a learner's page say what happened, unsafe acts first, whatever text is thrown at it?"""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from tankside.bench.rules import RULES
from tankside.labs import load_lab
from tankside_autograder.classroom import Classroom
from tankside_autograder.collect import gather
from tankside_autograder.desk_work import write_answers
from tankside_autograder.feedback import explain, feedback_page, index_page, next_steps
from tankside_autograder.grading import mark
from tankside_autograder.pages import points, signed
from tankside_autograder.pictures import candidates_picture, described

from .school import give, start_class, work

CLASS = {"ana": "careful", "bo": "guesser", "cy": "unsafe", "di": "guesser"}
NASTY = "<script>alert(1)</script><img src=x onerror=alert(2)>"


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    folder = tmp_path_factory.mktemp("feedback")
    room = start_class(folder, list(CLASS))
    roster = room.roster_file.read_text(encoding="utf-8").replace("Di Person", f'"Di {NASTY}"')
    room.roster_file.write_text(roster, encoding="utf-8")
    room = Classroom(room.folder)
    give(room, folder)
    for learner, kind in CLASS.items():
        target = work(room, folder / "in", learner, kind)
        if learner == "di":
            write_answers(target / "lab03.ipynb", {"diagnosis": NASTY, NASTY: NASTY})
    (folder / "in" / "zed").mkdir()
    gather(room, folder / "in")
    mark(room, "lab03", exercises=folder / "exercises", solutions=folder / "none", workers=1)
    explain(room, ["lab03"])
    return room


class _Tags(HTMLParser):
    """Collects tags, and complains about any that is closed out of turn."""

    void = frozenset({"meta", "img", "br", "line", "path"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))
        if tag not in self.void:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag, tag


def tags(page: str) -> list[tuple[str, dict[str, str | None]]]:
    parser = _Tags()
    parser.feed(page)
    assert parser.open == []
    return parser.seen


def page(room: Classroom, learner: str) -> str:
    return room.feedback(learner, "lab03").read_text(encoding="utf-8")


@pytest.mark.parametrize("learner", list(CLASS))
def test_page_is_whole_and_self_contained(room: Classroom, learner: str) -> None:
    found = tags(page(room, learner))
    names = [tag for tag, _ in found]
    assert names.count("h1") == 1 and names.count("main") == 1 and "script" not in names and "img" not in names
    assert all("src" not in attrs and "href" not in attrs for _, attrs in found)
    assert found[1] == ("html", {"lang": "en"}) or ("html", {"lang": "en"}) in found
    ids = [attrs["id"] for _, attrs in found if "id" in attrs]
    assert len(ids) == len(set(ids))
    for _, attrs in found:
        assert attrs.get("aria-labelledby", ids[0]) in ids
    assert not any(attr.startswith("on") for _, attrs in found for attr in attrs)


def test_every_reason_and_log_line_is_there(room: Classroom) -> None:
    import html

    for learner in CLASS:
        text = html.unescape(re.sub(r"<[^>]+>", "", page(room, learner)))
        marks = room.marks("lab03")[learner]["marks"]
        for reason in (reason["text"] for part in marks["parts"] for reason in part["reasons"]):
            danger = next((rule for rule in RULES.values() if rule.dangerous and f": {rule.name}. " in reason), None)
            assert reason in text or (danger and f"{reason.split('. ')[0]}. See the top of this page." in text)
        assert all(row["text"] in text for row in marks["path"])
        assert all(value in text for value in marks["answers"].values())


def test_unsafe_comes_first_with_what_to_do_instead(room: Classroom) -> None:
    text = page(room, "cy")
    assert "Unsafe: read this first" in text and "Not passed yet" in text
    assert text.index("read this first") < text.index("Your result") < text.index("What to do next")
    marks = room.marks("lab03")["cy"]["marks"]
    for rule in RULES.values():
        if rule.name in marks["unsafe"]:
            assert text.index(rule.instead) < text.index("Your result")
    assert re.search(r"Line \d+ of your log: You", text)
    assert "Unsafe: read this first" not in page(room, "ana")


@pytest.mark.parametrize("learner", list(CLASS))
def test_nothing_is_said_twice(room: Classroom, learner: str) -> None:
    """Does a rule's reason, a piece of advice, or an unanswered question stand on the page once?"""
    import html

    text = html.unescape(re.sub(r"<[^>]+>", "", page(room, learner)))
    for rule in RULES.values():
        assert text.count(rule.why) <= 1
    for part in room.marks("lab03")[learner]["marks"]["parts"]:
        assert not part["advice"] or text.count(part["advice"]) <= 1
    for figure in load_lab("lab03").figure:
        assert text.count(f"{figure.label}: not answered") <= 1


def test_advice_goes_where_points_were_lost(room: Classroom) -> None:
    """Is every part that lost points advised on, no full part, and does the page begin with the costliest?"""
    for learner in CLASS:
        marks = room.marks("lab03")[learner]["marks"]
        for part in marks["parts"]:
            assert bool(part["advice"]) == (part["points"] < part["out_of"] - 0.01), part
    result = room.marks("lab03")["cy"]
    steps = next_steps(result, load_lab("lab03"))
    lost = {part["advice"]: part["out_of"] - part["points"] for part in result["marks"]["parts"] if part["advice"]}
    points = [lost[step] for step in steps if step in lost]
    assert points == sorted(points, reverse=True) and points[0] == max(lost.values())


def test_the_way_back_leads_to_a_lab_with_the_fault() -> None:
    """Is who failed the full call-out on a limit chain sent to the lab on limit chains, not to all eight before it?"""
    result: dict[str, Any] = {"marks": {"unsafe": [], "parts": [], "fault": "thermostat-stuck-open"}, "passed": False}
    (step,) = next_steps(result, load_lab("lab12"))
    assert "lab04" in step and "lab09" not in step


def test_nasty_text_is_only_text(room: Classroom) -> None:
    for text in (page(room, "di"), index_page(room)):
        assert NASTY not in text and "&lt;script&gt;" in text
        assert "script" not in [tag for tag, _ in tags(text)]


def test_caution_and_policy(room: Classroom) -> None:
    text = page(room, "ana")
    assert "no license to work on a live appliance" in text
    assert "Content-Security-Policy" in text and "prefers-color-scheme: dark" in text and "@media print" in text


def test_index_links_only_what_exists(room: Classroom) -> None:
    found = [attrs["href"] for tag, attrs in tags(index_page(room)) if tag == "a"]
    assert sorted(str(link) for link in found) == [f"{x}-lab03.html" for x in sorted(CLASS)]
    assert all((room.feedback_index.parent / str(link)).exists() for link in found)


def test_explaining_again_gives_the_same_bytes(room: Classroom) -> None:
    before = page(room, "ana")
    explain(room, ["lab03"])
    assert page(room, "ana") == before


def test_a_hand_in_without_marks(room: Classroom) -> None:
    result: dict[str, Any] = {
        **room.marks("lab03")["ana"], "marks": None, "verdict": "neighbours-order", "verdicts": ["neighbours-order"],
        "needs_person": True, "passed": False, "total": 0.0, "earned": 0.0, "problems": ["x"],
    }  # fmt: skip
    text = feedback_page(result)
    tags(text)
    assert "Not marked" in text and "given to somebody else" in text and "asked to look" in text


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, "contrast ratio" and "relative luminance"."""

    def luminance(colour: str) -> float:
        rgb = colour.lstrip("#")
        rgb = "".join(c * 2 for c in rgb) if len(rgb) == 3 else rgb
        parts = [int(rgb[i : i + 2], 16) / 255 for i in (0, 2, 4)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast(room: Classroom) -> None:
    """Every text colour on every ground it stands on: at least 4.5 to 1, in light, in dark and on paper (WCAG AA)."""
    assert contrast("#000", "#fff") == pytest.approx(21)  # the standard's own end point
    style = page(room, "ana").split("<style>")[1].split("</style>")[0]
    themes = [dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{3,6})", block)) for block in re.findall(r":root \{[^}]*\}", style)]
    assert len(themes) == 3
    for theme in themes:
        for ink in ("ink", "soft", "mark", "bad", "good"):
            for ground in ("paper", "panel"):
                assert contrast(theme[ink], theme[ground]) >= 4.5, (ink, ground, theme)
        for ink in ("ink", "bad"):
            assert contrast(theme[ink], theme["bad-panel"]) >= 4.5


def test_picture() -> None:
    path = [{"seq": 0, "left": 8}, {"seq": 1, "left": 8}, {"seq": 2, "left": 3}, {"seq": 3, "left": 1}]
    text = str(candidates_picture(path, [2]))
    tags(text)
    assert text.count("unsafe") >= 1 and 'role="img"' in text
    assert described(path) == "Faults still possible: 8 at first, then after line 2: 3; after line 3: 1."
    # The staircase falls: each later corner lies lower on the page (larger y) or level.
    heights = [float(y) for y in re.findall(r"V([\d.]+)", text)]
    assert heights == sorted(heights) and len(set(heights)) == 3
    assert str(candidates_picture(path[:1])) == ""


@pytest.mark.parametrize(("value", "text"), [(12.5, "12.5"), (7.0, "7"), (0.0, "0"), (3.333, "3.3"), (100, "100")])
def test_points(value: float, text: str) -> None:
    assert points(value) == text and signed(-value) == (f"−{text}" if value else "0")


def test_folder_names_are_left_out(room: Classroom, tmp_path: Path) -> None:
    assert str(room.folder) not in page(room, "ana")
