"""Sets of a few things as bits of words, for compiled loops: one step of the processor's asks about all of a word."""

from __future__ import annotations

from sitterlight.shading.kernels import kernel, unsigned

WORD = 64
"""Bits of a word."""


@kernel
def ones(word):
    """How many bits of a word are set; compilers know this loop to be one step of the processor's."""
    count = 0
    while word:
        word &= word - unsigned(1)
        count += 1
    return count


@kernel
def next_bit(left):
    """Which of the bits that are set comes first, and the others."""
    lowest = left & (~left + unsigned(1))
    return ones(lowest - unsigned(1)), left ^ lowest
