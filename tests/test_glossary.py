"""What the words of the window mean: the list can be read, and its numbers are those of the program."""

from __future__ import annotations

import pytest

pytest.importorskip("PyQt6.QtWidgets")

from sitterlight.shading.families import FAMILIES, LEAST_HALFTONE, LEAST_LIGHT
from sitterlight.viewer.glossary import WORDS, Glossary


def test_the_list_is_read_in_a_window_of_its_own(qapp):
    shown = Glossary()
    shown.show()
    assert shown.text.isVisible() and "What the words mean" in shown.windowTitle()
    assert shown.text.accessibleName() == "what the words mean"
    assert shown.text.viewport().width() > 300 and shown.text.viewport().height() > 300, "many lines at a time"
    shown.close()


def test_f1_brings_it_once(qapp):
    from PyQt6.QtWidgets import QMainWindow, QMenu

    from sitterlight.viewer.about import add_help_menu

    window, made = QMainWindow(), {}
    window.menus = {"&Help": QMenu(window)}
    add_help_menu(window, made)
    assert made["words"].shortcut().toString() == "F1"
    for _ in range(2):
        made["words"].trigger()
        (shown,) = window.findChildren(Glossary)
        assert shown.isVisible()
        shown.close()


def test_every_measure_that_the_window_gives_is_explained():
    told = [word for word, _ in WORDS]
    assert len(set(told)) == len(told)
    for measure in (
        "Skylight note",
        "Greying",
        "Stop",
        "Munsell",
        "L*",
        "ΔE",
        "K and Duv",
        "ITA",
        "Key",
        "Plane",
        "Pile",
    ):
        assert measure in told, measure


def test_light_halftone_and_shadow_are_told_as_they_are_counted():
    meaning = dict(WORDS)[", ".join(FAMILIES).capitalize()]
    assert LEAST_LIGHT == 0.5 and "at least half" in meaning
    assert f"from {LEAST_HALFTONE:.0%}".replace("%", " %") in meaning
