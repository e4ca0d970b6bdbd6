"""The head in layers, for painting on: OpenRaster (openraster.org, baseline 0.0.5).

From below: neutral ground, the skin's own colour, shadow (multiplied), light and sheen (added), each so that the stack
gives the head as seen; then, hidden, the notes and greying, and a group with one mask for each plane in its colour.
Layers are mixed as painting programs do, on sRGB codes, and shadow and light are made for that.
"""

from __future__ import annotations

import zipfile
from dataclasses import dataclass
from io import BytesIO
from xml.sax.saxutils import quoteattr

import numpy as np
from PIL import Image

from sitterlight.shading.colour_spaces import into_sRGB
from sitterlight.shading.legends import legend
from sitterlight.shading.lettering import clean
from sitterlight.shading.picture import MUNSELL_N5, develop_layer, encode, linear_from_hex
from sitterlight.shading.png import png_bytes
from sitterlight.shading.progress import Progress, part, tell
from sitterlight.shading.study import Study

MULTIPLY, PLUS, OVER = "svg:multiply", "svg:plus", "svg:src-over"
_ROWS = 100  # of pixels parted together, so that memory stays small
_MOMENT = (2026, 1, 1, 0, 0, 0)  # the same picture gives the same file


@dataclass(frozen=True)
class Layer:
    """A layer: `pixels (h,w,4)` uint8 laid at `left`, `top`; `mode` is a composite operator of OpenRaster."""

    name: str
    pixels: np.ndarray
    mode: str = OVER
    visible: bool = True
    left: int = 0
    top: int = 0


def openraster(study: Study, progress: Progress | None = None) -> bytes:
    """The content of an OpenRaster file; `progress` is told the share of its layers done."""
    pictures = [*painted_layers(study, part(progress, 0.0, 0.2)), *map_layers(study)]
    tell(progress, 0.2)
    masks = plane_masks(study, part(progress, 0.2, 0.6))
    merged = np.dstack([study.head_picture, np.full(study.head_picture.shape[:2], 255, np.uint8)])
    file = BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        _add(archive, "mimetype", b"image/openraster", zipfile.ZIP_STORED)
        _add(archive, "stack.xml", _stack(study, pictures, masks).encode())
        for k, layer in enumerate([*pictures, *masks]):
            tell(progress, 0.6 + 0.4 * k / (len(pictures) + len(masks)))
            _add(archive, f"data/layer{k:03d}.png", png_bytes(layer.pixels), zipfile.ZIP_STORED)
        _add(archive, "mergedimage.png", png_bytes(merged), zipfile.ZIP_STORED)
        small = Image.fromarray(study.head_picture)
        small.thumbnail((256, 256))
        _add(archive, "Thumbnails/thumbnail.png", png_bytes(small), zipfile.ZIP_STORED)
    return file.getvalue()


def painted_layers(study: Study, progress: Progress | None = None) -> list[Layer]:
    """Ground, own colour, shadow, light and sheen, from below."""
    film = study.film
    own = develop_layer(film, _linear(study, study.scene.own_XYZ))
    tell(progress, 0.3)
    body = develop_layer(film, _linear(study, _without_sheen(study)))
    tell(progress, 0.6)
    seen = develop_layer(film, study.seen)
    tell(progress, 0.8)
    shadow, light, sheen = own.copy(), own.copy(), own.copy()
    for first in range(0, len(own), _ROWS):
        rows = slice(first, first + _ROWS)
        parted = _parted(*(one[rows, :, :3].astype(float) for one in (own, body, seen)))
        for layer, codes in zip((shadow, light, sheen), parted, strict=True):
            layer[rows, :, :3] = codes
    grey = int(encode(np.array(MUNSELL_N5)))
    ground = np.full((*own.shape[:2], 4), (grey, grey, grey, 255), np.uint8)
    return [
        Layer("ground", ground),
        Layer("own colour", own),
        Layer("shadow", shadow, MULTIPLY),
        Layer("light", light, PLUS),
        Layer("sheen", sheen, PLUS),
    ]


