"""Making work orders: draw a case from a seed, prove that it can be solved, and only then hand it out."""

from __future__ import annotations

from datetime import date

from tankside.case import as_found, draw_case, symptom
from tankside.diagnosis.proof import prove
from tankside.errors import WorkOrderError
from tankside.faults.complaints import wording
from tankside.heater.model import HeaterModel, load_model
from tankside.labs import Lab
from tankside.streams import Stream
from tankside.workorder import WorkOrder

_TRIES = 40
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"


def make_order(
    lab: Lab,
    learner: str | None,
    seed: str,
    issued: date,
    expires: date | None = None,
    number: str | None = None,
) -> WorkOrder:
    """The work order that a seed gives for a lab. The same arguments give the same order.

    Parameters
    ----------
    seed : 16 to 64 hexadecimal digits; secret until the lab is over
    number : the order's number; drawn from the seed by default

    Raises
    ------
    WorkOrderError
        If no draw in ``_TRIES`` can be solved, which means that the lab's faults can't be told apart.
    """
    for attempt in range(_TRIES):
        draw = Stream(seed, "order", str(attempt))
        inner = "".join(f"{draw.integer(0, 255):02x}" for _ in range(16))
        model = load_model(draw.choice(lab.models))
        case = draw_case(model.name, lab.faults, inner)
        noticed = symptom(as_found(case))
        letters = "".join(draw.choice(_LETTERS) for _ in range(6))
        order = WorkOrder(
            order=number or f"TW-{letters[:3]}-{letters[3:]}",
            learner=learner,
            lab=lab.id,
            seed=inner,
            model=model.name,
            scope=lab.faults,
            issued=issued,
            expires=expires,
            symptom=noticed,
            complaint=wording(noticed, Stream(inner, "wording")),
            site=_site_words(model, case.site),
        )
        proof = prove(order)
        if proof.solvable:
            return order.model_copy(update={"proof": proof.as_data()})
    raise WorkOrderError(
        f"No solvable call-out for {lab.id} in {_TRIES} draws: its faults can't be told apart at the bench."
    )


def _site_words(model: HeaterModel, site: dict[str, float]) -> dict[str, str]:
    """What the order says of the site: what one would know before arriving."""
    room = site["room"]
    return {
        "supply": f"{model.plate.voltage} shore power",
        "weather": f"about {room * 9 / 5 + 32:.0f} °F ({room:.0f} °C)",
    }
