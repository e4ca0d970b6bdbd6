"""Spectra as people save them: commas, semicolons and tabs, headings, per cent, up and down; and mostly wrong."""

from __future__ import annotations

from hypothesis import strategies as st

_HEADINGS = (
    "", "wavelength nm,power\n", "nm;%R\n", "# measured\n\n", "nm\tvalue\tnothing\n", "\ufeffλ,ρ\n", "Angström,W/m²\n",
)  # fmt: skip
_VALUES = st.floats(0, 1) | st.floats(0, 100) | st.sampled_from((0.0, 1.0, 1.5, 1.0001, -0.1, 1e12, 1e-300, 1e300))
_FORMS = ("{:g}", "{:.3f}", "{}", "{:e}", "{:g}%", '"{:g}"')


@st.composite
def csv_files(draw: st.DrawFn) -> bytes:
    """A CSV of wavelengths and values, whole or nearly so."""
    start = draw(st.sampled_from((380.0, 400.0, 300.0, 360.0, 405.0, 0.38, 3800.0)))
    step = draw(st.sampled_from((5.0, 10.0, 20.0, 2.0, 40.0)))
    scale = 1e-3 if start < 1 else 10.0 if start > 1000 else 1.0
    nm = [start + step * scale * k for k in range(int(400 / step) + 1)]
    few = draw(st.lists(_VALUES, min_size=1, max_size=8))
    form, separator = draw(st.sampled_from(_FORMS)), draw(st.sampled_from((",", ";", "\t", " ", ", ", "  ")))
    rows = [f"{length:g}{separator}{form.format(few[k % len(few)])}" for k, length in enumerate(nm)]
    if draw(st.booleans()):
        rows.reverse()
    if draw(st.booleans()) and separator != ",":
        rows = [row.replace(".", ",") for row in rows]
    end = draw(st.sampled_from(("\n", "\r\n", "\r")))
    return (draw(st.sampled_from(_HEADINGS)) + end.join(rows) + draw(st.sampled_from(("", end)))).encode()


FILES = csv_files()
