"""Every reader against files that nobody should bring: a thousand each, and a small corpus of those that once did harm.

`python -m tests.hostile` is the long form.
"""

from __future__ import annotations

from pathlib import Path

import pytest

pytest.importorskip("hypothesis", reason="the test extra is not installed")

from hostile.promise import outcome
from hostile.readers import READERS
from hostile.run import run

CORPUS = sorted(Path(__file__).with_name("corpus").iterdir())
CASES, BATCH, DEAR_BATCH = 1000, 8, 50


@pytest.mark.parametrize("name", READERS)
def test_a_file_is_accepted_or_refused_in_one_sentence(name, tmp_path, monkeypatch):
    monkeypatch.setenv("SITTERLIGHT_CACHE", str(tmp_path / "cache"))
    tally = run(READERS[name], tmp_path, CASES, DEAR_BATCH if READERS[name].dear else BATCH)
    assert tally.accepted > 0
    assert tally.refused > 0 or name == "cache"
    assert tally.cases >= CASES


@pytest.mark.parametrize("file", CORPUS, ids=lambda file: file.name)
def test_what_once_did_harm_is_refused(file):
    """The name of a file in the corpus begins with its reader's."""
    assert outcome(READERS[file.name.split("-")[0]].read, file)
