"""Is a heater model that can't exist refused with file, key, what was expected and what was found?"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tankside.errors import DataFileError
from tankside.heater.model import MODELS, load_model, model_names, plate_lines, read_model
from tankside.heater.unit import SITE_KEYS, make_unit, site_of
from tankside.streams import Stream

GOOD = (MODELS / "heron_6.toml").read_text(encoding="utf-8")

BAD: dict[str, tuple[str, str, str, str]] = {
    "negative resistance": (
        'resistance = "10 ohm"',
        'resistance = "-10 ohm"',
        "part[8].set.resistance",
        "ohm",
    ),
    "no resistance": ('resistance = "10 ohm"', 'resistance = "0 ohm"', "part[8].set.resistance", "ohm"),
    "no number": ('resistance = "10 ohm"', 'resistance = "ten ohm"', "part[8].set.resistance", "number"),
    "not a number": ('resistance = "10 ohm"', 'resistance = "nan ohm"', "part[8].set.resistance", "number"),
    "endless": ('resistance = "10 ohm"', "resistance = inf", "part.8.set.resistance.str", "string"),
    "far too large": ('resistance = "10 ohm"', 'resistance = "1e99 ohm"', "part[8].set.resistance", "ohm"),
    "wrong kind of unit": ('resistance = "10 ohm"', 'resistance = "10 V"', "part[8].set.resistance", "ohm"),
    "unknown unit": ('resistance = "10 ohm"', 'resistance = "10 oms"', "part[8].set.resistance", "ohm"),
    "junk after the unit": ('\nvoltage = "120 V"', '\nvoltage = "40 V..."', "plate.voltage", "V"),
    "formula": ('\nvoltage = "120 V"', '\nvoltage = "2**7 V"', "plate.voltage", "number"),
    "two parts of one name": ('id = "breaker"', 'id = "supply"', "part[1].id", "no other part"),
    "unknown type": ('type = "link bar"', 'type = "link"', "part[6].type", "one of"),
    "unknown place": ('place = "panel"', 'place = "roof"', "part[2].place", "one of"),
    "unknown parameter": ('rating = "15 A"', 'ratings = "15 A"', "part[1].set.ratings", "one of"),
    "unwired terminal": (
        'from = "panel_switch.load"',
        'from = "junction_box.hot_out"',
        "wire",
        "panel_switch.load",
    ),
    "wire to nowhere": ('to = "breaker.line"', 'to = "breaker.lime"', "wire[0].to", "terminal"),
    "wire from itself": ('to = "breaker.line"', 'to = "supply.hot"', "wire[0].to", "another"),
    "two wires of one name": ('id = "W2"', 'id = "W1"', "wire[1].id", "no other wire"),
    "wire without a size": ('gauge = 14\nlength = "2 ft"', "", "wire.0", "gauge"),
    "endless wire": ('length = "2 ft"', 'length = "2e9 ft"', "wire[0].length", "1000 m"),
    "no such gauge": ("gauge = 14", "gauge = 99", "wire.0.gauge", "30"),
    "two places of one name": ('id = "panel"\nname', 'id = "supply"\nname', "place[1].id", "no other place"),
    "thermostat at 400 °F": ('opens_at = "135 degF"', 'opens_at = "400 degF"', "part[5].set.opens_at", "99"),
    "plate's thermostat at 400 °F": (
        'thermostat = "135 degF"',
        'thermostat = "400 degF"',
        "plate.thermostat",
        "95",
    ),
    "thermostat closes above": (
        'closes_at = "115 degF"',
        'closes_at = "136 degF"',
        "part[5].set.closes_at",
        "below",
    ),
    "limit below thermostat": (
        'opens_at = "180 degF"',
        'opens_at = "130 degF"',
        "part[7].set.opens_at",
        "above",
    ),
    "capacity 0": ('capacity = "6 gal"', 'capacity = "0 gal"', "plate.capacity", "m^3"),
    "tank of nothing": ('volume = "6 gal"', 'volume = "0 gal"', "part[9].set.volume", "m^3"),
    "wattage in volts": ('wattage = "1440 W"', 'wattage = "1440 V"', "plate.wattage", "W"),
    "site upside down": ('["116 V", "124 V"]', '["124 V", "116 V"]', "site.voltage", "lowest first"),
    "site on fire": ('["40 degF", "85 degF"]', '["40 degF", "851 degF"]', "site.room", "60"),
    "cable of no wire": ('wires = ["W2", "W3"]', 'wires = ["W2", "W33"]', "cable[0].wires", "wire above"),
    "cable of farads": (
        'capacitance = "20 pF/ft"',
        'capacitance = "20 F/m"',
        "cable[3].capacitance",
        "1e-06",
    ),
    "spread of half": ('"tank.loss" = 0.1', '"tank.loss" = 0.5', "spread.tank.loss", "share"),
    "spread of nothing": ('"tank.loss" = 0.1', '"tank.lost" = 0.1', "spread.tank.lost", "part.parameter"),
    "key that nobody reads": (
        'name = "Heron 6"',
        'name = "Heron 6"\ncolour = "grey"',
        "plate.colour",
        "not permitted",
    ),
    "key left out": ('wattage = "1440 W"\n', "", "plate.wattage", "required"),
    "not TOML": ("[plate]", "[plate", "file", "TOML"),
}


@pytest.mark.parametrize("what", BAD)
def test_impossible_models(what: str, tmp_path: Path) -> None:
    """Does the first thing wrong become one sentence with the file's name and the key?"""
    old, new, key, expected = BAD[what]
    assert old in GOOD
    file = tmp_path / "wren_4.toml"
    file.write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(DataFileError) as caught:
        read_model(file)
    error = caught.value
    assert error.key == key
    assert expected.casefold() in f"{error.expected} {error.got}".casefold()
    assert "wren_4.toml" in str(error) and "\n" not in str(error) and len(str(error)) < 700


