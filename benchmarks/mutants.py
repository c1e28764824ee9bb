"""``python -m benchmarks mutants``: does a test fail when the physics is changed?

Each mutant is one small change in one function of ``tankside.physics``: an operator, a constant, a
comparison, a sign, a minimum for a maximum. The tests that import the module run on it. A mutant that
no test notices is a survivor, and is listed with its line. Results are kept as they come, so that an
interrupted run goes on where it stopped.
"""

from __future__ import annotations

import argparse
import ast
import copy
import hashlib
import importlib.abc
import importlib.machinery
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

from rich.console import Console
from rich.table import Table

ROOT = Path(__file__).parents[1]
PHYSICS = ROOT / "shared" / "tankside" / "physics"
TESTS = ("tests/physics", "tests/circuit", "tests/units")
SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
    ast.Lt: ast.GtE, ast.GtE: ast.Lt, ast.Gt: ast.LtE, ast.LtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
}  # fmt: skip
ALWAYS = ("tests/physics/test_documented_ranges.py",)
"""Tests of every module: the ranges that its docstrings state."""
EQUIVALENT = {
    ("_equilibrium", "np.log(0.4 / kinds)", ""): "where the iteration starts",
    ("_equilibrium", "np.full(batch, np.log(0.4))", ""): "where the iteration starts",
    ("_equilibrium", "damp = _damping(", ""): "how large a step is, not where it ends",
    ("_equilibrium", "t = np.clip(t * np.exp(", ""): "how far the iteration may stray",
    ("_equilibrium", "np.abs(d_n) < 1e-10", ""): "when the iteration is content, far below what anybody reads",
    ("_equilibrium", "5 * np.maximum(np.abs(d_total)", ""): "how large a step is, not where it ends",
    ("_equilibrium", "slope = np.where(rising", ""): "how large a step is, not where it ends",
    ("_roots", "last, done = high - low", ""): "how soon the search halves, not where it ends",
    ("_roots", "last = after - x", ""): "how soon the search stops: later, at the same root",
    ("circuit", "mixed = ((bits ^", ""): "a sum that sorts rows; the rows themselves are compared afterwards",
    ("circuit", "odd = (np.arange(1,", ""): "likewise",
    ("combustion", "+ 0 * supplied", "Mult becomes Div"): "nought either way; it only gives the answer its shape",
    ("combustion", "+ 0 * supplied", "Add becomes Sub"): "likewise",
    ("conductors", 'si("size", conductor_area(size), "m**2", 0.0, 3e-4', ""): "conductor_area has refused it before",
    ("cylinder", "return max(low for low, _ in ranges)", "max becomes min"): "every liquid's fit begins at 220 K",
    ("cylinder", "total = sum(share * pure[gas]", ""): "where the iteration starts",
    ("fuels", "return round(ends[0], 6)", "6 becomes 7"): "rounds far below what the tables print",
    ("gas", "0.3048**3 / 3600", "3600 becomes 3601"): "moves an end of a range by 0.03 %",
    ("gas", "np.maximum(altitude, 0.0)", "0.0 becomes"): "a tenth of a metre; so low the orifice stays anyway",
    ("hot_water", "+ 1e-6, BOILING", "1e-06 becomes"): "K that keep equal streams from being divided by nought",
    ("leaks", "0.3048**3 / 3600", "3600 becomes 3601"): "moves an end of a range by 0.03 %",
    ("leaks", "ratio = np.clip(", "0.0 becomes"): "below the critical ratio the critical ratio counts",
    ("leaks", "ratio = np.clip(", "1.0 becomes"): "from 1 on the root's argument is cut off at nought",
    ("ratings", "1e-6, 1.0", "1e-06 becomes"): "the docstring says: above 0",
    ("ratings", "1e-3, _INF", "0.001 becomes"): "likewise",
    ("resistance_heating", "1e-9, _INF", "1e-09 becomes"): "likewise",
    ("resistance_heating", "1e-9, 1000.0", "1e-09 becomes"): "likewise",
    ("stratified", "norm = float(np.abs(matrix)", "1 becomes 2"): "sums of columns are a norm as well",
    ("stratified", "halvings = max(0, math.ceil(math.log2(", "0.25 becomes"): "how finely the series is cut",
    ("stratified", "halvings = max(0, math.ceil(math.log2(", "Div becomes Mult"): "coarser by 16; the driving term, in K, keeps it fine",
    ("stratified", "for k in range(1, 15)", "15 becomes"): "one term more, below rounding",
    ("stratified", "if norm > 0.25", "0.25 becomes"): "how finely the series is cut",
    ("stratified", "steps = max(1, math.ceil(time / substep - 1e-9))", "1e-09 becomes"): "keeps rounding from one step more",
    ("stratified", "288.15 if inlet is None", "288.15 becomes"): "without a flow nothing comes in",
    ("supply", "(cubic_feet / 3550) ** 2", "3550 becomes 3551"): "a handbook's constant of three figures",
    ("supply", "np.maximum(inlet, 1.0)", "1.0 becomes"): "keeps nought from being divided by",
    ("supply", "re = np.maximum(np.asarray(reynolds", "1e-09 becomes"): "likewise",
    ("supply", "jumps = ~follows & (over(before)[0] > 0)", "0 becomes 1"): "then the search ends one float before the jump",
    ("supply", "square = np.maximum(demand, 1e-140)", ""): "where the search starts",
    ("supply", "droop = r.droop / r.rated_flow", ""): "where the search starts",
    ("supply", "q = 2 * r.set_pressure / (droop", ""): "where the search starts",
    ("supply", "falls = np.where(net < 0", ""): "how fast the search gets there, not where",
    ("supply", "steep = np.where(beyond", ""): "likewise",
    ("supply", "slope = (pipe * exponent", ""): "likewise",
    ("supply", "safe = np.where(demand > 0, demand, 1.0)", "1.0 becomes"): "where nothing is open it isn't used",
    ("supply", "for _ in range(6)", ""): "two rounds settle it",
    ("supply", "/ max(flow, 1e-12) ** 1.75", "1e-12 becomes"): "keeps nought from being divided by",
    ("supply", "flow > 1e-12 * demand", "1e-12 becomes"): "far below what flows",
    ("supply", "flow, pipe, density = regulator.rated_flow, 0.0", "0.0 becomes"): "kept only where nothing flows",
    ("supply", "at_regulator = at_burner = 0.0", ""): "overwritten in the first round",
    ("tank_heat", "1e-6, _INF", "1e-06 becomes"): "the docstring says: above 0",
    ("stratified", "1e-6, math.inf", "1e-06 becomes"): "likewise",
    ("tank_heat", "anything = quantity(20.0", ""): "a start that the settling temperature doesn't depend on",
    ("tank_heat", 'anything, quantity(1.0, "L")', ""): "a volume that it doesn't depend on either",
    ("tank_heat", "safe = np.where(inside, x, 0.5)", "0.5 becomes"): "where the series stands it isn't used",
    ("tank_heat", "small = np.abs(x) < 1e-9", "1e-09 becomes"): "where series and formula are the same",
    ("tank_heat", "small = np.abs(x) < 1e-2", "0.01 becomes"): "likewise",
    ("tank_heat", "np.where(small, 1.0, x)", "1.0 becomes 1.1"): "a divisor of what is thrown away",
    ("tank_heat", "series = 1 / 2 - x / 6", "720 becomes"): "below rounding",
    ("tank_heat", "series = 1 / 2 - x / 6", "5040 becomes"): "below rounding",
    ("water", "leggauss(8)", "8 becomes"): "more points than it needs already",
    ("flame", "free = np.maximum(", "0.001 becomes"): "a tube that passes nothing either way",
    ("flame", "np.maximum(opening, 1e-4)", "0.0001 becomes"): "a shutter that passes nothing either way",
    ("flame", "root = np.sqrt(np.maximum(", "0.0 becomes"): "beside the square of what it is taken from, nothing",
    ("flame", "np.maximum(r, 1e-9)", "1e-09 becomes"): "keeps nought from being divided by",
    ("flame", "flow <= 1e-12", "1e-12 becomes"): "no gas either way",
    ("flame", "np.clip(x, -60.0, 60.0)", "60.0 becomes"): "beyond it the step is flat",
    ("flame", "0.3048**3 / 3600", "3600 becomes 3601"): "moves an end of a range by 0.03 %",
    ("galvanic", "falls = (oxygen**2", ""): "how fast the search gets there, not where",
    ("galvanic", "anode + area * steel.limit * ohms", ""): "where the search starts",
    ("galvanic", "ohms = np.where(joined, path, 0.0)", "0.0 becomes"): "without a path it isn't used",
    ("galvanic", "now, r = 0.0, float(radius)", "0.0 becomes"): "a tenth of a second of a rod's years",
    ("galvanic", "for _ in range(steps if r > spent else 0)", "0 becomes 1"): "a spent rod gives nothing in one more step",
    ("galvanic", "2.63e6", "2630000.0 becomes"): "how long a step is: a month, or a tenth more",
    ("galvanic", "1e-10, 10.0", "1e-10 becomes"): "the docstring says: above 0",
    ("galvanic", '"m", 1e-5, 1.0, "a rod"', "1e-05 becomes"): "likewise",
}  # fmt: skip
"""Module, part of the line, change (any, if empty) -> why no test can notice it. Looked at one by one."""
TWINS = {"minimum": "maximum", "maximum": "minimum", "min": "max", "max": "min", "all": "any", "any": "all"}


