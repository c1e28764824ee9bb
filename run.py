"""Tankside's one command: makes the environment from the lock, then runs what you ask for.

Needs Python 3.11 or newer and nothing else. ``python3 run.py`` alone lists what it can do.
The environment is the folder .venv beside this file; delete it and the next call makes it anew.
"""

# The check comes first, and the rest keeps to syntax that an old Python can still read:
# whoever starts this with the wrong one is to see a sentence, not a SyntaxError.
import sys

OLDEST = (3, 11)
if sys.version_info[:2] < OLDEST:
    sys.stderr.write(
        "Tankside needs Python %d.%d or newer; this is Python %d.%d. "
        "Start it with a newer one, such as: python3.12 run.py\n" % (OLDEST + tuple(sys.version_info[:2]))
    )
    sys.exit(69)

import contextlib
import difflib
import errno
import hashlib
import json
import os
import re
import shutil
import signal
import subprocess
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent
# What learners' JupyterLab leaves out: questions about news, and nbgrader's panels, which are the instructor's.
LAB_SETTINGS = ROOT / "shared" / "jupyterlab"
BROWSERS = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
    "microsoft-edge-stable",
    "msedge",
)
# 0 and the run program's own codes apart, these are the only exits; none of them means two things.
EXIT_WRONG_WORD, EXIT_NO_ENVIRONMENT, EXIT_STOPPED = 64, 69, 130

VERBS = {
    "demo": "show the whole thing once: hand out, work, mark, explain",
    "lab": "open the course in JupyterLab (--no-browser prints the address only)",
    "class": "the instructor's side: hand out, collect, grade, feedback, reports",
    "check": "prove that a heater model, a fault or a lab that you added works (check labs lab05: has it worked)",
    "notebooks": "build lessons and labs from their Markdown (--check only compares)",
    "test": "run the tests (--no-browser, --no-ngspice leave those out; pytest's options follow)",
    "lint": "run the style, type and layer checks",
    "bench": "measure how fast things are",
}


class RunError(Exception):
    """Something that stops the run; its text is the one line that the user sees."""

    def __init__(self, text, code=EXIT_NO_ENVIRONMENT):
        super().__init__(text)
        self.code = code


class Ended(KeyboardInterrupt):
    """The system asked this process to end (SIGTERM); unlike Ctrl+C, no program that it started was asked."""


# --- what the user sees -------------------------------------------------------------------------------------


def say(text):
    """A line of progress. It goes to stderr, so that a program's own output can be piped."""
    sys.stderr.write(f"tankside: {text}\n")
    sys.stderr.flush()


class Progress:
    """One line that changes in place on a terminal; elsewhere one line for every tenth of the way."""

    WIDTH = 24

    def __init__(self, total, stream=None):
        self.total, self.stream = max(total, 1), stream or sys.stderr
        self.live = self.stream.isatty()
        self.tenth = 0

    def show(self, done, what):
        share = min(done / self.total, 1.0)
        if self.live:
            bar = "#" * int(share * self.WIDTH)
            self.stream.write(f"\r  [{bar:<{self.WIDTH}}] {share:4.0%}  {what[:38]:<38}")
        elif int(share * 10) > self.tenth:
            self.stream.write(f"  {share:4.0%}  {what}\n")
        self.tenth = int(share * 10)
        self.stream.flush()

    def end(self):
        if self.live:
            self.stream.write("\r" + " " * (self.WIDTH + 50) + "\r")
            self.stream.flush()


# --- the environment ----------------------------------------------------------------------------------------


