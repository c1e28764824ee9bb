"""What lesson 11 shows: the round and its limits, the order of isolating, records, and a visit with its bill and plan."""

from __future__ import annotations

from tankside.bench.gas import AIR_FREE_LIMIT
from tankside.heater.model import load_model
from tankside.lessons.maintenance_money import bill as bill
from tankside.lessons.maintenance_money import half_rule as half_rule
from tankside.lessons.maintenance_money import minutes_charged as minutes_charged
from tankside.lessons.maintenance_money import now_or_later as now_or_later
from tankside.lessons.maintenance_money import price_list as price_list
from tankside.lessons.maintenance_money import repair_or_new as repair_or_new
from tankside.lessons.maintenance_money import waste as waste
from tankside.lessons.maintenance_wear import flame_rod_trend as flame_rod_trend
from tankside.lessons.maintenance_wear import rods_over_years as rods_over_years
from tankside.lessons.maintenance_wear import sediment_over_years as sediment_over_years
from tankside.lessons.maintenance_worked import (
    MODEL,
    bills,
    entry,
    fate_of_new,
    fate_of_old,
    old_rod_across,
    on_this_water,
    share_left,
    visit,
    visit_example,
)
from tankside.lessons.pages import reveal, table
from tankside.measures import amount
from tankside.notebook import Page
from tankside.physics.resistance_heating import resistance_band
from tankside.questions.anode_ways import years
from tankside.quoting import load_prices
from tankside.units import quantity
from tankside.widgets.flame_current import believes

SERVICE = (114.0, 126.0)
"""V of a 120 V supply at the service, plus or minus 5 % (secondary pages on ANSI C84.1; tests/published/electrical.toml)."""
RELIEF = 150.0
"""psi at most on a relief valve's tag (ANSI Z21.22 as a city's code quotes it; tests/published/water.toml)."""
LOCK_UP = 14.0
"""in. WC at most, at rest (from memory; tests/published/gas.toml)."""
WATER_HEATER_CO = 200.0
"""ppm of CO air-free, water heaters (secondary page; tests/published/combustion.toml)."""
INSULATION = 0.3
"""MΩ at least, class I with a heating element (VDE 0701-0702 as a secondary page has it; tests/published/electrical.toml)."""
WEAK = 1.0
"""µA below which a flame's signal is weak (secondary page; tests/published/ignition.toml)."""


def isolating() -> Page:
    """What is shut before the wet part, and what is opened after it, in order."""
    rows = [
        ("12 V", "panel switch off: the burner goes out", "on, once the gas is tested tight; watch it light"),
        ("gas", "the heater's gas cock shut; tag on it", "cock open slowly; smell; soap on every joint and test tap that was apart"),
        ("mains", "off, lock and tag on, key in your pocket, proven dead", "covers on, lock off, on: only with a full tank"),
        ("heat", "run a hot tap until it is cool", "–"),
        ("water", "cold shut, a hot tap open: no pressure; then drain", "fill, air out at a hot tap, dry at every joint"),
    ]  # fmt: skip
    note = "Afterwards from the bottom of the table to the top: water, mains, gas, 12 V. So the flame comes last, and nothing is lit before it is tight."
    shut = table("Shut from top to bottom", ("what", "before the wet part", "afterwards"), rows, note)
    return reveal(shut, "Show the order")