@dataclass(frozen=True)
class Mutant:
    """One change: the module, the number of the change in it, its line, and what it does, in words."""

    module: str
    number: int
    line: int
    change: str

    @property
    def key(self) -> str:
        """Names this mutant of this text of the module."""
        text = (PHYSICS / f"{self.module}.py").read_bytes()
        return f"{self.module}:{self.number}:{hashlib.sha256(text).hexdigest()[:12]}"

    @property
    def equivalent(self) -> str:
        """Why this change can't matter; empty if it should be noticed."""
        line = (PHYSICS / f"{self.module}.py").read_text(encoding="utf-8").splitlines()[self.line - 1]
        for (module, part, change), reason in EQUIVALENT.items():
            if module == self.module and part in line and change in self.change:
                return reason
        return ""


def modules() -> list[str]:
    """The modules of physics, in alphabetical order."""
    return sorted(path.stem for path in PHYSICS.glob("*.py") if path.stem != "__init__")


def places(tree: ast.Module) -> Iterator[tuple[ast.AST, str]]:
    """What can be changed in a module, inside functions, and how, in words. Texts and annotations are left alone."""
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            yield from _places_in(function.body)


def _places_in(nodes: Sequence[ast.AST]) -> Iterator[tuple[ast.AST, str]]:
    for node in nodes:
        if isinstance(node, ast.FunctionDef | ast.JoinedStr | ast.Raise | ast.Assert):
            continue
        if isinstance(node, ast.BinOp) and type(node.op) in SWAPS:
            yield node, f"{type(node.op).__name__} becomes {SWAPS[type(node.op)].__name__}"
        elif isinstance(node, ast.Compare) and type(node.ops[0]) in SWAPS:
            yield node, f"{type(node.ops[0]).__name__} becomes {SWAPS[type(node.ops[0])].__name__}"
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            yield node, "minus is lost"
        elif (
            isinstance(node, ast.Constant)
            and isinstance(node.value, int | float)
            and node.value is not True
            and node.value is not False
        ):
            yield node, f"{node.value} becomes {_other(node.value)}"
        elif isinstance(node, ast.Attribute | ast.Name) and _called(node) in TWINS:
            yield node, f"{_called(node)} becomes {TWINS[_called(node)]}"
        children: list[ast.AST] = []
        for name, value in ast.iter_fields(node):
            if name in ("annotation", "returns"):
                continue
            children += [v for v in (value if isinstance(value, list) else [value]) if isinstance(v, ast.AST)]
        yield from _places_in(children)


