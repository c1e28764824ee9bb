"""Do the small pieces that lessons show read as they are meant to, in a notebook too?"""

from __future__ import annotations

import pytest

from tankside.lessons.pages import table, unbroken


@pytest.mark.parametrize(
    ("words", "kept"),
    [
        ("10,200 BTU/h (3.00 kW)", "10,200~BTU/h (3.00~kW)"),
        ("11.0 in. WC (27.3 mbar)", "11.0~in.~WC (27.3~mbar)"),
        ("102 %", "102~%"),
        ("off at 135 °F (57 °C), on at 115 °F", "off at 135~°F (57~°C), on at 115~°F"),
        ("24 months, 8 tries, 10 minutes", "24 months, 8 tries, 10 minutes"),
        ("0.5 gal/minute", "0.5 gal/minute"),
    ],
)
def test_a_number_keeps_its_unit_beside_it(words: str, kept: str) -> None:
    """Does no line of a table end between a number and its unit, while plain words may part?"""
    assert unbroken(words) == kept.replace("~", "\N{NO-BREAK SPACE}")
    page = table("T", ("a", "b"), [("x", words)])
    assert unbroken(words) in page.markup
    assert words in page.text
