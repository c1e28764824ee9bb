"""Classical item statistics: is a question too hard, and does it tell good work from weak work?

Scores come as an array (learners, items). All variances here are divided by N, as the classical formulas have it;
mixing in a variance divided by N - 1 gives a wrong KR-20. Where a statistic isn't defined (nobody differs, too few
learners) the answer is None, never NaN. Sources: G. F. Kuder and M. W. Richardson, Psychometrika 2 (1937) 151 for
KR-20 and KR-21; L. J. Cronbach, Psychometrika 16 (1951) 297 for alpha (both named from memory); worked numbers:
``tests/published/assessment.toml``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FEW_LEARNERS = 10
HARD, EASY, BLUNT = 0.3, 0.95, 0.1


def _matrix(scores: ArrayLike) -> NDArray[np.float64]:
    table = np.asarray(scores, dtype=float)
    if table.ndim != 2:
        raise ValueError(f"scores: expected a table (learners, items), got {table.ndim} dimension(s)")
    if not np.isfinite(table).all():
        raise ValueError("scores: every score must be a number; leave out learners without marks")
    return table


def facility(scores: ArrayLike, out_of: ArrayLike) -> NDArray[np.float64]:
    """Mean score of each item as a share of its points, 0 to 1: near 0 is hard, near 1 is easy.

    ``scores`` (learners, items); ``out_of`` (items,), above zero. Raises ``ValueError`` out of that range.
    """
    table, full = _matrix(scores), np.asarray(out_of, dtype=float)
    if (full <= 0).any():
        raise ValueError(f"out_of: points must be above 0, got {full.min():g}")
    return table.mean(axis=0) / full


def correlation(one: ArrayLike, other: ArrayLike) -> float | None:
    """Pearson's r of two columns; None when either doesn't vary."""
    x, y = np.asarray(one, dtype=float), np.asarray(other, dtype=float)
    dx, dy = x - x.mean(), y - y.mean()
    spread = float(np.sqrt((dx @ dx) * (dy @ dy)))
    # Totals are sums of floats: a spread of rounding errors is no spread.
    if spread <= 1e-12 * max(1.0, float(np.abs(x).max()), float(np.abs(y).max())) ** 2:
        return None
    return float(np.clip((dx @ dy) / spread, -1.0, 1.0))


def point_biserial(passed: ArrayLike, totals: ArrayLike) -> float | None:
    """r = (Mp - Mq) / St * sqrt(p q): does passing this item go with a high total? -1 to 1.

    ``passed`` (learners,) of true and false, ``totals`` (learners,). Mp and Mq are the mean totals of those who
    passed and failed, St the totals' standard deviation (÷N), p and q the shares. None when nobody differs.
    """
    mask, total = np.asarray(passed, dtype=bool), np.asarray(totals, dtype=float)
    if mask.all() or not mask.any() or np.ptp(total) == 0.0:
        return None
    share = mask.mean()
    return float((total[mask].mean() - total[~mask].mean()) / total.std() * np.sqrt(share * (1 - share)))


def item_total(scores: ArrayLike) -> list[float | None]:
    """Each item's correlation with the total (for items of 0 and 1: the point-biserial)."""
    table = _matrix(scores)
    return [correlation(table[:, i], table.sum(axis=1)) for i in range(table.shape[1])]


def item_rest(scores: ArrayLike) -> list[float | None]:
    """Each item's correlation with the total of the *other* items, so that no item vouches for itself."""
    table = _matrix(scores)
    total = table.sum(axis=1)
    return [correlation(table[:, i], total - table[:, i]) for i in range(table.shape[1])]


def cronbach_alpha(scores: ArrayLike) -> float | None:
    """alpha = k/(k-1) (1 - sum of item variances / variance of totals). Up to 1; below 0 is possible and bad.

    For items of 0 and 1 this is KR-20. None for fewer than two items or when all totals are the same.
    """
    table = _matrix(scores)
    k = table.shape[1]
    variance = table.sum(axis=1).var()
    if k < 2 or table.shape[0] < 2 or variance <= 1e-12:
        return None
    return float(k / (k - 1) * (1 - table.var(axis=0).sum() / variance))


def kr20(answers: ArrayLike) -> float | None:
    """Kuder-Richardson formula 20 of right (1) and wrong (0) answers. Raises ``ValueError`` for anything else."""
    table = _matrix(answers)
    if not np.isin(table, (0.0, 1.0)).all():
        raise ValueError("answers: KR-20 is for answers of 0 and 1; use cronbach_alpha for points")
    return cronbach_alpha(table)


def kr21(answers: ArrayLike) -> float | None:
    """Kuder-Richardson formula 21: as KR-20, taking all items for equally hard."""
    table = _matrix(answers)
    k, total = table.shape[1], table.sum(axis=1)
    if k < 2 or total.var() <= 1e-12:
        return None
    return float(k / (k - 1) * (1 - total.mean() * (k - total.mean()) / (k * total.var())))


def standard_error(deviation: float, reliability: float) -> float:
    """Standard error of measurement, sigma * sqrt(1 - r), in points. ``reliability`` 0 to 1, else ``ValueError``."""
    if deviation < 0:
        raise ValueError(f"deviation: a standard deviation can't be below 0, got {deviation:g}")
    if not 0.0 <= reliability <= 1.0:
        raise ValueError(f"reliability: must lie between 0 and 1, got {reliability:g}")
    return float(deviation * np.sqrt(1.0 - reliability))


@dataclass(frozen=True)
class Item:
    """One question's statistics. ``remark`` says in words what is wrong with it, "" when nothing is."""

    id: str
    name: str
    out_of: float
    facility: float
    total_r: float | None
    rest_r: float | None
    remark: str


@dataclass(frozen=True)
class Analysis:
    """A lab's statistics: its items, alpha, standard error (points), and what to bear in mind about them."""

    items: tuple[Item, ...]
    learners: int
    alpha: float | None
    error: float | None
    caution: str


def analyse(scores: ArrayLike, ids: Sequence[str], names: Sequence[str], out_of: Sequence[float]) -> Analysis:
    """Statistics of a class's scores (learners, items). With nobody marked, an analysis without items."""
    if len(np.asarray(scores, dtype=float)) == 0:
        return Analysis((), 0, None, None, "Nobody has been marked yet.")
    table = _matrix(scores)
    easy, totals, rests = facility(table, out_of), item_total(table), item_rest(table)
    items = tuple(
        Item(ids[i], names[i], float(out_of[i]), float(easy[i]), totals[i], rests[i], _remark(float(easy[i]), rests[i]))
        for i in range(table.shape[1])
    )
    alpha = cronbach_alpha(table)
    error = standard_error(float(table.sum(axis=1).std()), min(alpha, 1.0)) if alpha is not None and alpha >= 0 else None
    learners = len(table)
    caution = f"Only {learners} hand-ins: one learner more can change these." if learners < FEW_LEARNERS else ""
    return Analysis(items, learners, alpha, error, caution)


def _remark(easy: float, rest: float | None) -> str:
    if easy < HARD:
        return "Few got it. Is it taught, and is it asked clearly?"
    if rest is not None and rest < 0:
        return "Those who did well elsewhere did worse here. Look at how it is asked and marked."
    if easy > EASY:
        return "Nearly everybody got it. It tells little."
    if rest is not None and rest < BLUNT:
        return "It doesn't tell good work from weak work."
    return ""
