"""Makes the pictures of README.md anew: python -m tests.pictures, from the project's folder, with a screen.

Those of the window are taken from the real window, those of studies come from the code of `study`. They show built-in
sittings, some with another skin, other walls or seen from elsewhere, and the sitting of the first walk. Settings and
remembered results lie in a folder of the run's own. A few minutes.
"""

from __future__ import annotations

import argparse
import os
import re
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from io import BytesIO
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent.parent / "viewer" / "pictures"
WINDOW, DAY = (1440, 900), (1065, 1216)
"""Sizes in pixels of the window and of the day plan, which then shows all that there is."""

CLOSER = 0.9
"""Of the height that a portrait shows: how much of it is shown of the planes, without the ends of the arms."""


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.pictures", description=__doc__.splitlines()[0])
    parser.add_argument("--only", nargs="+", choices=list(PICTURES), default=list(PICTURES), metavar="NAME")
    parser.add_argument("--out", type=Path, default=FOLDER, help="where to write them")
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory(prefix="sitterlight-pictures-") as scratch:
        os.environ["SITTERLIGHT_SETTINGS"], os.environ["SITTERLIGHT_LOG"] = f"{scratch}/settings", f"{scratch}/log"
        os.environ.setdefault("SITTERLIGHT_CACHE", f"{scratch}/cache")
        os.environ.setdefault("QT_API", "pyqt6")
        os.environ["QT_SCALE_FACTOR"] = "1"
        for name in asked.only:
            size = write(PICTURES[name](), asked.out / f"{name}.png")
            print(f"{name:12s} {size / 1000:4.0f} kB", flush=True)
        close()
    return 0


def write(picture: np.ndarray, path: Path) -> int:
    """Write a picture (H,W,3) uint8 as a small PNG file without a word about its making; its size in bytes."""
    from PIL import Image

    path.parent.mkdir(parents=True, exist_ok=True)
    Image.fromarray(np.ascontiguousarray(picture)).save(path, optimize=True)
    return path.stat().st_size


# ---- of studies


def beside(*pictures: np.ndarray, gap: int = 0) -> np.ndarray:
    """Pictures of one height side by side, white between them."""
    space = np.full((len(pictures[0]), gap, 3), 255, np.uint8)
    parts = [part for picture in pictures for part in (picture, space)]
    return np.concatenate(parts[:-1], axis=1)


def portrait(sitting, size: tuple[int, int], in_planes: bool = False) -> np.ndarray:
    """The head of a study, or its planes from a little nearer, in a picture of `size`."""
    from sitterlight.shading import picture
    from sitterlight.shading.study import study_of
    from sitterlight.shading.view import portrait_view

    study = study_of(sitting)
    display, scene = study.scene.head.display, study.scene
    view = portrait_view(scene.head, scene.eye_position, scene.rotation, size)
    if not in_planes:
        return picture.develop(picture.expose(display, view), study.seen)
    raised = view.centre[0], view.centre[1] + 0.014 * view.half_height
    film = picture.expose(display, replace(view, half_height=CLOSER * view.half_height, centre=raised))
    return picture.plane_picture(film, display, [row.srgb for row in study.mixed.rows], study.seen)


def two_lights() -> np.ndarray:
    from sitterlight.shading.sitting import with_eye, with_skin
    from sitterlight.shading.sittings import built_in

    shade, dusk = (with_skin(built_in(name), ladder=3) for name in ("open-shade", "lamp-and-dusk"))
    dusk = with_eye(dusk, azimuth=shade.eye.azimuth, elevation=shade.eye.elevation)
    return beside(*(portrait(sitting, (560, 700)) for sitting in (shade, dusk)), gap=16)


def planes() -> np.ndarray:
    """By the north window of a room with light walls, from the front and in three-quarter view."""
    from sitterlight.shading.sitting import with_eye, with_surround
    from sitterlight.shading.sittings import built_in

    studio = with_surround(built_in("north-studio"), walls=0.5)
    places = ({"azimuth": 0, "elevation": 0}, {"azimuth": 45, "elevation": 4})
    return beside(*(portrait(with_eye(studio, **place), (640, 720), in_planes=True) for place in places))


def notes() -> np.ndarray:
    from sitterlight.shading.sittings import built_in
    from sitterlight.shading.study import study_of

    return scaled(np.asarray(study_of(built_in("open-shade")).notes_panels().convert("RGB")), 1300)


def scaled(picture: np.ndarray, width: int) -> np.ndarray:
    """The same smaller."""
    from PIL import Image

    height = round(width * picture.shape[0] / picture.shape[1])
    return np.asarray(Image.fromarray(picture).resize((width, height), Image.Resampling.LANCZOS))


def page(made, width: int) -> np.ndarray:
    """A printed page, `width` pixels wide."""
    from PIL import Image

    from sitterlight.shading.page_pdf import pdf_bytes, png_of_pdf

    return np.asarray(Image.open(BytesIO(png_of_pdf(pdf_bytes(made), round(width * 2**0.5)))).convert("RGB"))


def sheet() -> np.ndarray:
    """Its upper part, which fades where it goes on."""
    from sitterlight.shading.sittings import built_in
    from sitterlight.shading.study import study_of

    whole = page(study_of(built_in("lamp-and-dusk")).sheet, 960)[30:860]
    left = np.clip(np.arange(len(whole), 0, -1) / 70, 0, 1)[:, None, None]
    return np.rint(255 + (whole - 255.0) * left).astype(np.uint8)


