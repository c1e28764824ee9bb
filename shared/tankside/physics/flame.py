"""The injector burner and the picture of its flame.

What is physics: the momentum balance of the injector (primary air does not depend on gas pressure), speeds through
the ports, burning velocity of a premixed gas. What is a **teaching model of ours**, with constants chosen so that an
ordinary burner burns as it should and the known mistakes go the known way: the limits at which a flame lifts, flashes
back, turns yellow or drops out, the soot tendency and the flame's contact with a rod. A real flame is judged by eye,
analyzer and the maker's instructions.

Sources
-------
[1] Momentum balance of an atmospheric injector (form: H. R. N. Jones, The Application of Combustion Principles to
    Domestic Gas Burner Design, 1989; derived here, cited from memory); an obstruction: Weisbach's
    narrowed stream (from memory), then sudden widening by Borda-Carnot.
[2] Burning velocity: bell curve through free flames computed with cantera 3.2 (gri30, 0.6 to 1.4 times the air's
    fuel), scaled to the measured maximum: methane 0.383 m/s (H. Edmondson, M. P. Heap, Combustion Institute, V2);
    propane 0.43 m/s (from memory). Other alkanes burn like propane (S. G. Davis, C. K. Law, Combust. Sci. Technol.
    140 (1998) 427, abstract).
[3] Lift and flashback by the speed gradient at the port's wall, 8 v/D (B. Lewis, G. von Elbe), over the flame's
    own S^2/a; the two constants are ours.
[4] Yellow tips below a share of the air need as primary air: the shares are ours (order: methane needs the least,
    butane the most).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from tankside.physics._ranges import number, si
from tankside.physics.combustion import DRY_AIR, Air, air_need_si
from tankside.physics.fuels import Fuel, flammable_range
from tankside.physics.gas import DISCHARGE
from tankside.units import quantity

if TYPE_CHECKING:
    from tankside.physics._ranges import Quantity

Kind = Literal["steady blue", "lazy orange", "lifting", "flashback", "drop-out"]
KINDS: tuple[Kind, ...] = ("steady blue", "lazy orange", "lifting", "flashback", "drop-out")

DIFFUSIVITY = 2.1e-5
"""m2/s, heat in cold gas and air."""
BACK, LIFT = 0.065, 0.32
"""Gradient over S^2/a at flashback and at lift-off [3]."""
BLOWN_OFF = 2.0
"""Times the lift-off gradient at which the flame leaves the port for good: ours."""
STARVED = -0.4
"""Excess air below which the whole flame suffocates: ours."""
_RICHEST = 6.0


@dataclass(frozen=True)
class Burner:
    """An injector burner, SI units; floats, or arrays for a batch.

    ``throat`` m2 of the mixing tube; ``ports`` m2 of all ports together; ``port_diameter`` m; ``shutter`` m2 of the
    air openings, fully open; ``tube_loss``, ``port_loss`` loss coefficients on the tube's and the ports' own speed;
    ``recovery`` share of the tube's dynamic pressure that its widening end gives back.
    """

    throat: Any
    ports: Any
    port_diameter: Any
    shutter: Any
    tube_loss: Any = 0.5
    port_loss: Any = 1.5
    recovery: Any = 0.4


def primary_air_si(
    specific_gravity: Any,
    orifice_diameter: Any,
    burner: Burner,
    opening: Any = 1.0,
    blocked: Any = 0.0,
    discharge: Any = DISCHARGE,
) -> Any:
    """Volumes of primary air that a volume of gas drags in [1]; the gas pressure cancels out.

    Parameters
    ----------
    specific_gravity : float or array [> 0]
    orifice_diameter : float or array [m, > 0]
    burner : Burner
    opening : float or array [share of the shutter that is open, 0 to 1]
    blocked : float or array [share of the tube that cobweb, rust or soot takes, 0 to below 1]
    discharge : float or array [of the orifice]
    """
    b, s = burner, np.asarray(specific_gravity, dtype=float)
    jet = discharge * np.pi * np.asarray(orifice_diameter, dtype=float) ** 2 / 4
    free = np.maximum(1 - np.asarray(blocked, dtype=float), 1e-3)
    narrowed = free * (0.62 + 0.38 * free**3)  # the stream behind an obstruction is narrower than the gap
    tube = 1 + (b.tube_loss - b.recovery + (1 / narrowed - 1) ** 2) / 2
    mixed = tube / b.throat + b.throat * b.port_loss / (2 * np.asarray(b.ports) ** 2)
    entry = b.throat / (2 * (0.65 * b.shutter * np.maximum(opening, 1e-4)) ** 2)
    # (s + r)(1 + r) mixed + entry r^2 = s / jet
    square, straight, rest = mixed + entry, mixed * (1 + s), s * mixed - s / jet
    root = np.sqrt(np.maximum(straight**2 - 4 * square * rest, 0.0))
    return np.maximum((root - straight) / (2 * square), 0.0)


def peak_burning_velocity_si(fuel: Fuel) -> tuple[float, float]:
    """m/s at best, and the equivalence ratio where it is best [2]; mixtures by mole share, inert gas slows."""
    methane = dict(fuel.composition).get("methane", 0.0)
    other = sum(fuel.burnable.values()) - methane
    return 0.383 * methane + 0.43 * other, (1.06 * methane + 1.09 * other) / (methane + other)


def burning_velocity_si(fuel: Fuel, equivalence: Any) -> Any:
    """m/s of a premixed flame at 25 degC, 14.696 psia [2]; float or array."""
    peak, best = peak_burning_velocity_si(fuel)
    off = np.asarray(equivalence, dtype=float) - best
    return peak * np.exp(-((off / np.where(off < 0, 0.48, 0.42)) ** 2))


def yellow_limit_si(fuel: Fuel) -> float:
    """Share of the air need (a fraction, 0 to 1) that must come as primary air to keep the tips blue [4]."""
    share = {
        "methane": 0.22,
        "ethane": 0.32,
        "propane": 0.38,
        "propylene": 0.45,
        "isobutane": 0.42,
        "butane": 0.42,
    }
    burnable = fuel.burnable
    return sum(part * share[gas] for gas, part in burnable.items()) / sum(burnable.values())


@dataclass(frozen=True)
class FlameNumbers:
    """The numbers that decide a flame's picture, SI units, floats or arrays."""

    aeration: Any  # primary air over the air need
    equivalence: Any  # of what leaves the ports; at most 6
    port_speed: Any  # m/s
    burning_velocity: Any  # m/s
    gradient: Any  # 1/s at the port's wall
    lift: Any  # 1/s above which it lifts
    back: Any  # 1/s below which it flashes back
    excess_air: Any  # of the whole flame
    soot: Any  # 0 none to 1
    contact: Any  # share of a well-placed rod that the flame wraps, 0 to 1
    code: Any  # index into KINDS