def _called(node: ast.AST) -> str:
    return node.attr if isinstance(node, ast.Attribute) else node.id if isinstance(node, ast.Name) else ""


def _other(value: float) -> float:
    return value + 1 if isinstance(value, int) else value * 1.1 if value else 0.1


def mutate(source: str, number: int) -> str:
    """The module's text with change ``number`` in it."""
    tree = ast.parse(source)
    node = list(places(tree))[number][0]
    if isinstance(node, ast.BinOp):
        node.op = SWAPS[type(node.op)]()  # type: ignore[assignment]
    elif isinstance(node, ast.Compare):
        node.ops = [SWAPS[type(node.ops[0])](), *node.ops[1:]]  # type: ignore[list-item]
    elif isinstance(node, ast.UnaryOp):
        node.op = ast.UAdd()
    elif isinstance(node, ast.Constant):
        node.value = _other(node.value)  # type: ignore[arg-type]
    elif isinstance(node, ast.Attribute):
        node.attr = TWINS[node.attr]
    elif isinstance(node, ast.Name):
        node.id = TWINS[node.id]
    return ast.unparse(ast.fix_missing_locations(copy.deepcopy(tree)))


def mutants(module: str) -> list[Mutant]:
    """Every change of one module."""
    tree = ast.parse((PHYSICS / f"{module}.py").read_text(encoding="utf-8"))
    return [Mutant(module, i, node.lineno, words) for i, (node, words) in enumerate(places(tree))]  # type: ignore[attr-defined]


def checks_of(module: str) -> list[str]:
    """Test files that import the module or one that imports it, its own first."""
    wanted = {module} | {
        path.stem
        for path in PHYSICS.glob("*.py")
        if re.search(rf"physics\.{module}\b", path.read_text("utf-8"))
    }
    pattern = re.compile(rf"physics(?:\.({'|'.join(wanted)})\b| import [^\n]*\b({'|'.join(wanted)})\b)")
    found = [
        path
        for folder in TESTS
        for path in sorted((ROOT / folder).glob("test_*.py"))
        if pattern.search(path.read_text(encoding="utf-8"))
    ]
    found.sort(key=lambda path: (path.stem != f"test_{module}", path.stat().st_size))
    return [*(path.relative_to(ROOT).as_posix() for path in found), *ALWAYS]


