"""Making work orders: draw a case from a seed, prove that it can be solved, and only then hand it out."""

from __future__ import annotations

from datetime import date

from tankside.bench.bench import start_state
from tankside.case import SYMPTOMS, Case, symptom, winter_low
from tankside.diagnosis.proof import prove
from tankside.diagnosis.reference import suspects
from tankside.errors import WorkOrderError
from tankside.faults.complaints import Said, wordings
from tankside.faults.together import pairs
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
        order = drawn(lab, learner, seed, issued, expires, number, attempt)
        state = start_state(order)
        order = worded(lab, order, symptom(state.unit))
        proof = prove(order, state)
        low, high = lab.difficulty
        if proof.solvable and low <= proof.difficulty <= high:
            return order.model_copy(update={"proof": proof.as_data()})
    raise WorkOrderError(
        f"No fitting call-out for {lab.id} in {_TRIES} draws: its faults can't be told apart at the bench, "
        f"or none has a difficulty from {lab.difficulty[0]:g} to {lab.difficulty[1]:g}."
    )


def drawn(
    lab: Lab,
    learner: str | None,
    seed: str,
    issued: date,
    expires: date | None = None,
    number: str | None = None,
    attempt: int = 0,
) -> WorkOrder:
    """The order of one draw, before anybody has said a word and before it is proven."""
    draw = Stream(seed, "order", str(attempt))
    inner = "".join(f"{draw.integer(0, 255):02x}" for _ in range(16))
    model = load_model(draw.choice(lab.models))
    letters = "".join(draw.choice(_LETTERS) for _ in range(6))
    return WorkOrder(
        order=number or f"TW-{letters[:3]}-{letters[3:]}",
        learner=learner,
        lab=lab.id,
        seed=inner,
        model=model.name,
        scope=lab.faults if lab.faults_at_once == 1 else pairs(lab.faults, model),
        issued=issued,
        expires=expires,
        complaint="",
    )


def worded(lab: Lab, order: WorkOrder, noticed: str) -> WorkOrder:
    """A drawn order with what its owner says, who ``noticed`` that symptom, and what one knows of the site."""
    said = _complaint(lab, order, noticed)
    site = _site_words(load_model(order.model), order.case(), order.seed)
    return order.model_copy(update={"complaint": said.text, "fits": said.fits, "site": site})


def _complaint(lab: Lab, order: WorkOrder, noticed: str) -> Said:
    """Words that fit what the owner noticed and leave enough suspects; else those that leave the most."""
    rows = [(said, len(_suspects(order, said))) for said in wordings(noticed, load_model(order.model), order.scope)]
    if not rows:
        raise WorkOrderError(f"No complaint in complaints.toml fits the symptom {noticed!r} on {order.model}. Add one.")
    enough = [said for said, n in rows if n >= lab.least_suspects]
    enough = [said for said in enough if not said.hardly_anything] or enough
    most = max(n for _, n in rows)
    return Stream(order.seed, "wording").choice(enough or [said for said, n in rows if n == most])


def _suspects(order: WorkOrder, said: Said) -> tuple[str, ...]:
    return suspects(order.model, order.scope, tuple(SYMPTOMS.index(s) for s in said.fits))


def _site_words(model: HeaterModel, case: Case, seed: str) -> dict[str, str]:
    """What the order says of the site: what one would know before arriving."""
    words = {
        "supply": f"{model.plate.voltage} shore power" if model.plate.voltage else model.plate.fuel,
        "weather": f"about {_both(case.site['room'])}",
    }
    coldest = winter_low(case, seed)
    return words if coldest is None else {**words, "winter": f"down to about {_both(coldest)}"}


def _both(celsius: float) -> str:
    return f"{celsius * 9 / 5 + 32:.0f} °F ({celsius:.0f} °C)"