def flame_numbers_si(
    fuel: Fuel, gas_flow: Any, primary: Any, burner: Burner, excess_air: Any = 0.5, air: Air = DRY_AIR
) -> FlameNumbers:
    """What the flame is like [2] [3] [4].

    Parameters
    ----------
    fuel : Fuel
    gas_flow : float or array [m3/s through the orifice]
    primary : float or array [volumes of primary air to one of gas, from ``primary_air_si``]
    burner : Burner
    excess_air : float or array [fraction, primary and secondary air together, > -1]
    air : Air
    """
    need = air_need_si(fuel, air)
    flow, r = np.asarray(gas_flow, dtype=float), np.asarray(primary, dtype=float)
    aeration = r / need
    phi = np.minimum(need / np.maximum(r, 1e-9), _RICHEST)
    speed = flow * (1 + r) / burner.ports
    _, best = peak_burning_velocity_si(fuel)
    velocity = burning_velocity_si(fuel, phi)
    gradient = 8 * speed / burner.port_diameter
    held = burning_velocity_si(
        fuel, np.minimum(phi, best)
    )  # a rich flame still burns at its edge with the room's air
    lift = LIFT * held**2 / DIFFUSIVITY * np.maximum(phi / best, 1.0)
    wide = (
        np.asarray(burner.port_diameter) > 0.002
    )  # narrower ports quench it (propane about 2 mm: from memory)
    back = np.where(wide, BACK * velocity**2 / DIFFUSIVITY, 0.0)
    excess = np.asarray(excess_air, dtype=float)
    yellow = yellow_limit_si(fuel)
    soot = np.maximum(_step((yellow - 0.05 - aeration) / 0.03), _step(-(excess + 0.05) / 0.03))
    lowest, _ = flammable_range(fuel)
    lean = 1 / (1 + r) < lowest
    out = (flow <= 1e-12) | (excess < STARVED) | (gradient > BLOWN_OFF * lift) | lean
    code = np.select(
        [out, gradient < back, gradient > lift, (aeration < yellow) | (excess < 0)],
        [
            KINDS.index("drop-out"),
            KINDS.index("flashback"),
            KINDS.index("lifting"),
            KINDS.index("lazy orange"),
        ],
        KINDS.index("steady blue"),
    )
    lazy = 0.35 + 0.65 * np.clip(aeration / yellow, 0.0, 1.0)
    standing = 1 - 0.7 * np.clip((gradient / lift - 1) / (BLOWN_OFF - 1), 0.0, 1.0)
    contact = np.where(out | (code == KINDS.index("flashback")), 0.0, lazy * standing)
    return FlameNumbers(aeration, phi, speed, velocity, gradient, lift, back, excess, soot, contact, code[()])


