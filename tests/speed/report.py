"""What the races say: an object, lines, or a table in Markdown."""

from __future__ import annotations

from .race import Ratio

KEYS = (
    "skin_vs_naive",
    "skin_vs_floor",
    "sky_vs_floor",
    "lamp_vs_rays",
    "camera_vs_skin",
    "transfer_vs_rays",
    "study_vs_path_tracer",
    "relight_vs_path_tracer",
    "start_vs_bare",
)


def as_json(ratios: list[Ratio]) -> dict[str, float | None]:
    """Every key, None where there was no race."""
    found = {ratio.key: round(ratio.value, 4) for ratio in ratios}
    return {key: found.get(key) for key in KEYS}


def as_lines(ratios: list[Ratio], where: str, growth: list | None = None) -> list[str]:
    """For reading in a terminal."""
    lines = [where, ""]
    for ratio in ratios:
        lines.append(
            f"{ratio.key:23} {ratio.value:8.3g}  asked {_limit(ratio):7} {'holds' if ratio.holds else 'FALLS SHORT':12}"
            f"{_time(ratio.ours.seconds):>9} to {_time(ratio.rival.seconds):>9}  {ratio.what} "
            f"(by processor time {ratio.by_processor:.3g})"
        )
        if ratio.note:
            lines.append(f"{'':24}{ratio.note}")
    return lines + _growth_lines(growth, " ".join, "  ")


def as_markdown(ratios: list[Ratio], where: str, growth: list | None = None) -> list[str]:
    """For DEVELOPERS.md."""
    lines = [
        f"Measured {where}. Best of several rounds, rivals in turn; the last column is the ratio by processor time, "
        "which other work on the machine changes less.",
        "",
        "| key | what | ours | rival | ratio | asked | holds | by processor |",
        "| --- | --- | ---: | ---: | ---: | ---: | --- | ---: |",
    ]
    for ratio in ratios:
        lines.append(
            f"| `{ratio.key}` | {ratio.what} | {_time(ratio.ours.seconds)} | {_time(ratio.rival.seconds)} | "
            f"{ratio.value:.3g} | {_limit(ratio)} | {'yes' if ratio.holds else '**no**'} | {ratio.by_processor:.3g} |"
        )
    lines += ["", *(f"- `{ratio.key}`: {ratio.note}." for ratio in ratios if ratio.note)]
    return lines + _growth_lines(growth, lambda cells: f"| {' | '.join(cells)} |", "")


def _growth_lines(growth: list | None, join, indent: str) -> list[str]:
    if not growth:
        return []
    from .growth import exponent

    heads = (
        "vertices",
        "transfer",
        "light",
        "both",
        "by processor",
        "per 1000",
        "memory, rays",
        "memory, all",
        "process",
    )
    lines = ["", indent + join([f"{head:>13}" for head in heads])]
    if not indent:
        lines.append(join(["---:"] * len(heads)))
    for one in growth:
        both = one.transfer + one.light
        cells = (
            f"{one.vertices}",
            f"{one.transfer:.2f} s",
            f"{one.light:.2f} s",
            f"{both:.2f} s",
            f"{one.processor:.2f} s",
            f"{1e6 * one.processor / one.vertices:.0f} ms",
            f"{one.megabytes_cast:.0f} MB",
            f"{one.megabytes:.0f} MB",
            f"{one.process:.0f} MB",
        )
        lines.append(indent + join([f"{cell:>13}" for cell in cells]))
    return [*lines, "", f"The processor's time grows as the number of vertices to the power {exponent(growth):.2f}."]


def _limit(ratio: Ratio) -> str:
    return f"{'≥' if ratio.at_least else '≤'} {ratio.limit:g}"


def _time(seconds: float) -> str:
    if seconds < 0.1:
        return f"{seconds * 1e3:.2f} ms"
    return f"{seconds * 1e3:.0f} ms" if seconds < 1 else f"{seconds:.2f} s"