class Environment:
    """The folder .venv: made from a lock, trusted only while its stamp says that it was finished."""

    def __init__(self, root=ROOT):
        self.root = Path(root)
        self.folder = self.root / ".venv"
        self.stamp_file = self.folder / "tankside-stamp.json"
        self.marker = self.folder / "tankside-unfinished"
        scripts = "Scripts/python.exe" if os.name == "nt" else "bin/python"
        self.python = self.folder / scripts

    def wanted(self, lock):
        """What the stamp must hold for ``lock``. The longer lock contains the shorter one, so it serves both."""
        names = ("course", "develop") if lock == "develop" else ("course",)
        return {
            "python": "{}.{}".format(*sys.version_info[:2]),
            "folder": str(self.root),
            "locks": {name: self._digest(name) for name in names},
        }

    def ready(self, lock):
        """Is the environment whole, and made from these locks by this Python?"""
        try:
            stamp = json.loads(self.stamp_file.read_text(encoding="utf-8"))
            wanted = self.wanted(lock)
            locks = {name: stamp["locks"].get(name) for name in wanted["locks"]}
            return {**stamp, "locks": locks} == wanted and self.python.exists()
        except (OSError, ValueError, TypeError, KeyError, AttributeError):
            return False

    def make(self, lock):
        """Make or repair the environment unless it is ready. Raises ``RunError``."""
        if self.ready(lock):
            return
        with translated(self.root), only_one(self.root / ".venv.lock") as held:
            if self.ready(lock):  # somebody else made it while we waited
                return
            started = time.monotonic()
            self._lay_ground()
            if not self.python.exists():
                say("step 1 of 3: making a Python environment in .venv")
                run_quiet([sys.executable, "-m", "venv", str(self.folder)], self._explain_venv)
            say("step 2 of 3: fetching and installing the libraries (about a minute, once)")
            self._install(lock, held)
            say("step 3 of 3: adding Tankside itself")
            self._add_paths()
            stamp = self.wanted(lock)
            if lock == "course":
                # What a former stamp said about the longer lock no longer holds once this one has changed.
                stamp["locks"] = {"course": stamp["locks"]["course"]}
            replace_text(self.stamp_file, json.dumps(stamp, indent=1) + "\n")
            with contextlib.suppress(FileNotFoundError):
                self.marker.unlink()
            say(f"the environment is ready ({time.monotonic() - started:.0f} s)")

    def _digest(self, name):
        path = self.root / "locks" / f"{name}.txt"
        try:
            # Line ends may differ between checkouts; the requirements don't.
            return hashlib.sha256(path.read_bytes().replace(b"\r\n", b"\n")).hexdigest()
        except FileNotFoundError:
            raise RunError(f"{path} is missing. Restore it from the project's repository.") from None

    def _lay_ground(self):
        """Leave nothing behind that could be half made, and mark what follows as unfinished."""
        old = self.root / ".venv.old"
        if old.exists():
            shutil.rmtree(old)
        ours = self.marker.exists() or self.stamp_file.exists()
        foreign = self.python.exists() and not ours
        if ours and not self._reusable():
            say("the environment in .venv is half made, moved, or another Python's; making it anew")
            # Renamed first: a removal that is cut short must not leave something that looks like an environment.
            os.replace(self.folder, old)
            shutil.rmtree(old)
        elif foreign:
            self._check_foreign()
        elif self.folder.exists() and not self.python.exists() and any(self.folder.iterdir()):
            raise RunError(
                f"{self.folder} has no Python that works. Delete that folder, then run this again."
            )
        with contextlib.suppress(FileNotFoundError):
            self.stamp_file.unlink()
        self.folder.mkdir(exist_ok=True)
        if not foreign:
            self.marker.write_text("This environment is being made by run.py.\n", encoding="utf-8")

    def _check_foreign(self):
        """An environment that somebody made by hand is completed, never deleted; but it must be of this Python."""
        code = "import sys; print('{}.{}'.format(*sys.version_info[:2]))"
        version = run_quiet(
            [str(self.python), "-c", code], lambda text: f"{self.python} doesn't work: {text}"
        ).strip()
        if version != self.wanted("course")["python"]:
            text = (
                "{} belongs to Python {}, and this is Python {}.{}. Delete that folder, then run this again."
            )
            raise RunError(text.format(self.folder, version, *sys.version_info[:2]))

    def _reusable(self):
        """May the next lock be installed over this environment? Only over one that was finished here."""
        if self.marker.exists() or not self.python.exists():
            return False
        try:
            stamp = json.loads(self.stamp_file.read_text(encoding="utf-8"))
            wanted = self.wanted("course")
            return all(stamp[key] == wanted[key] for key in ("python", "folder"))
        except (OSError, ValueError, TypeError, KeyError):
            return False

    def _install(self, lock, held):
        path = self.root / "locks" / f"{lock}.txt"
        # A lock also lists what other systems need; pip skips those, so the count is an upper bound.
        total = len(re.findall(r"^[A-Za-z0-9]", path.read_text(encoding="utf-8"), re.MULTILINE))
        progress, done, log = Progress(2 * total), 0, self.folder / "tankside-pip.log"
        command = [
            str(self.python),
            "-m",
            "pip",
            "install",
            "--require-hashes",
            "--no-deps",
            "--only-binary=:all:",
        ]
        command += ["--no-input", "--progress-bar=off", "--disable-pip-version-check", "-r", str(path)]
        environment = {"PIP_RETRIES": "2", **os.environ, "PYTHONUTF8": "1"}
        site = self._site()
        with log.open("w", encoding="utf-8") as kept:
            pip = subprocess.Popen(
                command,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                env=environment,
                encoding="utf-8",
                errors="replace",
                # If this process is killed, pip goes on; then it keeps the lock until it is done.
                pass_fds=() if os.name == "nt" else (held.fileno(),),
            )
            try:
                for line in pip.stdout:
                    kept.write(line)
                    if re.match(r"Collecting|Processing|Requirement already satisfied|Ignoring", line):
                        done += 1
                        progress.show(done, "fetching")
                    elif line.startswith("Installing collected"):
                        # pip says nothing more until it is done; the folders that it leaves tell how far it is.
                        while pip.poll() is None:
                            time.sleep(0.5)
                            progress.show(total + len(list(site.glob("*.dist-info"))), "unpacking")
            except BaseException:
                pip.terminate()
                pip.wait()
                raise
            finally:
                pip.stdout.close()
                progress.end()
            code = pip.wait()
        if code:
            raise RunError(explain_pip(log.read_text(encoding="utf-8"), log))

    def _add_paths(self):
        """Make ``tankside`` importable straight from the checkout: nothing to build, edits count at once."""
        lines = [str(self.root / "shared"), str(self.root / "autograder")]
        replace_text(self._site() / "tankside.pth", "\n".join(lines) + "\n")

    def _site(self):
        code = "import sysconfig; print(sysconfig.get_path('purelib'))"
        return Path(run_quiet([str(self.python), "-c", code], last_line).strip())

    @staticmethod
    def _explain_venv(output):
        if "ensurepip" in output or "python3-venv" in output:
            return (
                "This Python can't make environments. Install its venv part (Debian, Ubuntu: python3-venv)."
            )
        return "Python couldn't make an environment in .venv: " + last_line(output)