def _step(x: Any) -> Any:
    return 1 / (1 + np.exp(-np.clip(x, -60.0, 60.0)))


@dataclass(frozen=True)
class FlamePicture:
    """What the eye sees, why, and the numbers that decided it."""

    kind: Kind
    reasons: tuple[str, ...]
    primary_aeration: Quantity  # percent of the air need
    port_speed: Quantity
    burning_velocity: Quantity
    numbers: FlameNumbers


def primary_aeration(
    fuel: Fuel,
    orifice: Quantity,
    burner: Burner,
    *,
    opening: float = 1.0,
    blocked: float = 0.0,
    air: Air = DRY_AIR,
) -> Quantity:
    """Primary air that the gas jet drags into the burner tube, as a share of the air need. [1]

    Parameters
    ----------
    fuel : Fuel
    orifice : Quantity [0.005 to 0.25 in]
        Diameter.
    burner : Burner
    opening : float [0 to 1]
        Share of the air shutter that is open.
    blocked : float [0 to 0.98]
        Share of the tube that cobweb, rust or soot takes.
    air : Air

    Returns
    -------
    Quantity [percent]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> tube = Burner(throat=200e-6, ports=400e-6, port_diameter=0.003, shutter=180e-6)
    >>> clean = primary_aeration(fuel("propane"), quantity(0.035, "in"), tube)
    >>> cobweb = primary_aeration(fuel("propane"), quantity(0.035, "in"), tube, blocked=0.7)
    >>> print(f"{clean.magnitude:.0f} %, with a cobweb {cobweb.magnitude:.0f} %")
    57 %, with a cobweb 24 %
    """
    d = si("orifice", orifice, "m", 0.005 * 0.0254, 0.25 * 0.0254, "an appliance's orifice")
    share = number("opening", opening, 0.0, 1.0, "shut to fully open")
    web = number("blocked", blocked, 0.0, 0.98, "a tube that still passes something")
    r = primary_air_si(fuel.specific_gravity_si, d, burner, share, web)
    return quantity(100 * r / air_need_si(fuel, air), "percent")


def burning_velocity(fuel: Fuel, equivalence: float) -> Quantity:
    """Speed at which a premixed flame eats into still mixture, 25 degC, 14.696 psia. [2]

    Parameters
    ----------
    fuel : Fuel
    equivalence : float [0.6 to 1.4]
        Fuel over air, relative to exact burning.

    Returns
    -------
    Quantity [m/s]

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> print(f"{burning_velocity(fuel('propane'), 1.0).magnitude:.2f} m/s")
    0.42 m/s
    """
    phi = number("equivalence", equivalence, 0.6, 1.4, "where the bell curve follows the computed flames")
    return quantity(burning_velocity_si(fuel, phi), "m/s")


