"""Letters for pictures and sheets: a free font that comes with the installed packages, and others where it
lacks signs.

DejaVu Sans comes with matplotlib, which PyVista requires; Bitstream Vera Sans, its ancestor, with
ReportLab. Titles in scripts that neither holds are set in a font of the system's, joined and ordered as the
script asks where Pillow can.
"""

from __future__ import annotations

import os
import sys
import unicodedata
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont, features

PLAIN, BOLD = "DejaVuSans.ttf", "DejaVuSans-Bold.ttf"
_ANCESTORS = {PLAIN: "Vera.ttf", BOLD: "VeraBd.ttf"}
# Free and system fonts that hold many scripts, by the beginning of their file names, the widest first.
_WIDE = (
    "notosanscjk",
    "droidsansfallback",
    "wqy",
    "arialuni",
    "msyh",
    "yugoth",
    "meiryo",
    "malgun",
    "nirmala",
)
_WIDE += (
    "pingfang",
    "hiragino",
    "applesdgothic",
    "notosans",
    "notoserif",
    "lohit",
    "freesans",
    "unifont",
    "gulim",
)


@lru_cache(maxsize=4)
def font_path(weight: str = PLAIN) -> Path:
    """The file of our font, PLAIN or BOLD. FileNotFoundError where no installed package brings one."""
    folders = [_package("matplotlib") / "mpl-data" / "fonts" / "ttf" / weight]
    folders.append(_package("reportlab") / "fonts" / _ANCESTORS[weight])
    for path in folders:
        if path.is_file():
            return path
    raise FileNotFoundError(
        "No font is found; install matplotlib or reportlab again, which bring DejaVu and Vera Sans."
    )


@lru_cache(maxsize=64)
def font(size: float, weight: str = PLAIN, path: Path | None = None) -> ImageFont.FreeTypeFont:
    """A font for Pillow, `size` in pixels."""
    return ImageFont.truetype(str(path or font_path(weight)), size)


def font_for(text: str, weight: str = PLAIN) -> Path:
    """The font file that holds most signs of `text`: ours where it holds all, else one of the system's."""
    ours = font_path(weight)
    least = _missing(text, ours)
    if not least:
        return ours
    best = ours
    for path in _system_fonts():
        missing = _missing(text, path)
        if missing < least:
            best, least = path, missing
        if not least:
            break
    return best


def is_plain(text: str) -> bool:
    """Whether our own font sets the text rightly, from left to right and without joined letters."""
    simple = all(unicodedata.bidirectional(sign) not in ("R", "AL", "AN") for sign in text)
    joined = any(unicodedata.combining(sign) or 0x0900 <= ord(sign) <= 0x109F for sign in text)
    return simple and not joined and not _missing(text, font_path())


def text_picture(text: str, size: float, colour: tuple[int, int, int], weight: str = PLAIN) -> Image.Image:
    """A line of text in any script as a picture with opacity, cut to its width, 1.4 × `size` high."""
    letters = font(size, path=font_for(text, weight))
    width = int(letters.getlength(text)) + int(size)
    picture = Image.new("RGBA", (max(width, 1), int(1.4 * size)), (*colour, 0))
    draw = ImageDraw.Draw(picture)
    draw.text((0, 1.05 * size), text, font=letters, fill=(*colour, 255), anchor="ls")
    box = picture.getbbox()
    return picture.crop((0, 0, box[2] if box else 1, picture.height))


def clean(text: str) -> str:
    """One line of `text` without control signs."""
    return " ".join("".join(" " if unicodedata.category(sign)[0] == "C" else sign for sign in text).split())


def can_shape() -> bool:
    """Whether Pillow joins and orders letters here (Raqm)."""
    return bool(features.check("raqm"))


def _package(name: str) -> Path:
    spec = find_spec(name)
    return Path(spec.origin).parent if spec and spec.origin else Path("missing")


@lru_cache(maxsize=32)
def _signs(path: Path) -> frozenset[int]:
    """The code points that a font file holds."""
    from fontTools.ttLib import TTFont, TTLibError

    try:
        with TTFont(path, fontNumber=0, lazy=True) as file:
            return frozenset(file.getBestCmap() or ())
    except (TTLibError, OSError, KeyError, ValueError, AssertionError):
        return frozenset()


def _missing(text: str, path: Path) -> int:
    signs = _signs(path)
    return sum(ord(sign) not in signs for sign in text if not sign.isspace())


@lru_cache(maxsize=1)
def _system_fonts() -> tuple[Path, ...]:
    """The system's fonts of many scripts, the widest first, at most forty."""
    found: list[tuple[int, Path]] = []
    for folder in _font_folders():
        for path in sorted(folder.rglob("*"))[:5000] if folder.is_dir() else ():
            name = path.name.lower()
            rank = next((k for k, start in enumerate(_WIDE) if name.startswith(start)), None)
            if rank is not None and path.suffix.lower() in (".ttf", ".ttc", ".otf"):
                found.append((rank, path))
    return tuple(path for _, path in sorted(found)[:40])


def _font_folders() -> list[Path]:
    home = Path.home()
    if sys.platform == "win32":
        return [Path(os.environ.get("WINDIR", "C:/Windows")) / "Fonts"]
    if sys.platform == "darwin":
        return [Path("/System/Library/Fonts"), Path("/Library/Fonts"), home / "Library" / "Fonts"]
    return [Path("/usr/share/fonts"), Path("/usr/local/share/fonts"), home / ".local" / "share" / "fonts"]
