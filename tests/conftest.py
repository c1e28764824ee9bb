"""What every test may use: the markers, a browser, a real JupyterLab."""

from __future__ import annotations

import itertools
import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from run import RunError, find_browser

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

ROOT = Path(__file__).parent.parent
LEAVABLE = ("browser", "ngspice")

# No test may reach the network, and neither may a browser that a test starts.
BROWSER_OPTIONS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--leave-out",
        action="append",
        default=[],
        choices=LEAVABLE,
        metavar="MARKER",
        help="leave out the tests with this marker and say how many they were",
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    out = config.getoption("--leave-out")
    kept: list[pytest.Item] = []
    gone: list[pytest.Item] = []
    for item in items:
        if item.get_closest_marker("browser") and not item.get_closest_marker("xdist_group"):
            # One worker for all of them: a second browser beside the first makes both too slow to be reliable.
            item.add_marker(pytest.mark.xdist_group("browser"))
        (gone if any(item.get_closest_marker(name) for name in out) else kept).append(item)
    if gone:
        counts = {name: sum(1 for item in gone if item.get_closest_marker(name)) for name in out}
        config.stash[_LEFT_OUT] = counts
        config.hook.pytest_deselected(items=gone)
        items[:] = kept
    workers = getattr(config, "workeroutput", None)
    if workers is not None:
        workers["left_out"] = config.stash.get(_LEFT_OUT, {})


_LEFT_OUT = pytest.StashKey[dict[str, int]]()


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: object, error: object) -> None:
    """A worker of pytest-xdist has ended: take over what it left out (every worker collects the same tests)."""
    counts = getattr(node, "workeroutput", {}).get("left_out", {})
    if counts:
        node.config.stash[_LEFT_OUT] = counts  # type: ignore[attr-defined]


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    for name, count in config.stash.get(_LEFT_OUT, {}).items():
        terminalreporter.section(f"{count} {name} tests were LEFT OUT, because you asked for it", yellow=True)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A headless Chromium, one for each module of tests (mark them ``browser``).

    Not one for the session: while Playwright runs, ``asyncio`` counts as running, and other tests of the same
    process that start a loop of their own would fail.
    """
    from playwright.sync_api import sync_playwright

    try:
        program = find_browser()
    except RunError as error:
        pytest.fail(str(error))
    if program is None:
        pytest.fail("No Chromium, Chrome or Edge was found. Install one or name it in TANKSIDE_BROWSER.")
    options = [*BROWSER_OPTIONS]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        options.append("--no-sandbox")  # Chromium refuses to start as root with it
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=program, args=options)
        yield chromium
        chromium.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A fresh page, 1280 x 800, with nothing remembered. An error in the page's own scripts fails the test."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    yield page
    context.close()
    assert not errors, f"scripts in the page failed: {errors}"


class LabUrl(str):
    """An address with its access token; ``folder`` is the copy that the server shows."""

    folder: Path


class JupyterLab:
    """One JupyterLab server. Calling it with a folder puts a copy of that folder behind an address.

    ``jupyterlab(folder)`` opens the folder's copy, ``jupyterlab(folder, "lab03.ipynb")`` a file in it.
    """

    def __init__(self, root: Path) -> None:
        self.root, self.home = root / "files", root / "home"
        self.root.mkdir()
        self.home.mkdir()
        self.token = secrets.token_hex(16)
        self.port = _free_port()
        self.log = root / "jupyter.log"
        self._count = itertools.count(1)
        folders = (
            "JUPYTER_CONFIG_DIR",
            "JUPYTER_DATA_DIR",
            "JUPYTER_RUNTIME_DIR",
            "IPYTHONDIR",
            "MPLCONFIGDIR",
        )
        environment = {**os.environ, **{name: str(self.home / name.lower()) for name in folders}}
        # Set or not, the learner's own settings must not change what a test sees.
        environment |= {"JUPYTERLAB_SETTINGS_DIR": str(self.home / "settings")}
        environment |= {"JUPYTERLAB_WORKSPACES_DIR": str(self.home / "workspaces")}
        command = [
            sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root",
            "--ServerApp.ip=127.0.0.1", f"--ServerApp.port={self.port}", "--ServerApp.port_retries=0",
            f"--IdentityProvider.token={self.token}", f"--ServerApp.root_dir={self.root}",
            "--LabApp.news_url=None",
            "--LabApp.check_for_updates_class=jupyterlab.handlers.announcements.NeverCheckForUpdate",
        ]  # fmt: skip
        with self.log.open("wb") as log:
            self.process = subprocess.Popen(
                command, cwd=self.home, env=environment, stdout=log, stderr=subprocess.STDOUT
            )

    def wait(self, seconds: float = 60) -> None:
        """Until the server answers. Fails with the end of its log when it ends or takes too long."""
        end = time.monotonic() + seconds
        while self.process.poll() is None and time.monotonic() < end:
            try:
                urllib.request.urlopen(
                    f"http://127.0.0.1:{self.port}/api?token={self.token}", timeout=5
                ).close()
                return
            except (urllib.error.URLError, OSError):
                time.sleep(0.1)
        pytest.fail(
            "JupyterLab didn't start: " + self.log.read_text(encoding="utf-8", errors="replace")[-2000:]
        )

    def __call__(self, folder: Path, file: str = "") -> LabUrl:
        name = f"{next(self._count):02d}-{folder.name}"
        copy = self.root / name
        shutil.copytree(folder, copy)
        # A workspace of its own: no tab that an earlier test left open comes back.
        path = f"{name}/{file}" if file else name
        url = LabUrl(f"http://127.0.0.1:{self.port}/lab/workspaces/{name}/tree/{path}?token={self.token}")
        url.folder = copy
        return url

    def stop(self) -> None:
        self.process.terminate()
        try:
            self.process.wait(20)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


@pytest.fixture(scope="session")
def jupyterlab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[JupyterLab]:
    """A real JupyterLab for the session; call it with a folder to get an address: ``jupyterlab(folder) -> url``."""
    server = JupyterLab(tmp_path_factory.mktemp("jupyterlab"))
    try:
        server.wait()
        yield server
    finally:
        server.stop()


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
