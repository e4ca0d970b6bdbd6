"""The colours of the window itself: greys without hue, so that nothing beside the head leads the eye.

Three surrounds to choose from. The stage of the middle one is Munsell N5; that of the light one N7, that of the
dark one N3 (luminance factors by ASTM D1535, as in shading.munsell).
"""

from __future__ import annotations

from dataclasses import dataclass

from PyQt6.QtGui import QColor, QPalette


@dataclass(frozen=True)
class Greys:
    """sRGB codes of one channel, the same for all three, of everything that is not a picture."""

    name: str
    stage: int
    panel: int
    field: int
    raised: int
    line: int
    text: int
    soft_text: int
    chosen: int
    chosen_text: int


SURROUNDS = {
    "darker": Greys("darker", 74, 38, 30, 56, 68, 222, 158, 200, 20),
    "middle": Greys("middle", 122, 68, 58, 86, 100, 235, 182, 215, 24),
    "lighter": Greys("lighter", 177, 214, 228, 236, 176, 26, 84, 70, 240),
}
"""Names of the surrounds, from dark to light. 122 is Munsell N5, 177 N7, 74 N3."""


def grey(code: int) -> str:
    return f"#{code:02x}{code:02x}{code:02x}"


def palette(greys: Greys) -> QPalette:
    """A palette of these greys for the whole application."""
    result = QPalette()
    role = QPalette.ColorRole
    colours = {
        role.Window: greys.panel,
        role.WindowText: greys.text,
        role.Base: greys.field,
        role.AlternateBase: greys.panel,
        role.Text: greys.text,
        role.Button: greys.raised,
        role.ButtonText: greys.text,
        role.BrightText: greys.text,
        role.Highlight: greys.chosen,
        role.HighlightedText: greys.chosen_text,
        role.ToolTipBase: greys.field,
        role.ToolTipText: greys.text,
        role.PlaceholderText: greys.soft_text,
        role.Link: greys.text,
        role.LinkVisited: greys.text,
        role.Accent: greys.chosen,
        role.Light: greys.raised,
        role.Midlight: greys.raised,
        role.Mid: greys.line,
        role.Dark: greys.line,
        role.Shadow: greys.field,
    }
    for name, code in colours.items():
        result.setColor(name, QColor(code, code, code))
    for name in (role.WindowText, role.Text, role.ButtonText):
        half = (greys.text + greys.panel) // 2
        result.setColor(QPalette.ColorGroup.Disabled, name, QColor(half, half, half))
    return result


