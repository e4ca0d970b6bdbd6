"""How far a long work is: a share from 0 to 1, told as it goes on. What the listener raises ends the work."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[float], None]


def part(progress: Progress | None, start: float, end: float) -> Progress | None:
    """Who tells 0 to 1 to this tells `start` to `end` to `progress`; None where nobody listens."""
    return None if progress is None else lambda share: progress(start + share * (end - start))


def tell(progress: Progress | None, share: float) -> None:
    """Tell a share to whoever listens."""
    if progress is not None:
        progress(share)
