"""Is an environment trusted only when it was finished, and put right when it wasn't?"""

from __future__ import annotations

import errno
import json
import subprocess
import sys
from pathlib import Path

import pytest

import run

NOWHERE = "http://" + "127.0.0.1:9/"  # the discard port: a connection is refused at once


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A project with two tiny locks."""
    (tmp_path / "locks").mkdir()
    for name in ("course", "develop"):
        lock = f"{name}-needs==1.0 \\\n    --hash=sha256:{'0' * 64}\n"
        (tmp_path / "locks" / f"{name}.txt").write_text(lock, encoding="utf-8")
    return tmp_path


def finished(project: Path, lock: str = "develop") -> run.Environment:
    """What a finished run leaves, as far as run.py looks at it."""
    environment = run.Environment(project)
    environment.python.parent.mkdir(parents=True)
    environment.python.write_text("", encoding="utf-8")
    environment.stamp_file.write_text(json.dumps(environment.wanted(lock)), encoding="utf-8")
    return environment


def no_programs(*args: object, **kwargs: object) -> None:
    raise AssertionError("a ready environment starts no program")


def test_ready(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Does a second call start at once: no program run, no file written, not even the lock?"""
    environment = finished(project)
    monkeypatch.setattr(run.subprocess, "Popen", no_programs)
    before = sorted(project.rglob("*"))
    environment.make("course")
    environment.make("develop")
    assert sorted(project.rglob("*")) == before


def test_the_longer_lock_serves_both(project: Path) -> None:
    """Does an environment for the course alone not pass for one with the tests' tools?"""
    environment = finished(project, "course")
    assert environment.ready("course") and not environment.ready("develop")


@pytest.mark.parametrize(
    "spoil",
    ["lock", "python", "folder", "no stamp", "half a stamp", "a stamp of another shape", "no interpreter"],
)
def test_not_ready(spoil: str, project: Path) -> None:
    """Is each thing that can have changed noticed?"""
    environment = finished(project)
    assert environment.ready("develop")
    stamp = json.loads(environment.stamp_file.read_text(encoding="utf-8"))
    if spoil == "lock":
        (project / "locks" / "course.txt").write_text("other==2", encoding="utf-8")
    elif spoil in ("python", "folder"):
        environment.stamp_file.write_text(json.dumps({**stamp, spoil: "other"}), encoding="utf-8")
    elif spoil == "no stamp":
        environment.stamp_file.unlink()
    elif spoil == "half a stamp":
        environment.stamp_file.write_text(json.dumps(stamp)[:20], encoding="utf-8")
    elif spoil == "a stamp of another shape":
        environment.stamp_file.write_text("[1]", encoding="utf-8")
    else:
        environment.python.unlink()
    assert not environment.ready("develop") and not environment.ready("course")


def test_line_ends_do_not_matter(project: Path) -> None:
    """Does a checkout with other line ends leave the environment as it is?"""
    environment = finished(project)
    lock = project / "locks" / "course.txt"
    lock.write_bytes(lock.read_bytes().replace(b"\n", b"\r\n"))
    assert environment.ready("course")


