"""Which measures a learner reads: asked once, for every lesson."""

from __future__ import annotations

from typing import Any

import ipywidgets

from tankside.errors import TanksideError
from tankside.measures import SYSTEMS, amount, choose, chosen


def measures_choice() -> ipywidgets.VBox:
    """Buttons for U.S. customary, SI or both; keeps the choice and shows an example of it."""
    picker = ipywidgets.RadioButtons(
        options=[(words, system) for system, words in SYSTEMS.items()],
        value=chosen(),
        description="Measures",
    )
    example = ipywidgets.HTML()

    def show(kept: str = "") -> None:
        shown = f"{amount(60, 'degC', 'temperature')}, {amount(6, 'gallon', 'volume')}"
        example.value = f"<p role='status'>Amounts look like this: {shown}. {kept}</p>"

    def on_choice(change: dict[str, Any]) -> None:
        try:
            choose(change["new"])
            show("Kept. A page that is open shows it after Run All Cells.")
        except TanksideError as error:
            show(str(error))

    picker.observe(on_choice, names="value")
    show()
    return ipywidgets.VBox([picker, example])
