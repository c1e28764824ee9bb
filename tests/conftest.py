"""What every test may use: the markers, a browser, a real JupyterLab."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from run import RunError, find_browser
from tests.jupyterlab import JupyterLab

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

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


def pytest_configure(config: pytest.Config) -> None:
    """A learner's folder for the whole run, the same for all workers: nobody's own is read or written."""
    if "TANKSIDE_HOME" not in os.environ:
        home = os.environ["TANKSIDE_HOME"] = tempfile.mkdtemp(prefix="tankside-tests-")
        config.add_cleanup(lambda: shutil.rmtree(home, ignore_errors=True))
        config.add_cleanup(lambda: os.environ.pop("TANKSIDE_HOME", None))


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
        terminalreporter.section(
            f"LEFT OUT, because you asked for it: tests marked {name}: {count}", yellow=True
        )


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


@pytest.fixture(scope="session")
def jupyterlab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[JupyterLab]:
    """A real JupyterLab for the session; call it with a folder to get an address: ``jupyterlab(folder) -> url``."""
    server = JupyterLab(tmp_path_factory.mktemp("jupyterlab"))
    try:
        server.wait()
        yield server
    finally:
        server.stop()