def test_missing_and_unreadable_files(tmp_path: Path) -> None:
    """Are a file that isn't there and one that isn't text told apart, without a traceback's words?"""
    with pytest.raises(DataFileError, match="isn't there"):
        read_model(tmp_path / "none.toml")
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(DataFileError, match="UTF-8"):
        read_model(tmp_path / "bytes.toml")


@pytest.mark.parametrize("name", model_names())
def test_a_site_is_drawn_within_the_file(name: str) -> None:
    """Is each of 100 sites within what the model's file allows, and a unit there cold, full and connected?"""
    model = load_model(name)
    for number in range(100):
        site = site_of(model, Stream(f"{number}", "site"))
        for key, unit in SITE_KEYS.items():
            low, high = (model.number(key, text, unit) for text in getattr(model.data.site, key))
            assert low - 0.01 <= site[key] <= high + 0.01
        unit_there = make_unit(model, site)
        assert unit_there["tank.fill"][0] == 1.0
        assert unit_there["tank.temperature"][0] == site["cold_water"]


@pytest.mark.parametrize("name", model_names())
def test_plate(name: str) -> None:
    """Does the plate read as one would print it?"""
    lines = dict(plate_lines(load_model(name)))
    assert all("deg" not in text for text in lines.values())
    assert "summary" not in lines and lines["capacity"]


def test_models_need_no_unit_registry() -> None:
    """Can every model be read without the third of a second that the unit registry takes?

    If not: the model uses a unit that ``tankside.units._PLAIN`` lacks. Add it there.
    """
    code = (
        "import sys; from tankside.heater.model import load_model, model_names\n"
        "for name in model_names(): load_model(name)\n"
        "sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_a_plate_reads_as_a_plate() -> None:
    """Are units written as a plate prints them, and large numbers parted?"""
    said = dict(plate_lines(load_model("plover_12")))
    assert said["gas input"] == "11,500 BTU/h" and said["thermostat"] == "135 °F" and said["wattage"] == "1440 W"
    assert "1500 m" in dict(plate_lines(load_model("smew_10")))["gas input"]
