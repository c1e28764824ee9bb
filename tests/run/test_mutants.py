"""Does the mutation command change what it says, and nothing else?"""

from __future__ import annotations

import ast

import pytest

from benchmarks.mutants import EQUIVALENT, PHYSICS, checks_of, modules, mutants, mutate, places

SOURCE = '''
def law(a: float, b: float = 2) -> float:
    """Text with 3 + 4."""
    if a < 0:
        raise ValueError(f"{a} is below 0")
    return min(a * b, 1.5) - -b
'''


def test_each_change_is_one_change() -> None:
    """Is every operator, constant, comparison, sign and minimum changed once, and no message, docstring or default?"""
    found = [words for _, words in places(ast.parse(SOURCE))]
    assert sorted(found) == [
        "0 becomes 1", "1.5 becomes 1.6500000000000001", "Lt becomes GtE", "Mult becomes Div",
        "Sub becomes Add", "min becomes max", "minus is lost",
    ]  # fmt: skip
    plain = ast.unparse(ast.parse(SOURCE))
    changed = {mutate(SOURCE, number) for number in range(len(found))}
    assert len(changed) == len(found) and plain not in changed
    for text in changed:
        assert len([1 for a, b in zip(plain.splitlines(), text.splitlines(), strict=True) if a != b]) == 1


@pytest.mark.parametrize("module", modules())
def test_every_module_can_be_tried(module: str) -> None:
    """Does each module of physics have changes to try and tests that would notice?"""
    assert mutants(module) and checks_of(module)
    source = (PHYSICS / f"{module}.py").read_text(encoding="utf-8")
    compile(mutate(source, len(mutants(module)) - 1), module, "exec")


def test_every_reason_is_of_a_change_that_there_is() -> None:
    """Does each reason why a change can't matter still belong to a change of the module's text?"""
    unused = []
    for module, part, change in EQUIVALENT:
        lines = (PHYSICS / f"{module}.py").read_text(encoding="utf-8").splitlines()
        if not any(part in lines[m.line - 1] and change in m.change for m in mutants(module)):
            unused.append((module, part, change))
    assert not unused
