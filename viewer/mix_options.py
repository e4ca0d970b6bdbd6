"""What `sitterlight mix` may be asked beside a colour and tubes: the light at the easel, and wishes for the mix."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sitterlight.shading.mix import Asked

LIGHT, SECOND_LIGHT, MOST, BASE = "D50", "A", "4", "none"
FLAGS = {
    "few_paints": "a further paint must be worth one ΔE00, not a third",
    "transparent_darks": "below L* 45 no white and no opaque paint, where that costs little",
    "no_black": "black tubes stay closed",
}


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add them to a command's parser."""
    told = f'light at the easel, such as D65, LED-B1, "3000 K" or a CSV file; {LIGHT} unless told'
    parser.add_argument("--light", default=LIGHT, metavar="L", help=told)
    told = f"light in which the mix should hold as well; {SECOND_LIGHT} unless told"
    parser.add_argument("--second-light", default=SECOND_LIGHT, metavar="L", help=told)
    parser.add_argument("--most", default=MOST, metavar="N", help=f"paints in one mix, 1 to 4; {MOST} unless told")
    parser.add_argument("--base", default=BASE, metavar="PAINT", help="a paint of the palette that the mix should hold")
    for name, words in FLAGS.items():
        parser.add_argument(f"--{name.replace('_', '-')}", action="store_true", help=words)


def asked_by(given: argparse.Namespace, paints: list[str]) -> Asked:
    """What was asked, checked. ValueError, in one sentence that begins with the option, for what cannot be."""
    from sitterlight.shading.mix import asked

    flags = {name: getattr(given, name) for name in FLAGS}
    most = int(given.most) if given.most.isascii() and given.most.isdigit() and len(given.most) < 9 else given.most
    return asked(paints, given.light, given.second_light, most, given.base, **flags)