def plan() -> np.ndarray:
    from sitterlight.shading.sittings import built_in
    from sitterlight.shading.study import study_of

    return page(study_of(built_in("garden-overcast")).plan_page, 900)


# ---- of the window

_open = []


def opened():
    """The window, opened once, and `shown`, which waits for it."""
    if not _open:
        from sitterlight.viewer.canvas import SAMPLED
        from sitterlight.viewer.main_window import Window, make_application
        from sitterlight.viewer.model import Model
        from tests.window_driver import BUST, Shown

        app = make_application()
        window = Window(Model(BUST))
        window.stages.notice.first_steps.skip()
        for stage in window.stages.all:
            stage.plotter.pace.at_rest = lambda: SAMPLED  # smooth edges, however slow the machine
        window.show()
        _open.extend([window, Shown(window, _Waiting()), app])
    return _open[:2]


def close() -> None:
    """Close the window without being asked about what is unsaved."""
    if _open:
        from tests.window_gaps.trial import close

        close(_open[2], _open[0])


class _Waiting:
    """As tests wait for the window."""

    def waitUntil(self, done: Callable[[], bool], timeout: float = 0.0) -> None:
        from tests.window_gaps.trial import PATIENCE, wait

        wait(done)
        if not done():
            raise TimeoutError(f"The window was not ready after {PATIENCE:.0f} s.")


def linger(seconds: float = 1.0) -> None:
    """Let the window draw and lay itself out."""
    from tests.window_gaps.trial import wait

    until = time.monotonic() + seconds
    wait(lambda: time.monotonic() > until)


def taken(widget) -> np.ndarray:
    """What a widget shows, (H,W,3)."""
    from PyQt6.QtGui import QImage

    linger()
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB888)
    width, height = image.width(), image.height()
    rows = np.frombuffer(image.constBits().asstring(image.sizeInBytes()), np.uint8).reshape(height, -1)
    return rows[:, : 3 * width].reshape(height, width, 3).copy()


def choose(window, name: str, side: str) -> None:
    """Choose a plane by its name; the list shows it among whole rows."""
    window.model.choose(next(n for n, row in enumerate(window.lit.rows) if (row.name, row.side) == (name, side)))
    linger()
    tree = window.table.tree
    first = tree.visualRect(tree.indexAt(tree.viewport().rect().topLeft()))
    bar = tree.verticalScrollBar()
    bar.setValue(bar.value() + (first.top() if first.bottom() > -first.top() else first.bottom() + 1))


def window() -> np.ndarray:
    from sitterlight.shading.sittings import built_in

    window, shown = opened()
    window.resize(*WINDOW)
    shown(built_in("lamp-and-dusk"), until="rest")
    choose(window, "forehead side", "left")
    shown(until="rest")
    return taken(window)


def lesson() -> np.ndarray:
    window, shown = begin_lesson()
    window.stages.difference.setChecked(False)
    shown.view("skylight notes")
    return taken(window)


def difference() -> np.ndarray:
    window, shown = begin_lesson()
    shown.view("as seen")
    window.stages.difference.setChecked(True)
    linger()
    shown(until="rest")
    return taken(window)


def begin_lesson():
    """The lesson on where blue notes come from, the plane chosen that it speaks of."""
    from sitterlight.viewer.lessons import lessons

    window, shown = opened()
    window.resize(*WINDOW)
    strip = window.stages.lesson
    strip.begin(next(lesson for lesson in lessons() if lesson.title == "Where blue notes come from"))
    linger()
    shown(until="rest")
    choose(window, "forehead side", "left")
    shown(until="rest")
    return window, shown


def roof_garden():
    """The sitting that README.md writes out for the first walk, in Lagos, where it is."""
    from sitterlight.shading.sitting import with_lights
    from sitterlight.shading.sitting_clock import at_place
    from sitterlight.shading.sitting_file import from_dict

    text = (FOLDER.parent.parent / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"(?:^(?: {4}.*)?\n)+", text, re.MULTILINE)
    written = next(block for block in blocks if 'title = "Roof garden' in block)
    sitting = from_dict(tomllib.loads(written))
    return with_lights(sitting, *(at_place(light, "Lagos") for light in sitting.lights))


def day() -> np.ndarray:
    from PyQt6.QtCore import QDate

    window, shown = opened()
    shown(roof_garden(), until="lit")
    window.show_day_plan()
    plan, on = window.day_plan, date(2026, 11, 21)
    plan.resize(*DAY)
    plan.date.setDate(QDate(on.year, on.month, on.day))
    plan.step.set_value(30)
    plan.begin.click()
    _Waiting().waitUntil(lambda: not plan.work.is_busy and plan.day is not None and len(plan.day.facings) == 8)
    linger()
    chart = plan.chart
    bluest = next(n for n, hour in enumerate(chart.day.hours) if hour.clock == "07:00")
    cheek = [chart.day.hours[bluest].planes[number].label for number in chart.shown].index("cheek side, right")
    chart.point(bluest, cheek)
    plan.resize(*DAY)
    return taken(plan)


PICTURES = {
    "two-lights": two_lights,
    "planes": planes,
    "notes": notes,
    "plan": plan,
    "sheet": sheet,
    "window": window,
    "difference": difference,
    "lesson": lesson,
    "day": day,
}

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
