"""What a tree is as tall as: only what lies within its ±, never nearer than that."""

import math
from dataclasses import dataclass

from mapper.language import later, say, say_count
from mapper.reference import rows, sources

STOREY = "storey"
FROM_MEMORY = later("from memory")
PHRASES = {
    "football goal": later("as high as a football goal"),
    "basketball ring": later("as high as a basketball ring"),
    "double-decker bus": later("as high as a double-decker bus"),
    "giraffe": later("as high as a tall male giraffe"),
    "width of a goal": later("as tall as a football goal is wide"),
    "penalty": later("as tall as a penalty kick is long"),
    "penalty area": later("as tall as a penalty area is deep"),
    "cricket pitch": later("as tall as a cricket pitch is long"),
    "tennis court": later("as tall as a tennis court is long"),
    "basketball court": later("as tall as a basketball court is long"),
}


@dataclass(frozen=True)
class Likeness:
    """Something of about a tree's height, with where its own size was read."""

    words: str
    source: str


def likenesses(height_m: float, half_width_m: float) -> tuple[Likeness, ...]:
    """The nearest thing within the tree's ±, and how many storeys; empty without a height.

    Without a known ± a tenth of the height is allowed, and the page says "roughly".
    """
    if not math.isfinite(height_m) or height_m <= 0:
        return ()
    known = math.isfinite(half_width_m) and half_width_m > 0
    half = half_width_m if known else height_m / 10
    things = [row for row in rows("likenesses") if row["name"] != STOREY]
    nearest = min(things, key=lambda row: abs(float(row["metres"]) - height_m))
    found = []
    if abs(float(nearest["metres"]) - height_m) <= half:
        text = say("About {thing}.") if known else say("Roughly {thing}.")
        words = text.format(thing=say(PHRASES[nearest["name"]]))
        found.append(Likeness(words, _source(nearest["source"])))
    floors = _storeys(height_m, half)
    return (*found, *((floors,) if floors else ()))


def _storeys(height_m: float, half_m: float) -> Likeness | None:
    row = next(row for row in rows("likenesses") if row["name"] == STOREY)
    each = float(row["metres"])
    low, high = round((height_m - half_m) / each), round((height_m + half_m) / each)
    if low < 2:
        return None
    if low == high:
        words = say_count(
            "About as high as a block of flats of {n} storey.",
            "About as high as a block of flats of {n} storeys.",
            low,
        ).format(n=low)
    else:
        words = say("As high as a block of flats of {low} to {high} storeys.").format(
            low=low, high=high
        )
    return Likeness(words, _source(row["source"]))


def _source(key: str) -> str:
    source = sources()[key]
    return say(FROM_MEMORY) if source.read_on == FROM_MEMORY else source.citation