def explain_pip(output, log):
    """pip's many words in one line, with the file that keeps all of them."""
    low = output.lower()
    if "no space left" in low or "errno 28" in low or "not enough space" in low:
        return f"The disk is full. Free about 2 GB, then run this again. Details: {log}"
    if "do not match the hashes" in low:
        return f"A downloaded library isn't the one in the lock, so nothing was installed from it. Details: {log}"
    if re.search(
        r"connection|retrying|timed out|temporary failure|name resolution|proxyerror|ssl|from versions: none",
        low,
    ):
        return f"The libraries couldn't be fetched: no way to the package index. Check the network. Details: {log}"
    if "no matching distribution" in low:
        version = "{}.{}".format(*sys.version_info[:2])
        missing = re.findall(r"No matching distribution found for (\S+)", output)
        return f"There is no {missing[0] if missing else 'library'} for Python {version} here. Details: {log}"
    if "permission denied" in low or "read-only" in low:
        return f"The libraries couldn't be written into .venv. Who owns that folder? Details: {log}"
    return f"Installing the libraries failed: {last_line(output)} Details: {log}"


def last_line(output):
    lines = [line.strip() for line in output.splitlines() if line.strip()]
    errors = [line for line in lines if line.startswith(("ERROR", "Error"))]
    return (errors or lines or ["no reason was given."])[-1]


def run_quiet(command, explain):
    """Run a short program and return what it printed; a failure becomes a ``RunError``."""
    environment = {**os.environ, "PYTHONUTF8": "1"}
    done = subprocess.run(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        env=environment,
        encoding="utf-8",
        errors="replace",
        check=False,
    )
    if done.returncode:
        if re.search(r"no space left|errno 28", done.stdout, re.IGNORECASE):
            raise OSError(errno.ENOSPC, "No space left on device")
        raise RunError(explain(done.stdout))
    return done.stdout


