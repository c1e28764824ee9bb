"""Makes ``physics/data/gases.toml`` and ``thermo.toml`` anew from the reference libraries.

``python -m tests.physics.refit`` writes both. Only needed when a gas or a species is added;
``test_fuels.py`` and ``test_thermo.py`` check the committed files against the same libraries.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

import tankside.physics

DATA = Path(tankside.physics.__file__).parent / "data"
R = 8.31446261815324
LOW, HIGH = 220.0, 345.0

# name: (CAS, CoolProp fluid or None when it is never stored liquid here, atoms C H O N)
GASES = {
    "methane": ("74-82-8", None, (1, 4, 0, 0)),
    "ethane": ("74-84-0", "Ethane", (2, 6, 0, 0)),
    "propylene": ("115-07-1", "Propylene", (3, 6, 0, 0)),
    "propane": ("74-98-6", "Propane", (3, 8, 0, 0)),
    "isobutane": ("75-28-5", "IsoButane", (4, 10, 0, 0)),
    "butane": ("106-97-8", "n-Butane", (4, 10, 0, 0)),
    "nitrogen": ("7727-37-9", None, (0, 0, 0, 2)),
    "carbon dioxide": ("124-38-9", None, (1, 0, 2, 0)),
}
SPECIES = ["CO2", "H2O", "CO", "H2", "OH", "H", "O", "O2", "N2", "NO"]


def numbers(values: np.ndarray | list[float], digits: int = 9) -> str:
    return "[" + ", ".join(repr(float(f"{v:.{digits}g}")) for v in values) + "]"


def gas_table(name: str) -> str:
    from chemicals import MW, Hfg, Pc, Tc, omega, search_chemical
    from chemicals.combustion import combustion_data
    from chemicals.safety import LFL, UFL

    cas, fluid, atoms = GASES[name]
    lines = [
        "[[gas]]",
        f'name = "{name}"',
        f'cas = "{cas}"',
        f"atoms = {list(atoms)}",
        f"molar_mass = {MW(cas)}",
    ]
    if name in ("nitrogen", "carbon dioxide"):
        lines += ["higher = 0.0", "lower = 0.0", f"formation = {Hfg(cas) or 0.0}"]
        return "\n".join(lines)
    lines += [
        f"critical = [{Tc(cas)}, {Pc(cas)}]",
        f"acentric = {omega(cas)}",
        f"viscosity = {viscosity(name):.4g}",
    ]
    burn = combustion_data(formula=search_chemical(cas).formula, Hf=Hfg(cas))
    lines += [f"higher = {-burn.HHV:.0f}", f"lower = {-burn.LHV:.1f}", f"formation = {Hfg(cas):.0f}"]
    for key, method in [("flammable_iec", "IEC 60079-20-1 (2010)"), ("flammable_nfpa", "NFPA 497 (2008)")]:
        lines.append(f"{key} = [{LFL(CASRN=cas, method=method)}, {UFL(CASRN=cas, method=method)}]")
    if fluid:
        lines += liquid_lines(fluid)
    return "\n".join(lines)


def viscosity(name: str) -> float:
    """Of the gas at 288.15 K, 1 atm; isobutane and propylene have it in CoolProp too."""
    from CoolProp.CoolProp import PropsSI

    return float(PropsSI("V", "T", 288.15, "P", 101325.0, GASES[name][1] or name.capitalize()))


def liquid_lines(fluid: str) -> list[str]:
    from CoolProp.CoolProp import PropsSI

    tc, pc, rhoc = (PropsSI(key, fluid) for key in ("Tcrit", "pcrit", "rhocrit"))
    high = min(HIGH, 0.99 * tc)
    t = np.linspace(LOW, high, 120)
    tau = 1 - t / tc

    def along(key: str, quality: int = 0) -> np.ndarray:
        return np.array([PropsSI(key, "T", ti, "Q", quality, fluid) for ti in t])

    def fit(columns: list[np.ndarray], y: np.ndarray, weight: np.ndarray) -> np.ndarray:
        return np.linalg.lstsq(np.array(columns).T * weight[:, None], y * weight, rcond=None)[0]

    psat, rho = along("P"), along("D")
    latent = along("H", 1) - along("H", 0)
    cp = along("C")
    wagner = fit([tau, tau**1.5, tau**2.5, tau**5], np.log(psat / pc) * t / tc, np.ones_like(t))
    density = fit([tau**0.35, tau, tau**2, tau**3], rho / rhoc - 1, rhoc / rho)
    heat = fit([tau**0.38, tau**1.38, tau**2.38], latent, 1 / latent)
    capacity = fit([1 / tau, np.ones_like(t), tau, tau**2], cp, 1 / cp)
    return [
        "[gas.liquid]",
        f"range = [{LOW}, {float(f'{high:.4g}')}]",
        f"critical = {numbers([tc, pc, rhoc], 8)}",
        f"vapour_pressure = {numbers(wagner)}",
        f"density = {numbers(density)}",
        f"latent_heat = {numbers(heat)}",
        f"heat_capacity = {numbers(capacity)}",
    ]


GASES_HEAD = """# Pure gases. Written by `python -m tests.physics.refit`; the tests compare it with the same libraries.
# Sources: molar mass, heats of formation and combustion at 298.15 K, flammability limits: chemicals 1.5
# (combustion_data, Hfg, safety.LFL/UFL with IEC 60079-20-1 (2010) and NFPA 497 (2008)).
# Liquid: own fits to the reference equations of state in CoolProp 8, in tau = 1 - T/Tc:
#   vapour_pressure  ln(p/pc) = (a tau + b tau^1.5 + c tau^2.5 + d tau^5) Tc/T
#   density          rho/rhoc = 1 + a tau^0.35 + b tau + c tau^2 + d tau^3
#   latent_heat      a tau^0.38 + b tau^1.38 + c tau^2.38                     J/kg
#   heat_capacity    a/tau + b + c tau + d tau^2                              J/(kg K), saturated liquid
# viscosity: CoolProp 8, gas at 288.15 K and 1 atm. critical, acentric: chemicals 1.5.
# Units: molar_mass g/mol; higher, lower, formation J/mol (heats of combustion as positive numbers);
# flammable_* mole fraction in air; viscosity Pa s; range K; critical K, Pa (liquid: and kg/m3). atoms: C, H, O, N.
"""

THERMO_HEAD = """# Thermodynamic polynomials, seven coefficients, of flue-gas species: cp/R = a1 + a2 T + a3 T^2 + a4 T^3 + a5 T^4,
# h/RT with a6, s/R with a7, at 101325 Pa. Written by `python -m tests.physics.refit`.
# Source: NASA Glenn database (B. J. McBride, S. Gordon, M. A. Reno, NASA TM-4513, 1993), as distributed in
# cantera 3.2, nasa_gas.yaml. atoms: C, H, O, N. range K.
"""


def thermo_tables() -> str:
    import cantera

    found = {s.name: s for s in cantera.Species.list_from_file("nasa_gas.yaml") if s.name in SPECIES}
    out = []
    for name in SPECIES:
        species, coeffs = found[name], found[name].thermo.coeffs
        atoms = [int(species.composition.get(e, 0)) for e in "CHON"]
        out.append(
            f'[[species]]\nname = "{name}"\natoms = {atoms}\n'
            f"range = [{species.thermo.min_temp}, {coeffs[0]}, {species.thermo.max_temp}]\n"
            f"low = {numbers(coeffs[8:15], 10)}\nhigh = {numbers(coeffs[1:8], 10)}\n"
        )
    return "\n".join(out)


if __name__ == "__main__":
    tables = "\n\n".join(gas_table(name) for name in GASES)
    (DATA / "gases.toml").write_text(f"{GASES_HEAD}\n{tables}\n", encoding="utf-8")
    (DATA / "thermo.toml").write_text(f"{THERMO_HEAD}\n{thermo_tables()}", encoding="utf-8")
