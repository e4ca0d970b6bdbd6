"""Everything that can be done from menu and keyboard."""

from __future__ import annotations

from PyQt6.QtGui import QAction, QActionGroup, QKeySequence
from PyQt6.QtWidgets import QApplication, QInputDialog, QLineEdit

from sitterlight.shading.legend_words import VIEWS
from sitterlight.viewer.about import add_help_menu
from sitterlight.viewer.camera import PLACES, place, turned
from sitterlight.viewer.greys import SURROUNDS
from sitterlight.viewer.lessons import lessons
from sitterlight.viewer.memory import recent_files
from sitterlight.viewer.menus import menu_of
from sitterlight.viewer.paint_actions import add_paint_menu
from sitterlight.viewer.screen_colour import SCREENS, screen, set_screen

_PLACE_KEYS = {"front": "F", "three-quarter": "T", "profile": "P", "below": "B", "above": "A", "back": "K"}
_STEP = 5.0


def make_actions(window) -> dict[str, QAction]:
    """Fill the menu bar; the actions by name."""
    made: dict[str, QAction] = {}
    _sitting_menu(window, made)
    _edit_menu(window, made)
    _look_menu(window, made)
    _compare_menu(window, made)
    add_paint_menu(window, made)
    _lessons_menu(window, made)
    add_help_menu(window, made)
    return made


def _add(menu, made, name: str, words: str, slot, keys=None, checkable: bool = False) -> QAction:
    action = QAction(words, menu)
    if keys is not None:
        action.setShortcuts([QKeySequence(key) for key in (keys if isinstance(keys, list) else [keys])])
    action.setCheckable(checkable)
    action.triggered.connect(slot)
    menu.addAction(action)
    made[name] = action
    return action


def _sitting_menu(window, made) -> None:
    files, keys = window.files, QKeySequence.StandardKey
    menu = menu_of(window, "&Sitting")
    _add(menu, made, "open", "Open…", lambda: files.ask_open(), keys.Open)
    recent = menu.addMenu("Open recent")
    recent.aboutToShow.connect(lambda: _fill_recent(window, recent))
    _add(menu, made, "save", "Save", lambda: files.save(), keys.Save)
    _add(menu, made, "save as", "Save as…", lambda: files.ask_save(), keys.SaveAs)
    menu.addSeparator()
    leave = menu.addMenu("Leave with")
    window.leaving.fill(leave)
    made["leave"] = leave.menuAction()
    _add(menu, made, "sheet", "Plane sheet…", lambda: window.leaving.ask("sheet"), "Ctrl+E")
    _add(menu, made, "print", "Print the plane sheet…", lambda: window.leaving.print_sheet(), keys.Print)
    menu.addSeparator()
    _add(menu, made, "day", "Day plan…", lambda: window.show_day_plan(), "Ctrl+D")
    menu.addSeparator()
    _add(menu, made, "title", "Title…", lambda: _ask_title(window))
    menu.addSeparator()
    _add(menu, made, "quit", "Quit", lambda: window.close(), keys.Quit)


def _fill_recent(window, menu) -> None:
    menu.clear()
    for path in recent_files():
        menu.addAction(path.name, lambda path=path: window.files.may_leave() and window.files.open(path))
    menu.setEnabled(True)
    if menu.isEmpty():
        menu.addAction("nothing yet").setEnabled(False)


def _ask_title(window) -> None:
    title, given = QInputDialog.getText(
        window, "Title", "Title of the sitting", QLineEdit.EchoMode.Normal, window.model.sitting.title
    )
    if given:
        window.files.rename(title)


def _edit_menu(window, made) -> None:
    menu, keys = menu_of(window, "&Edit"), QKeySequence.StandardKey
    _add(menu, made, "undo", "Undo", lambda: window.model.undo(), keys.Undo)
    _add(menu, made, "redo", "Redo", lambda: window.model.redo(), [keys.Redo, "Ctrl+Y"])
    menu.addSeparator()
    _add(menu, made, "copy", "Copy the plane's colour", lambda: _copy(window), keys.Copy)
    _add(menu, made, "search", "Search planes", lambda: window.table.search.setFocus(), keys.Find)


