"""A real JupyterLab for browser tests, with the settings that learners get, and what one does in it."""

from __future__ import annotations

import itertools
import os
import re
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import run

if TYPE_CHECKING:
    from playwright.sync_api import Page


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
        # What a learner's own folder would hold (progress, practice) must not come from whoever runs the tests.
        environment |= {"TANKSIDE_HOME": str(self.home / "learner")}
        command = [
            sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root",
            "--ServerApp.ip=127.0.0.1", f"--ServerApp.port={self.port}", "--ServerApp.port_retries=0",
            f"--IdentityProvider.token={self.token}", f"--ServerApp.root_dir={self.root}",
            f"--LabApp.app_settings_dir={run.LAB_SETTINGS}",
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


def run_all_cells(page: Page) -> None:
    """Run the open notebook's cells as a person would, from the menu. Doesn't wait for what they show."""
    page.locator(".jp-Notebook .jp-Cell").first.wait_for(timeout=60_000)
    # Before the kernel is there the menu's command does nothing, and says nothing.
    page.get_by_text("| Idle").wait_for(timeout=60_000)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.locator(".lm-Menu-itemLabel").get_by_text("Run All Cells", exact=True).click()


def choose_theme(page: Page, name: str) -> None:
    """Put the open JupyterLab into the theme ("JupyterLab Light", "JupyterLab Dark"), from its menu."""
    page.get_by_role("menuitem", name="Settings", exact=True).click()
    item = page.locator(".lm-Menu-item", has=page.get_by_text(name, exact=True))
    theme = page.locator(
        ".lm-Menu-item", has=page.locator(".lm-Menu-itemLabel", has_text=re.compile("^Theme$"))
    )
    theme.hover()  # opens the menu beside it; a click while it opens would close it again
    item.click(timeout=60_000)
    light = "true" if name.endswith("Light") else "false"
    page.wait_for_function("(light) => document.body.dataset.jpThemeLight === light", arg=light)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
