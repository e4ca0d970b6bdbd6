"""A second study of the same head casts no visibility ray: the transfer is kept in the cache folder."""

from __future__ import annotations

import numpy as np
import pytest

from sitterlight.meshes.library import load_head
from sitterlight.shading import cache, geometry, rays
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import HeadSetting, Sitting, SkyLight
from sitterlight.shading.transfer import cast_transfer, transfer

SITTING = Sitting(head=HeadSetting(mesh="cube"), lights=(SkyLight(),))


@pytest.fixture
def forgetful(tmp_path, monkeypatch):
    """An empty cache folder, and a way to forget all that is only in memory."""
    monkeypatch.setenv("SITTERLIGHT_CACHE", str(tmp_path / "cache"))

    geometry.forget()
    return geometry.forget


def test_second_run_casts_no_visibility_ray(forgetful):
    before = rays.cast_count
    first = light_scene(SITTING)
    dear = rays.cast_count - before
    forgetful()
    before = rays.cast_count
    second = light_scene(SITTING)
    # Only the eye's own sight lines are cast again: at most one ray a vertex.
    assert rays.cast_count - before <= len(first.head.vertices) < dear
    assert np.array_equal(first.part_XYZ, second.part_XYZ)


def test_a_rotten_cache_is_rebuilt_never_believed(forgetful, tmp_path):
    head = load_head("cube")
    known = transfer(head)
    (kept,) = (tmp_path / "cache").glob("transfer-*.npz")
    content = bytearray(kept.read_bytes())
    content[len(content) // 2] ^= 255
    kept.write_bytes(bytes(content))
    assert cache.recall(kept.stem) is None
    again = transfer(head)
    assert np.array_equal(known.open_bits, again.open_bits)
    assert cache.recall(kept.stem) is not None


def test_without_a_cache_folder_it_still_works(monkeypatch):
    monkeypatch.setenv("SITTERLIGHT_CACHE", "")
    head = load_head("cube")
    assert np.array_equal(transfer(head).open_bits, cast_transfer(head).open_bits)


def test_progress_can_stop_the_work_and_nothing_is_kept(forgetful, tmp_path):
    class StoppedError(Exception):
        pass

    def stop(share: float) -> None:
        if share > 0.5:
            raise StoppedError

    with pytest.raises(StoppedError):
        transfer(load_head("sphere"), progress=stop)
    assert not list((tmp_path / "cache").glob("transfer-*"))
