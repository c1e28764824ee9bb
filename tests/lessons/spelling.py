"""What a learner reads, word by word, and whether each word is spelled as in the United States.

The dictionary is the en_US one that comes with spylls (Hunspell in plain Python): unlike lists made by counting words
in texts, it refuses British forms (colour, licence, aluminium). The trade's words that it lacks stand in
``trade_words.toml``.
"""

from __future__ import annotations

import ast
import io
import re
import tomllib
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import spylls
from spylls.hunspell import Dictionary
from spylls.hunspell.readers import read_aff, read_dic
from spylls.hunspell.readers.file_reader import BaseReader

ROOT = Path(__file__).parents[2]
SHARED = ROOT / "shared" / "tankside"
TRADE = Path(__file__).with_name("trade_words.toml")
DICTIONARY = Path(spylls.__file__).parent / "hunspell" / "data" / "en" / "en_US"
SPEAKING = ("lessons", "questions", "widgets", "bench", "diagnosis", "figures", "instruments", "scoring")
"""Packages whose sentences come before a learner's eyes, with the modules that stand beside them."""
_WORD = re.compile(r"(?<![\w&#.])[A-Za-zÀ-ÿ]+(?:['’][A-Za-z]+)?(?![\w=(])")
_DROPPED = re.compile(
    r"<[^>]*>|[\w-]+=\"[^\"]*\"|&\w+;|`[^`]*`|https?:\S+|urn:\S+|\b[\w/-]+(?:\.[\w/-]+)*\.[a-z]{2,5}\b(?:/[\w/?=-]*)?|[×÷]"
)
"""Markup, code, addresses and file names."""


class _Utf8(BaseReader):  # type: ignore[misc]
    """One of the dictionary's two files. The library's own reader leaves files open, which our tests take for an error."""

    def __init__(self, path: Path) -> None:
        super().__init__(io.StringIO(path.read_text(encoding="utf-8")))

    def reset_encoding(self, encoding: str) -> None:
        if encoding.casefold() != "utf-8":
            raise ValueError(f"The en_US dictionary was written in UTF-8; this one says {encoding}.")


@cache
def dictionary() -> Dictionary:
    """The en_US dictionary."""
    rules, context = read_aff(_Utf8(DICTIONARY.with_suffix(".aff")))
    return Dictionary(rules, read_dic(_Utf8(DICTIONARY.with_suffix(".dic")), aff=rules, context=context))


@cache
def trade_words() -> dict[str, tuple[str, ...]]:
    """Group -> words of our own that are right although the dictionary lacks them."""
    return {group: tuple(words) for group, words in tomllib.loads(TRADE.read_text(encoding="utf-8")).items()}


def misspelled(words: Iterator[str] | list[str]) -> list[str]:
    """Those words that neither the dictionary nor the list of trade words knows, each once."""
    ours = {word for group in trade_words().values() for word in group}
    return [word for word in dict.fromkeys(words) if not (_plain(word) in ours or _known(word))]


def _plain(word: str) -> str:
    """A word without its possessive, as the list of trade words has it: in small letters, unless it is an abbreviation."""
    word = re.sub(r"['’]s?$", "", word)
    return word.casefold() if word[1:] == word[1:].casefold() else word


def _known(word: str) -> bool:
    straight = word.replace("’", "'")
    return any(dictionary().lookup(form) for form in (straight, re.sub(r"'s?$", "", straight)))


def words_in(text: str) -> list[str]:
    """The words of a text, without markup, code and addresses."""
    return _WORD.findall(_DROPPED.sub(" ", text))


def of_page(markdown: str) -> list[str]:
    """The words of a lesson's or lab's page; of its code cells only the comments, which say what a cell shows."""
    text = re.sub(r"\A---\n.*?\n---\n", "", markdown, flags=re.DOTALL)
    text = re.sub(r"^```.*?^```", _comments, text, flags=re.DOTALL | re.MULTILINE)
    text = re.sub(r"<!--.*?-->", "", text, flags=re.DOTALL)
    return words_in(re.sub(r"\*+|\]\([^)]*\)", "", text))


def _comments(cell: re.Match[str]) -> str:
    return "\n".join(line for line in cell[0].splitlines() if re.match(r"# ", line))


def of_python(source: str) -> list[str]:
    """The words of a module's sentences."""
    return [word for text in sentences(source) for word in words_in(text)]


def sentences(source: str) -> list[str]:
    """A module's strings that hold a space, without docstrings; of a string with values in it, its fixed parts."""
    tree = ast.parse(source)
    alone = {
        id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr) and isinstance(n.value, ast.Constant)
    }
    parts = {id(part) for n in ast.walk(tree) if isinstance(n, ast.JoinedStr) for part in n.values}
    strings = [
        n.value
        for n in ast.walk(tree)
        if isinstance(n, ast.Constant) and isinstance(n.value, str) and id(n) not in alone | parts
    ]
    strings += [
        " ".join(str(part.value) for part in n.values if isinstance(part, ast.Constant))
        for n in ast.walk(tree)
        if isinstance(n, ast.JoinedStr)
    ]
    return [text for text in strings if " " in text.strip()]


def of_script(source: str) -> list[str]:
    """The same of a script of the screen."""
    source = re.sub(r"^\s*//.*$|\s// .*$", "", source, flags=re.MULTILINE)
    found = re.findall(r"\"([^\"\n]*)\"|'([^'\n]*)'|`([^`]*)`", source)
    strings = (re.sub(r"\$\{[^}]*\}", " ", "".join(kinds)) for kinds in found)
    return [w for text in strings if " " in text.strip() for w in words_in(text)]


def of_data(data: Any) -> list[str]:
    """The same of a data file's values."""
    if isinstance(data, dict):
        return [word for value in data.values() for word in of_data(value)]
    if isinstance(data, list):
        return [word for value in data for word in of_data(value)]
    return words_in(data) if isinstance(data, str) and " " in data else []


def read_by_learners() -> dict[str, set[str]]:
    """Every word that stands before a learner -> the files it stands in."""
    found: dict[str, set[str]] = defaultdict(set)

    def note(path: Path, words: list[str]) -> None:
        for word in words:
            found[word].add(path.relative_to(ROOT).as_posix())

    for path in [ROOT / "README.md", *ROOT.glob("course/*.md"), *ROOT.glob("solutions/*/*.md")]:
        note(path, of_page(path.read_text(encoding="utf-8")))
    for path in [*SHARED.glob("*.py"), *(p for folder in SPEAKING for p in (SHARED / folder).rglob("*.py"))]:
        note(path, of_python(path.read_text(encoding="utf-8")))
    for path in SHARED.rglob("*.js"):
        note(path, of_script(path.read_text(encoding="utf-8")))
    for path in [*SHARED.rglob("*.toml"), ROOT / "course" / "curriculum.toml"]:
        note(path, of_data(tomllib.loads(path.read_text(encoding="utf-8"))))
    return found


if __name__ == "__main__":
    everything = read_by_learners()
    for unknown in misspelled(sorted(everything, key=str.casefold)):
        print(unknown, *sorted(everything[unknown])[:5])