def style(greys: Greys) -> str:
    """The style sheet that goes with the palette."""
    names = {name: grey(value) for name, value in vars(greys).items() if isinstance(value, int)}
    names["faint"] = grey((greys.soft_text + greys.panel) // 2)
    return _STYLE.format(**names)


_STYLE = """
* {{ outline: none; }}
QMainWindow, QDialog {{ background: {panel}; }}
QDialogButtonBox {{ dialogbuttonbox-buttons-have-icons: 0; }}
QLabel#qt_msgboxex_icon_label {{ max-width: 0; max-height: 0; }}
QMainWindow::separator {{ background: {panel}; width: 5px; height: 5px; }}
QMainWindow::separator:hover {{ background: {line}; }}
QToolTip {{ background: {field}; color: {text}; border: 1px solid {line}; padding: 4px; }}
QMenuBar {{ background: {panel}; padding: 1px 4px; }}
QMenuBar::item {{ padding: 4px 9px; border-radius: 3px; background: transparent; }}
QMenuBar::item:selected {{ background: {raised}; }}
QMenu {{ background: {field}; border: 1px solid {line}; padding: 4px; }}
QMenu::item {{ padding: 5px 26px 5px 22px; border-radius: 3px; }}
QMenu::item:selected {{ background: {raised}; }}
QMenu::item:disabled {{ color: {faint}; }}
QMenu::separator {{ height: 1px; background: {line}; margin: 4px 8px; }}
QStatusBar {{ background: {panel}; }}
QStatusBar::item {{ border: none; }}
QDockWidget {{ titlebar-close-icon: none; }}
QScrollArea, QScrollArea > QWidget > QWidget {{ background: transparent; border: none; }}
QScrollBar:vertical {{ background: transparent; width: 9px; margin: 0; }}
QScrollBar:horizontal {{ background: transparent; height: 9px; margin: 0; }}
QScrollBar::handle {{ background: {line}; border-radius: 4px; min-height: 24px; min-width: 24px; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
QPushButton, QToolButton {{ background: {raised}; border: 1px solid {line}; border-radius: 4px; padding: 4px 10px; }}
QFileDialog QToolButton {{ padding: 3px; }}
QFileDialog QListView#sidebar {{ qproperty-iconSize: 0px 0px; }}
QFileDialog QListView#sidebar::item {{ padding: 4px 2px; }}
QPushButton:hover, QToolButton:hover {{ border-color: {soft_text}; }}
QPushButton:pressed, QToolButton:pressed {{ background: {line}; }}
QPushButton:checked, QToolButton:checked {{ background: {chosen}; color: {chosen_text}; border-color: {chosen}; }}
QPushButton:focus, QToolButton:focus, QComboBox:focus, QLineEdit:focus, QAbstractSpinBox:focus {{
    border: 1px solid {text}; }}
QPushButton:disabled, QToolButton:disabled {{ color: {faint}; }}
QToolButton#quiet, QPushButton#quiet {{ background: transparent; border: 1px solid transparent; padding: 3px 6px; }}
QToolButton#quiet:hover, QPushButton#quiet:hover {{ background: {raised}; }}
QToolButton#quiet:focus, QPushButton#quiet:focus {{ border: 1px solid {soft_text}; }}
QToolButton#quiet:checked, QPushButton#quiet:checked {{ background: {chosen}; color: {chosen_text}; }}
QToolButton#heading {{ background: transparent; border: 1px solid transparent; border-radius: 3px; font-weight: 600;
    padding: 4px 2px; text-align: left; }}
QToolButton#heading:checked {{ background: transparent; color: {text}; }}
QToolButton#heading:focus {{ border: 1px solid {soft_text}; }}
QToolButton#view {{ background: transparent; border: none; border-bottom: 2px solid transparent; border-radius: 0;
    padding: 6px 7px 5px 7px; color: {soft_text}; }}
QToolButton#view:hover {{ color: {text}; }}
QToolButton#view:checked {{ color: {text}; border-bottom: 2px solid {text}; }}
QToolButton#view:focus {{ background: {raised}; }}
QToolButton::menu-indicator, QPushButton::menu-indicator {{ image: none; width: 0; }}
QComboBox, QLineEdit, QAbstractSpinBox {{ background: {field}; border: 1px solid {line}; border-radius: 4px;
    padding: 3px 6px; selection-background-color: {chosen}; selection-color: {chosen_text}; }}
QComboBox::drop-down {{ border: none; width: 18px; }}
QComboBox QAbstractItemView {{ background: {field}; border: 1px solid {line}; selection-background-color: {raised};
    selection-color: {text}; }}
QCheckBox {{ spacing: 7px; }}
QCheckBox:focus {{ text-decoration: underline; }}
QSlider::groove:horizontal {{ height: 3px; background: {line}; border-radius: 1px; }}
QSlider::sub-page:horizontal {{ height: 3px; background: {soft_text}; border-radius: 1px; }}
QSlider::handle:horizontal {{ width: 13px; height: 13px; margin: -6px 0; border-radius: 7px; background: {text};
    border: 1px solid {panel}; }}
QSlider::handle:horizontal:focus {{ border: 2px solid {field}; background: {chosen}; }}
QSlider::groove:horizontal:disabled, QSlider::sub-page:horizontal:disabled {{ background: {line}; }}
QSlider::handle:horizontal:disabled {{ background: {line}; }}
QTreeView, QListView, QTextBrowser {{ background: {field}; border: none; alternate-background-color: {field}; }}
QTreeView::item {{ padding: 2px 2px; border: none; }}
QTreeView::item:hover {{ background: {raised}; }}
QTreeView::item:selected {{ background: {raised}; color: {text}; }}
QHeaderView::section {{ background: {field}; color: {soft_text}; border: none; padding: 3px 4px; }}
QProgressBar {{ background: {field}; border: none; border-radius: 3px; max-height: 6px; }}
QProgressBar::chunk {{ background: {soft_text}; border-radius: 3px; }}
QTabBar::tab {{ background: transparent; color: {soft_text}; border: none; border-bottom: 2px solid transparent;
    padding: 5px 10px; }}
QTabBar::tab:selected {{ color: {text}; border-bottom: 2px solid {text}; }}
QTabBar::tab:hover {{ color: {text}; }}
QTabWidget::pane {{ border: none; }}
QLabel#soft {{ color: {soft_text}; }}
QLabel#value {{ color: {text}; }}
QLabel#title {{ font-weight: 600; }}
QFrame#rule {{ background: {line}; max-height: 1px; border: none; }}
QSplitter::handle {{ background: {panel}; }}
"""