def _parted(own: np.ndarray, body: np.ndarray, seen: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Codes of shadow, light and sheen that make what is `seen` of the `own` colour, by way of the `body`."""
    share = np.clip(np.rint(255 * body / np.maximum(own, 1)), 0, 255)
    shaded = np.rint(own * share / 255)
    light = np.clip(body - shaded, 0, 255)
    sheen = np.clip(seen - np.minimum(shaded + light, 255), 0, 255)
    return share, light, sheen


def map_layers(study: Study) -> list[Layer]:
    """The maps of greying and of skylight notes, hidden."""
    opacity = np.rint(study.film.coverage * 255).astype(np.uint8)
    maps = (("greying", study.greying_picture), ("skylight notes", study.note_picture))
    return [Layer(legend(name).title.lower(), np.dstack([shown, opacity]), visible=False) for name, shown in maps]


def plane_masks(study: Study, progress: Progress | None = None) -> list[Layer]:
    """For each plane that the picture shows, its pixels in its own colour, no larger than they need."""
    display, film = study.scene.head.display, study.film
    height, width = film.coverage.shape
    plane = np.asarray(display.plane_of_face)[film.face]
    share = film.weights.sum(axis=1)
    masks = []
    for k, row in enumerate(study.rows):
        tell(progress, k / len(study.rows))
        mine = plane == k
        if not mine.any():
            continue
        alpha = np.bincount(film.pixel[mine], share[mine], minlength=film.pixels).reshape(height, width)
        rows, columns = np.flatnonzero(alpha.any(axis=1)), np.flatnonzero(alpha.any(axis=0))
        cut = alpha[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
        pixels = np.empty((*cut.shape, 4), np.uint8)
        pixels[..., :3] = encode(linear_from_hex(row.srgb))
        pixels[..., 3] = np.rint(np.clip(cut, 0, 1) * 255)
        name = row.name if row.side == "centre" else f"{row.name}, {row.side}"
        masks.append(Layer(name, pixels, left=int(columns[0]), top=int(rows[0])))
    return masks


def _without_sheen(study: Study) -> np.ndarray:
    parts = [k for k, part in enumerate(study.scene.parts) if part.path != "sheen"]
    return study.scene.part_XYZ[parts].sum(axis=0)


def _linear(study: Study, XYZ: np.ndarray) -> np.ndarray:
    """Linear sRGB (D,3) of scene XYZ (V,3) as the study's eye sees it."""
    return into_sRGB(study.eye.screen_XYZ(study.scene.head.to_display @ XYZ))


def _stack(study: Study, pictures: list[Layer], masks: list[Layer]) -> str:
    """stack.xml; OpenRaster lists layers from above."""
    width, height = study.film.size
    listed = [_layer(layer, k) for k, layer in enumerate(pictures)]
    planes = [_layer(layer, len(pictures) + k) for k, layer in enumerate(masks)]
    hidden = '<stack name="planes" visibility="hidden" opacity="1.0" composite-op="svg:src-over">'
    group = [hidden, *planes[::-1], "</stack>"]
    lines = [*(group if masks else []), *listed[::-1]]
    inside = "\n".join(lines)
    title = quoteattr(clean(study.scene.sitting.title))
    size = f'w="{width}" h="{height}" xres="150" yres="150" version="0.0.5" name={title}'
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<image {size}>\n<stack>\n{inside}\n</stack>\n</image>\n'


def _layer(layer: Layer, number: int) -> str:
    shown = "visible" if layer.visible else "hidden"
    place = f'x="{layer.left}" y="{layer.top}" opacity="1.0" visibility="{shown}" composite-op="{layer.mode}"'
    return f'<layer name={quoteattr(layer.name)} src="data/layer{number:03d}.png" {place}/>'


def _add(archive: zipfile.ZipFile, name: str, content: bytes, method: int = zipfile.ZIP_DEFLATED) -> None:
    entry = zipfile.ZipInfo(name, _MOMENT)
    entry.compress_type = method
    archive.writestr(entry, content)
