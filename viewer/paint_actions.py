"""The menu of paint: the palette, and the pages about mixing."""

from __future__ import annotations

from PyQt6.QtGui import QAction, QKeySequence

from sitterlight.viewer.menus import menu_of


def add_paint_menu(window, made: dict[str, QAction]) -> None:
    """Fill the menu of paint; the actions by name go into `made`."""
    menu = menu_of(window, "&Paint")
    for name, words, key, slot in (
        ("palette", "Palette", "Ctrl+T", lambda: show_palette(window)),
        ("add tube", "Add a tube…", "Ctrl+Shift+T", lambda: window.paints.open_library()),
        ("make tube", "Own tube from swatches…", None, lambda: window.paints.open_maker()),
        ("own tube", "Own tube from its file…", None, lambda: window.paints.ask_tube()),
        ("load palette", "Load a palette…", None, lambda: window.paints.ask_palette()),
        ("save palette", "Save this palette…", None, lambda: window.paints.ask_save()),
        (None, None, None, None),
        ("why", "Why this colour", "W", lambda: window.rooms.show_room("why")),
        ("strings", "Strings of the plane", "S", lambda: window.rooms.show_room("strings")),
        ("plan", "Mixing plan", "L", lambda: window.rooms.show_room("plan")),
    ):
        if name is None:
            menu.addSeparator()
            continue
        action = QAction(words, menu)
        if key is not None:
            action.setShortcut(QKeySequence(key))
        action.triggered.connect(lambda _=False, slot=slot: slot())
        menu.addAction(action)
        made[name] = action


def show_palette(window) -> None:
    """Unfold the palette and go to its tubes."""
    window.palette_section.heading.setChecked(True)
    window.paints.tubes.setFocus()
    area = window.palette_section.parentWidget().parentWidget().parentWidget()
    if hasattr(area, "ensureWidgetVisible"):
        area.ensureWidgetVisible(window.paints)
