"""Writing files so that nothing is ever half there, and turning the machine's refusals into one sentence."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tankside.errors import TanksideError

_REASONS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT if hasattr(errno, "EDQUOT") else -1: "your share of the disk is used up",
    errno.EROFS: "the disk can only be read",
    errno.EACCES: "you may not write there",
    errno.EPERM: "you may not write there",
    errno.ENAMETOOLONG: "the name is too long for this disk",
    errno.ENOTDIR: "a file stands where a folder is needed",
    errno.EEXIST: "a file stands where a folder is needed",
    errno.EISDIR: "a folder stands where a file is needed",
    errno.EMFILE: "too many files are open",
}


class StorageError(TanksideError):
    """The disk or its permissions got in the way. Carries the path; the text says what to do."""

    def __init__(self, path: Path | str, error: OSError) -> None:
        self.path = Path(path)
        reason = _REASONS.get(error.errno or 0, error.strerror or str(error))
        super().__init__(f"{path}: can't be written: {reason}. Nothing that was there is lost; run it again after.")


@contextlib.contextmanager
def storage(path: Path) -> Iterator[None]:
    """Turn an ``OSError`` inside the block into a ``StorageError`` about ``path``."""
    try:
        yield
    except OSError as error:
        raise StorageError(error.filename or path, error) from error


def make_folder(path: Path) -> Path:
    """The folder, made with its parents when it isn't there."""
    with storage(path):
        path.mkdir(parents=True, exist_ok=True)
    return path


def write_atomic(path: Path, content: str | bytes, *, mode: int | None = None) -> Path:
    """Replace ``path`` by ``content`` all at once: a reader sees the old file or the new one, never a part.

    ``mode`` (such as 0o600) is set before anything is written. Raises ``StorageError``.
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    make_folder(path.parent)
    with storage(path):
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                # mkstemp gives 600; an ordinary file gets what the umask leaves of 666.
                _set_mode(name, mode if mode is not None else 0o666 & ~_umask())
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            os.replace(name, path)
        except BaseException:
            with contextlib.suppress(OSError):
                os.unlink(name)
            raise
    return path


def write_json(path: Path, data: Any, *, mode: int | None = None) -> Path:
    """``data`` as readable JSON, replaced all at once. NaN is refused (``ValueError``)."""
    text = json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False, default=str)
    return write_atomic(path, text + "\n", mode=mode)


def digest(data: bytes) -> str:
    """SHA-256 of ``data`` in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def _umask() -> int:
    # Python offers no way to read the mask without setting it.
    mask = os.umask(0o022)
    os.umask(mask)
    return mask


def _set_mode(name: str, mode: int) -> None:
    if os.name != "nt":
        os.chmod(name, mode)
