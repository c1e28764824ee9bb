"""A lesson's own words, and how hard they are to read."""

from __future__ import annotations

import re

import textstat


def words_of(markdown: str, every: bool = True) -> str:
    """What a learner reads, one paragraph or list item a line: no front matter, no code.

    ``every=False`` leaves out headings and tables, whose short scraps would make a text look easier than it is.
    """
    text = re.sub(r"\A---\n.*?\n---\n", "", markdown, flags=re.DOTALL)
    text = re.sub(r"^```.*?^```", "", text, flags=re.DOTALL | re.MULTILINE)
    text = re.sub(r"<!--.*?-->", "", text, flags=re.DOTALL)
    out: list[str] = []
    for line in map(str.strip, text.splitlines()):
        if not line or re.fullmatch(r"[|\-: ]+", line) or (not every and line.startswith(("#", "|"))):
            continue
        cells = line.strip("|").split("|") if line.startswith("|") else [line]
        for cell in map(str.strip, cells):
            plain = re.sub(r"\[([^\]]+)\]\([^)]+\)", r"\1", re.sub(r"^(#+|[-*>]|\d+\.)\s+", "", cell))
            plain = re.sub(r"[*`]", "", plain)
            if plain:
                out.append(plain if plain[-1] in ".?!" else f"{plain.rstrip(':;,')}.")
    return "\n".join(out)


def teaching(markdown: str) -> str:
    """The lesson's sentences without its list of sources, whose titles nobody chose for being easy."""
    return words_of(markdown.partition("\n## Sources")[0], every=False)


def syllables(word: str) -> int:
    """Groups of vowels, less a silent e at the end: a little too many rather than too few."""
    word = word.casefold()
    groups = len(re.findall(r"[aeiouy]+", word))
    silent = word.endswith("e") and not word.endswith(("le", "ee")) and groups > 1
    return max(1, groups - silent)


def flesch_kincaid(text: str) -> float:
    """US grade, 0.39 words/sentence + 11.8 syllables/word - 15.59 (Kincaid 1975).

    textstat has the formula too, but fetches a pronouncing dictionary from the network for it.
    """
    words = re.findall(r"[A-Za-z][A-Za-z'’-]*", text)
    sentences = len(re.findall(r"[.?!](?=\s|$)", text))
    return 0.39 * len(words) / sentences + 11.8 * sum(map(syllables, words)) / len(words) - 15.59


def grades(text: str) -> dict[str, float]:
    """US school grades by three formulas."""
    return {
        "Flesch-Kincaid": flesch_kincaid(text),
        "automated readability": float(textstat.automated_readability_index(text)),
        "Coleman-Liau": float(textstat.coleman_liau_index(text)),
    }


if __name__ == "__main__":
    import sys
    from pathlib import Path

    for name in sys.argv[1:]:
        lesson = Path(name).read_text(encoding="utf-8")
        scores = {kind: round(value, 1) for kind, value in grades(teaching(lesson)).items()}
        print(name, len(words_of(lesson).split()), "words", scores)
