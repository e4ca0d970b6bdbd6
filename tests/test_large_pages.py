"""Arrays laid into large pages are what they were, and counted as the memory they lie in."""

from __future__ import annotations

import mmap
import re
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sitterlight.shading.large_pages import LARGE, in_large_pages
from sitterlight.shading.memory import bytes_of


@dataclass(frozen=True)
class Inner:
    numbers: np.ndarray
    name: str = "inner"


@dataclass(frozen=True)
class Outer:
    inner: Inner
    flags: np.ndarray
    table: np.ndarray
    nothing: np.ndarray


def _value(count: int) -> Outer:
    random = np.random.default_rng(1)
    numbers = random.random(count).astype(np.float32)
    return Outer(Inner(numbers), numbers > 0.5, random.integers(0, 9, (count // 8, 3)), np.zeros((0, 4), np.uint16))


def _all(value: Outer) -> tuple[np.ndarray, ...]:
    return value.inner.numbers, value.flags, value.table, value.nothing


def test_all_that_is_held_is_the_same():
    value = _value(1_000_001)
    laid = in_large_pages(value)
    assert laid.inner.name == "inner"
    for one, other in zip(_all(laid), _all(value), strict=True):
        np.testing.assert_array_equal(one, other, strict=True)
        assert one.flags.c_contiguous and one.flags.writeable and one.ctypes.data % 64 == 0
        assert one is not other and not np.shares_memory(one, other)


def test_they_lie_together_in_pages_that_the_system_was_asked_for():
    laid = in_large_pages(_value(1_000_001))
    if not sys.platform.startswith("linux"):
        return
    begins = [one.ctypes.data for one in _all(laid) if one.size]
    assert begins[0] % LARGE == 0 and begins == sorted(begins)
    size = sum(one.nbytes for one in _all(laid))
    assert begins[-1] - begins[0] < size and bytes_of(laid) < size + 2 * LARGE
    flags = ""
    for part in re.split(r"\n(?=[0-9a-f]+-[0-9a-f]+ )", Path("/proc/self/smaps").read_text(encoding="utf-8")):
        first, last = (int(end, 16) for end in part.split(" ", 1)[0].split("-"))
        if first <= begins[0] < last:
            flags = re.search(r"VmFlags: (.*)", part)[1]
    assert "hg" in flags.split()


def test_what_is_very_long_stays_and_is_not_held_twice():
    value = _value(5_000_000)
    laid = in_large_pages(value)
    assert laid.inner.numbers is value.inner.numbers and laid.flags is not value.flags
    np.testing.assert_array_equal(laid.flags, value.flags)


def test_what_fills_no_page_stays_and_so_does_all_where_there_are_none(monkeypatch):
    small, large = _value(1000), _value(1_000_001)
    assert in_large_pages(small) is small
    monkeypatch.delattr(mmap, "MADV_HUGEPAGE", raising=False)
    assert in_large_pages(large) is large
