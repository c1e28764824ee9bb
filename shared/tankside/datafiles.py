"""Reading TOML data files against a pydantic schema, with one clear error for a bad one."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from tankside.errors import DataFileError


class Record(BaseModel):
    """Base of every data-file schema: unknown keys are errors, values don't change, NaN is refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


R = TypeVar("R", bound=BaseModel)


def read_toml(file: Path) -> dict[str, Any]:
    """The file's tables. A missing or malformed file is a ``DataFileError`` with the line."""
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise DataFileError(file, "file", "a TOML file", "nothing: it isn't there") from None
    except UnicodeDecodeError:
        raise DataFileError(file, "file", "UTF-8 text", "other bytes") from None
    except tomllib.TOMLDecodeError as error:
        raise DataFileError(file, "file", "valid TOML", str(error)) from None


def load(file: Path, schema: type[R]) -> R:
    """The file as a ``schema`` object. The first thing wrong with it becomes a ``DataFileError``."""
    return validate(read_toml(file), schema, file)


def validate(data: Any, schema: type[R], file: Path | str) -> R:
    """``data`` as a ``schema`` object; errors name ``file`` and the key inside it."""
    try:
        return schema.model_validate(data)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        key = ".".join(str(part) for part in first["loc"]) or "file"
        got = "nothing" if first["type"] == "missing" else first.get("input")
        raise DataFileError(file, key, first["msg"], got) from None
