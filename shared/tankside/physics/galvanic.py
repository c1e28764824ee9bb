"""Anode and bare steel in one water: what current flows, and is the steel protected?

Steel in aerated water dissolves along a Tafel line and is fed by oxygen, which arrives at a
limited rate; far below its free potential it also makes hydrogen from the water. Coupled to an
anode, it takes up a potential at which the current that it draws equals the current that the
anode drives through the water's resistance. All potentials are against copper sulfate (CSE), in
volts; a more negative steel is better protected.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from tankside.physics._ranges import number, si
from tankside.physics._roots import falling_root
from tankside.physics.corrosion import rod_radius_after_si
from tankside.units import quantity

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from tankside.physics._ranges import Quantity

MAGNESIUM_POTENTIAL = -1.55
"""V CSE, standard magnesium alloy in water (from memory; TM 5-811-7 gives -1.7 to -1.8 for magnesium)."""
PROTECTED = -0.850
"""V CSE, IR-free: steel at or below this is protected (MIL-HDBK-1004/10 section 3.3.1.1)."""

POTENTIAL_FACTOR: tuple[tuple[float, ...], tuple[float, ...]] = (
    (-1.20, -1.00, -0.85, -0.70),
    (0.50, 0.79, 1.00, 1.14),
)
"""Structure's potential (V CSE) -> factor y of a magnesium anode's current (TM 5-811-7)."""

_HYDROGEN = -0.73
"""V CSE: -0.059 V × pH 7 against hydrogen, less 0.316 V for the copper sulfate electrode."""
_POTENTIAL = "potentials of metals in water against copper sulfate"
_RESISTIVITY = "from sea water to rain water"
_INF = math.inf


@dataclass(frozen=True)
class Steel:
    """Polarisation of bare steel in one water. Fields may be floats or arrays over a batch.

    The defaults stand for hot fresh water: to be held at -0.85 V they take a current inside the
    5 to 15 mA/ft² that MIL-HDBK-1004/10 table 1 gives. Slopes are usual textbook ones (from memory).
    """

    free: Any = -0.60
    """V CSE: potential without an anode; -1.0 to 0.2."""
    corrosion: Any = 0.08
    """A/m²: what dissolves without an anode; 1e-6 to 100."""
    limit: Any = 0.10
    """A/m², above ``corrosion``, to 100: what oxygen can feed at most."""
    anodic: Any = 0.06
    """V for each tenfold of dissolving current; 0.02 to 0.5."""
    cathodic: Any = 0.12
    """V for each tenfold of oxygen current, far from its limit, and of hydrogen current; 0.02 to 0.5."""
    hydrogen: Any = 1e-4
    """A/m², 0 to 1: hydrogen's current at -0.73 V, its equilibrium in neutral water (order of magnitude, from memory)."""


class GalvanicCell(NamedTuple):
    """The working point of anode and steel."""

    current: Any
    """From the anode to the steel."""
    steel: Any
    """Potential of the steel against copper sulfate, at its surface (IR-free)."""
    anode: Any
    """Potential of the anode, at its surface."""
    dissolving: Any
    """Current density at which the steel still dissolves."""
    protected: Any
    """True where the steel is at or below -0.85 V."""


def rod_resistance_si(resistivity: Any, length: Any, diameter: Any) -> Any:
    """Resistance from a rod to the water around it (Dwight).

    Parameters
    ----------
    resistivity : float or array [ohm m]
        Of the water.
    length : float or array [m]
        Of the rod, at least its diameter.
    diameter : float or array [m, above 0]
        Of the rod.

    Returns
    -------
    float or array [ohm]
    """
    return resistivity / (2.0 * math.pi * length) * (np.log(8.0 * length / diameter) - 1.0)