def replace_text(path, text):
    """Replace a file all at once, so that no half of it is ever read."""
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    with part.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    os.replace(part, path)


@contextlib.contextmanager
def translated(folder):
    """Turn what the system refuses into one line about ``folder``."""
    try:
        yield
    except OSError as error:
        place = error.filename or folder
        if error.errno == errno.ENOSPC:
            text = "The disk is full. Free about 2 GB, then run this again."
        elif error.errno in (errno.EROFS, errno.EACCES, errno.EPERM):
            text = (
                f"{place} can't be written. Copy the project to a folder of your own, or close what uses it."
            )
        else:
            text = f"{place}: {error.strerror or error}. Put that right, then run this again."
        raise RunError(text) from error


@contextlib.contextmanager
def only_one(path):
    """Hold a lock file. The system lets go of it when this process ends, however it ends."""
    with path.open("a+", encoding="utf-8") as file:
        waited = False
        while not try_lock(file):
            if not waited:
                say("another run.py is making the environment; waiting for it")
                waited = True
            time.sleep(0.3)
        yield file


def try_lock(file):
    try:
        if os.name == "nt":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in (errno.EACCES, errno.EAGAIN, errno.EDEADLK):
            return False
        raise
    return True


# --- other programs -----------------------------------------------------------------------------------------


def find_browser(environ=os.environ):
    """A Chromium, Chrome or Edge: the one that TANKSIDE_BROWSER names, else the first that is found, else None."""
    named = environ.get("TANKSIDE_BROWSER")
    if named:
        found = shutil.which(named)
        if not found:
            raise RunError(f"TANKSIDE_BROWSER names {named!r}, but no program is there.", EXIT_WRONG_WORD)
        return found
    for name in BROWSERS:
        found = shutil.which(name)
        if found:
            return found
    return next((str(place) for place in _browser_places(environ) if place.is_file()), None)


def _browser_places(environ):
    """Where macOS and Windows keep browsers: there they aren't on the search path."""
    if sys.platform == "darwin":
        for name in ("Chromium", "Google Chrome", "Microsoft Edge"):
            for folder in (Path("/Applications"), Path.home() / "Applications"):
                yield folder / f"{name}.app" / "Contents" / "MacOS" / name
    elif os.name == "nt":
        yield from _windows_places(environ)


def _windows_places(environ):
    for variable in ("ProgramFiles", "ProgramFiles(x86)", "LocalAppData"):
        if environ.get(variable):
            base = Path(environ[variable])
            yield base / "Google" / "Chrome" / "Application" / "chrome.exe"
            yield base / "Chromium" / "Application" / "chrome.exe"
            yield base / "Microsoft" / "Edge" / "Application" / "msedge.exe"


def call(command, cwd=None, extra=None):
    """Run a program to its end in the foreground and return its exit code."""
    # The commands of the libraries (nbgrader calls one of them by name) stand beside the environment's Python.
    path = os.pathsep.join([str(Path(command[0]).parent), os.environ.get("PATH", os.defpath)])
    environment = {**os.environ, "PATH": path, "PYTHONUTF8": "1", **(extra or {})}
    child = subprocess.Popen(command, cwd=cwd, env=environment)
    while True:
        try:
            code = child.wait()
            break
        except Ended:
            child.terminate()
        except KeyboardInterrupt:
            # The terminal sends it to the child as well, which may need a while to close what it has open.
            continue
    return code if code >= 0 else 128 - code


# --- the verbs ----------------------------------------------------------------------------------------------


def module(name, *before, lock="course", cwd=None):
    """A verb that runs a Python module and hands all its words on."""

    def verb(words):
        environment = Environment()
        environment.make(lock)
        return call([str(environment.python), "-m", name, *before, *words], cwd)

    return verb


