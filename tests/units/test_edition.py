"""Does the edition's number change with what it is made of, and with nothing else?"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tankside import edition as module
from tankside.edition import BENCH, ROOT, edition


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A program of two files."""
    (tmp_path / "bench").mkdir()
    (tmp_path / "bench" / "a.py").write_bytes(b"one\ntwo\n")
    (tmp_path / "data.toml").write_bytes(b"x = 1\n")
    monkeypatch.setattr(module, "ROOT", tmp_path)
    edition.cache_clear()
    yield tmp_path
    edition.cache_clear()


def now(*parts: str) -> str:
    """The number as another process would work it out."""
    edition.cache_clear()
    return edition(*parts)


def test_what_it_hangs_on(own: Path) -> None:
    """Another line, name or data: another number. Another line end, another kind of file, another package: the same."""
    whole, bench = now(), now("bench")
    (own / "bench" / "a.py").write_bytes(b"one\r\ntwo\r\n")
    (own / "notes.txt").write_text("no program", encoding="utf-8")
    assert (now(), now("bench")) == (whole, bench)
    (own / "data.toml").write_bytes(b"x = 2\n")
    assert now() != whole and now("bench") == bench
    (own / "bench" / "a.py").rename(own / "bench" / "b.py")
    assert now("bench") != bench


def test_the_bench_is_there() -> None:
    """Is every part that a reading hangs on a part of the program?"""
    assert all((ROOT / part).exists() for part in BENCH)
    assert len(edition(*BENCH)) == 12 and edition(*BENCH) != edition()