def patch_resistance_si(resistivity: Any, area: Any, patches: Any = 1.0) -> Any:
    """Resistance from the water to round bare patches in an insulating wall: ρ / (4 a) each, side by side.

    Parameters
    ----------
    resistivity : float or array [ohm m]
        Of the water.
    area : float or array [m², above 0]
        Bare steel in all.
    patches : float or array [1, 1 or more]
        Number of equal patches, far from each other.

    Returns
    -------
    float or array [ohm]
    """
    radius = np.sqrt(np.asarray(area) / (math.pi * patches))
    return (resistivity / (4.0 * radius * patches))[()]


def steel_current_si(potential: Any, steel: Steel) -> tuple[Any, Any]:
    """Current densities of bare steel at a potential: taken up by oxygen and hydrogen, and dissolving.

    Parameters
    ----------
    potential : float or array [V CSE]
        Of the steel, at its surface.
    steel : Steel [see its fields]
        Its polarisation.

    Returns
    -------
    tuple of two floats or arrays [A/m²]
        Cathodic and anodic; their difference is drawn from an anode.
    """
    cathodic, anodic, _ = _polarised(potential, steel)
    return cathodic, anodic


def _polarised(potential: Any, steel: Steel) -> tuple[Any, Any, Any]:
    """``steel_current_si``, and by how much its difference falls for each volt."""
    over = potential - np.asarray(steel.free)
    # Kinetic and limiting current in series, scaled so that at the free potential both sides balance.
    kinetic = 1.0 / np.asarray(steel.corrosion) - 1.0 / np.asarray(steel.limit)
    slowed = kinetic * 10.0 ** (over / steel.cathodic)
    oxygen = 1.0 / (slowed + 1.0 / np.asarray(steel.limit))
    # Hydrogen counts from what it is at the free potential, so that the balance there stays exact.
    level = steel.hydrogen * 10.0 ** (-(np.asarray(steel.free) - _HYDROGEN) / steel.cathodic)
    grows = 10.0 ** (-over / steel.cathodic)
    hydrogen = level * (grows - 1.0)
    anodic = steel.corrosion * 10.0 ** (over / steel.anodic)
    falls = (oxygen**2 * slowed + level * grows) / steel.cathodic + anodic / steel.anodic
    return oxygen + hydrogen, anodic, math.log(10.0) * falls


def galvanic_cell_si(
    steel: Steel,
    area: ArrayLike,
    resistance: ArrayLike,
    anode: ArrayLike = MAGNESIUM_POTENTIAL,
    anode_slope: ArrayLike = 0.0,
) -> GalvanicCell:
    """Working point of an anode and bare steel joined through water. Arguments broadcast.

    The steel's potential lies between the anode's and its own free one, and what it draws falls
    steadily in between: there is one crossing, and a search between the two finds it, always.

    Parameters
    ----------
    steel : Steel [see its fields]
        Its polarisation.
    area : float or array [m², 0 or more]
        Bare steel.
    resistance : float or array [ohm, 0 or more; infinite without an anode]
        Of the path: water at the rod, water at the patches, wire and contact.
    anode : float or array [V CSE, below the steel's free potential to do any good]
        Potential of the anode when it gives no current.
    anode_slope : float or array [ohm, 0 or more]
        By how much each ampere makes the anode less negative.

    Returns
    -------
    GalvanicCell
        A, V CSE, V CSE, A/m², bool
    """
    area, resistance, anode, slope = (
        np.asarray(v, dtype=float) for v in (area, resistance, anode, anode_slope)
    )
    free = np.asarray(steel.free, dtype=float)
    shape = np.broadcast_shapes(area.shape, resistance.shape, anode.shape, slope.shape, free.shape)
    path = resistance + slope

    joined = np.isfinite(path)
    ohms = np.where(joined, path, 0.0)

    def over(potential: NDArray[np.float64]) -> tuple[Any, Any]:
        """V by which the anode's current could still lower the steel, and how that falls."""
        cathodic, anodic, falls = _polarised(potential, steel)
        return anode + area * (cathodic - anodic) * ohms - potential, 1.0 + area * falls * ohms

    low = np.broadcast_to(np.minimum(anode, free), shape).copy()
    high = np.broadcast_to(np.maximum(anode, free), shape).copy()
    limited = (
        anode + area * steel.limit * ohms
    )  # steel that is protected takes what oxygen arrives, as a rule
    found = falling_root(over, low, high, np.broadcast_to(limited, shape))
    potential = np.where(joined, found, free)
    cathodic, dissolving = steel_current_si(potential, steel)
    current = np.where(joined, area * (cathodic - dissolving), 0.0)
    return GalvanicCell(
        current[()],
        potential[()],
        (anode + current * slope)[()],
        np.broadcast_to(dissolving, shape)[()],
        (potential <= PROTECTED)[()],
    )