def lab(words):
    start = ROOT / "course" / "start.ipynb"
    if not start.exists():
        raise RunError(f"{start} is missing. Build it first: python3 run.py notebooks")
    environment = Environment()
    environment.make("course")
    options = [f"--ServerApp.root_dir={ROOT}", f"--LabApp.app_settings_dir={LAB_SETTINGS}"]
    options += ["--LabApp.default_url=/lab/tree/course/start.ipynb"]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        options.append("--allow-root")
    where = (
        "copy its address from below into a browser"
        if "--no-browser" in words
        else "it opens in your browser"
    )
    say(f"JupyterLab starts; {where}. To end it, come back here and press Ctrl+C twice.")
    return call([str(environment.python), "-m", "jupyterlab", *options, *words], ROOT)


def test(words):
    words = list(words)
    left_out, extra = [], {}
    if "--no-browser" in words:
        words.remove("--no-browser")
        left_out.append("browser")
    else:
        browser = find_browser()
        if not browser:
            raise RunError(
                "The browser tests need Chromium, Chrome or Edge, and none was found. Install one (Debian: apt-get "
                "install chromium), or name it in TANKSIDE_BROWSER, or leave those tests out with --no-browser.",
                EXIT_NO_ENVIRONMENT,
            )
        extra["TANKSIDE_BROWSER"] = browser
    if "--no-ngspice" in words:
        words.remove("--no-ngspice")
        left_out.append("ngspice")
    elif not shutil.which("ngspice"):
        raise RunError(
            "The circuit tests compare with ngspice, and it wasn't found. Install it (Debian: apt-get install "
            "ngspice; macOS: brew install ngspice), or leave those tests out with --no-ngspice.",
            EXIT_NO_ENVIRONMENT,
        )
    environment = Environment()
    environment.make("develop")
    options = [f"--leave-out={name}" for name in left_out]
    parallel = any(re.match(r"-n|--numprocesses|--pdb|-p$", word) for word in words)
    if (os.cpu_count() or 1) > 1 and not parallel:
        options += ["-n", "2", "--dist", "loadgroup"]
    return call([str(environment.python), "-m", "pytest", *options, *words], ROOT, extra)


def lint(words):
    environment = Environment()
    environment.make("develop")
    python, worst = str(environment.python), 0
    tools = {
        "style (ruff)": [python, "-m", "ruff", "check", "."],
        "types (mypy)": [python, "-m", "mypy"],
        "layers (import-linter)": [
            python,
            "-c",
            "from importlinter.cli import lint_imports_command as c; c()",
        ],
    }
    for name, command in tools.items():
        say(f"checking {name}")
        code = call(command, ROOT)
        worst = worst or code
    return worst


def check(words):
    """A lab that is named is worked by the reference technician and every kind of learner."""
    if words[:1] == ["labs"] and len(words) > 1:
        return module("tankside_autograder.check_labs")(words[1:])
    return module("tankside.check")(words)


def verbs():
    return {
        "demo": module("tankside_autograder.demo"),
        "lab": lab,
        "class": module("tankside_autograder"),
        "check": check,
        "notebooks": module("tankside_autograder.notebooks", cwd=ROOT),
        "test": test,
        "lint": lint,
        "bench": module("benchmarks", lock="develop", cwd=ROOT),
    }


def overview():
    lines = [f"  {name:<10} {text}" for name, text in VERBS.items()]
    return "Usage: python3 run.py VERB [options]\n\n" + "\n".join(lines) + "\n"


def main(words):
    if not words or words[0] in ("-h", "--help", "help"):
        sys.stdout.write(overview())
        return 0 if words else EXIT_WRONG_WORD
    table = verbs()
    if words[0] not in table:
        near = difflib.get_close_matches(words[0], table, n=1)
        hint = f"Did you mean {near[0]!r}?" if near else "There are: " + ", ".join(table) + "."
        raise RunError(f"There is no verb {words[0]!r}. {hint}", EXIT_WRONG_WORD)
    return table[words[0]](words[1:])


def end(*_):
    raise Ended


def start(words):
    """``main`` with every expected trouble turned into one line. Returns the exit code."""
    signal.signal(signal.SIGTERM, end)
    try:
        return main(words)
    except RunError as error:
        say(str(error))
        return error.code
    except KeyboardInterrupt:
        say("stopped. The next call goes on from a clean state.")
        return EXIT_STOPPED


if __name__ == "__main__":
    sys.exit(start(sys.argv[1:]))
