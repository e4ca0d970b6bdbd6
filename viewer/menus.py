"""The menu bar: the titles of its menus, there from the beginning; `actions` fills them."""

from __future__ import annotations

from PyQt6.QtWidgets import QMenu

TITLES = ("&Sitting", "&Edit", "&Look", "&Compare", "&Paint", "Le&ssons", "&Help")


def add_menus(window) -> None:
    """Give the window its menus, empty ones."""
    window.menus = {title: window.menuBar().addMenu(title) for title in TITLES}


def menu_of(window, title: str) -> QMenu:
    """One of the menus, to be filled."""
    return window.menus[title]