def rod_history_si(
    times: ArrayLike,
    radius: float,
    length: float,
    resistivity: float,
    steel: Steel,
    area: float,
    patches: float = 1.0,
    wire: float = 0.0,
    anode: float = MAGNESIUM_POTENTIAL,
    efficiency: float = 0.5,
    core: float = 0.0,
    metal: str = "magnesium",
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """A rod's radius and current as it wears: as it thins, its resistance rises and its current falls.

    Parameters
    ----------
    times : array [s, rising, from 0 or more]
        When to look; steps of at most a month are taken in between.
    radius : float [m]
        When new.
    length : float [m]
        Of the rod.
    resistivity : float [ohm m]
        Of the water.
    steel : Steel [see its fields]
        Its polarisation.
    area : float [m², above 0]
        Bare steel.
    patches : float [1, 1 or more]
        Number of bare patches.
    wire : float [ohm, 0 or more]
        Of rod's contact and wire.
    anode : float [V CSE]
        Potential of the anode when it gives no current.
    efficiency : float [1, above 0, to 1]
        Useful part of the charge.
    core : float [m, 0 or more]
        Radius of the wire inside: at it the anode is spent and gives nothing more.
    metal : str [one of the keys of corrosion.METALS]
        Of the rod.

    Returns
    -------
    tuple of two arrays [m], [A]
        Radius and current at ``times``.
    """
    fixed = patch_resistance_si(resistivity, area, patches) + wire
    spent = max(core, 1e-5)

    def current(r: float) -> float:
        if r <= spent:
            return 0.0
        path = rod_resistance_si(resistivity, length, 2.0 * r) + fixed
        return float(galvanic_cell_si(steel, area, path, anode).current)

    radii, currents = [], []
    now, r = 0.0, float(radius)
    for then in np.asarray(times, dtype=float):
        steps = max(1, math.ceil((then - now) / 2.63e6))
        dt = (then - now) / steps
        for _ in range(steps if r > spent else 0):
            half = rod_radius_after_si(current(r) * dt / 2.0, r, length, metal, efficiency, core)
            if half <= spent:
                r = core
                break
            r = float(rod_radius_after_si(current(half) * dt, r, length, metal, efficiency, core))
        now = float(then)
        radii.append(r)
        currents.append(current(r))
    return np.asarray(radii), np.asarray(currents)


def rod_resistance(resistivity: Quantity, length: Quantity, diameter: Quantity) -> Quantity:
    """Resistance from a rod to the water around it: R = ρ / (2 π L) (ln(8 L / d) - 1). [1]_

    Parameters
    ----------
    resistivity : Quantity [ohm m, 0.1 to 10 000]
        Of the water.
    length : Quantity [m, ``diameter`` to 100]
        Of the rod.
    diameter : Quantity [m, above 0, to 1]
        Of the rod.

    Returns
    -------
    Quantity [ohm]

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> r = rod_resistance(quantity(100, "ohm*cm"), quantity(2.333, "ft"), quantity(0.7083, "ft"))
    >>> print(f"{r:.3f~P}")
    0.508 Ω

    References
    ----------
    .. [1] H. B. Dwight's formula for a rod, as used in TM 5-811-7. A tank's wall close by makes R smaller.
    """
    across = si("diameter", diameter, "m", 1e-5, 1.0, "a rod")
    rod = si(
        "length", length, "m", float(np.max(across)), 100.0, "Dwight's formula is for a rod, longer than wide"
    )
    ohms = rod_resistance_si(si("resistivity", resistivity, "ohm*m", 0.1, 1e4, _RESISTIVITY), rod, across)
    return quantity(ohms, "ohm")


def patch_resistance(resistivity: Quantity, area: Quantity, patches: float = 1.0) -> Quantity:
    """Resistance from the water to bare patches in a lined wall: R = ρ / (4 a n), a = √(A / (π n)). [1]_

    Parameters
    ----------
    resistivity : Quantity [ohm m, 0.1 to 10 000]
        Of the water.
    area : Quantity [cm², above 0, to 100 000]
        Bare steel in all.
    patches : float [1, 1 to 1 000 000]
        Number of equal round patches, far from each other.

    Returns
    -------
    Quantity [ohm]

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> print(f"{patch_resistance(quantity(20, 'ohm*m'), quantity(10, 'cm**2')).magnitude:.0f} ohm")
    280 ohm

    References
    ----------
    .. [1] J. Newman, J. Electrochem. Soc. 113 (1966) 501: disk electrode (from memory).
    """
    ohm_metres = si("resistivity", resistivity, "ohm*m", 0.1, 1e4, _RESISTIVITY)
    square_metres = si("area", area, "m**2", 1e-10, 10.0, "bare steel in a tank")
    count = number("patches", patches, 1.0, 1e6, "a number of patches")
    return quantity(patch_resistance_si(ohm_metres, square_metres, count), "ohm")


def potential_factor(potential: Quantity) -> Any:
    """Factor y of a magnesium anode's current at a structure's potential.

    Straight lines between the table's rows. [1]_

    Parameters
    ----------
    potential : Quantity [V CSE, -1.20 to -0.70]
        Of the structure, against copper sulfate.

    Returns
    -------
    float [1]

    Raises
    ------
    ValueError
        Potential outside the table.

    Examples
    --------
    >>> print(f"{potential_factor(quantity(-0.85, 'V')):.2f}")
    1.00

    References
    ----------
    .. [1] TM 5-811-7, standard magnesium alloy.
    """
    volts, factor = POTENTIAL_FACTOR
    return np.interp(si("potential", potential, "V", volts[0], volts[-1], "the table's ends"), volts, factor)[
        ()
    ]


def design_current(
    resistivity: Quantity,
    potential: Quantity | None = None,
    size_factor: float = 1.0,
    constant: float = 120_000.0,
) -> Quantity:
    """Current of one magnesium anode in soil or water by the design formula: i = C f y / ρ. [1]_

    i in mA, ρ in ohm cm. For anodes of some kilograms; a heater's rod is what ``galvanic_cell`` is for.

    Parameters
    ----------
    resistivity : Quantity [ohm cm, 500 to 100 000]
        Around the anode.
    potential : Quantity [V CSE, -1.20 to -0.70]
        Of the structure; -0.85 V if not given.
    size_factor : float [1, 0.5 to 4]
        Of the anode's size, f.
    constant : float [mA ohm cm, 10 000 to 1 000 000]
        C, 120 000 for well coated structures.

    Returns
    -------
    Quantity [mA]

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> print(f"{design_current(quantity(4500, 'ohm*cm')).magnitude:.1f} mA")
    26.7 mA

    References
    ----------
    .. [1] TM 5-811-7.
    """
    rho = si(
        "resistivity", resistivity, "ohm*cm", 500.0, 1e5, "soils and fresh waters where magnesium is used"
    )
    y = potential_factor(quantity(PROTECTED, "V") if potential is None else potential)
    f = number("size_factor", size_factor, 0.5, 4.0, "factors of the manual's table")
    c = number("constant", constant, 1e4, 1e6, "constants of the manual")
    return quantity(c * f * y / rho, "mA")


def galvanic_cell(
    resistivity: Quantity,
    rod_length: Quantity,
    rod_diameter: Quantity,
    bare_steel: Quantity,
    patches: float = 1.0,
    wire: Quantity | None = None,
    anode: Quantity | None = None,
    steel: Steel | None = None,
) -> GalvanicCell:
    """Current of an anode rod into the bare steel of a tank, and whether it protects the steel.

    The mixed potential: I = A (i_oxygen(E) + i_hydrogen(E) - i_dissolving(E)) = (E - E_anode) / R, with R the
    water at the rod (Dwight), the water at the patches, and the wire. [1]_

    Parameters
    ----------
    resistivity : Quantity [ohm m, 0.1 to 10 000]
        Of the water, at its temperature.
    rod_length : Quantity [m, ``rod_diameter`` to 100]
        Of the anode.
    rod_diameter : Quantity [m, above 0, to 1]
        Of the anode as it is now.
    bare_steel : Quantity [cm², above 0, to 100 000]
        Steel that the lining leaves bare.
    patches : float [1, 1 to 1 000 000]
        Number of bare patches.
    wire : Quantity [ohm, 0 to 1e9]
        Of the anode's contact to the tank; none if not given.
    anode : Quantity [V CSE, -2.0 to -0.7]
        Potential of the anode when it gives no current; -1.55 V, magnesium, if not given.
    steel : Steel [see its fields]
        Polarisation of the steel; hot fresh water if not given.

    Returns
    -------
    GalvanicCell of quantities [mA, V CSE, V CSE, A/m²] and a bool

    Raises
    ------
    ValueError
        An argument out of range.

    Examples
    --------
    >>> cell = galvanic_cell(quantity(20, "ohm*m"), quantity(8, "inch"), quantity(0.75, "inch"),
    ...                      quantity(50, "cm**2"), patches=20)
    >>> print(f"{cell.current.magnitude:.2f} mA, {cell.steel.magnitude:.2f} V, protected: {cell.protected}")
    4.32 mA, -1.20 V, protected: True

    References
    ----------
    .. [1] Mixed potential theory, any corrosion text; curves of ``Steel``.
    """
    fixed = 0.0 if wire is None else si("wire", wire, "ohm", 0.0, 1e9, "a contact")
    volts = MAGNESIUM_POTENTIAL
    if anode is not None:
        volts = si("anode", anode, "V", -2.0, -0.7, _POTENTIAL)
    curve = Steel() if steel is None else steel
    _check(curve)
    square_metres = si("bare_steel", bare_steel, "m**2", 1e-10, 10.0, "bare steel in a tank")
    path = (
        rod_resistance(resistivity, rod_length, rod_diameter).magnitude
        + patch_resistance(resistivity, bare_steel, patches).magnitude
        + fixed
    )
    cell = galvanic_cell_si(curve, square_metres, path, volts)
    return GalvanicCell(
        quantity(cell.current * 1e3, "mA"),
        quantity(cell.steel, "V"),
        quantity(cell.anode, "V"),
        quantity(cell.dissolving, "A/m**2"),
        bool(cell.protected) if np.ndim(cell.protected) == 0 else cell.protected,
    )


def _check(steel: Steel) -> None:
    number("steel.free", steel.free, -1.0, 0.2, _POTENTIAL)
    number("steel.corrosion", steel.corrosion, 1e-6, 100.0, "steel that corrodes in water, A/m²")
    number("steel.limit", steel.limit, 1e-6, 100.0, "oxygen that reaches steel in water, A/m²")
    if np.any(np.asarray(steel.limit) <= np.asarray(steel.corrosion)):
        raise ValueError(f"steel.limit = {steel.limit} A/m² is out of range; expected more than steel.corrosion "
                         f"= {steel.corrosion} A/m²: oxygen feeds what dissolves")  # fmt: skip
    number("steel.hydrogen", steel.hydrogen, 0.0, 1.0, "hydrogen on steel in neutral water, A/m²")
    number("steel.anodic", steel.anodic, 0.02, 0.5, "Tafel slopes, V a decade")
    number("steel.cathodic", steel.cathodic, 0.02, 0.5, "Tafel slopes, V a decade")
