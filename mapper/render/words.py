"""The sentences of the site: plain words, and never surer than the numbers."""

import datetime
from collections.abc import Sequence

import pandas as pd

from mapper.language import (
    Phrase,
    figure,
    full_date,
    later,
    listed,
    part_of_date,
    say,
    say_count,
)
from mapper.summarise.generalised import is_cut

SAFETY = later("A size record is not a safety assessment.")
CONFIDENCE = later(
    "The ± gives the reach of our measuring errors, and of trees left without a size: "
    "the range it spans is right about 19 times in 20."
)
HOW_TO_COMPLETE_COUNT = later(
    "This stand has no figure per hectare. Nobody said that every tree in it was measured, so we "
    "cannot tell how many others stand between them. Whoever keeps this survey can say so: with "
    '--complete-count, or design = "complete count" under its [[stand]] in survey.toml.'
)
NO_AREA = later(
    'This stand has no figure per hectare, because its area is not known. Write area = "1.2 ha" '
    "under its [[stand]] in survey.toml, or hand in its boundary, and build again."
)
NO_PLACES = later(
    "There is no map, because no tree has a published place. Add the columns lat and lon to your "
    "records (a phone shows both), and build again."
)
PLACES_HIDDEN = later("There is no map: this survey keeps the places of its trees to itself.")
NO_STANDS = later(
    "The trees are not sorted into stands, so there are no figures per hectare. To get them, fill "
    "the column stand, or hand in a boundary file."
)


def whole(number: int) -> str:
    """A count with its thousands set apart."""
    return figure(number, ",")


def counted(number: int, one: str, many: str) -> str:
    """`1 tree`, `212 trees`: counted(212, "{n} tree", "{n} trees")."""
    return say_count(one, many, number).format(n=whole(number))


def trees(number: int) -> str:
    """`1 tree`, `212 trees`."""
    return counted(number, "{n} tree", "{n} trees")


def living_trees(number: int) -> str:
    """`1 living tree`, `212 living trees`."""
    return counted(number, "{n} living tree", "{n} living trees")


def kind(species: str, common_name: str) -> str:
    """What a tree is called in a sentence."""
    return common_name or species or say("tree of unknown kind")


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
    if first[:4] == last[:4] and len(first) == 10:
        start = part_of_date(datetime.date.fromisoformat(first), "MMMMd")
    elif first[:4] == last[:4] and len(first) == 7:
        start = part_of_date(datetime.date.fromisoformat(f"{first}-01"), "LLLL")
    else:
        start = day(first)
    return say("{start} to {end}").format(start=start, end=day(last))


def confidence(trees: pd.DataFrame) -> str:
    """What ± means, where one is shown."""
    sure = trees["diameter_sd_cm"].notna().any() or trees["height_sd_m"].notna().any()
    return say(CONFIDENCE) if sure else ""


# What cutting decimals leaves open, as in summarise/places.py.
CUT_REACH = (("0.01 deg", later("1.6 km")), ("0.001 deg", later("160 m")))
ALL_CUT = later(
    "The places are cut to {degrees} degree on purpose: a tree stands up to {reach} from its dot, "
    "and trees lie on top of one another."
)


def cut_places(trees: pd.DataFrame) -> str:
    """What a reader of the map must know where places are less exact than they were recorded."""
    placed = trees[trees["lat"].notna()]
    cuts = {level: int(is_cut(placed, level).sum()) for level, _ in CUT_REACH}
    for level, reach in CUT_REACH:
        if cuts[level]:
            cut = sum(cuts.values())
            said = say(ALL_CUT) if cut == len(placed) else _some_cut(cut)
            degrees = figure(float(level.removesuffix(" deg")))
            return said.format(n=whole(cut), degrees=degrees, reach=say(reach))
    return ""


def _some_cut(count: int) -> Phrase:
    return say_count(
        "The place of {n} tree is cut to {degrees} degree on purpose: a tree stands up to {reach} "
        "from its dot, and trees lie on top of one another.",
        "The places of {n} trees are cut to {degrees} degree on purpose: a tree stands up to "
        "{reach} from its dot, and trees lie on top of one another.",
        count,
    )


