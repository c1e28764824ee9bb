"""Is what a learner reads spelled right, the American way?"""

from __future__ import annotations

import pytest

from tests.lessons.spelling import (
    _known,
    misspelled,
    of_data,
    of_page,
    of_python,
    of_script,
    read_by_learners,
    trade_words,
)


def test_learner_text_is_spelled_right() -> None:
    """Is every word of lessons, labs, questions, bench, data files and screen in the dictionary or the trade's list?"""
    found = read_by_learners()
    assert len(found) > 3000  # it did read them: three thousand different words and more
    wrong = {word: sorted(found[word]) for word in misspelled(list(found))}
    assert not wrong, "Mend them, or add a word of the trade to tests/lessons/trade_words.toml."


@pytest.mark.parametrize(
    "word",
    [
        "recieve",
        "seperate",
        "thermocuple",
        "resistence",
        "presure",
        "guage",
        "occured",
        "untill",
        "teh",
        "wich",
    ],
)
def test_a_slip_is_found(word: str) -> None:
    """Are slips found that people often make? (Common misspellings, from memory.)"""
    assert misspelled([word, word.capitalize()]) == [word, word.capitalize()]


@pytest.mark.parametrize(
    ("british", "american"),
    [
        ("colour", "color"), ("grey", "gray"), ("metre", "meter"), ("litres", "liters"), ("aluminium", "aluminum"),
        ("licence", "license"), ("calliper", "caliper"), ("analyser", "analyzer"), ("draught", "draft"), ("neighbour", "neighbor"),
        ("labelled", "labeled"), ("vapour", "vapor"), ("centre", "center"), ("practise", "practice"), ("winterising", "winterizing"),
    ],
)  # fmt: skip
def test_american_spelling(british: str, american: str) -> None:
    """Is the British form refused and the American one taken? (Merriam-Webster's forms, from memory.)"""
    assert misspelled([british, american]) == [british]


def test_texts_are_read_where_words_stand() -> None:
    """Are code, links, markup and docstrings left out, and headings, tables, comments, strings and values read?"""
    page = "---\nx: frontmater\n---\n# Hed\n[lnik](01-fiel.ipynb) `codde`\n\n| tabel |\n\n```python\n# Pictrue\nhidn()\n```\n"
    assert misspelled(of_page(page)) == ["Hed", "lnik", "tabel", "Pictrue"]
    source = (
        'x = 1\n"""Docstrng is left."""\ny = f"<b class=\\"clss\\">tow wrods</b> {x} moer"\nkey = "kee"\n'
    )
    assert misspelled(of_python(source)) == ["wrods", "moer"]
    assert misspelled(of_script('say("two wrods", `tow ${nmae} moer`); // commnet\n')) == ["wrods", "moer"]
    assert misspelled(of_data({"id": "idd", "say": ["two wrods"], "n": 3})) == ["wrods"]


def test_the_trades_list_holds_nothing_idle() -> None:
    """Is each word on our own list in use, unknown to the dictionary, and there once?"""
    used = {word.casefold() for word in read_by_learners()}
    bare = used | {word.removesuffix("'s").removesuffix("’s") for word in used}
    ours = [word for group in trade_words().values() for word in group]
    assert len(ours) == len(set(ours))
    assert [word for word in ours if word.casefold() not in bare] == []
    assert [word for word in ours if _known(word)] == []
