"""Age by the survey's own trees of known age: a line for each species and setting."""

import numpy as np
import pandas as pd

from mapper import metrics
from mapper.language import say
from mapper.measure.age_methods import Way, way
from mapper.measure.inputs import Floats
from mapper.metrics.calibration import FEWEST_KNOWN

# Thick trees scatter more: the power that serves most of the published equations (UTD2016).
WEIGHT_POWER = 1.0
# How many trees the line goes through, and its two ends.
LINE = ("line_trees", "line_low_cm", "line_high_cm", "line_low_years", "line_high_years")


def by_calibration(known: pd.DataFrame, certain: pd.DataFrame) -> Way:
    """Ages on the line of the same species and setting, where it has enough trees.

    `certain` has `age` and `since` of the trees whose year of planting or rings are known. What
    is counted from different starts is not put on one line: the start most trees have is taken.
    """
    size = known["diameter_cm"].to_numpy(dtype=float)
    years = known["years_since_size"].to_numpy(dtype=float)
    # The age a tree had when its stem was measured.
    then = certain["age"].to_numpy(dtype=float) - years
    age, low, high = (np.full(len(known), np.nan) for _ in range(3))
    shown = {name: np.full(len(known), np.nan) for name in LINE}
    since, reason = (np.full(len(known), "", dtype=object) for _ in range(2))
    counted = known.assign(since=certain["since"], number=np.arange(len(known)))
    counted = counted[~np.isnan(then) & ~np.isnan(size) & (counted["species_name"] != "")]
    for (species, setting), start in _starts(counted).items():
        alike = (known["species_name"] == species) & (known["setting"] == setting)
        places = np.flatnonzero(alike.to_numpy() & ~known["gone"].to_numpy())
        same = counted[(counted["species_name"] == species) & (counted["setting"] == setting)]
        line = same.loc[same["since"] == start, "number"].to_numpy()
        inputs = size[places], size[line], then[line], WEIGHT_POWER
        age[places] = metrics.age_from_calibration(*inputs)
        low[places], high[places] = metrics.age_from_calibration_range(*inputs)
        since[places] = start
        reason[places] = _closed(size[line])
        for name, value in zip(LINE, _line(size[line], then[line]), strict=True):
            shown[name][places] = value
    ends = low + years, high + years
    return way("own calibration", age + years, ends, since, reason, shown)


def _starts(counted: pd.DataFrame) -> dict[tuple[str, str], str]:
    """By species and setting what its ages count from, if enough trees of known age do."""
    groups = counted.groupby(["species_name", "setting", "since"], sort=True).size()
    enough = groups[groups >= FEWEST_KNOWN].rename("trees").reset_index()
    most = enough.sort_values("trees", ascending=False, kind="stable")
    most = most.drop_duplicates(["species_name", "setting"])
    pairs = zip(most["species_name"], most["setting"], strict=True)
    return dict(zip(pairs, most["since"], strict=True))


def _line(sizes: Floats, ages: Floats) -> tuple[float, ...]:
    ends = np.array([sizes.min(), sizes.max()])
    years = metrics.age_from_calibration(ends, sizes, ages, WEIGHT_POWER)
    return (len(sizes), *map(float, ends), *map(float, years))


def _closed(sizes: Floats) -> str:
    return say(
        "{trees} trees of the species have a known age, from {low:.1f} to {high:.1f} cm: no line "
        "through them holds for this one"
    ).format(trees=len(sizes), low=sizes.min(), high=sizes.max())
