"""What a bench action shows, written down for every variant of a batch: a witness that keeps everything.

The same action on a batch of variants says what each of them would show. Each observation becomes an interval
for each variant: what the instrument *may* show, with its accuracy and one digit. So a test is a column of
the test-by-fault table by being done, not by being described a second time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from tankside.heater.unit import Unit
from tankside.instruments.gauge import Gauge
from tankside.instruments.multimeter import (
    COUNTS,
    DISTURBED,
    FUNCTIONS,
    INPUT_CAPACITANCE,
    INPUT_RESISTANCE,
    LEADS,
    Reading,
)
from tankside.physics.circuit import Drive, Load, distinct

if TYPE_CHECKING:
    from tankside.bench.state import BenchState

Array = NDArray[np.float64]
Pairs = tuple[tuple[str, str], ...]

LIVE_LEADS = -1.0
"""What stands for "volts on the leads" where ohms are meant."""
NOT_DONE = -1e9
"""What stands for an observation that isn't made, because what was found before it forbids to go on."""
COARSEST = 85.0
"""mg/L either way that the coarsest step of a colour card spans."""


@dataclass(frozen=True)
class Seen:
    """One observation: (B,) the lowest and highest that may be shown, and what is shown of the first variant."""

    label: str
    low: Array
    high: Array
    shown: float


class Notes:
    """A bench's witness that writes everything down.

    With ``pairs``, each reading of the meter is taken on all of these pairs at once: where the leads stand changes
    nothing that a meter could show elsewhere, so one watched start serves them all.
    """

    def __init__(self, state: BenchState | None = None, pairs: Pairs = ()) -> None:
        self.seen: list[Seen] = []
        self._state, self._pairs = state, pairs
        self._count: dict[str, int] = {}
        self._stopped: NDArray[np.bool_] | None = None

    def smelt(self) -> None:
        """Gas was smelt for: where it can be, nobody goes on to light, so those variants show nothing more."""
        found = self.seen[-1].low > 0
        self._stopped = found if self._stopped is None else self._stopped | found

    def _add(self, kind: str, low: Array, high: Array, shown: float, where: str = "") -> None:
        k = self._count[kind + where] = self._count.get(kind + where, 0) + 1
        if self._stopped is not None:
            low, high = np.where(self._stopped, NOT_DONE, low), np.where(self._stopped, NOT_DONE, high)
        self.seen.append(Seen(f"{kind} {k}{where}", low, high, shown))

    def reading(self, shown: Reading, value: Array, disturbed: Array, low: Array, high: Array) -> None:
        """A meter reading."""
        if self._pairs and self._state is not None:
            found = ON_PAIRS[shown.function](self._state.unit, self._pairs)
            for (red, black), number in zip(self._pairs, found, strict=True):
                self._add(shown.function, *widened(shown.function, number, number), 0.0, f" {red} {black}")
            return
        shows = math.inf if shown.digits == "OL" else LIVE_LEADS if shown.value is None else shown.value
        if FUNCTIONS[shown.function].unit == "Ω":
            value = np.where(np.broadcast_to(disturbed, value.shape) > DISTURBED, LIVE_LEADS, value)
        self._add(shown.function, *widened(shown.function, value, value), shows)

    def gauge(self, gauge: Gauge, reading: Reading, value: Array) -> None:
        """Another instrument's reading."""
        slack = gauge_slack(gauge, value)
        over = np.abs(value) > gauge.scale.ranges[-1] * (1 - gauge.scale.share)
        low, high = np.where(over, value - slack, value - slack), np.where(over, np.inf, value + slack)
        number = math.inf if reading.value is None else reading.value
        self._add(gauge.scale.id, low, high, number)

    def number(self, value: Array, low: Array | float, high: Array | float) -> None:
        """A thing seen as it is, or judged to so much either way."""
        first, one, two = float(value[0]), float(np.ravel(low)[0]), float(np.ravel(high)[0])
        half = (two - one) / 2 if math.isfinite(two - one) else COARSEST
        middle = (one + two) / 2 if math.isfinite(one + two) else first
        self._add("seen", value - half, value + half, middle)


def gauge_slack(gauge: Gauge, value: Array) -> Array:
    """(B,) by how much a gauge may show beside the truth: accuracy, one digit more, and where it is blind."""
    scale = gauge.scale
    full = np.full(value.shape, scale.ranges[-1])
    for end in reversed(scale.ranges):
        full = np.where(np.abs(value) <= end, end, full)
    slack = scale.share * np.abs(value) + (scale.digits + 1) * full / scale.counts
    return np.where(np.abs(value) <= scale.blind + slack, slack + scale.blind, slack)


