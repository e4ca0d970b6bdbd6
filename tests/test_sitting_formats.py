"""Formats of sittings: newer ones are refused, older ones brought up, and every sitting reads back equal."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest

pytest.importorskip("hypothesis", reason="the test extra is not installed")

from hostile.sittings import sittings
from hypothesis import HealthCheck, given, settings

from sitterlight.shading import sitting_formats
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sitting_file import from_dict, read_sitting, to_json, to_toml, write_sitting
from sitterlight.shading.sitting_rules import SittingError
from sitterlight.shading.sittings import built_in, built_in_names


def test_a_newer_format_says_to_update(tmp_path):
    path = tmp_path / "tomorrow.toml"
    path.write_text('format = "sitterlight/2"\n[hair]\nlength = 3\n')
    with pytest.raises(SittingError, match=r"tomorrow\.toml: .*newer Sitterlight.*update it") as caught:
        read_sitting(path)
    assert "hair" not in str(caught.value)


@pytest.mark.parametrize("format", ["sitterlight/0", "sitterlight/1.5", "sitterlight", "", 1, True, [], {"a": 1}])
def test_what_was_never_a_format_is_refused(format):
    with pytest.raises(SittingError, match="allowed is"):
        from_dict({"format": format})


def test_older_formats_go_up_the_chain(monkeypatch):
    """Two formats made up for this test: in the first the title was called name, in the second heading."""
    monkeypatch.setitem(
        sitting_formats.UPGRADES, "test/a", lambda old: {"format": "test/b", "heading": old.pop("name")}
    )
    monkeypatch.setitem(
        sitting_formats.UPGRADES, "test/b", lambda old: {"format": "sitterlight/1", "title": old.pop("heading")}
    )
    old = {"format": "test/a", "name": "Garden"}
    assert from_dict(old) == Sitting(title="Garden")
    assert old == {"format": "test/a", "name": "Garden"}


@pytest.mark.parametrize("name", built_in_names())
def test_built_in_sittings_read_back_equal(name, tmp_path):
    sitting = built_in(name)
    write_sitting(sitting, tmp_path / "copy.toml")
    assert read_sitting(tmp_path / "copy.toml") == sitting
    assert from_dict(to_json(sitting)) == sitting


@settings(max_examples=300, deadline=None, database=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(sitting=sittings())
def test_every_sitting_reads_back_equal(sitting):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "sitting.toml")
        write_sitting(sitting, path)
        again = read_sitting(path)
    assert again == sitting
    assert hash(again) == hash(sitting)
    assert to_toml(again) == to_toml(sitting)
    assert from_dict(to_json(sitting)) == sitting


@pytest.mark.parametrize(
    "elsewhere", ["http://localhost/x.csv", "//host/share/x.csv", "\\\\host\\share\\x.csv", "file:///x.csv"]
)
def test_a_sitting_may_name_no_other_computer(elsewhere):
    for table in (
        {"head": {"mesh": elsewhere.replace(".csv", ".obj")}},
        {"skin": {"reflectance": elsewhere}},
        {"light": [{"spectrum": elsewhere}]},
        {"surround": {"ground": elsewhere}},
        {"easel": {"light": elsewhere}},
        {"palette": {"paints": [elsewhere.replace(".csv", ".toml")]}},
    ):
        with pytest.raises(SittingError, match=r"file on this computer|allowed is"):
            from_dict({"format": "sitterlight/1", **table})


def test_a_large_limit_is_told_in_digits():
    from sitterlight.shading.sitting_rules import Number

    assert Number(0, 1e6).allowed == "a number from 0 to 1000000"
    assert Number(0, 0.95, above=True).allowed == "a number above 0 up to 0.95"
