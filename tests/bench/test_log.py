"""Is every line on the disk before its result is shown, and does work go on after anything that can happen to a file?"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tankside.bench import Bench
from tankside.bench.log import LOG_NAME
from tankside.errors import BenchLogError
from tankside.practice import lesson_order
from tests.orders import SAFE, do_all, log_of
from tests.strategies import Step

ORDER = lesson_order("element-low")
WORK: list[Step] = [
    ("look", {}), ("prove meter", {}), ("probe", {"red": "supply.hot", "black": "supply.neutral"}), *SAFE,
    ("lift lead", {"wire": "W10"}), ("meter", {"function": "Ω"}), ("probe", {"red": "element.1", "black": "element.2"}),
    ("wait", {"minutes": 7.25}), ("drain", {}),
]  # fmt: skip


def worked(file: Path) -> Bench:
    bench = Bench(ORDER, file)
    assert not do_all(bench, WORK)
    return bench


def same_bench(one: Bench, two: Bench) -> None:
    """The same view, and every number of the unit to the last bit."""
    assert one.view() == two.view()
    assert one.state.unit.values.keys() == two.state.unit.values.keys()
    for key, array in one.state.unit.values.items():
        assert array[0] == two.state.unit[key][0], key
    assert one.state.dead_places == two.state.dead_places
    assert one.state.meter.zeroed == two.state.meter.zeroed


def test_taken_up_bit_for_bit(tmp_path: Path) -> None:
    """Opened again after each single line: is the bench the same to the last bit, and does it go on the same?"""
    file = tmp_path / LOG_NAME
    whole = worked(file)
    all_lines = file.read_bytes().splitlines(keepends=True)
    assert [json.loads(line) for line in all_lines] == whole.entries
    for count in range(1, len(all_lines) + 1, 3):
        file.write_bytes(b"".join(all_lines[:count]))
        again = Bench(ORDER, file)
        assert again.notes == []
        do_all(again, WORK[count - 1 :])
        same_bench(again, whole)
        assert file.read_bytes() == b"".join(all_lines)


def test_append_only(tmp_path: Path) -> None:
    """Does each action add one line and change no byte before it?"""
    file = tmp_path / LOG_NAME
    bench = Bench(ORDER, file)
    text = file.read_bytes()
    for verb, args in WORK:
        bench.do(verb, **args)
        now = file.read_bytes()
        assert now.startswith(text) and now[len(text) :].count(b"\n") == 1 and now.endswith(b"\n")
        text = now


@pytest.mark.parametrize("cut", [1, 2, 17, 60])
def test_a_cut_last_line(cut: int, tmp_path: Path) -> None:
    """With the last line cut off, by as little as its line end: is the rest taken up, and does the next line start clean?"""
    file = tmp_path / LOG_NAME
    worked(file)
    text = file.read_bytes()
    file.write_bytes(text[:-cut])
    again = Bench(ORDER, file)
    whole = text.count(b"\n") - (0 if cut == 1 else 1)  # without its line end alone, the line is all there
    assert len(again.entries) == whole
    assert bool(again.notes) == (cut > 1) and all("cut off" in note for note in again.notes)
    again.wait(1)
    lines = file.read_bytes().splitlines()
    assert len(lines) == whole + 1 and all(json.loads(line) for line in lines)
    same_bench(Bench(ORDER, file), again)


def test_only_half_of_the_first_line(tmp_path: Path) -> None:
    """With nothing but half of the first line: does the work simply begin?"""
    file = tmp_path / LOG_NAME
    Bench(ORDER, file)
    file.write_bytes(file.read_bytes()[:30])
    again = Bench(ORDER, file)
    assert [entry["verb"] for entry in again.entries] == ["begin"]
    assert len(file.read_bytes().splitlines()) == 1


@pytest.mark.parametrize(
    "damage", [b"\x00" * 40, b"not a line", b'{"verb": 3}', b'{"a": NaN}', b"[" * 15_000], ids=range(5)
)
def test_damage_in_the_middle(damage: bytes, tmp_path: Path) -> None:
    """With a line in the middle gone bad: is the good part taken up, nothing thrown away, and the new work kept?"""
    file = tmp_path / LOG_NAME
    worked(file)
    lines = file.read_bytes().split(b"\n")
    lines[5] = damage
    file.write_bytes(b"\n".join(lines))
    again = Bench(ORDER, file)
    assert len(again.entries) == 5
    assert "Line 6" in again.notes[0] and "bench-log-damaged-1.jsonl" in again.notes[0]
    assert (tmp_path / "bench-log-damaged-1.jsonl").read_bytes() == b"\n".join(lines)
    again.wait(1)
    assert len(Bench(ORDER, file).entries) == 6


def test_a_log_saved_by_an_editor(tmp_path: Path) -> None:
    """With a byte order mark, Windows line ends and blank lines: is it the same log?"""
    file = tmp_path / LOG_NAME
    whole = worked(file)
    text = file.read_bytes()
    file.write_bytes(b"\xef\xbb\xbf" + text.replace(b"\n", b"\r\n\r\n"))
    same_bench(Bench(ORDER, file), whole)
    assert file.read_bytes() == text


def test_another_orders_log(tmp_path: Path) -> None:
    """With another order's log in the folder: is it refused and left alone?"""
    file = tmp_path / LOG_NAME
    Bench(lesson_order("element-low", number=2), file)
    text = file.read_bytes()
    with pytest.raises(BenchLogError, match="another work order"):
        Bench(ORDER, file)
    assert file.read_bytes() == text


