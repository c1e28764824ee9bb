"""Does run.py say in one line what is wrong before it does anything?"""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import run

FILE = Path(run.__file__)


def start(*words: str, before: str = "") -> subprocess.CompletedProcess[str]:
    """run.py in a process of its own, after the statements ``before``."""
    code = f"import runpy, sys\n{before}\nsys.argv = {['run.py', *words]!r}\n"
    code += f"runpy.run_path({str(FILE)!r}, run_name='__main__')"
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)


def test_no_verb_lists_them() -> None:
    """Without a verb, is every verb shown with what it does, and is that no success?"""
    done = start()
    assert done.returncode == run.EXIT_WRONG_WORD
    assert set(run.VERBS) == set(run.verbs())
    for name, text in run.VERBS.items():
        assert f"  {name} " in done.stdout and text in done.stdout
    assert start("--help").returncode == 0


@pytest.mark.parametrize(
    ("word", "said"),
    [("tset", "Did you mean 'test'?"), ("notebook", "Did you mean 'notebooks'?"), ("q", "There are: ")],
)
def test_unknown_word(word: str, said: str) -> None:
    """Is a misspelt verb met with the nearest one, else with all of them, on one line?"""
    done = start(word)
    assert done.returncode == run.EXIT_WRONG_WORD
    assert done.stderr.startswith(f"tankside: There is no verb {word!r}. {said}")
    assert done.stderr.count("\n") == 1


def test_an_old_python_can_read_it() -> None:
    """Can Python 3.6 still parse the file, so that it gets as far as the sentence about its version?"""
    ast.parse(FILE.read_text(encoding="utf-8"), feature_version=(3, 6))


@pytest.mark.parametrize("version", [(3, 6, 15), (3, 10, 13)])
def test_wrong_python(version: tuple[int, int, int]) -> None:
    """Is a Python that is too old told which one is needed?"""
    done = start("demo", before=f"sys.version_info = {(*version, 'final', 0)}")
    assert done.returncode == run.EXIT_NO_ENVIRONMENT
    name = ".".join(map(str, version[:2]))
    assert done.stderr.startswith(f"Tankside needs Python 3.11 or newer; this is Python {name}.")
    assert done.stderr.count("\n") == 1


def test_oldest_python_is_the_projects() -> None:
    """Do run.py and the project's own declaration name the same Python?"""
    declared = (FILE.parent / "pyproject.toml").read_text(encoding="utf-8")
    assert 'requires-python = ">={}.{}"'.format(*run.OLDEST) in declared


def test_standard_library_only() -> None:
    """Does run.py import nothing that has to be installed first?"""
    tree = ast.parse(FILE.read_text(encoding="utf-8"))
    names = {
        a.name.split(".")[0] for node in ast.walk(tree) if isinstance(node, ast.Import) for a in node.names
    }
    names |= {
        (node.module or "").split(".")[0] for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)
    }
    assert names <= sys.stdlib_module_names


def test_browser_that_is_named(tmp_path: Path) -> None:
    """Does TANKSIDE_BROWSER win, and is a wrong one an error instead of another browser?"""
    program = tmp_path / "my-browser.exe"
    program.write_text("", encoding="utf-8")
    program.chmod(0o755)
    assert run.find_browser({"TANKSIDE_BROWSER": str(program)}) == str(program)
    with pytest.raises(run.RunError, match=r"TANKSIDE_BROWSER names '.*gone', but no program is there"):
        run.find_browser({"TANKSIDE_BROWSER": str(tmp_path / "gone")})


@pytest.mark.parametrize("system", ["darwin", "win"])
def test_browser_off_the_search_path(system: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Are browsers looked for in the usual folders of the other systems?"""
    monkeypatch.setattr(run.shutil, "which", lambda name: None)
    monkeypatch.setattr(run.Path, "home", lambda: tmp_path)
    if system == "darwin":
        monkeypatch.setattr(run.sys, "platform", "darwin")
        place = tmp_path / "Applications/Google Chrome.app/Contents/MacOS/Google Chrome"
        environ = {}
    else:
        # Not by setting os.name, which pathlib reads: the list of places is what is asked for.
        monkeypatch.setattr(run, "_browser_places", lambda environ: run._windows_places(environ))
        place = tmp_path / "Microsoft/Edge/Application/msedge.exe"
        environ = {"ProgramFiles(x86)": str(tmp_path)}
    assert run.find_browser(environ) is None
    place.parent.mkdir(parents=True)
    place.write_text("", encoding="utf-8")
    assert run.find_browser(environ) == str(place)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows ends a process without asking it")
def test_asked_to_end() -> None:
    """When the system ends run.py, does the program that it runs end too, and is the exit code that program's?"""
    inner = "import time; print('on', flush=True); time.sleep(60)"
    code = (
        "import run, signal, sys; signal.signal(signal.SIGTERM, run.end)\n"
        f"sys.exit(run.call([sys.executable, '-c', {inner!r}]))"
    )
    outer = subprocess.Popen([sys.executable, "-c", code], cwd=run.ROOT, stdout=subprocess.PIPE, text=True)
    assert outer.stdout and outer.stdout.readline() == "on\n"
    outer.terminate()
    # Reading to the end would hang if the inner program still held the pipe.
    assert outer.communicate(timeout=20)[0] == ""
    assert outer.returncode == 128 + 15
