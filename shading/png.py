"""PNG files that say which colours they hold."""

from __future__ import annotations

from io import BytesIO

import numpy as np
from PIL import Image
from PIL.PngImagePlugin import PngInfo

PERCEPTUAL = b"\x00"


def png_bytes(
    picture: np.ndarray | Image.Image,
    title: str = "",
    dots_per_inch: float | None = None,
    profile: bytes | None = None,
) -> bytes:
    """The content of a PNG file, marked as sRGB (chunk sRGB, PNG specification 11.3.2.5) or with an ICC `profile`.

    `picture`: (H,W,3) or (H,W,4) uint8, or a Pillow image. The same picture gives the same bytes.
    """
    image = picture if isinstance(picture, Image.Image) else Image.fromarray(np.ascontiguousarray(picture))
    said = PngInfo()
    if profile is None:
        said.add(b"sRGB", PERCEPTUAL)
    if title:
        said.add_itxt("Title", title)
    said.add_itxt("Software", "Sitterlight")
    more = {"dpi": (dots_per_inch, dots_per_inch)} if dots_per_inch else {}
    file = BytesIO()
    image.save(file, "PNG", pnginfo=said, compress_level=6, icc_profile=profile, **more)
    return file.getvalue()
