"""Do the small pieces that lessons show read as they are meant to, in a notebook too?"""

from __future__ import annotations

import re

import pytest

from tankside.lessons.element_drawings import picture
from tankside.lessons.maintenance import half_rule, price_list
from tankside.lessons.pages import say, table, unbroken
from tankside.notebook import Page


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


@pytest.mark.parametrize(
    "page", [price_list(), half_rule(), Page("<p title='$1 or $2'>$620.00, or $780.00</p>", "")]
)
def test_two_prices_are_no_formula(page: Page) -> None:
    """JupyterLab sets text between two dollar signs of one element as a formula (MathJax): is there never a pair?"""
    shown = page._repr_mimebundle_()["text/html"]
    texts = re.split(r"<[^>]*>", shown)
    assert sum(text.count("$") for text in texts) > 1
    assert max(text.count("$") for text in texts) == 1
    assert re.sub(r"<span>\$</span>", "$", shown) == page.markup


def test_sentences_and_captions_keep_a_unit_beside_its_number() -> None:
    """Below a picture and in a paragraph as in a table: is "18 s" never parted by the end of a line?"""
    words = "At 18 s the board has 12.5 V."
    kept = unbroken(words)
    assert kept.count("\N{NO-BREAK SPACE}") == 2
    assert kept in say(words).markup
    assert kept in picture("", 10, 10, words, words)
    assert say(words).text == words
