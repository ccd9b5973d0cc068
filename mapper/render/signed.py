"""Differences as a page shows them: with their sign, and from where to where."""

import math

from mapper.language import figure, say
from mapper.render.quantities import Scale


def change_texts(
    change: tuple[float, float, float], scale: Scale, decimals: int
) -> tuple[str, str]:
    """The difference and its likely range, empty where there is none."""
    difference, low, high = (value * scale.factor for value in change)
    if not math.isfinite(difference):
        return "–", ""
    change_text = signed(difference, decimals)
    if not math.isfinite(low + high):
        return change_text, ""
    limits = signed(low, decimals), signed(high, decimals)
    # Counts have no error of measuring: no range, rather than one from +81 to +81.
    return change_text, "" if limits[0] == limits[1] else say("{low} to {high}").format(
        low=limits[0], high=limits[1]
    )


def signed(value: float, decimals: int) -> str:
    """A difference with its sign: a true minus, and no sign on nothing."""
    shown = figure(value, f"+,.{decimals}f").replace("-", "−")
    return shown[1:] if float(f"{value:.{decimals}f}") == 0 else shown
