"""The menu bar: the titles of its menus, there from the beginning; `actions` fills them."""

from __future__ import annotations

from PyQt6.QtWidgets import QMenu

TITLES = ("&Sitting", "&Edit", "&Look", "&Compare", "&Paint", "Le&ssons", "&Help")


def add_menus(window) -> None:
    """Give the window its menus, empty ones; one that is opened before it is filled is filled first."""
    window.menus = {title: window.menuBar().addMenu(title) for title in TITLES}
    for menu in window.menus.values():
        menu.aboutToShow.connect(lambda: window.actions_by_name)  # asked for, all parts of the window are made


def menu_of(window, title: str) -> QMenu:
    """One of the menus, to be filled."""
    return window.menus[title]
