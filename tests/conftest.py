"""What all tests share: caches and settings in a folder of the run, so that no test meets the user's own."""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from functools import cache
from pathlib import Path

import pytest

SCRATCH = Path(tempfile.mkdtemp(prefix="sitterlight-tests-"))

# Before anything of Sitterlight or Qt is imported, and for programs that tests start.
os.environ["SITTERLIGHT_CACHE"] = str(SCRATCH / "cache")
os.environ["XDG_CACHE_HOME"] = str(SCRATCH / "xdg-cache")
os.environ["XDG_CONFIG_HOME"] = str(SCRATCH / "xdg-config")
os.environ["XDG_DATA_HOME"] = str(SCRATCH / "xdg-data")
os.environ["XDG_STATE_HOME"] = str(SCRATCH / "xdg-state")
os.environ["SITTERLIGHT_LOG"] = str(SCRATCH / "log")
os.environ.setdefault("QT_API", "pyqt6")
os.environ.setdefault("QT_SCALE_FACTOR", "1")
TAKEN = os.environ.pop("SITTERLIGHT_TESTS_TAKEN", "")
"""A folder that two runs side by side share (run.py): in it lies, by name, every file of tests that one has taken."""
HAS_SCREEN = not sys.platform.startswith("linux") or bool(os.environ.get("DISPLAY"))
if not HAS_SCREEN:
    os.environ["QT_QPA_PLATFORM"] = "offscreen"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    if HAS_SCREEN:
        return
    for item in items:
        if "screen" in item.keywords:
            item.add_marker(pytest.mark.skip(reason="no screen"))


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item) -> bool | None:
    """What the other run has taken is passed over."""
    return None if not TAKEN or is_taken_here(item.path.name) else True


@cache
def is_taken_here(file: str) -> bool:
    """Whether this run is the first to come to that file."""
    try:
        Path(TAKEN, file).touch(exist_ok=False)
    except FileExistsError:
        return False
    return True


def pytest_sessionfinish() -> None:
    shutil.rmtree(SCRATCH, ignore_errors=True)


@pytest.fixture(scope="session")
def scratch() -> Path:
    """A folder of this run of the tests, removed at its end."""
    return SCRATCH


@pytest.fixture(scope="session")
def window(scratch, qapp):
    """One window that tests share; `shown` puts it back to its beginning."""
    os.environ["SITTERLIGHT_SETTINGS"] = str(scratch / "settings")
    from window_driver import BALL

    for opened in _opened(BALL):
        opened.stages.notice.first_steps.skip()
        yield opened


def _opened(sitting):
    """A window with a sitting, closed when it is asked for no more."""
    from sitterlight.viewer.main_window import Window, make_application
    from sitterlight.viewer.model import Model

    make_application()
    window = Window(Model(sitting))
    window.resize(1280, 800)
    window.show()
    yield window
    window.model.saved = window.model.sitting
    window.close()


@pytest.fixture(scope="module")
def mixing_window(scratch, qapp):
    """Another, for what is mixed; `mixed` waits for its recipes."""
    os.environ["SITTERLIGHT_SETTINGS"] = str(scratch / "settings of the palette")
    from palette_driver import BALL

    yield from _opened(BALL)


@pytest.fixture
def mixed(mixing_window, qtbot):
    """A function that shows a sitting, or waits for the one at hand, until it has its recipes."""
    from palette_driver import Mixed

    return Mixed(mixing_window, qtbot)


@pytest.fixture
def shown(window, qtbot):
    """A function that shows a sitting, or waits for the one at hand; see window_driver.Shown."""
    from window_driver import Shown

    os.environ["SITTERLIGHT_SETTINGS"] = str(SCRATCH / "settings")
    window.resize(1280, 800)
    return Shown(window, qtbot)