def widened(function: str, low: Array, high: Array) -> tuple[Array, Array]:
    """Intervals of what the meter may show: accuracy, a digit, leads; ohms above the last range are "open"."""
    kind = FUNCTIONS[function]
    ohms = kind.unit == "Ω"
    last = kind.ranges[-1]
    out_low, out_high = low.copy(), high + (LEADS if ohms else 0.0)
    for values, sign in ((out_low, -1.0), (out_high, 1.0)):
        full = np.full(values.shape, last)
        for r in reversed(kind.ranges):
            full = np.where(np.abs(values) <= r, r, full)
        values += sign * (kind.share * np.abs(values) + (kind.digits + 1) * full / COUNTS)
    if ohms:
        out_low[low < 0], out_high[high < 0] = -2.0, -0.5
    open_from = last * (1 - kind.share)
    out_low = np.where(out_low > open_from, np.inf, out_low)
    out_high = np.where(out_high > open_from, np.inf, out_high)
    return out_low, out_high


def pairs_direct(unit: Unit, pairs: Pairs) -> list[Array]:
    """(B,) direct volts that a meter finds on each pair, as the unit stands."""
    return [np.real(v) for v in _Seen(unit, pairs, "direct").between(1 / INPUT_RESISTANCE)]


def pairs_alternating(unit: Unit, pairs: Pairs) -> list[Array]:
    """(B,) alternating volts that a meter finds on each pair, as the unit stands."""
    admittance = 1 / INPUT_RESISTANCE + 2j * math.pi * unit.wiring.frequency * INPUT_CAPACITANCE
    return [np.abs(v) for v in _Seen(unit, pairs, "alternating").between(admittance)]


def pairs_ohms(unit: Unit, pairs: Pairs) -> list[Array]:
    """(B,) ohms that a meter finds on each pair; ``LIVE_LEADS`` where volts stand on the leads."""
    seen = _Seen(unit, pairs, "direct")
    return [
        np.where(np.maximum(standing, np.abs(np.real(volts))) > DISTURBED, LIVE_LEADS, np.real(ohms))
        for standing, volts, ohms in zip(
            seen.standing(), seen.between(1 / INPUT_RESISTANCE), seen.impedances(), strict=True
        )
    ]


class _Seen:
    """The network as seen from the pairs' terminals (Thevenin); variants with the same network are solved once.

    With the nodal matrix M solved for a unit current at every terminal, the voltage that a meter of admittance y
    finds between a and b is V / (1 + y Z), V the open-circuit voltage and Z = Maa + Mbb - Mab - Mba.
    """

    def __init__(self, unit: Unit, pairs: Pairs, drive: Drive) -> None:
        terminals = list(dict.fromkeys(t for pair in pairs for t in pair))
        self._at = [(terminals.index(red), terminals.index(black)) for red, black in pairs]
        self._net = unit.wiring.net_for(drive, [Load(t, t) for t in terminals])
        conductance, emf, inner, farads = self._net.numbers(unit.values, True)
        first, self._back = distinct(conductance, emf, inner)
        coupled = None if farads is None else farads[first]
        self._numbers = conductance[first], emf[first], inner[first], coupled
        self._frequency, self._terminals = unit.wiring.frequency, terminals
        away = [
            k for k, t in enumerate(terminals) if t != self._net.circuit.reference
        ]  # it stands at 0 V, 0 ohm
        volts, ohms = self._net.circuit.seen_from(
            [terminals[k] for k in away], *self._numbers, drive=drive, frequency=self._frequency
        )
        size, n = len(first), len(terminals)
        self._volts, self._ohms = np.zeros((size, n), volts.dtype), np.zeros((size, n, n), ohms.dtype)
        self._volts[:, away] = volts
        self._ohms[:, np.array(away)[:, None], away] = ohms

    def impedances(self) -> list[NDArray[Any]]:
        """(B,) ohm of the network between each pair."""
        z = self._ohms
        return [(z[:, i, i] + z[:, j, j] - z[:, i, j] - z[:, j, i])[self._back] for i, j in self._at]

    def between(self, admittance: complex) -> list[NDArray[Any]]:
        """(B,) V between each pair with a meter of so much admittance."""
        open_circuit = [(self._volts[:, i] - self._volts[:, j])[self._back] for i, j in self._at]
        seen = self.impedances()
        return [volts / (1 + admittance * z) for volts, z in zip(open_circuit, seen, strict=True)]

    def standing(self) -> list[Array]:
        """(B,) alternating volts between each pair, whatever is measured."""
        solution = self._net.circuit.solve(*self._numbers, drive="alternating", frequency=self._frequency)
        live = [solution.potential(t) for t in self._terminals]
        return [np.abs(live[i] - live[j])[self._back] for i, j in self._at]


ON_PAIRS = {"V~": pairs_alternating, "V⎓": pairs_direct, "Ω": pairs_ohms}
"""What the meter finds on pairs, by its function."""
