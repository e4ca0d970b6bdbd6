"""Killed at any moment, a program leaves the old file or the new one whole; two at once don't spoil each other's."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from textwrap import indent

import numpy as np
import pytest

from sitterlight.shading import cache
from sitterlight.shading.sitting_file import read_sitting

pytestmark = pytest.mark.skipif(os.name == "nt", reason="kills by signal")

SEED = 7
KILLS = 25

NURSERY = """
import os, sys
{begin}
def tell(word):
    os.write(1, f"{{word}}\\n".encode())
for _ in sys.stdin:
    child = os.fork()
    if child == 0:
        tell(os.getpid())
        number = 0
        while True:
{writing}
            tell(number)
            number += 1
    os.waitpid(child, 0)
    tell("ended")
"""
"""A program that loads what it needs once; for every line it is given a child of it writes until it is killed. Words
are told whole: a child killed between a number and the end of its line would spoil the next."""

SITTINGS = (
    """
from dataclasses import replace
from sitterlight.shading.sitting_file import write_sitting
from sitterlight.shading.sittings import built_in
sitting = built_in()
""",
    """
write_sitting(replace(sitting, title=f"number {number}"), sys.argv[1])
""",
)

CACHES = (
    """
import numpy as np
from sitterlight.shading import cache
""",
    """
cache.remember("kept", {"all": np.full(200_000, number % 7, np.int32), "number": np.array(number % 7)})
""",
)

SETTINGS = (
    """
from sitterlight.viewer.memory import settings
""",
    """
settings().setValue("recent", [str(number)] * 4000)
""",
)

FOLDERS = (
    """
from sitterlight.shading.atomic import whole_folder
""",
    """
with whole_folder(sys.argv[1]) as beside:
    for name in "abcdefg":
        (beside / name).write_bytes(bytes([number % 251]) * 100_000)
