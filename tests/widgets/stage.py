"""A page that shows a widget without a notebook: its own JavaScript, and its Python model behind it.

What JupyterLab does between the two (one message out, one update back) is done here by
``expose_function``; everything else is the code that a notebook runs.
"""

from __future__ import annotations

import json
from typing import Any

from anywidget import AnyWidget

_PAGE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Widget</title>
<style>body {{ margin: 16px; background: {paper}; }}</style><link rel="stylesheet" href="/widget.css"></head>
<body {attributes}><main><h1 style="font: 600 18px system-ui; color: {ink}">Notebook</h1><h2 style="font: 600 16px system-ui; color: {ink}">Lab</h2>{hosts}</main>
<script type="module">
import widget from "MODULE";
class Model {{
  constructor(state, key) {{ this.state = state; this.key = key; this.on_ = {{}}; this.sent = []; }}
  get(name) {{ return this.state[name]; }}
  set(name, value) {{ this.state[name] = value; }}
  save_changes() {{}}
  on(event, f) {{ (this.on_[event] ||= []).push(f); }}
  off(event, f) {{ this.on_[event] = (this.on_[event] || []).filter((g) => g !== f); }}
  async send(message) {{
    this.sent.push(structuredClone(message));
    if (this.silent) return;
    this.take(await window.toPython(this.key, message));
  }}
  take(update) {{
    Object.assign(this.state, update);
    for (const name of Object.keys(update)) for (const f of this.on_["change:" + name] || []) f();
  }}
}}
window.models = {{}};
window.closers = {{}};
for (const [key, state] of Object.entries(STATES)) {{
  const model = (window.models[key] = new Model(state, key));
  window.closers[key] = widget.render({{ model, el: document.querySelector("#host-" + key) }});
}}
window.ready = true;
</script></body></html>"""


class Comm:
    """Stands where a notebook's connection would: keeps the updates that a widget sends, as JSON text."""

    comm_id = "stage"

    def __init__(self) -> None:
        self.sent: list[str] = []

    def send(self, data: Any = None, **_: Any) -> None:
        if data.get("method") == "update":
            self.sent.append(json.dumps(data["state"], ensure_ascii=False))

    def open(self, *_: Any, **__: Any) -> None: ...
    def close(self, *_: Any, **__: Any) -> None: ...
    def on_msg(self, *_: Any) -> None: ...


class Stage:
    """Widgets of one class on a page. ``widgets`` are by key; their hosts are ``#host-KEY``.

    With ``wired``, the page gets exactly the updates that a widget sends, in place of all of its state.
    """

    def __init__(
        self,
        page: Any,
        widgets: dict[str, AnyWidget],
        names: list[str],
        theme: str = "light",
        wired: bool = False,
    ) -> None:
        self.page, self.widgets, self.names = page, widgets, names
        self.comms = {key: Comm() for key in widgets} if wired else {}
        for key, comm in self.comms.items():
            widgets[key].comm = comm
        page.expose_function("toPython", self._message)
        first = next(iter(widgets.values()))
        dark = theme == "dark"
        text = _PAGE.format(
            paper="#111111" if dark else "#ffffff",
            ink="#eeeeee" if dark else "#111111",
            attributes="" if theme == "bare" else f'data-jp-theme-light="{"false" if dark else "true"}"',
            hosts="".join(f'<div id="host-{key}"></div>' for key in widgets),
        )
        states = {key: {name: getattr(w, name) for name in names} for key, w in widgets.items()}
        text = text.replace("STATES", json.dumps(states).replace("</", "<\\/"))
        text = text.replace('"MODULE"', '"/widget.js"')
        page.route(
            "http://stage.test/widget.js",
            lambda r: r.fulfill(body=first._esm, content_type="text/javascript"),
        )
        page.route(
            "http://stage.test/widget.css", lambda r: r.fulfill(body=first._css, content_type="text/css")
        )
        page.route("http://stage.test/", lambda r: r.fulfill(body=text, content_type="text/html"))
        page.goto("http://stage.test/")
        page.wait_for_function("window.ready === true")

    def _message(self, key: str, message: Any) -> dict[str, Any]:
        """What the comm does: hand the message to Python, give back the state that changed."""
        widget = self.widgets[key]
        comm = self.comms.get(key)
        before = len(comm.sent) if comm else 0
        widget._handle_custom_msg(message, [])
        if comm:
            return {k: v for update in comm.sent[before:] for k, v in json.loads(update).items()}
        return {name: getattr(widget, name) for name in self.names}

    def push(self, key: str) -> None:
        """An update that Python sends of its own accord."""
        state = {name: getattr(self.widgets[key], name) for name in self.names}
        self.page.evaluate("([key, state]) => window.models[key].take(state)", [key, state])
