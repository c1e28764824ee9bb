"""How quick is the bench on the screen, and how much does it send? For every heater model, in Chromium.

``python3 run.py bench screen [--model heron_6] [--actions 500]``. The page runs the widget's own JavaScript; Python answers
it in this process, by the updates that a notebook would carry. What JupyterLab and its kernel add is measured by
``pytest tests/widgets/test_bench_in_jupyterlab.py -s`` and ``run.py bench notebook_open``.

Columns: p95 of click to reading and of action to redraw; first paint (widget made in Python, then drawn); JavaScript and
styles sent once; the view when a page opens; bytes of one action's answer (median, largest); messages each way for each
action; JavaScript heap after a collection, before and after so many actions.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))  # run as a script, the folder of the tests isn't on the path

from run import find_browser  # noqa: E402
from tankside.heater.model import model_names  # noqa: E402
from tankside.notebook import plain_bench  # noqa: E402
from tankside.widgets.bench_widget import BenchWidget  # noqa: E402
from tests.widgets.stage import Stage  # noqa: E402

CLICKS = """async (n) => {
  const stops = [...document.querySelectorAll('.ts-stop-terminal')].slice(0, 3);
  const lines = () => document.querySelectorAll('.ts-line').length;
  const until = async (count) => { while (lines() < count) await new Promise(requestAnimationFrame); };
  const out = [];
  if (stops.length < 2) return out;
  let seen = lines();
  const ids = stops.map((s) => s.dataset.stop);
  const press = (id) => document.querySelector(`[data-stop="${CSS.escape(id)}"]`).click();
  press(ids[0]); press(ids[1]);
  await until(seen + 1);
  document.querySelector('.ts-lead-black input[type=radio]').click();
  for (let i = 0; i < n; i += 1) {
    seen = lines();
    const start = performance.now();
    press(ids[ids.length > 2 ? 1 + (i + 1) % 2 : 1]);
    await until(seen + 1);
    out.push(performance.now() - start);
  }
  return out;
}"""
ACTIONS = """async (n) => {
  const lines = () => document.querySelectorAll('.ts-line').length;
  const out = [];
  for (let i = 0; i < n; i += 1) {
    const seen = lines(), start = performance.now();
    document.querySelector('.ts-door-cover:not([hidden])').click();
    while (lines() === seen) await new Promise(requestAnimationFrame);
    out.push(performance.now() - start);
  }
  return out;
}"""
PAINT = """async () => {
  const widget = (await import('/widget.js')).default;
  const host = document.body.appendChild(document.createElement('div'));
  const start = performance.now();
  const close = widget.render({ model: window.models.a, el: host });
  await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
  const took = performance.now() - start;
  close();
  host.remove();
  return took;
}"""


def p95(times: list[float]) -> float:
    """The 95th percentile."""
    return statistics.quantiles(times, n=20)[-1] if len(times) > 1 else float("nan")


def heap(page: Any) -> float:
    """MB of JavaScript heap in use after a collection."""
    session = page.context.new_cdp_session(page)
    session.send("HeapProfiler.enable")
    session.send("HeapProfiler.collectGarbage")
    used = float(session.send("Runtime.getHeapUsage")["usedSize"]) / 1e6
    session.detach()
    return used


def measure(browser: Any, model: str, actions: int) -> tuple[str, ...]:
    """One model's row."""
    bench = plain_bench("no-fault", model)
    for place in bench.view()["places"]:
        if place["cover"]:
            bench.open_cover(place["id"])
    began = time.perf_counter()
    widget = BenchWidget(bench)
    made = 1e3 * (time.perf_counter() - began)
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    at = Stage(page, {"a": widget}, ["view", "step", "answer"], wired=True)
    paint = statistics.median(page.evaluate(PAINT) for _ in range(3))
    whole = len(str(widget.view).encode())
    clicks = page.evaluate(CLICKS, 40)
    redraws = page.evaluate(ACTIONS, 40)
    sizes = [len(text.encode()) for text in at.comms["a"].sent]
    asked = page.evaluate("window.models.a.sent.length")
    ratio = f"{asked / (len(bench.entries) - before_first(bench)):.2f}/{len(sizes) / (len(bench.entries) - before_first(bench)):.2f}"
    before = heap(page)
    page.evaluate(ACTIONS, actions)
    after = heap(page)
    page.close()
    code = len(BenchWidget._esm.encode()) + len(BenchWidget._css.encode())
    return (
        model,
        f"{p95(clicks):.0f} ms" if clicks else "no leads",
        f"{p95(redraws):.0f} ms",
        f"{made + paint:.0f} ms",
        f"{code / 1e3:.0f} kB",
        f"{whole / 1e3:.0f} kB",
        f"{statistics.median(sizes):.0f}, {max(sizes)} B",
        ratio,
        f"{before:.1f} -> {after:.1f} MB",
    )


def before_first(bench: Any) -> int:
    """Lines of the log that were there before the page: the arrival and the covers."""
    return 1 + sum(place.cover for place in bench.state.model.places.values())


def main(arguments: list[str] | None = None) -> int:
    """Print the table; 1 if a click takes more than 100 ms at the 95th percentile."""
    from playwright.sync_api import sync_playwright

    parser = argparse.ArgumentParser(prog="run.py bench screen", description=__doc__.splitlines()[0])
    parser.add_argument("--model", choices=model_names(), help="one model in place of all")
    parser.add_argument(
        "--actions", type=int, default=500, help="actions between the two looks at the memory"
    )
    options = parser.parse_args(arguments)
    heads = ("model", "click to reading", "to redraw", "first paint", "code", "opening", "an action", "messages",
             f"heap, {options.actions} actions")  # fmt: skip
    table = Table(*heads, title="The bench on the screen")
    slow = False
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=find_browser(), args=["--no-sandbox"])
        for model in [options.model] if options.model else model_names():
            row = measure(browser, model, options.actions)
            slow |= row[1].endswith("ms") and float(row[1].split()[0]) > 100
            table.add_row(*row)
        browser.close()
    Console(width=max(Console().width, 130)).print(table)
    return int(slow)


if __name__ == "__main__":
    raise SystemExit(main())