def test_no_network(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a network: one line, the details kept in a file, nothing that looks finished; and made anew next time?"""
    monkeypatch.setenv("PIP_INDEX_URL", NOWHERE)
    monkeypatch.setenv("PIP_RETRIES", "0")
    monkeypatch.setenv("PIP_CONFIG_FILE", run.os.devnull)
    for name in ("PIP_FIND_LINKS", "PIP_EXTRA_INDEX_URL"):
        monkeypatch.delenv(name, raising=False)
    environment = run.Environment(project)
    with pytest.raises(run.RunError, match=r"no way to the package index\. Check the network") as error:
        environment.make("course")
    assert "\n" not in str(error.value)
    assert "course-needs" in (environment.folder / "tankside-pip.log").read_text(encoding="utf-8")
    assert environment.marker.exists() and not environment.ready("course")
    # The network is back: the half-made environment goes, and a whole one comes.
    left = environment.folder / "left-behind"
    left.write_text("", encoding="utf-8")
    (project / "locks" / "course.txt").write_text("", encoding="utf-8")
    environment.make("course")
    assert environment.ready("course") and not left.exists() and not environment.marker.exists()
    assert not (project / ".venv.old").exists()
    done = subprocess.run(
        [environment.python, "-c", "import sys; print(*sys.path, sep='\\n')"], capture_output=True, text=True, check=True
    )  # fmt: skip
    # Only folders that exist are put on the path; this project has neither, so its own file is what can be seen.
    (paths,) = environment.folder.rglob("tankside.pth")
    assert paths.read_text(encoding="utf-8").split("\n") == [
        str(project / "shared"),
        str(project / "autograder"),
        "",
    ]
    assert str(paths.parent) in done.stdout.splitlines()


def test_killed_while_removing(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Is what a cut-short removal left taken away by the next call?"""
    old = project / ".venv.old"
    (old / "lib").mkdir(parents=True)
    environment = run.Environment(project)
    environment._lay_ground()
    assert not old.exists() and environment.marker.exists()


def test_somebody_elses_environment(project: Path) -> None:
    """Is a folder .venv that run.py didn't make never deleted?"""
    environment = run.Environment(project)
    own = environment.folder / "own.txt"
    own.parent.mkdir()
    own.write_text("mine", encoding="utf-8")
    with pytest.raises(run.RunError, match=r"no Python that works\. Delete that folder"):
        environment.make("course")
    assert own.exists()


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.ENOSPC, "The disk is full."),
        (errno.EROFS, "can't be written"),
        (errno.EACCES, "can't be written"),
        (errno.EIO, "Put that right"),
    ],
)
def test_what_the_system_refuses(
    number: int, said: str, project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Do a full disk and a folder that can only be read get one line?"""

    def refuse(*args: object, **kwargs: object) -> None:
        raise OSError(number, "refused", str(project))

    monkeypatch.setattr(run.Path, "mkdir", refuse)
    with pytest.raises(run.RunError, match=said):
        run.Environment(project).make("course")


@pytest.mark.parametrize(
    ("output", "said"),
    [
        (
            "ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device",
            "disk is full",
        ),
        (
            "ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.",
            "isn't the one in the lock",
        ),
        ("ERROR: No matching distribution found for scipy==1.17.1", "There is no scipy==1.17.1 for Python"),
        ("ERROR: Could not install: [Errno 13] Permission denied: 'x'", "Who owns that folder?"),
        ("noise\nERROR: something new\nmore noise", "ERROR: something new"),
        ("", "no reason was given"),
    ],
)
def test_pips_words(output: str, said: str) -> None:
    """Is what pip says brought down to one line with the place of the rest?"""
    line = run.explain_pip(output, Path("pip.log"))
    assert said in line and line.endswith("Details: pip.log") and "\n" not in line


def test_one_at_a_time(tmp_path: Path) -> None:
    """Does a second process wait for the first, and does the lock end with the process that held it?"""
    lock = tmp_path / "lock"
    code = (
        "import sys, run; from pathlib import Path\n"
        "with run.only_one(Path(sys.argv[1])): print('held', flush=True); sys.stdin.read()"
    )
    holder = subprocess.Popen(
        [sys.executable, "-c", code, str(lock)],
        cwd=run.ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert holder.stdout and holder.stdout.readline() == "held\n"
    with lock.open("a+", encoding="utf-8") as file:
        assert not run.try_lock(file)
    holder.kill()
    holder.communicate()
    with lock.open("a+", encoding="utf-8") as file:
        assert run.try_lock(file)


def test_locks_hold_hashes_only() -> None:
    """Is every requirement of both locks pinned and hashed, the shorter one part of the longer, and no host named?"""
    pins = {}
    for name in ("course", "develop"):
        text = (run.ROOT / "locks" / f"{name}.txt").read_text(encoding="utf-8")
        assert "://" not in text
        blocks = [block for block in text.replace("\\\n", "").splitlines() if block[:1].isalnum()]
        assert not [block for block in blocks if "==" not in block or "--hash=sha256:" not in block]
        pins[name] = {block.split(" ")[0] for block in blocks}
    assert pins["course"] < pins["develop"]
