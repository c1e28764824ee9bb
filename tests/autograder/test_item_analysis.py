"""Do the item statistics give the published numbers, and never a NaN?"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from scipy import stats

from tankside_autograder.item_analysis import (
    analyse,
    correlation,
    cronbach_alpha,
    facility,
    item_rest,
    item_total,
    kr20,
    kr21,
    point_biserial,
    standard_error,
)
from tests.published import row

ANSWERS = np.array([[int(c) for c in line] for line in row("assessment", "kr20-answers").values])


def check(id_: str, got: object) -> None:
    published = row("assessment", id_)
    tolerance = getattr(published.tolerance, "absolute", None) or 1e-9
    np.testing.assert_allclose(np.asarray(got, dtype=float).ravel(), published.values, atol=tolerance, rtol=0)


def test_kr20_example() -> None:
    """core.ecu.edu/wuenschk/StatHelp/KR20.txt, through the published table."""
    p = facility(ANSWERS, np.ones(10))
    check("kr20-sum-pq", (p * (1 - p)).sum())
    check("kr20-variance", ANSWERS.sum(axis=1).var())
    check("kr20", kr20(ANSWERS))
    check("kr20", cronbach_alpha(ANSWERS))
    check("kr21", kr21(ANSWERS))
    reliability = kr20(ANSWERS)
    assert reliability is not None
    check("kr20-standard-error", standard_error(float(ANSWERS.sum(axis=1).std()), reliability))


def test_item_correlations() -> None:
    check("item-total-correlation", item_total(ANSWERS))
    check("item-rest-correlation", item_rest(ANSWERS))


def test_point_biserial_worked() -> None:
    """hosted.jalt.org/test/bro_12.htm: printed .91, from a rounded deviation; exactly .9045."""
    given_ = row("assessment", "point-biserial-worked").given
    totals = [*given_["passed_totals"], *given_["failed_totals"]]  # type: ignore[misc]
    got = point_biserial([1] * 4 + [0] * 4, totals)
    check("point-biserial-worked", got)
    check("point-biserial-worked-exact", got)


def test_standard_error_worked() -> None:
    check("standard-error-worked", standard_error(5, 0.8))


tables = hnp.arrays(float, st.tuples(st.integers(3, 12), st.integers(2, 6)), elements=st.integers(0, 4).map(float))


@given(tables)
def test_agrees_with_scipy(table: np.ndarray) -> None:
    """Against scipy.stats.pearsonr and, for an item of 0 and 1, scipy.stats.pointbiserialr."""
    total = table.sum(axis=1)
    for i, got in enumerate(item_total(table)):
        column = table[:, i]
        if np.ptp(column) == 0 or np.ptp(total) == 0:
            assert got is None
            continue
        assert got == pytest.approx(stats.pearsonr(column, total).statistic, abs=1e-9)
        passed = column > column.min()
        assert point_biserial(passed, total) == pytest.approx(stats.pointbiserialr(passed, total).statistic, abs=1e-9)


@given(tables)
def test_alpha_from_covariances(table: np.ndarray) -> None:
    """The other common form, k/(k-1) (1 - trace/sum of the covariance matrix), whatever the divisor."""
    covariance = np.cov(table, rowvar=False)
    got = cronbach_alpha(table)
    if covariance.sum() <= 1e-9:
        assert got is None
    else:
        k = table.shape[1]
        assert got == pytest.approx(k / (k - 1) * (1 - np.trace(covariance) / covariance.sum()), abs=1e-9)


@given(hnp.arrays(float, st.tuples(st.integers(1, 6), st.integers(1, 5)), elements=st.floats(0, 20)))
def test_never_nan(table: np.ndarray) -> None:
    n = table.shape[1]
    found = analyse(table, [str(i) for i in range(n)], ["x"] * n, [20.0] * n)
    for number in (found.alpha, found.error, *(x for i in found.items for x in (i.facility, i.total_r, i.rest_r))):
        assert number is None or math.isfinite(number)


def test_remarks() -> None:
    good = np.array([0.0, 1, 2, 3, 4, 5, 6, 7, 8, 9])
    table = np.column_stack([good, good, 9 - good, np.full(10, 10.0), good * 0.2])
    items = analyse(table, list("abcde"), list("abcde"), [10.0] * 5).items
    assert items[0].remark == ""
    assert "asked and marked" in items[2].remark
    assert "tells little" in items[3].remark and items[3].rest_r is None
    assert "Few got it" in items[4].remark


def test_bad_input_is_named() -> None:
    with pytest.raises(ValueError, match="0 and 1"):
        kr20([[0.5, 1], [1, 0]])
    with pytest.raises(ValueError, match="every score"):
        item_rest([[math.nan, 1]])
    with pytest.raises(ValueError, match="between 0 and 1"):
        standard_error(1, 1.5)
    with pytest.raises(ValueError, match="above 0"):
        facility([[1.0]], [0.0])
    assert correlation([1, 1, 1], [1, 2, 3]) is None
    assert analyse([], [], [], []).learners == 0
