"""Parts of the gas side, from the cylinder to the flue. They have no terminals: their numbers are pressures and bores."""

from __future__ import annotations

from tankside.heater.parts.base import Parameter, PartType, Path, bond, flag, resistance

LEAK = Parameter("mm^2", 0.0, 20.0, "of a gap at its joint through which gas escapes", 0.0)

CYLINDER = PartType(
    "gas cylinder",
    {},
    {
        "fuel": Parameter("", 0.0, 1.0, "what is in it: 0 propane, 1 butane", 0.0),
        "mass": Parameter("kg", 0.0, 200.0, "of fuel in it"),
        "volume": Parameter("m^3", 1e-3, 1.0, "of the whole shell"),
        "tare": Parameter("kg", 0.5, 200.0, "of the empty shell, as stamped on its collar"),
        "wetted_area": Parameter("m^2", 0.01, 10.0, "wall below the liquid when it is filled to its limit"),
        "passage": Parameter(
            "m^3/s", 1e-8, 1.0, "gas that its valve and excess-flow check pass at 2 bar", 5e-3
        ),
        "leak": LEAK,
    },
    {"valve": 1.0, "liquid": 15.0},
    positions=("open", "shut"),
    moves="valve",
)

REGULATOR = PartType(
    "gas regulator",
    {},
    {
        "set_pressure": Parameter("Pa", 100.0, 15e3, "outlet at a trickle"),
        "lock_up": Parameter("", 1.0, 5.0, "outlet at no flow, over the set pressure", 1.15),
        "droop": Parameter("", 0.0, 1.0, "share of the set pressure lost at the rated flow", 0.1),
        "rated_flow": Parameter("m^3/s", 1e-6, 1.0, "that it is made for", 3e-4),
        "open_flow": Parameter("m^3/s", 1e-9, 1.0, "that its open seat passes at 2 bar", 6e-4),
        "seat_leak": Parameter("m^3/s", 0.0, 1e-3, "past a seat that can't close", 0.0),
        "vent": Parameter("", 0.0, 1.0, "share of its vent that is open", 1.0),
    },
    {},
)

HOSE = PartType(
    "gas hose",
    {},
    {
        "bore": Parameter("m", 2e-3, 0.1, "inside diameter"),
        "length": Parameter("m", 0.1, 150.0, "of hose and pipe together"),
        "open_share": Parameter("", 1e-3, 1.0, "share of the bore that is left at its narrowest", 1.0),
        "leak": LEAK,
    },
    {"air": 0.0},
)

COCK = PartType(
    "gas cock",
    {},
    {
        "bore": Parameter("m", 2e-3, 0.05, "inside diameter when fully open", 8e-3),
        "turned": Parameter("", 1e-3, 1.0, "share of its bore that is open when its lever says open", 1.0),
        "leak": LEAK,
    },
    {"open": 1.0},
    positions=("open", "shut"),
    moves="open",
)

HAND_VALVE = PartType(
    "hand gas valve",
    {},
    {
        "opens_at": Parameter(
            "degC", 0.0, 99.0, "water temperature at which it shuts the burner's gas on rise"
        ),
        "closes_at": Parameter("degC", 0.0, 99.0, "water temperature at which it lets gas through again"),
        "pilot_flow": Parameter("", 0.0, 0.2, "share of the burner's gas that its pilot takes", 0.03),
        "leak_by": Parameter("", 0.0, 1.0, "share of the full flow that passes its shut seat", 0.0),
    },
    {"knob": 1.0, "pilot": 1.0, "calls": 1.0, "open": 0.0},
    positions=("on", "off"),
    moves="knob",
)

ORIFICE = PartType(
    "gas orifice",
    {},
    {
        "diameter": Parameter("m", 1e-4, 6e-3, "of its hole, clean"),
        "discharge": Parameter("", 0.3, 1.0, "share of the ideal flow that it passes", 0.9),
        "blocked": Parameter("", 0.0, 0.99, "share of its hole that dirt takes", 0.0),
        "leak": LEAK,
        "made_for": Parameter("m", -500.0, 4500.0, "altitude that it was chosen for", 0.0),
    },
    {},
)

BURNER = PartType(
    "burner",
    {},
    {
        "throat": Parameter("m^2", 1e-6, 0.01, "of its mixing tube"),
        "ports": Parameter("m^2", 1e-6, 0.01, "of all ports together"),
        "port_diameter": Parameter("m", 5e-4, 0.02, "of one port"),
        "shutter": Parameter("m^2", 1e-6, 0.01, "air openings, fully open"),
        "opening": Parameter("", 0.0, 1.0, "share of the shutter that is open", 0.6),
        "web": Parameter("", 0.0, 0.98, "share of its tube that a web, a nest or rust takes", 0.0),
        "rust": Parameter("", 0.0, 0.95, "share of its ports that rust closes", 0.0),
        "askew": Parameter("", 0.0, 1.0, "how far it sits out of line with the jet and the chamber", 0.0),
        "altitude": Parameter("m", -500.0, 4500.0, "at which it stands", 0.0),
        "rated_flow": Parameter("m^3/s", 1e-6, 1e-2, "gas by the plate, at 60 degF and 14.696 psia"),
    },
    {
        "ready": 0.0,
        "lit": 0.0,
        "holds": 0.0,
        "heat": 0.0,
        "cover": 0.0,
        "feeds": 1.0,
        "chamber": 0.0,
        "room_co": 0.0,
    },
)

FLUE = PartType(
    "flue",
    {},
    {
        "excess": Parameter("", 0.0, 5.0, "excess air at the rated input, all as it should be", 0.5),
        "transfer": Parameter("", 0.1, 10.0, "heat-exchange number at the rated input (NTU)", 1.8),
        "blocked": Parameter("", 0.0, 0.99, "share of its way out that is blocked", 0.0),
        "soot": Parameter("mm", 0.0, 10.0, "of soot on its wall", 0.0),
        "baffle": flag("1 if the baffle is missing"),
        "inlet": Parameter("", 0.01, 1.0, "share of the grille for combustion air that is open", 1.0),
    },
    {},
)

BONDING = PartType(
    "bonding point",
    {"ground": "ground"},
    {"resistance": resistance("to earth", 0.5)},
    {},
    (Path("bonding", "earth", "ground", bond("resistance")),),
)

TYPES = (CYLINDER, REGULATOR, HOSE, COCK, HAND_VALVE, ORIFICE, BURNER, FLUE, BONDING)
