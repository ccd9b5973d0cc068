"""Last digits: who rounds to fives and tens reads no finer than that."""

import math

import numpy as np
import pandas as pd

from mapper.check.findings import Rule, findings, joined

READ = ("girth", "diameter", "height", "angle_top", "angle_base")
NUMBER = r"^\D{0,3}?(-?\d+(?:[.,]\d+)?)"
SHARE = 0.2  # of whole numbers that end in 0 or 5, if every digit is read alike
NOTED = 0.35
CHANCE = 1e-5
FEWEST = 20
WIDTH = 10.0  # where most readings lie closer together than this the digits are not evenly spread


def favoured_digits(values: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    """One note for each observer (or file, if nobody is named) and heading."""
    observer = values["observer"].astype(str).str.strip().str.casefold()
    group = observer.where(observer != "", "file " + values["file"].astype(str))
    found = []
    for heading in READ:
        if heading in cells:
            written = cells[heading].str.extract(NUMBER, expand=False).str.replace(",", ".")
            numbers = pd.to_numeric(written, errors="coerce")
            found.append(_by_group(values, numbers[numbers % 1 == 0], group, heading))
    return joined(found)


def _by_group(
    values: pd.DataFrame, whole: pd.Series, group: pd.Series, heading: str
) -> pd.DataFrame:
    groups = whole.groupby(group[whole.index])
    counts = pd.DataFrame(
        {
            "read": groups.size(),
            "round": (whole % 5 == 0).groupby(group[whole.index]).sum(),
            "width": groups.quantile(0.9) - groups.quantile(0.1),
            "first": whole.index.to_series().groupby(group[whole.index]).first(),
        }
    )
    enough = counts[(counts["read"] >= FEWEST) & (counts["width"] >= WIDTH)]
    odd = enough[enough["round"] > NOTED * enough["read"]]
    chance = [at_least(int(n), int(k)) for n, k in zip(odd["read"], odd["round"], strict=True)]
    odd = odd[np.array(chance, dtype=float) < CHANCE].set_index("first")
    what = heading.replace("_", " ")
    message = odd["round"].astype(str) + " of " + odd["read"].astype(str)
    message += f" whole numbers of one observer under {what} end in 0 or 5; one in five would."
    rule = Rule(
        "digits", "note", heading, "Read the scale as finely as it is marked.",
        "Readings were rounded, or estimated.",
    )  # fmt: skip
    return findings(rule, values.loc[odd.index], message)


def at_least(readings: int, favoured: int) -> float:
    """Chance of so many round numbers or more among so many readings, if no digit is favoured."""
    logs = [
        math.lgamma(readings + 1) - math.lgamma(k + 1) - math.lgamma(readings - k + 1)
        + k * math.log(SHARE) + (readings - k) * math.log(1 - SHARE)
        for k in range(favoured, min(readings, favoured + 200) + 1)
    ]  # fmt: skip
    return math.fsum(map(math.exp, logs))
