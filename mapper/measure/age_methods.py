"""One function for each way to an age: a range for every tree, or why the way is closed to it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.language import say
from mapper.measure.inputs import Floats
from mapper.reference import growth

Words = NDArray[np.object_]

PLANTING, GERMINATION, RING_HEIGHT = "planting", "germination", "ring height"


@dataclass(frozen=True)
class Way:
    """What one method says of every tree: NaN and a reason where it says nothing."""

    name: str
    age: Floats
    low: Floats
    high: Floats
    since: Words
    reason: Words
    shown: Mapping[str, Floats] = field(default_factory=dict)  # further inputs, for the working


def by_planting(known: pd.DataFrame) -> Way:
    """Years since the year of planting."""
    dead = known["gone"].to_numpy()
    planted = known["planted"].to_numpy(dtype=float)
    low, _ = metrics.age_from_planting_year(planted, known["measured_from"])
    _, high = metrics.age_from_planting_year(planted, known["measured_to"])
    # Of a year that is not over the first day is before planting.
    low = np.where(np.isnan(low) & ~np.isnan(high), 0.0, low)
    told = ~np.isnan(planted)
    low, high = np.where(dead, np.nan, low), np.where(dead, np.nan, high)
    reason = np.select(
        [~told, dead, known["date"].isna().to_numpy()],
        [
            "",
            str(say("nobody recorded when it died: only its rings would tell")),
            str(say("a year of planting needs a date of measurement")),
        ],
        np.where(np.isnan(high), str(say("the year of planting is after the measurement")), ""),
    ).astype(object)
    return way("planted", (low + high) / 2, (low, high), PLANTING, reason)


def by_rings(known: pd.DataFrame) -> Way:
    """Rings, with the years up to the height of the count if that height was told."""
    slow, fast = growth.age_rule("height of the ring count")
    height = known["ring_height_m"].fillna(0.0).to_numpy(dtype=float)
    missing = known["ring_years_missing"].fillna(0.0).to_numpy(dtype=float)
    rings = known["rings"].to_numpy(dtype=float)
    later = known["years_since_rings"].to_numpy(dtype=float)
    low, high = (end + later for end in metrics.age_from_rings(rings, missing, height, slow, fast))
    since = np.where(known["ring_height_m"].isna(), RING_HEIGHT, GERMINATION).astype(object)
    return way("rings", (low + high) / 2, (low, high), since, "")


def by_growth_factor(known: pd.DataFrame) -> Way:
    """A rule of thumb for woodland trees with one stem."""
    species = pd.Series(known["species_name"].unique())
    factors = {name: growth.growth_factor(name) for name in species}
    per_inch = known["species_name"].map(
        {name: factor.years_per_inch if factor else np.nan for name, factor in factors.items()}
    )
    low_share, high_share = growth.age_rule("growth factor")
    open_grown = (known["setting"] == "open-grown").to_numpy()
    single = (known["stems"] == 1).to_numpy() & ~known["gone"].to_numpy()
    size = known["diameter_cm"].where(single).to_numpy(dtype=float)
    factor = per_inch.to_numpy(dtype=float)
    low, high = metrics.age_from_growth_factor(size, factor, low_share, high_share, open_grown)
    rule, _ = metrics.age_from_growth_factor(size, factor, 1.0, 1.0, open_grown)
    later = known["years_since_size"].to_numpy(dtype=float)
    reason = np.select(
        [open_grown, np.isnan(factor), ~single],
        [
            str(
                say("the growth factor is refused for trees in the open: it makes them far too old")
            ),
            str(say("no growth factor is known for the species")),
            str(say("the growth factor is for trees with one stem")),
        ],
        "",
    ).astype(object)
    ends, shown = (low + later, high + later), {"years_per_inch": factor}
    return way("growth factor", rule + later, ends, GERMINATION, reason, shown)


def way(
    name: str,
    age: Floats,
    ends: tuple[Floats, Floats],
    since: Words | str,
    reason: Words | str,
    shown: Mapping[str, Floats] | None = None,
) -> Way:
    """A way whose words may be the same for every tree."""
    since, reason = (
        np.broadcast_to(np.asarray(words, dtype=object), np.shape(age)) for words in (since, reason)
    )
    low, high = map(np.asarray, ends)
    return Way(name, np.asarray(age), low, high, since, reason, shown or {})
