"""What a file is, in one line: a sitting, a spectrum, a paint or a mesh; or what is wrong with it."""

from __future__ import annotations

from pathlib import Path

from sitterlight.shading.sitting_rules import shown
from sitterlight.shading.toml_file import read_toml

SPECTRA = (".csv", ".tsv", ".txt")
MESHES = (".obj", ".ply", ".stl", ".glb")


def check_file(path: Path) -> str:
    """One sentence on what the file is, without its name; ValueError, one sentence, where it is wrong."""
    if path.is_dir():
        raise ValueError("is a folder; allowed are files: sittings, spectra, paints, palettes, meshes")
    if not path.exists():
        raise ValueError("there is no such file")
    ending = path.suffix.lower()
    if ending == ".toml":
        return _toml(path)
    if ending in SPECTRA:
        return _spectrum(path)
    if ending in MESHES:
        return _mesh(path)
    raise ValueError(
        f"has the ending {shown(ending)}; allowed are .toml for sittings, paints and palettes, "
        f"{', '.join(SPECTRA)} for spectra and {', '.join(MESHES)} for meshes"
    )


def _toml(path: Path) -> str:
    says = _format(path)
    if says.startswith("sitterlight-palette/"):
        from sitterlight.shading.paints import paints
        from sitterlight.shading.palette_file import read_palette

        palette = read_palette(path)
        tubes = ", ".join(one.label for one in paints(palette.paints, palette.folder))
        return f"a palette, {shown(palette.title)}, of {len(palette.paints)} tubes: {tubes}"
    if says.startswith("sitterlight-paint/"):
        from sitterlight.shading.paint_file import describe_paint_file

        return describe_paint_file(path)
    from sitterlight.shading.sitting_file import read_sitting
    from sitterlight.shading.sitting_references import check_references

    sitting = read_sitting(path)
    check_references(sitting)
    lights = ", ".join(shown(light.name) + ("" if light.on else " (off)") for light in sitting.lights) or "no light"
    return f"a sitting, {shown(sitting.title)}, lit by {lights}"


def _format(path: Path) -> str:
    """The format that a file names; "" where it names none or cannot be read."""
    try:
        return str(read_toml(path).get("format", ""))
    except ValueError:
        return ""


def _spectrum(path: Path) -> str:
    from sitterlight.illuminants.files import read_spectrum_csv
    from sitterlight.illuminants.grid import on_grid

    wavelengths, values = read_spectrum_csv(path, "power")
    on_grid(wavelengths, values, what="the spectrum")
    extent = f"{len(values)} values from {wavelengths[0]:g} to {wavelengths[-1]:g} nm"
    try:
        _, fractions = read_spectrum_csv(path, "reflectance")
    except ValueError:
        return f"a spectrum of light, {extent}"
    return f"a spectrum, {extent}; as reflectance {fractions.min():.3g} to {fractions.max():.3g}"


def _mesh(path: Path) -> str:
    from sitterlight.meshes.library import gathered_mesh, load_head
    from sitterlight.viewer.mesh_words import described, repairs

    whole = path.absolute()
    try:
        mesh = gathered_mesh(whole)
        head = load_head(str(whole), unit="guess", up="guess", front="guess")
    except ValueError as error:
        raise ValueError(str(error).removeprefix(f"{whole}: ")) from None
    return f"{described(mesh)}; {len(head.planes)} planes; {repairs(head.notes)}"
