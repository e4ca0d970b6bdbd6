"""What panels have to work out when they are made, worked out before: each is kept by the function that gives it."""

from __future__ import annotations

from contextlib import suppress

from sitterlight.shading.sitting import Sitting


def choice(_sitting: Sitting) -> None:
    """The titles of all built-in sittings."""
    from sitterlight.shading.sittings import built_in, built_in_names

    for name in built_in_names():
        built_in(name)


def sitter(_sitting: Sitting) -> None:
    """The colours of the ladder of skins."""
    from sitterlight.shading.ladder import LADDER
    from sitterlight.viewer.sitter_panel import ladder_code

    for step in LADDER:
        ladder_code(step)


def lights(sitting: Sitting) -> None:
    """The colours of the sitting's lights."""
    from sitterlight.viewer.light_facts import codes_of

    codes_of(sitting)


def eye(_sitting: Sitting) -> None:
    """The listed surfaces."""
    from sitterlight.illuminants.surfaces import surfaces

    surfaces()


def paints(sitting: Sitting) -> None:
    """The colours of the palette's tubes."""
    from sitterlight.shading.mixing import viewing_light
    from sitterlight.shading.paint_chips import chip_codes, undertone_Lab
    from sitterlight.shading.paints import paint

    light = viewing_light(sitting.easel.light, sitting.folder)
    for name in sitting.palette.paints:
        with suppress(ValueError):  # said in the panel
            chip_codes(paint(name, sitting.folder), light)
            undertone_Lab(paint(name, sitting.folder), light)