def opening(table: pd.DataFrame) -> str:
    """The first sentences of the survey: how much was measured."""
    total = trees(len(table))
    girths = int(table["diameter_cm"].notna().sum())
    heights = int(table["height_m"].notna().sum())
    tall = whole(heights)
    if not girths and not heights:
        return say("We recorded {trees}. None has a measured girth or height yet.").format(
            trees=total
        )
    if not girths:
        return say("We recorded {trees} and measured the height of {heights}.").format(
            trees=total, heights=tall
        )
    if girths == len(table):
        if not heights:
            return say("We measured {trees} round the stem.").format(trees=total)
        return say("We measured {trees} round the stem and the height of {heights}.").format(
            trees=total, heights=tall
        )
    some, every = trees(girths), whole(len(table))
    if not heights:
        return say("We measured {trees} round the stem out of {all}.").format(trees=some, all=every)
    return say(
        "We measured {trees} round the stem out of {all} and the height of {heights}."
    ).format(trees=some, all=every, heights=tall)


NOTHING_MEASURED = {
    "diameter": later("No diameter was measured."),
    "height": later("No height was measured."),
}


def distribution(lower: Sequence[float], upper: Sequence[float], counts: Sequence[float],
                 unit: str, noun: str) -> str:  # fmt: skip
    """What a histogram shows, for everyone who does not see it."""
    total = sum(counts)
    if not total:
        return say(NOTHING_MEASURED[noun])
    filled = [index for index, count in enumerate(counts) if count]
    top = [index for index in filled if counts[index] == max(counts)]
    spread = say("{trees} from {low:g} to {high:g} {unit}.").format(
        trees=trees(round(total)), low=lower[filled[0]], high=upper[filled[-1]], unit=unit
    )
    ranges = listed([span(lower[index], upper[index], unit) for index in top])
    fullest = say_count(
        "The fullest class is {ranges}, with {trees}.",
        "The fullest classes are {ranges}, with {trees} each.",
        len(top),
    )
    return f"{spread} {fullest.format(ranges=ranges, trees=trees(round(max(counts))))}"


def interval(low: float, high: float) -> str:
    """`20 to 25`."""
    return say("{low:g} to {high:g}").format(low=low, high=high)


def span(low: float, high: float, unit: str) -> str:
    """`20 to 25 cm`."""
    return say("{low:g} to {high:g} {unit}").format(low=low, high=high, unit=unit)


def findings(table: pd.DataFrame) -> str:
    """How many records need a second look."""
    count = int(table["count"][table["severity"].isin(["error", "warning"])].sum())
    if not count:
        return say("Reading the records raised no doubts.")
    look = say_count(
        "{n} entry in the records needs a second look.",
        "{n} entries in the records need a second look.",
        count,
    ).format(n=whole(count))
    left_out = say("A value we doubt is left out of the figures; its tree still counts.")
    return f"{look} {left_out}"


def repairs(table: pd.DataFrame) -> str:
    """How many cells were corrected after they were handed in; "" for none."""
    count = int((table["decision"] != "kept").sum())
    if not count:
        return ""
    corrected = say_count(
        "{n} entry was corrected after the records were handed in.",
        "{n} entries were corrected after the records were handed in.",
        count,
    ).format(n=whole(count))
    kept = say("The records themselves stay as they were; repairs.csv lists each correction.")
    return f"{corrected} {kept}"


AGREED = {
    "diameter": later(
        "Diameter: {trees} measured more than once in a day. One reading is off by about "
        "{sd:.2g}\u00a0{unit} (one standard deviation). {share:.0%} of {pairs} pairs of readings "
        "lie close enough for a national inventory: an inventory allows 0.25 cm for every 50.8 cm "
        "of diameter begun."
    ),
    "height": later(
        "Height: {trees} measured more than once in a day. One reading is off by about "
        "{sd:.2g}\u00a0{unit} (one standard deviation). {share:.0%} of {pairs} pairs of readings "
        "lie close enough for a national inventory: an inventory allows a tenth of the height."
    ),
}


def agreement(table: pd.DataFrame) -> tuple[str, ...]:
    """How well readings of one tree on one day agree, a sentence a quantity."""
    return tuple(
        say(AGREED[str(row["quantity"])]).format(
            trees=trees(int(row["trees"])),
            sd=float(row["sd"]),
            unit=row["unit"],
            share=float(row["within_tolerance_share"]),
            pairs=whole(int(row["pairs"])),
        )
        for row in table.to_dict("records")
    )
