"""Parts of the water side, from the cold inlet to the taps. They have no terminals: their numbers are flows and pressures.

A way for water is described by the flow that it passes at 100 kPa; the flow goes with the square root of the pressure.
"""

from __future__ import annotations

from tankside.heater.parts.base import Parameter, PartType, flag

PASSES = "m^3/s"

INLET = PartType(
    "cold inlet",
    {},
    {
        "pressure": Parameter("Pa", 2e4, 1.5e6, "of the cold water above the air's", 310e3),
        "passes": Parameter(PASSES, 1e-9, 1e-2, "through inlet and tank to the hot outlet at 100 kPa", 4e-4),
        "held": Parameter(
            "", 0.0, 1.0, "1 if a check valve or a pump keeps expanding water from going back", 1.0
        ),
        "hardness": Parameter("mg/L", 0.0, 1000.0, "of the water, as calcium carbonate", 150.0),
        "crossed": flag("1 if the heater's cold and hot lines are swapped"),
    },
    {},
)

CHECK_VALVE = PartType(
    "check valve",
    {},
    {
        "passes": Parameter(PASSES, 1e-9, 1e-2, "when open, at 100 kPa", 5e-4),
        "jammed": Parameter("", 0.0, 1.0, "share of its bore that its own parts block", 0.0),
        "leaks_back": Parameter(
            "", 0.0, 1.0, "share of its bore that stays open when it should be shut", 0.0
        ),
        "siphon": Parameter(
            "W/K", 0.0, 20.0, "heat that circulates up the hot line when it doesn't shut", 1.5
        ),
        "split": Parameter("kg/s", 0.0, 0.5, "of water through a crack in its body", 0.0),
    },
    {},
)

BYPASS = PartType(
    "winter bypass",
    {},
    {"passes": Parameter(PASSES, 1e-9, 1e-2, "when fully open, at 100 kPa", 4e-4)},
    {"open": 0.0},
    positions=("open", "shut"),
    moves="open",
)

HOUSE_TAPS = PartType(
    "house taps",
    {},
    {
        "passes": Parameter(PASSES, 1e-9, 1e-2, "of a hot tap that is fully open, at 100 kPa", 6e-5),
        "crossover": Parameter(
            PASSES, 0.0, 1e-2, "of cold into the hot line through a mixing tap elsewhere, at 100 kPa", 0.0
        ),
        "blocked": Parameter("", 0.0, 1.0, "share of the hot tap's strainer that dirt blocks", 0.0),
    },
    {},
)

RELIEF_VALVE = PartType(
    "relief valve",
    {},
    {
        "opens_at": Parameter("degC", 40.0, 120.0, "water temperature at which it opens", 98.9),
        "closes_at": Parameter("degC", 30.0, 120.0, "water temperature at which it shuts again", 92.0),
        "lifts_at": Parameter("Pa", 5e4, 3e6, "pressure above the air's at which it opens", 1034e3),
        "reseats": Parameter("", 0.3, 0.99, "share of that pressure at which it shuts again", 0.85),
        "capacity": Parameter("kg/s", 1e-4, 10.0, "water that it passes when open", 0.05),
        "weep": Parameter("kg/s", 0.0, 0.1, "that passes its seat when it is shut", 0.0),
        "seized": flag("1 if it doesn't open whatever happens"),
    },
    {"open": 0.0, "passed": 0.0, "lever": 0.0},
)

CUSHION = PartType(
    "air cushion",
    {},
    {"volume": Parameter("m^3", 0.0, 0.1, "of air at 310 kPa of water, in the tank's top or in a vessel")},
    {},
)

VESSEL = PartType(
    "vessel",
    {},
    {
        "aluminum": flag("1 if it is aluminum, 0 if it is steel with a glass lining"),
        "wall": Parameter("m", 2e-4, 0.02, "thickness", 1.9e-3),
        "bare_area": Parameter("m^2", 0.0, 5.0, "steel that the lining leaves bare", 5e-3),
        "patches": Parameter("", 1.0, 1e6, "in so many places", 20.0),
        "pitting": Parameter("", 1.0, 50.0, "deepest pit over the mean loss", 8.0),
        "insulation": Parameter("", 0.5, 20.0, "heat lost, over what a sound jacket loses", 1.0),
        "sediment": Parameter("m", 0.0, 0.1, "depth on its bottom", 0.0),
        "bottom": Parameter("m^2", 1e-3, 1.0, "area of its bottom", 0.05),
        "bottom_share": Parameter(
            "", 0.0, 1.0, "share of a burner's heat that comes in through the bottom", 0.4
        ),
        "transfer_units": Parameter("", 0.2, 5.0, "of the heat exchange from flue gas to water", 1.4),
        "stretch": Parameter(
            "1/Pa", 0.0, 1e-7, "share of its volume that it and its pipes stretch for each pascal", 3e-9
        ),
        "bursts_at": Parameter("Pa", 5e5, 2e7, "pressure above the air's that it doesn't stand", 2.07e6),
        "seep": Parameter("kg/s", 0.0, 0.5, "of water through a hole or a bad joint", 0.0),
    },
    {"mass": 0.0, "ice": 0.0, "burst": 0.0, "pit": 0.0, "seeped": 0.0},
)

TYPES = (INLET, CHECK_VALVE, BYPASS, HOUSE_TAPS, RELIEF_VALVE, CUSHION, VESSEL)
