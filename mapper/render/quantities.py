"""Numbers as a page shows them: in the survey's units, with their uncertainty, decimals aligned."""

import math
from dataclasses import dataclass, replace

from mapper.language import figure, later, say
from mapper.reference import rows

CM_PER_M = 100.0


@dataclass(frozen=True)
class Scale:
    """From the published metric number to the one on the page."""

    factor: float
    unit: str
    decimals: int


@dataclass(frozen=True)
class Measured:
    """A number ready for a page, split where columns of numbers line up."""

    whole: str
    fraction: str
    plus_minus: str
    unit: str
    plain: str = ""  # the number as programs write it

    @property
    def number(self) -> str:
        """The number alone, as `18.4`."""
        return self.whole + self.fraction

    @property
    def bare(self) -> str:
        """The number with its uncertainty, where the unit stands beside it: `18.4 ± 0.6`."""
        return self.number + (f"\u00a0±\u00a0{self.plus_minus}" if self.plus_minus else "")

    @property
    def text(self) -> str:
        """The number with everything that belongs to it, as `18.4 ± 0.6 m`."""
        return f"{self.bare}\u00a0{self.unit}".rstrip("\u00a0")


def scales(units: str) -> dict[str, Scale]:
    """How each kind of published number is shown: `metric` or `us`."""
    found = _us_scales() if units == "us" else METRIC
    return {name: replace(scale, unit=say(scale.unit)) for name, scale in found.items()}


METRIC = {
    "count": Scale(1.0, "", 0),
    "cm": Scale(1.0, "cm", 1),
    "m": Scale(1.0, "m", 1),
    "m2": Scale(1.0, "m²", 3),
    "ha": Scale(1.0, "ha", 2),
    "per_ha": Scale(1.0, later("per ha"), 0),
    "m2_per_ha": Scale(1.0, later("m² per ha"), 1),
}


def _us_scales() -> dict[str, Scale]:
    factor = {row["unit"]: float(row["factor"]) for row in rows("units")}
    inch, foot, acre = factor["in"], factor["ft"], factor["acre"]
    return {
        "count": METRIC["count"],
        "cm": Scale(1 / CM_PER_M / inch, "in", 1),
        "m": Scale(1 / foot, "ft", 0),
        "m2": Scale(1 / foot**2, "ft²", 2),
        "ha": Scale(1 / acre, later("acres"), 2),
        "per_ha": Scale(acre, later("per acre"), 0),
        "m2_per_ha": Scale(acre / foot**2, later("ft² per acre"), 0),
    }


def measured(value: float, half_width: float, scale: Scale) -> Measured | None:
    """A number with two standard deviations either side; None where there is no number."""
    if not math.isfinite(value):
        return None
    half = half_width * scale.factor
    decimals = _decimals(half, scale.decimals)
    plain_number = f"{value * scale.factor:.{decimals}f}"
    number = figure(value * scale.factor, f",.{decimals}f").replace("-", "−")
    whole = number[: len(number) - decimals - 1] if decimals else number
    spread = _plus_minus(half, decimals)
    return Measured(whole, number[len(whole) :], spread, scale.unit, plain_number)


def plain(value: float, scale: Scale) -> str:
    """A number with its unit and no uncertainty."""
    shown = measured(value, math.nan, scale)
    return shown.text if shown else ""


def _decimals(half: float, usual: int) -> int:
    """One decimal more than usual where a small uncertainty would otherwise read 0."""
    if math.isfinite(half) and 0 < half < 0.5 * 10.0**-usual:
        return usual + 1
    return usual


def _plus_minus(half: float, decimals: int) -> str:
    if not math.isfinite(half) or half <= 0:
        return ""
    # Never rounded to nothing: a measured number is never exact.
    smallest = 10.0**-decimals
    return figure(max(half, smallest), f",.{decimals}f")
