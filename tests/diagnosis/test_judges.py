"""Other libraries as judges: networkx for what a cut leaves dead, SciPy for the worth of a test."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from tankside.case import Case, as_found
from tankside.diagnosis.planner import Problem, Trial, _Search
from tankside.diagnosis.table import make_table
from tankside.faults.catalogue import fault_named
from tankside.heater.model import load_model
from tankside.heater.simulation import draw, energise
from tankside.heater.unit import nominal_site

CONDUCTS = 1e-3
"""S from which on a path counts as a way for current; leaks through insulation are far below."""
OPENS = (
    "thermostat-stuck-open",
    "limit-tripped",
    "link-bar-burnt",
    "panel-switch-failed",
    "heater-switch-failed",
    "breaker-off",
)


def ways(case: Case) -> nx.Graph:
    """The heater, calling for heat, as a graph: an edge wherever current can flow, supply and element left out."""
    unit = as_found(case)
    draw(unit, 50.0)
    energise(unit)
    conductance = unit.wiring.whole.numbers(unit.values, False)[0][0]
    branches = zip(unit.wiring.whole.circuit.conductances, conductance, strict=True)
    graph = nx.Graph()
    for branch, siemens in branches:
        if siemens > CONDUCTS and not branch.name.startswith("element: coil"):
            graph.add_edge(branch.a, branch.b, part=branch.name)
    return graph


@pytest.mark.parametrize("fault", OPENS)
def test_an_open_place_is_the_cut_that_the_table_shows(fault: str) -> None:
    """Is dead, by the table, just what a cut at the open place separates from the source (networkx)?"""
    model = load_model("heron_6")
    case = Case(model, nominal_site(model), {}, fault_named(fault), 0.0)
    table = make_table(model, (fault,), case)
    row = table.of_fault(fault)[0]
    volts = {
        (c.red, c.black): (table.low[row, j], table.high[row, j])
        for j, c in enumerate(table.columns)
        if c.situation == 1 and c.function == "V~"
    }
    graph = ways(case)
    fed = nx.node_connected_component(graph, "supply.hot")
    back = nx.node_connected_component(graph, "supply.neutral")
    assert not fed & back
    healthy = ways(Case(model, case.site, {}, fault_named("no-fault"), 0.0))
    cut = {frozenset(edge) for edge in healthy.edges} - {frozenset(edge) for edge in graph.edges}
    assert len(cut) == 1
    source, load = "supply.hot", "element.1"
    assert nx.has_path(healthy, source, load) and not nx.has_path(graph, source, load)
    assert len(nx.minimum_edge_cut(healthy, source, load)) == 1  # a chain: any one open place stops it
    compared = 0
    for terminal in model.terminals:
        pair = ("supply.neutral", terminal)
        low, high = volts.get(pair) or volts.get(pair[::-1]) or (0.0, 0.0)
        if terminal in fed:
            assert low > 100.0, terminal
        elif terminal in back and pair[0] != terminal:
            assert high < 5.0, terminal
        compared += terminal in fed or terminal in back
    assert compared >= 10


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_the_worth_of_a_test_is_mutual_information(data: st.DataObject) -> None:
    """Are the bits that a test is said to give the mutual information of outcome and repair (SciPy's entropies)?"""
    n = data.draw(st.integers(2, 7))
    weights = np.array(data.draw(st.lists(st.integers(1, 9), min_size=n, max_size=n)), dtype=float)
    weights /= weights.sum()
    groups = data.draw(st.lists(st.integers(0, 3), min_size=n, max_size=n))
    outcome = data.draw(st.lists(st.integers(0, 2), min_size=n, max_size=n))
    masks = tuple(sum(1 << i for i in range(n) if outcome[i] == k) for k in sorted(set(outcome)))
    trial = Trial("any", masks, minutes=2.0)
    search = _Search(Problem(tuple(weights), tuple(groups), (trial,)), 0)
    joint = np.zeros((4, 3))
    for w, g, o in zip(weights, groups, outcome, strict=True):
        joint[g, o] += w
    apart = scipy.stats.entropy(joint.sum(axis=0), base=2) + scipy.stats.entropy(joint.sum(axis=1), base=2)
    shared = apart - scipy.stats.entropy(joint.ravel(), base=2)
    bits = search.score((1 << n) - 1, trial, 0, 0) * 2.0
    assert bits == pytest.approx(shared, abs=1e-5)


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_what_an_outcome_leaves_is_bayes(data: st.DataObject) -> None:
    """After an outcome, do what is left and its weights agree with Bayes' rule written out over the whole table?"""
    n = data.draw(st.integers(2, 6))
    weights = np.array(data.draw(st.lists(st.integers(1, 9), min_size=n, max_size=n)), dtype=float)
    weights /= weights.sum()
    outcome = np.array(data.draw(st.lists(st.integers(0, 2), min_size=n, max_size=n)))
    masks = tuple(sum(1 << i for i in range(n) if outcome[i] == k) for k in np.unique(outcome))
    search = _Search(Problem(tuple(weights), tuple(range(n)), (Trial("any", masks),)), 0)
    for part, seen in zip(
        search.parts((1 << n) - 1, search.problem.tests[0]), np.unique(outcome), strict=True
    ):
        likelihood = (outcome == seen).astype(float)
        posterior = likelihood * weights / (likelihood * weights).sum()
        ours = [weights[i] / search.weight(part) if part >> i & 1 else 0.0 for i in range(n)]
        assert ours == pytest.approx(list(posterior))
