"""Does the table of typical errors tell what the marks say, and nothing else?"""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from tankside.bench.rules import RULES
from tankside.errors import TanksideError
from tankside.labs import PARTS, load_lab
from tankside.scoring.marks import Marks, PartMark, Reason
from tankside_autograder.cli import cli
from tankside_autograder.technicians import KINDS
from tankside_autograder.typical_errors import IN_WORDS, Errors, errors_page, rows, typical_errors


@pytest.fixture(scope="module")
def found() -> dict[str, Errors]:
    return typical_errors(load_lab("lab02"), 1)


def test_every_kind_is_there(found: dict[str, Errors]) -> None:
    """Does each kind of learner have its row and one marked call-out?"""
    assert set(found) == set(IN_WORDS) == set(KINDS)
    assert all(len(errors.marks) + errors.gave_up == 1 for errors in found.values())


def test_what_is_lost_and_what_is_left_make_a_hundred(found: dict[str, Errors]) -> None:
    """Do mark and lost points add up, in the five parts?"""
    for errors in found.values():
        assert set(errors.lost) == set(PARTS)
        assert errors.mean + sum(errors.lost.values()) / len(errors.marks) == pytest.approx(100, abs=0.1)


def test_the_kinds_err_as_their_names_say(found: dict[str, Errors]) -> None:
    """Is the expert without a rule broken, the unsafe one with several by name, the swapper without readings?"""
    assert not found["brilliant"].rules and found["brilliant"].passed == 1
    assert {rule.name for rule in RULES.values()} & set(found["unsafe"].rules)
    assert found["unsafe"].passed == 0
    assert "element resistance by your meter" in found["part-swapper"].figures
    assert found["part-swapper"].lost["evidence"] > found["careful"].lost["evidence"]


def test_who_only_looks_on_is_told_so() -> None:
    """Where safe working is nil without a rule broken, is the reason still named?"""
    seen, part = Errors("x"), load_lab("lab02")
    nothing = PartMark(
        "safe-working", "Safe working", 0.0, 25.0, (Reason("You only looked on. Safe working shows.", 0.0),)
    )
    figures = PartMark("figures", "Figures", 25.0, 25.0, ())
    seen.add(part, Marks((nothing, figures), (), (), (), (), False, 0.0, "", ""))
    assert seen.rules == {"You only looked on": 1}
    assert seen.lost["safe-working"] == 25


def test_the_rows_are_words(found: dict[str, Errors]) -> None:
    """Does a row hold one cell a column, none empty, and no line numbers?"""
    for row in rows(found):
        assert all(row) and len(row) == 6
        assert "Line " not in row[4]


@pytest.mark.parametrize("orders", [0, 51, True, 2.5])
def test_a_number_that_will_not_do(orders: int) -> None:
    """Is it refused with what would be right?"""
    with pytest.raises(TanksideError, match="1 to 50"):
        typical_errors(load_lab("lab02"), orders)


def test_page_and_command_tell_mistakes() -> None:
    """Is a lab that isn't there named by both, without a traceback?"""
    with pytest.raises(TanksideError, match="lab77"):
        errors_page("lab77")
    result = CliRunner().invoke(cli, ["errors", "lab77"])
    assert result.exit_code == 2