def round_of_the_year() -> Page:
    """The yearly round in one order: where, what, with what, which limit, and where the limit comes from."""
    model = load_model(MODEL)
    watts, volts = quantity(model.number("plate.wattage", model.plate.wattage, "W"), "W"), quantity(120, "V")
    low, high = (q.to("ohm").magnitude for q in resistance_band(watts, volts))
    running = amount(11.0, "inWC", "gas pressure")
    rows = [
        ("1", "owner", "what changed, what was noticed", "ears", "–", "–"),
        ("2", "outside", "smell; hose age and rubbing; cylinder fast and upright", "nose, eyes", "no smell, nothing rubbed or cracked", "common practice"),
        ("3", "outside", "flue, terminal, grille", "lamp, mirror", "free, dry, no soot", "common practice"),
        ("4", "cabin", "carbon monoxide, burner on", "analyzer", "nothing above outside air", "common practice"),
        ("5", "supply", "volts at the outlet, heater on", "meter", f"{SERVICE[0]:.0f} to {SERVICE[1]:.0f} V at the service", "published"),
        ("6", "gas", "pressure at rest and burner on", "U-tube", f"{running} running; at rest up to {amount(LOCK_UP, 'inWC', 'gas pressure')}", "plate; from memory"),
        ("7", "burner", "start, flame", "eyes, watch", "first try, steady, blue", "maker"),
        ("8", "burner", "flame rod's current", "microammeter in series", f"above {WEAK:.0f} µA; this board needs {believes():.1f}", "published; maker"),
        ("9", "flue", "CO air-free", "analyzer", f"below {WATER_HEATER_CO:.0f} ppm (water heaters) or {AIR_FREE_LIMIT:.0f} (vented heating): lists differ; a good flame has far less", "published"),
        ("10", "water", "hardness, conductivity", "strip, meter", "none: they set the next date", "–"),
        ("11", "water", "pressure with taps shut, as it heats", "gauge", f"well below {amount(RELIEF, 'psi', 'pressure')} on the relief valve's tag", "published"),
        ("12", "element", "mains off and locked: ohms, both leads off; ohms to the tank", "meter", f"{low:.1f} to {high:.1f} Ω; to the tank at least {INSULATION:g} MΩ, mostly far more", "from memory; published"),
        ("13", "relief valve", "lever, with cool water", "bucket", "opens, and shuts dry; old ones may not: have a new one at hand", "maker"),
        ("14", "tank, drained", "rod: ohms, caliper; lamp: mud, pits", "meter, caliper", "a short; more than half of its metal; no mud, no pits", "common practice"),
        ("15", "everything", "leak test, then proof of operation", "soap, gauge, thermometer", "no bubble; hot, by gas and by mains", "common practice"),
    ]  # fmt: skip
    head = ("", "where", "look at, measure", "with", "limit", "limit is")
    note = "Outside before inside, dry before wet, cheap before dear. What ends the round early, smell and carbon monoxide, stands at its head."
    return table("The round of the year", head, rows, note)


def example() -> Page:
    """The worked example: the yearly visit, with the faults still possible after each step."""
    rows = [(str(s.line), s.did, s.why, str(s.left)) for s in visit_example()]
    return table(
        "Worked example", ("log line", "done, and what it showed", "what it tells", "faults left"), rows
    )


def plan() -> Page:
    """What the caliper and the water say of the old rod and of the new one, and the plan that follows."""
    old, new = fate_of_old(), fate_of_new()
    across = _when_new()
    rows = [
        ("old rod", f"{amount(1e3 * old_rod_across(), 'mm', 'small length')} of {across}", f"{100 * share_left():.0f} %", years(old.life), "renew it now"),
        ("new rod", across, "100 %", years(new.life), f"look after {years(new.life / 2)}"),
    ]  # fmt: skip
    note = f"If nobody looked again, the steel would be through after {years(new.through)}: so the date goes on the heater, in the record, and on the bill."
    return reveal(
        table("The plan", ("rod", "across", "metal left", "on this water lasts", "so"), rows, note),
        "Show the plan",
    )


def _when_new() -> str:
    return amount(2e3 * float(on_this_water()["anode.radius"][0]), "mm", "small length")


def records() -> Page:
    """The same visit written down twice."""
    bench, _ = visit()
    amps = entry("watch start")["result"]["readings"][0]["reading"]
    flue, water = entry("flue gas"), entry("water test")
    prices, (with_rod, _, _) = load_prices(), bills()
    gas = entry("gas pressure")["text"]
    left = [e for e in bench.entries if e["verb"] == "switch"][-3:]
    rows = [
        ("who, when, which heater", "–", f"name, date, {load_model(MODEL).plate.name}, its number and site"),
        ("why", "\"service\"", f"\"{bench.order.complaint}\""),
        ("found, electric and gas", "\"all OK\"", f"{gas} Flame rod {amps['digits']} µA; CO air-free {flue['result']['air free']:.0f} ppm."),
        ("found, water", "–", water["text"]),
        ("found, tank", "\"anode worn\"", f"{entry('look at anode')['text']} New it was {_when_new()}. {entry('lamp in tank')['text']}"),
        ("done", "\"new part\"", f"{entry('repair')['text']} Ohms to the tank again: {entry('probe', True)['text']}"),
        ("proof", "–", f"{entry('soap test')['text']} {entry('prove operation')['text']}"),
        ("left how", "–", "; ".join(e["text"].rstrip(".") for e in left) + "; nothing left unsafe"),
        ("next", "\"next year\"", f"rod: in {years(fate_of_new().life / 2)}, for the water of this site"),
        ("money", "\"as usual\"", f"{prices.money(with_rod.total)} told before, signed"),
    ]  # fmt: skip
    note = "B takes some minutes more. Next year it saves the whole search: each reading then has one to stand beside."
    return reveal(
        table("One visit, two records", ("", "record A", "record B"), rows, note), "Show both records"
    )
