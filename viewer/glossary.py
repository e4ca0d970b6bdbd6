"""What the words of the window mean: a small list to read beside it, from the trade's words to the numbers."""

from __future__ import annotations

from html import escape

from PyQt6.QtWidgets import QDialog, QTextBrowser, QVBoxLayout

WORDS = (
    ("Skylight note", "how far the light, not the skin, pulls a colour toward sky blue or toward warm; 1 is about the "
     "least that shows. A single light of one colour makes none."),
    ("Greying", "the share of the skin's own colour that is lost: at 100 % a place is neutral, below 0 % it is richer "
     "than its own colour."),
    ("Sheen", "light mirrored by the skin's surface. It has the colour of the light, not of the skin, and moves with "
     "you. Oil makes more of it, roughness spreads it."),
    ("Own colour", "the body of the skin under the white card's light, without sheen."),
    ("Plane", "a named facet of the head; left and right are the sitter's own."),
    ("Light, halftone, shadow", "where the strongest light gives at least half of what it gives the best placed plane; "
     "from 15 %; below that."),
    ("White card", "a white surface upright at the sitter's place, facing the eye: the white of the scene. What is "
     "lighter lies above white; no paint reaches it."),
    ("Used to the light", "an eye wholly used to a lamp sees a white card as white in it; one that is not keeps the "
     "lamp's orange."),
    ("Key", "how the lights of the scene are laid onto the values of paint."),
    ("Stop", "half or twice as much light."),
    ("Alone", "in the list of lights: all the others off."),
    ("Munsell", "hue, value / chroma: 5YR 4/4 is a middle brown of value 4, between black 0 and white 10."),
    ("L*", "lightness from black 0 to white 100; a* goes from green to red, b* from blue to yellow."),
    ("ΔE", "how far two colours are apart (CIEDE2000): 1 is about what a careful eye finds side by side."),
    ("String", "a row of mixes from a colour toward a lighter or a calmer paint."),
    ("Pile", "one mix on the palette, for all strokes that differ from it by less than a careful eye minds."),
    ("K and Duv", "the colour of a light: how warm (2000 K) or cool (10 000 K), and how far toward green (+) or pink "
     "(−) beside that."),
    ("ITA", "a number for how fair a skin is, from its L* and b*: large for fair skin, negative for deep."),
)  # fmt: skip
"""A word, and what it means, in the order in which one meets them."""


class Glossary(QDialog):
    """A window of its own beside the main one."""

    def __init__(self, parent=None):
        super().__init__(parent)
        self.setWindowTitle("What the words mean – Sitterlight")
        self.text = QTextBrowser()
        self.text.setAccessibleName("what the words mean")
        self.text.setHtml("".join(f"<p><b>{escape(word)}</b>: {escape(meaning)}</p>" for word, meaning in WORDS))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(10, 10, 10, 10)
        layout.addWidget(self.text)
        self.resize(460, 560)
