"""Reading the work order in a hand-in, when all there is of it is its bytes."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from tankside.errors import TanksideError

if TYPE_CHECKING:
    from tankside.workorder import WorkOrder

MAX_ORDER_BYTES = 1024 * 1024


def read_order(data: bytes, key: str | None) -> WorkOrder:
    """The order in a ``work-order.json``'s bytes; with a key, its seal is checked. Raises ``WorkOrderError``."""
    from tankside.errors import WorkOrderError
    from tankside.workorder import read_order_file

    if len(data) > MAX_ORDER_BYTES:
        raise WorkOrderError("The work order file is far too long to be one.")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "work-order.json"
        path.write_bytes(data)
        return read_order_file(path, key)


def order_id_in(data: bytes, key: str) -> str | None:
    """The id of a genuine order; None for one that was not sealed with this key or can't be read."""
    try:
        return read_order(data, key).order
    except TanksideError:
        return None


def order_id_of_token(token: object, key: str) -> str | None:
    """The id of a genuine order in a sealed token; None for anything else."""
    from tankside.workorder import open_sealed

    try:
        return open_sealed(token, key).order if isinstance(token, str) else None
    except TanksideError:
        return None
