"""The sentences of the site: plain words, and never surer than the numbers."""

import datetime
from collections.abc import Sequence

import pandas as pd

from mapper.language import figure, full_date, later, part_of_date

SAFETY = later("A size record is not a safety assessment.")
CONFIDENCE = (
    "The ± gives the reach of our measuring errors, and of trees left without a size: "
    "the range it spans is right about 19 times in 20."
)
HOW_TO_COMPLETE_COUNT = (
    "This stand has no figure per hectare. Nobody said that every tree in it was measured, so we "
    "cannot tell how many others stand between them. Whoever keeps this survey can say so: with "
    '--complete-count, or design = "complete count" under its [[stand]] in survey.toml.'
)
NO_AREA = (
    'This stand has no figure per hectare, because its area is not known. Write area = "1.2 ha" '
    "under its [[stand]] in survey.toml, or hand in its boundary, and build again."
)
NO_PLACES = (
    "There is no map, because no tree has a published place. Add the columns lat and lon to your "
    "records (a phone shows both), and build again."
)
PLACES_HIDDEN = "There is no map: this survey keeps the places of its trees to itself."
NO_STANDS = (
    "The trees are not sorted into stands, so there are no figures per hectare. To get them, fill "
    "the column stand, or hand in a boundary file."
)


def whole(number: int) -> str:
    """A count with its thousands set apart."""
    return figure(number, ",")


def counted(number: int, one: str, many: str = "") -> str:
    """`1 tree`, `212 trees`."""
    return f"{whole(number)} {one if number == 1 else many or one + 's'}"


def kind(species: str, common_name: str) -> str:
    """What a tree is called in a sentence."""
    return common_name or species or "tree of unknown kind"


def day(text: str) -> str:
    """`2026-05-12` as `12 May 2026`; a month or a year alone stays one."""
    parts = text.split("-")
    try:
        numbers = [int(part) for part in parts]
        if len(numbers) == 3:
            return full_date(datetime.date(numbers[0], numbers[1], numbers[2]))
        if len(numbers) == 2:
            return part_of_date(datetime.date(numbers[0], numbers[1], 1), "yMMMM")
    except ValueError:
        return text
    return text


def period(dates: Sequence[str]) -> str:
    """From the first to the last date; ISO dates sort as texts."""
    known = sorted(date for date in dates if date)
    if not known:
        return ""
    first, last = known[0], known[-1]
    if first == last:
        return day(first)
    if first[:4] == last[:4] and len(first) > 4:
        return f"{day(first).removesuffix(' ' + first[:4])} to {day(last)}"
    return f"{day(first)} to {day(last)}"


def confidence(trees: pd.DataFrame) -> str:
    """What ± means, where one is shown."""
    sure = trees["diameter_sd_cm"].notna().any() or trees["height_sd_m"].notna().any()
    return CONFIDENCE if sure else ""


# What cutting decimals leaves open, as in summarise/places.py.
CUT_REACH = (("0.01 degree", "1.6 km"), ("0.001 degree", "160 m"))


def cut_places(trees: pd.DataFrame) -> str:
    """What a reader of the map must know where places are less exact than they were recorded."""
    told = trees["data_generalizations"][trees["lat"].notna()]
    cut = int(told.str.contains("Coordinates", regex=False).sum())
    for degrees, reach in CUT_REACH:
        if told.str.contains(f"to {degrees}", regex=False).any():
            of_some = "The place of 1 tree is" if cut == 1 else f"The places of {cut:,} trees are"
            who = "The places are" if cut == len(told) else of_some
            return (
                f"{who} cut to {degrees} on purpose: a tree stands up to {reach} from its dot, "
                "and trees lie on top of one another."
            )
    return ""


def opening(trees: pd.DataFrame) -> str:
    """The first sentences of the survey: how much was measured."""
    total = len(trees)
    girths = int(trees["diameter_cm"].notna().sum())
    heights = int(trees["height_m"].notna().sum())
    if not girths and not heights:
        return f"We recorded {counted(total, 'tree')}. None has a measured girth or height yet."
    if not girths:
        return f"We recorded {counted(total, 'tree')} and measured the height of {whole(heights)}."
    around = f"measured {counted(girths, 'tree')} round the stem"
    up = f" and the height of {whole(heights)}" if heights else ""
    of_all = "" if girths == total else f" out of {whole(total)}"
    return f"We {around}{of_all}{up}."


def distribution(lower: Sequence[float], upper: Sequence[float], counts: Sequence[float],
                 unit: str, noun: str) -> str:  # fmt: skip
    """What a histogram shows, for everyone who does not see it."""
    total = sum(counts)
    if not total:
        return f"No {noun} was measured."
    filled = [index for index, count in enumerate(counts) if count]
    top = [index for index in filled if counts[index] == max(counts)]
    ranges = joined([f"{lower[index]:g} to {upper[index]:g} {unit}" for index in top])
    fullest = "The fullest class is" if len(top) == 1 else "The fullest classes are"
    each = "" if len(top) == 1 else " each"
    return (
        f"{counted(round(total), 'tree')} "
        f"from {lower[filled[0]]:g} to {upper[filled[-1]]:g} {unit}. "
        f"{fullest} {ranges}, with {counted(round(max(counts)), 'tree')}{each}."
    )


def joined(parts: Sequence[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return " and ".join(filter(None, [", ".join(parts[:-1]), parts[-1]]))


def findings(table: pd.DataFrame) -> str:
    """How many records need a second look."""
    count = int(table["count"][table["severity"].isin(["error", "warning"])].sum())
    if not count:
        return "Reading the records raised no doubts."
    verb = "needs" if count == 1 else "need"
    return (
        f"{counted(count, 'entry', 'entries')} in the records {verb} a second look. "
        "A value we doubt is left out of the figures; its tree still counts."
    )


def repairs(table: pd.DataFrame) -> str:
    """How many cells were corrected after they were handed in; "" for none."""
    count = int((table["decision"] != "kept").sum())
    if not count:
        return ""
    verb = "was" if count == 1 else "were"
    return (
        f"{counted(count, 'entry', 'entries')} {verb} corrected after the records were handed in. "
        "The records themselves stay as they were; repairs.csv lists each correction."
    )


AGREED = {
    "diameter": "an inventory allows 0.25 cm for every 50.8 cm of diameter begun",
    "height": "an inventory allows a tenth of the height",
}


def agreement(table: pd.DataFrame) -> tuple[str, ...]:
    """How well readings of one tree on one day agree, a sentence a quantity."""
    return tuple(
        f"{row['quantity'].capitalize()}: {counted(int(row['trees']), 'tree')} measured more than "
        f"once in a day. One reading is off by about {row['sd']:.2g}\u00a0{row['unit']} (one "
        f"standard deviation). {row['within_tolerance_share']:.0%} of {whole(int(row['pairs']))} "
        f"pairs of readings lie close enough for a national inventory: "
        f"{AGREED[str(row['quantity'])]}."
        for row in table.to_dict("records")
    )
