"""The regions of a head: places whose skin differs, blended softly per vertex."""

from __future__ import annotations

REGIONS = (
    "skin",  # plain, for heads whose regions are not known
    "forehead",  # with the temples
    "eyelid",
    "nose",
    "cheek",
    "ear",
    "muzzle",
    "lips",
    "jaw",  # the beard area, with the chin
    "neck",  # with the chest
    "scalp",
    "eye white",
    "iris",
    "pupil",
    "clothes",
)

# Regions that end at a sharp line. All others fade into their neighbours.
SHARP_REGIONS = ("lips", "eye white", "iris", "pupil", "clothes")


def region_number(name: str) -> int:
    """The column of a region; ValueError names the regions there are."""
    if name not in REGIONS:
        raise ValueError(f'"{name}" is not a region of a head; there are: {", ".join(REGIONS)}.')
    return REGIONS.index(name)
