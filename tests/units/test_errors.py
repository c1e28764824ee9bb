"""The error tree in a notebook."""

from __future__ import annotations

from IPython.core.interactiveshell import InteractiveShell

from tankside.errors import DataFileError, TanksideError


def test_a_notebook_shows_the_sentence_and_no_traceback() -> None:
    """Is a user's mistake one clear line in a notebook, as IPython asks an error how it wants to be shown?"""
    assert issubclass(DataFileError, TanksideError)
    error = DataFileError("x.toml", "part", "a name", 3)
    assert error._render_traceback_() == ["x.toml: part: expected a name, got 3"]
    assert "_render_traceback_" in InteractiveShell.showtraceback.__code__.co_names
