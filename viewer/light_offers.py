"""What the window offers for lights, by plain names: spectra, skies, weathers, places, and whole lights to add."""

from __future__ import annotations

from sitterlight.illuminants.places import PLACES
from sitterlight.shading.sitting import DaylightLight, LampLight, Light, SkyLight, WindowLight

LAMP_SPECTRA = (
    ("candle", "candle, 1900 K"),
    ("fire", "wood fire, 1700 K"),
    ("oil lamp", "oil lamp, 2000 K"),
    ("household bulb", "household bulb, 2700 K"),
    ("A", "incandescent lamp, 2856 K"),
    ("halogen", "halogen lamp, 3000 K"),
    ("photoflood", "photoflood, 3400 K"),
    ("LED-V1", "LED, warm, good colours"),
    ("LED-B1", "LED, warm, usual"),
    ("LED-RGB1", "LED, warm, poor colours"),
    ("LED-V2", "LED, neutral, good colours"),
    ("LED-B3", "LED, neutral, usual"),
    ("LED-B5", "LED, cool"),
    ("FL12", "fluorescent, warm, three bands"),
    ("FL11", "fluorescent, neutral, three bands"),
    ("FL2", "fluorescent, cool white, old kind"),
    ("FL7", "fluorescent, daylight"),
    ("sodium", "sodium street lamp"),
    ("D50", "daylight 5000 K"),
    ("D55", "daylight 5500 K"),
    ("D65", "daylight 6500 K"),
    ("E", "equal energy"),
)
SKY_SPECTRA = (
    ("auto", "the sky's usual colour"),
    ("5500 K", "daylight 5500 K"),
    ("6500 K", "daylight 6500 K"),
    ("8000 K", "daylight 8000 K"),
    ("12000 K", "daylight 12 000 K"),
    ("20000 K", "daylight 20 000 K"),
)
SKIES = (
    ("overcast", "overcast: three times brighter overhead"),
    ("uniform", "the same brightness all over"),
    ("open shade", "blue sky without the sun"),
    *((str(kind), f"ISO 15469 type {kind}") for kind in range(1, 16)),
)
WEATHERS = ("clear", "hazy", "dusty", "thin cloud", "broken cloud", "overcast")
AIRS = (("auto", "as the weather has it"), ("clear", "clear air"), ("hazy", "hazy air"), ("dusty", "dusty air"))
SHADES = (
    ("none", "nothing: sun and whole sky"),
    ("open", "open shade: no sun, whole sky"),
    ("tree", "under a tree"),
    ("awning", "under an awning"),
    ("porch", "in a porch: sky from the front"),
)
PLACES_OFFERED = (("", "latitude, longitude"), *((place.name, place.name) for place in PLACES))
SHAPES = (("disc", "disc that faces the head"), ("sphere", "sphere, alike all round"))
STRENGTHS = (("lux", "lux at the head"), ("lumens", "lumens of the lamp"))
HINTS = {
    "name": "what lists, sheet and tables call this light",
    "sky": "which part of the sky is bright: overcast is brightest overhead, a clear sky near the sun",
    "colour": "the spectrum of the light: two lights that look alike may still show skin and paint differently",
    "azimuth": "from where it comes: 0° straight before an unturned head, + from the sitter's left, − from the right",
    "elevation": "from how high it comes: 0° level with the head, + from above, − from below",
    "size": "how wide it looks from the head: small makes hard edges of shadow, large soft ones",
    "distance": "from the head to the middle of the light",
    "diameter": "of the lamp or of its shade: large makes soft edges of shadow",
    "width": "of the opening through which the sky is seen",
    "height": "of the opening through which the sky is seen",
    "shape": "a disc gives less to the side than to the front, a sphere as much all round",
    "measure": "whether its strength is told by what reaches the head, or by what the lamp sends out",
    "weather": "how clear the sky is, and how far the sun comes through",
    "air": "how much haze or dust lies in the air: it warms a low sun and pales the blue",
    "shade": "what stands between the sitter and the sky",
    "place": "a city, whose clock then counts, or a latitude and longitude of your own",
    "hour": "as the clock there shows",
    "clock": "how far the clock there is ahead of UTC, summer time included",
    "latitude": "of the place: + north of the equator, − south",
    "longitude": "of the place: + east of Greenwich, − west",
    "facing": "which way the sitter looks: 0° north, 90° east, 180° south, 270° west",
}
"""What the window says of a light's controls when pointed at."""

LEAST_LUX, MOST_LUX = 0.5, 130000.0
LEAST_LUMENS, MOST_LUMENS = 1.0, 1e6


def _near(name: str, spectrum: str, lumens: float, diameter: float, distance: float, shape: str, elevation: float):
    place = {"azimuth": -40.0, "elevation": elevation, "distance": distance, "diameter": diameter}
    return LampLight(name=name, spectrum=spectrum, size=None, shape=shape, illuminance=None, lumens=lumens, **place)


# Flux and size of common lamps are from memory, rounded; a candle is one candela all round, 4π lumens.
NEW_LIGHTS: tuple[tuple[str, Light], ...] = (
    ("Sun and sky of a place and hour", DaylightLight(name="day")),
    ("A sky", SkyLight(name="sky")),
    ("A north window", WindowLight(name="window")),
    ("A lamp far away", LampLight(name="lamp")),
)
NEAR_LAMPS: tuple[tuple[str, Light], ...] = (
    ("A candle", _near("candle", "candle", 12.6, 20, 600, "sphere", 0)),
    ("An oil lamp", _near("oil lamp", "oil lamp", 100, 40, 700, "sphere", 5)),
    ("A fire", _near("fire", "fire", 1500, 500, 1800, "sphere", -25)),
    ("A household bulb", _near("bulb", "household bulb", 800, 60, 1200, "sphere", 35)),
    ("A halogen lamp", _near("halogen lamp", "halogen", 1200, 90, 1500, "disc", 35)),
    ("A warm LED bulb of good colours", _near("good LED", "LED-V1", 800, 60, 1200, "sphere", 35)),
    ("A warm LED bulb of poor colours", _near("poor LED", "LED-RGB1", 800, 60, 1200, "sphere", 35)),
    ("A cool LED panel", _near("LED panel", "LED-B5", 3000, 500, 1600, "disc", 40)),
    ("Fluorescent tubes overhead", _near("tubes", "FL2", 6000, 900, 1900, "disc", 70)),
)
"""Words and the light; its name is made one of its own when it is added."""