def test_two_benches_on_one_log(tmp_path: Path) -> None:
    """With the same log open twice: does the second to act keep its hands off instead of spoiling the log?"""
    file = tmp_path / LOG_NAME
    one, two = Bench(ORDER, file), Bench(ORDER, file)
    one.wait(5)
    before, text = two.view(), file.read_bytes()
    with pytest.raises(BenchLogError, match="changed by something else"):
        two.wait(5)
    assert two.view() == before and file.read_bytes() == text
    one.wait(5)
    assert len(Bench(ORDER, file).entries) == 3


def test_a_log_that_vanished(tmp_path: Path) -> None:
    """With the log deleted under one's hands: is that said, instead of a new log that begins in the middle?"""
    file = tmp_path / LOG_NAME
    bench = worked(file)
    file.unlink()
    with pytest.raises(BenchLogError, match="changed by something else"):
        bench.wait(1)
    assert not file.exists()


def test_no_folder(tmp_path: Path) -> None:
    """In a folder that isn't there, or on a path that is a folder: one clear error?"""
    with pytest.raises(BenchLogError, match="can't be written"):
        Bench(ORDER, tmp_path / "gone" / LOG_NAME)
    (tmp_path / LOG_NAME).mkdir()
    with pytest.raises(BenchLogError, match=r"Can't read"):
        Bench(ORDER, tmp_path / LOG_NAME)


@pytest.mark.skipif(os.name == "nt" or not hasattr(os, "geteuid"), reason="permissions of POSIX")
def test_read_only(tmp_path: Path) -> None:
    """In a folder and a file that only others may write: one clear error, and nothing changed?"""
    file = tmp_path / LOG_NAME
    Bench(ORDER, file)
    file.chmod(0o444)
    tmp_path.chmod(0o555)
    try:
        if (
            os.geteuid() == 0
        ):  # the superuser may write everywhere: ask a file system that nobody may write to
            with pytest.raises(BenchLogError, match="can't be written"):
                Bench(ORDER, Path("/proc/self") / LOG_NAME)
            return
        bench = Bench(ORDER, file)
        before = bench.view()
        with pytest.raises(BenchLogError, match="can't be written"):
            bench.wait(1)
        assert bench.view() == before
    finally:
        tmp_path.chmod(0o755)


FULL = """
import resource, signal, sys
from pathlib import Path
from tankside.bench import Bench
from tankside.errors import BenchLogError
from tankside.practice import lesson_order

file = Path(sys.argv[1])
bench = Bench(lesson_order("element-low"), file)
bench.look()
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
size = file.stat().st_size
limits = resource.getrlimit(resource.RLIMIT_FSIZE)
resource.setrlimit(resource.RLIMIT_FSIZE, (size + 40, limits[1]))
before, clock = bench.view(), bench.state.clock
try:
    bench.wait(5)
except BenchLogError as error:
    print(error)
assert bench.view() == before and bench.state.clock == clock
assert file.stat().st_size == size, "half a line is left"
resource.setrlimit(resource.RLIMIT_FSIZE, limits)
bench.wait(5)
print(len(file.read_bytes().splitlines()))
"""


@pytest.mark.skipif(os.name == "nt", reason="a limit on file sizes is POSIX's")
def test_disk_full(tmp_path: Path) -> None:
    """When the disk takes only half a line: is the half taken back, nothing changed, and all well once there is room?"""
    done = subprocess.run(
        [sys.executable, "-c", FULL, str(tmp_path / LOG_NAME)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "can't be written" in done.stdout and "Free some space" in done.stdout
    assert done.stdout.split()[-1] == "3"


BUSY = """
import sys
from pathlib import Path
from tankside.bench import Bench
from tankside.practice import lesson_order

bench = Bench(lesson_order("element-low"), Path(sys.argv[1]))
while True:
    print(bench.wait(1).entry["seq"], flush=True)
"""


@pytest.mark.skipif(os.name == "nt", reason="SIGKILL")
@pytest.mark.parametrize("after", [1, 7, 23])
def test_killed_at_work(after: int, tmp_path: Path) -> None:
    """Killed without warning: is every line whose result was shown on the disk, and is the log taken up?"""
    file = tmp_path / LOG_NAME
    with subprocess.Popen(
        [sys.executable, "-c", BUSY, str(file)], stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        shown = 0
        for line in process.stdout:
            shown = int(line)
            if shown >= after:
                process.send_signal(signal.SIGKILL)
                break
    again = Bench(ORDER, file)
    assert len(again.entries) > shown
    again.wait(1)
    assert len(Bench(ORDER, file).entries) == len(again.entries)


def test_interrupted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the kernel is interrupted while a line is written: do state and log stay together?"""
    file = tmp_path / LOG_NAME
    bench = worked(file)
    before = bench.view()

    def stop(_number: int) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", stop)
        with pytest.raises(KeyboardInterrupt):
            bench.wait(1)
    assert bench.view() == before
    with pytest.raises(BenchLogError, match="changed by something else"):
        bench.wait(1)  # the line may be on the disk; opening it again tells
    assert len(Bench(ORDER, file).entries) == len(before["log"]) + 1


def test_a_log_is_what_the_bench_remembers(tmp_path: Path) -> None:
    """Does the file hold just what a bench without a file would have?"""
    file = tmp_path / LOG_NAME
    bench = worked(file)
    assert log_of(bench) == file.read_text(encoding="utf-8").splitlines()
