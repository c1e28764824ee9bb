// What kinds of parts there are for a picture, by part type, and a small drawing of each. A type that isn't known gets a plain box.

export const GAS_LINE = ["gas cylinder", "gas regulator", "gas hose", "gas cock"];
export const GAS_VALVES = ["gas valve", "pilot gas valve", "hand gas valve"];
export const AT_THE_FLAME = ["igniter", "flame sensor", "thermocouple"];
export const WATER_LINE = ["check valve", "winter bypass", "house taps", "cold inlet", "air cushion"];
export const ON_THE_TANK = ["anode", "relief valve", "element"];

// Strokes on a sheet of 48 by 36.
const STROKES = {
  "thermostat": "M24 6a12 12 0 1 0 .1 0M18 24l9-12m-2 0h3v3",
  "high limit": "M24 6a12 12 0 1 0 .1 0M19 18h10M24 13v10",
  "link bar": "M8 14h32v8H8zM13 18h.1M35 18h.1",
  "splice box": "M8 6h32v24H8zM16 13h16M16 23h16M24 13h.1M24 23h.1",
  "element": "M8 6v24M8 12h24a5 5 0 0 1 0 10H8",
  "tank": "M14 8q0-4 10-4t10 4v20q0 4-10 4t-10-4zM14 18h20",
  "vessel": "M14 8q0-4 10-4t10 4v20q0 4-10 4t-10-4z",
  "converter": "M8 5h32v26H8zM40 5L8 31M13 12q3-5 5 0t5 0M28 24h8M28 27h2M34 27h2",
  "battery": "M8 11h32v20H8zM14 11V7h5v4M29 11V7h5v4M14 20h6M29 20h6M32 17v6",
  "fuse": "M6 18h6M36 18h6M12 12h24v12H12zM12 18h24",
  "harness plug": "M10 8h12v20H10zM26 8h12v20H26zM22 13h4M22 23h4M4 18h6M38 18h6",
  "ground stud": "M24 5v13M12 18h24M16 24h16M20 30h8",
  "bonding point": "M24 5v13M12 18h24M16 24h16M20 30h8",
  "control board": "M7 6h34v24H7zM13 12h9v8h-9zM27 12h8M27 17h8M27 22h5M13 25h9",
  "gas valve": "M8 12l16 10V12L8 22zM24 12h16v10H24zM32 12V5M27 5h10",
  "igniter": "M10 30h14M16 30V17l12-8M30 4l-3 5h5l-3 6M36 30H28",
  "flame sensor": "M9 30h13M15 30V16h22M30 26q-5-5 2-10q7 5 2 10z",
  "thermocouple": "M10 32V16a3 3 0 0 1 6 0v16M13 12V6M22 32h16M30 24q-5-6 2-12q7 6 2 12z",
  "gas cylinder": "M17 13q0-4 7-4t7 4v17H17zM24 9V5M20 5h8",
  "gas regulator": "M24 8a9 9 0 1 0 .1 0M4 17h11M33 17h11M24 8V3",
  "gas hose": "M5 10q8 0 10 8t10 8t9-8t9-8",
  "gas cock": "M6 12l18 10V12L6 22zM24 12l18 10V12zM24 17V6M16 6h16",
  "gas orifice": "M8 12h14l10 4v3l-10 4H8zM32 17.500h8",
  "burner": "M5 22h38v6H5zM12 22q-3-6 2-11q5 5 2 11M24 22q-3-6 2-11q5 5 2 11M35 22q-3-5 1-9q4 4 2 9",
  "flue": "M17 32V12h14v20M12 12h24M14 7h20",
  "cold inlet": "M4 18h12M32 18h12M16 12l16 12V12L16 24zM24 18V7M18 7h12",
  "check valve": "M4 18h8M36 18h8M12 10h24v16H12zM19 10l10 8M29 12v12",
  "winter bypass": "M14 4v8M14 24v8M34 4v28M8 12h12L8 24h12zM14 18H4",
  "house taps": "M6 12h22q8 0 8 9M31 21h10M18 12V6M12 6h12M36 26v3",
  "relief valve": "M18 32V20h12v12M24 20V10M16 10h16l4-5M30 25h10v6",
  "air cushion": "M24 12a9 9 0 1 0 .1 0M24 12V4M16 21h16",
  "anode": "M17 6h14v5H17zM21 11h6v21h-6z",
};
const LIKE = [["12 V thermostat", "thermostat"], ["pilot thermostat", "thermostat"], ["12 V high limit", "high limit"], ["pilot high limit", "high limit"],
  ["12 V link bar", "link bar"], ["pilot gas valve", "gas valve"], ["hand gas valve", "gas valve"]];
for (const [one, other] of LIKE) STROKES[one] = STROKES[other];

export function strokesOf(type) {
  return STROKES[type] || "M10 8h28v20H10z";
}

// Parts that a hand moves are drawn in their position: made, broken, or tripped between the two.
export function handleOf(type, place) {
  if (type === "mains supply") return `M20 6h20v24H20zM26 14v3M34 14v3M30 22h.1${place === "made" ? "M24 11h12v14H24zM30 25v9" : "M4 12h9v12H4zM13 15h3M13 21h3"}`;
  if (type === "breaker") return `M14 4h20v28H14zM19 9h10v18H19z${{ made: "M19 9h10v7H19z", broken: "M19 20h10v7H19z", tripped: "M19 14h10v7H19z" }[place]}`;
  if (/switch/.test(type)) return `M12 4h24v28H12zM17 9h14v18H17z${place === "made" ? "M17 9l14 3v6H17zM24 12v3" : "M17 18h14v6l-14 3zM24 22a1.500 1.500 0 1 0 .1 0"}`;
  return null;
}