""",
)


def kill_again_and_again(program: tuple[str, str], *words: str, whole, **variables: str) -> int:
    """Start a writer, kill it at a random moment, ask whether all is `whole`; how many rounds writers had written.
    The program is what it begins with and what it does again and again."""
    begin, writing = program
    nursery = NURSERY.format(begin=begin, writing=indent(writing, " " * 12))
    chance, rounds = random.Random(SEED), 0
    with subprocess.Popen(
        [sys.executable, "-c", nursery, *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, **variables},
    ) as parent:
        for _ in range(KILLS):
            parent.stdin.write("\n")
            parent.stdin.flush()
            writer = int(parent.stdout.readline())
            assert parent.stdout.readline() == "0\n"
            time.sleep(chance.uniform(0, 0.05))
            os.kill(writer, signal.SIGKILL)
            rounds += 1 + sum(1 for _ in iter(parent.stdout.readline, "ended\n"))
            whole()
        parent.stdin.close()
    assert parent.returncode == 0
    return rounds


def test_a_sitting_is_the_old_one_or_the_new_one(tmp_path):
    path = tmp_path / "sitting.toml"

    def whole() -> None:
        assert read_sitting(path).title.startswith("number ")

    assert kill_again_and_again(SITTINGS, str(path), whole=whole) > KILLS


def test_the_cache_tells_the_truth_or_nothing(tmp_path, monkeypatch):
    monkeypatch.setenv("SITTERLIGHT_CACHE", str(tmp_path))

    def whole() -> None:
        kept = cache.recall("kept")
        assert kept is not None
        assert np.unique(kept["all"]).tolist() == [int(kept["number"])]

    assert kill_again_and_again(CACHES, whole=whole, SITTERLIGHT_CACHE=str(tmp_path)) > KILLS


def test_what_the_window_remembers_is_whole(tmp_path):
    pytest.importorskip("PyQt6.QtCore")

    def whole() -> None:
        names = json.loads((tmp_path / "window.json").read_bytes())["recent"]
        assert len(names) == 4000 and len(set(names)) == 1

    assert kill_again_and_again(SETTINGS, whole=whole, SITTERLIGHT_SETTINGS=str(tmp_path)) > KILLS


def test_each_file_of_a_study_is_whole(tmp_path):
    out = tmp_path / "out"

    def whole() -> None:
        for name in "abcdefg":
            content = (out / name).read_bytes()
            assert len(content) == 100_000 and len(set(content)) == 1

    assert kill_again_and_again(FOLDERS, str(out), whole=whole) > KILLS


def test_what_was_left_half_written_in_the_cache_is_taken_away(tmp_path, monkeypatch):
    monkeypatch.setenv("SITTERLIGHT_CACHE", str(tmp_path))
    for name, age in (("old.part", 7200), ("new.part", 0)):
        (tmp_path / name).write_bytes(b"half")
        os.utime(tmp_path / name, (time.time() - age,) * 2)
    cache.remember("kept", {"all": np.zeros(3)})
    assert sorted(path.name for path in tmp_path.iterdir()) == ["kept.npz", "new.part"]


def test_the_cache_keeps_within_bounds(tmp_path, monkeypatch):
    monkeypatch.setenv("SITTERLIGHT_CACHE", str(tmp_path))
    monkeypatch.setattr(cache, "MOST_KEPT", 5000)
    for number in range(4):
        cache.remember(f"kept-{number}", {"all": np.zeros(200)})
        os.utime(tmp_path / f"kept-{number}.npz", (1000 + number,) * 2)
    cache.remember("last", {"all": np.zeros(200)})
    assert sorted(path.name for path in tmp_path.iterdir()) == ["kept-3.npz", "last.npz"]
    assert cache.recall("kept-3") is not None


@pytest.mark.parametrize("content", [b"", b"sitterlight-cache/1\n", b"sitterlight-cache/2\n" + b"\0" * 99])
def test_a_cache_of_something_else_is_not_believed(tmp_path, monkeypatch, content):
    monkeypatch.setenv("SITTERLIGHT_CACHE", str(tmp_path))
    (tmp_path / "kept.npz").write_bytes(content)
    assert cache.recall("kept") is None


def test_a_cache_with_a_right_checksum_over_nonsense_is_not_believed(tmp_path, monkeypatch):
    from hashlib import sha256

    monkeypatch.setenv("SITTERLIGHT_CACHE", str(tmp_path))
    for body in (b"", b"nonsense", b"PK\x03\x04" + b"\0" * 40, b"\x93NUMPY\x01\0\x02\0{}"):
        (tmp_path / "kept.npz").write_bytes(b"sitterlight-cache/1\n" + sha256(body).digest() + body)
        assert cache.recall("kept") is None


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names there")
def test_a_pipe_in_the_cache_is_not_waited_for(tmp_path, monkeypatch):
    monkeypatch.setenv("SITTERLIGHT_CACHE", str(tmp_path))
    os.mkfifo(tmp_path / "kept.npz")
    assert cache.recall("kept") is None
    cache.remember("kept", {"all": np.zeros(3)})


STUDY = """
import sys
from pathlib import Path
from sitterlight.meshes.library import load_head
from sitterlight.shading.transfer import transfer
import hashlib
result = transfer(load_head("cube"))
print(hashlib.sha256(result.open_bits.tobytes()).hexdigest())
"""


def test_two_programs_share_a_cache(tmp_path):
    """Both begin with nothing and cast the same rays at the same time; a third finds what they left."""
    environment = {**os.environ, "SITTERLIGHT_CACHE": str(tmp_path)}
    command = [sys.executable, "-c", STUDY]
    both = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) for _ in range(2)]
    answers = {one.communicate()[0] for one in both}
    third = subprocess.run(command, capture_output=True, text=True, env=environment)
    assert answers == {third.stdout} and third.returncode == 0
    assert not list(Path(tmp_path).glob("*.part"))