def _copy(window) -> None:
    if window.why.seen is not None:
        text = f"{window.why.name.text()}: {window.why.seen.munsell}, {window.why.seen.srgb}"
        QApplication.clipboard().setText(text)
        window.say(f"Copied: {text}")


def _look_menu(window, made) -> None:
    menu = menu_of(window, "&Look")
    for number, view in enumerate(VIEWS, 1):
        _add(menu, made, view, view.capitalize(), lambda _=False, view=view: window.model.show(view), str(number))
    menu.addSeparator()
    for name, key in _PLACE_KEYS.items():
        words = f"From the {name}" if name in ("front", "back") else f"From {name}" if name in PLACES else name
        _add(
            menu,
            made,
            f"from {name}",
            words.replace("From three-quarter", "Three-quarter").replace("From profile", "Profile"),
            lambda _=False, name=name: _go_to(window, name),
            key,
        )
    menu.addSeparator()
    for words, across, upward, key in (
        ("Walk left", -_STEP, 0.0, "Alt+Left"),
        ("Walk right", _STEP, 0.0, "Alt+Right"),
        ("Walk up", 0.0, _STEP, "Alt+Up"),
        ("Walk down", 0.0, -_STEP, "Alt+Down"),
    ):
        _add(menu, made, words.lower(), words, lambda _=False, a=across, u=upward: _walk(window, a, u), key)
    _add(menu, made, "nearer", "Nearer", lambda: window.stages.first.zoom(1.15), ["+", "="])
    _add(menu, made, "farther", "Farther", lambda: window.stages.first.zoom(1 / 1.15), "-")
    _add(menu, made, "frame", "Fill the stage", lambda: _frame(window), "Home")
    _add(menu, made, "stand here", "Stand here", lambda: window.model.stand_here(), "H")
    _add(menu, made, "go back", "Go back to where the eye stands", lambda: window.model.look_from(None, None), "G")
    menu.addSeparator()
    mark = _add(menu, made, "mark", "Mark what screen or paint cannot show", window.set_mark, "M", True)
    mark.setChecked(True)
    _surrounds(window, menu, made)
    _screens(window, menu, made)


def _surrounds(window, menu, made) -> None:
    surrounds, group = menu.addMenu("Surround"), QActionGroup(window)
    for name in SURROUNDS:
        words = {"darker": "Darker", "middle": "Middle grey (Munsell N5)", "lighter": "Lighter"}[name]
        action = _add(surrounds, made, name, words, lambda _=False, name=name: window.set_surround(name), None, True)
        group.addAction(action)


def _screens(window, menu, made) -> None:
    screens, group = menu.addMenu("This screen is"), QActionGroup(window)
    for name in SCREENS:
        action = _add(screens, made, name, name, lambda _=False, name=name: _set_screen(window, name), None, True)
        action.setChecked(name == screen())
        group.addAction(action)


def _set_screen(window, name: str) -> None:
    set_screen(name)
    window.update()
    for child in window.findChildren(type(window.sitter.chips[0])):
        child.update()
    window.show_view()


def _go_to(window, name: str) -> None:
    window.model.settle()
    window.model.look_from(place(window.model.state.looks_from, name))
    window.model.settle()


def _walk(window, across: float, upward: float) -> None:
    window.model.look_from(turned(window.model.state.looks_from, across, upward), "walk")


def _frame(window) -> None:
    window.stages.first.frame()
    window.stages.first.look_from(window.stages.first.gaze)


def _compare_menu(window, made) -> None:
    menu = menu_of(window, "&Compare")
    _add(menu, made, "hold", "Hold this sitting beside", lambda: window.model.hold(window.model.sitting), "Ctrl+H")
    _add(menu, made, "exchange", "Exchange the two", lambda: window.model.swap(), "X")
    _add(menu, made, "difference", "Show the difference", lambda: window.stages.difference.toggle(), "D")
    _add(menu, made, "let go", "Let go", lambda: window.model.hold(None), "Esc")


def _lessons_menu(window, made) -> None:
    menu = menu_of(window, "Le&ssons")
    for lesson in lessons():
        _add(menu, made, lesson.title, lesson.title, lambda _=False, one=lesson: window.stages.lesson.begin(one))