def flame_picture(
    fuel: Fuel,
    gas_flow: Quantity,
    primary: float | Quantity,
    burner: Burner,
    excess_air: float | Quantity = 0.5,
    air: Air = DRY_AIR,
) -> FlamePicture:
    """What the flame looks like, and why: the teaching model. [2] [3] [4]

    Parameters
    ----------
    fuel : Fuel
    gas_flow : Quantity [0 to 500 ft3/h]
        Through the orifice.
    primary : float or percent [0 to 3]
        Primary air over the air need, from ``primary_aeration``.
    burner : Burner
    excess_air : float or percent [-0.9 to 5]
        Of the whole flame, secondary air included.
    air : Air

    Returns
    -------
    FlamePicture

    Raises
    ------
    ValueError
        Out of range.

    Examples
    --------
    >>> from tankside.physics.fuels import fuel
    >>> tube = Burner(throat=200e-6, ports=400e-6, port_diameter=0.003, shutter=180e-6)
    >>> flame_picture(fuel("propane"), quantity(3.9, "cfh"), quantity(60, "percent"), tube).kind
    'steady blue'
    >>> flame_picture(fuel("propane"), quantity(3.9, "cfh"), quantity(25, "percent"), tube).reasons
    ('primary air is 25 % of the air need; below 38 % the tips turn yellow',)
    """
    flow = si("gas flow", gas_flow, "m**3/s", 0.0, 500 * 0.3048**3 / 3600, "an appliance's gas flow")
    share = number("primary", primary, 0.0, 3.0, "an injector's reach")
    excess = number("excess air", excess_air, -0.9, 5.0, "from suffocating to blown away")
    n = flame_numbers_si(fuel, flow, share * air_need_si(fuel, air), burner, excess, air)
    kind = KINDS[int(n.code)]
    return FlamePicture(
        kind,
        _reasons(fuel, kind, n, float(flow)),
        quantity(float(100 * n.aeration), "percent"),
        quantity(float(n.port_speed), "m/s"),
        quantity(float(n.burning_velocity), "m/s"),
        n,
    )


def _reasons(fuel: Fuel, kind: Kind, n: FlameNumbers, flow: float) -> tuple[str, ...]:
    yellow = yellow_limit_si(fuel)
    said = []
    if kind == "drop-out":
        if flow <= 1e-12:
            return ("no gas flows",)
        if n.excess_air < STARVED:
            said.append(f"the whole flame has {100 * (1 + n.excess_air):.0f} % of the air that it needs and suffocates")
        if n.gradient > BLOWN_OFF * n.lift:
            said.append(f"gas leaves the ports at {n.port_speed:.2f} m/s, far faster than the flame can hold")
        return tuple(said) or ("so much primary air comes in that the mixture is too lean to burn",)
    if kind == "flashback":
        said.append(f"gas leaves the ports at only {n.port_speed:.2f} m/s and the mixture burns at "
                    f"{n.burning_velocity:.2f} m/s: the flame walks into the tube")  # fmt: skip
    if kind == "lifting":
        said.append(
            f"gas leaves the ports at {n.port_speed:.2f} m/s: {n.gradient / n.lift:.1f} times what the flame holds"
        )
    if kind == "lazy orange":
        if n.aeration < yellow:
            said.append(f"primary air is {100 * n.aeration:.0f} % of the air need; below {100 * yellow:.0f} % "
                        f"the tips turn yellow")  # fmt: skip
        if n.excess_air < 0:
            said.append(f"the whole flame has only {100 * (1 + n.excess_air):.0f} % of the air that it needs")
    if kind == "steady blue":
        said.append(f"primary air is {100 * n.aeration:.0f} % of the air need, the ports hold the flame, and there is "
                    f"air enough around it")  # fmt: skip
    return tuple(said)