class _Swap(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives the changed text when the module is imported."""

    def __init__(self, name: str, text: str, file: Path) -> None:
        self.name, self.text, self.file = name, text, file

    def find_spec(self, name: str, path: object = None, target: object = None) -> importlib.machinery.ModuleSpec | None:  # fmt: skip
        if name != self.name:
            return None
        return importlib.machinery.ModuleSpec(name, self, origin=str(self.file))

    def exec_module(self, module: ModuleType) -> None:
        module.__file__ = str(self.file)
        exec(compile(self.text, str(self.file), "exec"), module.__dict__)


def one(module: str, number: int) -> int:
    """Run the tests on one mutant, in this process. 0: nobody noticed."""
    import pytest

    file = PHYSICS / f"{module}.py"
    text = mutate(file.read_text(encoding="utf-8"), number)
    sys.meta_path.insert(0, _Swap(f"tankside.physics.{module}", text, file))
    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
        words = [
            "-x",
            "-q",
            "-p",
            "no:cacheprovider",
            "-m",
            "not ngspice and not browser",
            *checks_of(module),
        ]
        return int(pytest.main(words))


def tried(mutant: Mutant, seconds: float) -> str:
    """ "killed", "survived" or "stuck" (counts as noticed: a test run that doesn't end is red)."""
    words = [sys.executable, "-m", "benchmarks.mutants", "--one", mutant.module, str(mutant.number)]
    try:
        done = subprocess.run(words, cwd=ROOT, timeout=seconds, capture_output=True, env={**os.environ})
    except subprocess.TimeoutExpired:
        return "stuck"
    return "survived" if done.returncode == 0 else "killed"


def main(arguments: Sequence[str] | None = None) -> int:
    """The command line."""
    parser = argparse.ArgumentParser("mutants", description=__doc__)
    parser.add_argument("module", nargs="*", help=f"of {', '.join(modules())}; all by default")
    parser.add_argument("--every", type=int, default=10, help="try each N-th change of a module (default 10)")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--seconds", type=float, default=180.0, help="for one mutant, at most")
    parser.add_argument("--keep", type=Path, default=ROOT / "out" / "mutants.json", help="results so far")
    parser.add_argument("--again", action="store_true", help="try those again that nobody noticed before")
    parser.add_argument("--one", nargs=2, metavar=("MODULE", "NUMBER"), help=argparse.SUPPRESS)
    chosen = parser.parse_args(arguments)
    if chosen.one:
        return one(chosen.one[0], int(chosen.one[1]))
    unknown = sorted(set(chosen.module) - set(modules()))
    if unknown:
        parser.error(f"there is no module {unknown[0]!r}; there are {', '.join(modules())}")
    kept: dict[str, str] = json.loads(chosen.keep.read_text("utf-8")) if chosen.keep.exists() else {}
    todo = [m for name in chosen.module or modules() for m in mutants(name)[:: chosen.every]]
    console = Console()

    def work(mutant: Mutant) -> str:
        before = kept.get(mutant.key)
        if before is None or (chosen.again and before == "survived" and not mutant.equivalent):
            return tried(mutant, chosen.seconds)
        return before

    tally: dict[str, list[int]] = {}
    with ThreadPoolExecutor(chosen.workers) as pool:
        for done, (mutant, verdict) in enumerate(zip(todo, pool.map(work, todo), strict=True), 1):
            kept[mutant.key] = verdict
            chosen.keep.parent.mkdir(parents=True, exist_ok=True)
            chosen.keep.write_text(json.dumps(kept), encoding="utf-8")
            row = tally.setdefault(mutant.module, [0, 0, 0])
            row[0] += 1
            row[1] += verdict != "survived"
            row[2] += verdict == "survived" and bool(mutant.equivalent)
            if verdict == "survived" and not mutant.equivalent:
                console.print(
                    f"{done}/{len(todo)} {mutant.module}.py:{mutant.line}: {mutant.change}: nobody noticed"
                )
            elif done % 20 == 0:
                console.print(f"{done}/{len(todo)}")
    table = Table("module", "changes tried", "can't matter", "noticed", "share of the rest")
    everything = [sum(row[i] for row in tally.values()) for i in range(3)]
    for name, (count, noticed, same) in [*tally.items(), ("all", everything)]:
        table.add_row(name, str(count), str(same), str(noticed), f"{noticed / max(count - same, 1):.1%}")
    console.print(table)
    for mutant in todo:
        if kept.get(mutant.key) == "survived" and mutant.equivalent:
            console.print(
                f"{mutant.module}.py:{mutant.line}: {mutant.change}: can't matter: {mutant.equivalent}"
            )
    return int(everything[1] + everything[2] < everything[0])


if __name__ == "__main__":
    sys.exit(main())
