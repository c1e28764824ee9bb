"""Work orders: what the technician is handed, signed so that it can't be altered unseen.

The seal shows whether an order was changed; it doesn't hide the seed from someone who is
determined to read it. Labs are for learning.
"""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

from itsdangerous import BadData, URLSafeSerializer
from pydantic import Field, ValidationError

from tankside.case import Case, draw_case
from tankside.datafiles import Record
from tankside.errors import TanksideError, WorkOrderError

ORDER_NAME = "work-order.json"
_SALT = "tankside work order, first form"


class WorkOrder(Record):
    """One call-out.

    ``seed`` gives the unit; ``scope`` lists the faults that it was drawn from; ``fits`` are the
    symptoms that the complaint's words leave open (none: what the unit really shows).
    """

    order: str = Field(pattern=r"^[A-Z0-9-]{4,24}$")
    learner: str | None = None
    lab: str
    seed: str = Field(pattern=r"^[0-9a-f]{16,64}$")
    model: str
    scope: tuple[str, ...] = Field(min_length=1)
    issued: date
    expires: date | None = None
    complaint: str
    fits: tuple[str, ...] = ()
    site: dict[str, str] = Field(default_factory=dict)
    proof: dict[str, Any] = Field(default_factory=dict)

    def case(self) -> Case:
        """The case that this order hides."""
        return draw_case(self.model, self.scope, self.seed)


def seal(order: WorkOrder, key: str) -> str:
    """The order as a signed token."""
    return URLSafeSerializer(key, salt=_SALT).dumps(order.model_dump(mode="json"))


def open_sealed(token: str, key: str | None) -> WorkOrder:
    """The order in a token. With a key its seal is checked; without one it is only read."""
    serializer = URLSafeSerializer(key or "unread", salt=_SALT)
    try:
        if key is None:
            _genuine, data = serializer.loads_unsafe(token)
            if data is None:
                raise WorkOrderError(
                    "This work order can't be read: it was cut short or changed. Ask for it again."
                )
        else:
            data = serializer.loads(token)
    except BadData:
        raise WorkOrderError(
            "The seal on this work order doesn't fit: it was changed, or it wasn't issued for this class."
        ) from None
    try:
        return WorkOrder.model_validate(data)
    except ValidationError as error:
        where = ".".join(str(part) for part in error.errors()[0]["loc"])
        raise WorkOrderError(
            f"This work order can't be used: its entry {where!r} isn't as it should be."
        ) from None


def write_order_file(order: WorkOrder, path: Path, key: str) -> None:
    """The order as a file to hand out. The card is for people; only the token counts."""
    card = {"order": order.order, "lab": order.lab, "complaint": order.complaint}
    text = json.dumps({"tankside work order": card, "token": seal(order, key)}, ensure_ascii=False, indent=1)
    spare = path.with_suffix(".new")
    try:
        spare.write_text(text + "\n", encoding="utf-8", newline="\n")
        spare.replace(path)
    except OSError as error:
        raise TanksideError(f"Can't write {path.name} in {path.parent}: {error.strerror}.") from None


def read_order_file(path: Path, key: str | None = None, today: date | None = None) -> WorkOrder:
    """The order in a file; ``WorkOrderError`` if it is missing, cut short, forged or (with ``today``) expired."""
    try:
        if path.stat().st_size > 200_000:
            raise WorkOrderError(f"{path.name} is far too large to be a work order.")
        data = json.loads(path.read_text(encoding="utf-8"))
        token = data["token"]
        if not isinstance(token, str):
            raise TypeError
    except FileNotFoundError:
        raise WorkOrderError(f"There is no {path.name} in {path.parent.name or 'this folder'}.") from None
    except OSError as error:
        raise WorkOrderError(f"Can't read {path.name}: {error.strerror}.") from None
    except (ValueError, KeyError, TypeError, RecursionError):
        raise WorkOrderError(f"{path.name} isn't a work order, or was cut short. Ask for it again.") from None
    order = open_sealed(token, key)
    if today is not None and order.expires is not None and today > order.expires:
        raise WorkOrderError(f"Work order {order.order} expired on {order.expires}. Ask for a new one.")
    return order
