"""An error as one sentence, for a terminal or a line of the window."""

from __future__ import annotations

from sitterlight.illuminants.system_words import system_words

NO_MEMORY = "there is not enough memory"


def sentence(error: BaseException, named: bool = True) -> str:
    """What went wrong, on one line; `named` names the file of an error of the system, where nothing else does."""
    if isinstance(error, OSError) and error.strerror:
        name = f"{error.filename}: " if named and error.filename is not None else ""
        return f"{name}{system_words(error)}"
    words = " ".join(str(error).split())
    return words or (NO_MEMORY if isinstance(error, MemoryError) else type(error).__name__)
