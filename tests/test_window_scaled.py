"""The real window at twofold scaling, which has to be chosen before a program starts: in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")


def test_colours_clicks_heads_and_panels_at_twofold_scaling():
    file = Path(__file__).with_name("scaled_window.py")
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", str(file)]
    done = subprocess.run(command, env={**os.environ, "QT_SCALE_FACTOR": "2"}, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-6000:]
    assert " passed" in done.stdout and "skipped" not in done.stdout
