"""What stems may be coloured by besides their kind: height, age and date, in classes."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.language import later, say
from mapper.render.quantities import Scale

MOST_CLASSES = 7
SHADES = 7  # of the ramp in tokens.css
WIDTHS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
NO_CLASS = -1
TITLES = {
    "size": later("size"),
    "height_class": later("height"),
    "age_class": later("middle of the range of age"),
    "date_class": later("date"),
}
YEAR, MONTH = 4, 7  # letters of a date


@dataclass(frozen=True)
class Colouring:
    """One way to colour the stems, and its key from low to high with the shade of each class."""

    name: str
    title: str
    classes: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Classed:
    """The classes of one quantity, and the class of every tree."""

    labels: tuple[str, ...]
    codes: NDArray[np.int64]


def class_columns(trees: pd.DataFrame, scale: Scale) -> dict[str, Classed]:
    """Every tree's class of height, age and date; only what tells trees apart."""
    numbers = {
        name: _numbers(trees[name]) for name in ("height_m", "age_low_years", "age_high_years")
    }
    middle = (numbers["age_low_years"] + numbers["age_high_years"]) / 2
    found = {
        "height_class": _even_classes(numbers["height_m"] * scale.factor, scale.unit),
        "age_class": _even_classes(middle, say("years")),
        "date_class": _date_classes(trees["date"]),
    }
    return {name: classed for name, classed in found.items() if len(classed.labels) > 1}


def colourings(classed: dict[str, Classed], sizes: tuple[str, ...]) -> tuple[Colouring, ...]:
    """The choices that a page offers, in the order of its list."""
    labels = {"size": sizes} | {name: each.labels for name, each in classed.items()}
    return tuple(
        Colouring(name, say(TITLES[name]), _shaded(texts))
        for name, texts in labels.items()
        if len(texts) > 1
    )


def _shaded(texts: tuple[str, ...]) -> tuple[tuple[str, int], ...]:
    last = max(len(texts) - 1, 1)
    return tuple((text, round(index * (SHADES - 1) / last)) for index, text in enumerate(texts))


def _numbers(column: pd.Series) -> NDArray[np.float64]:
    return pd.to_numeric(column).to_numpy(dtype=float, na_value=np.nan)


def _even_classes(values: NDArray[np.float64], unit: str) -> Classed:
    """Classes of one width in round numbers, no more than can be told apart."""
    known = values[np.isfinite(values)]
    none = np.full(len(values), NO_CLASS)
    if not len(known):
        return Classed((), none)
    fits = (w for w in WIDTHS if known.max() // w - known.min() // w < MOST_CLASSES)
    width = next(fits, known.max() + 1)
    first, last = int(known.min() // width), int(known.max() // width)
    codes = np.where(np.isfinite(values), np.nan_to_num(values) // width - first, NO_CLASS)
    between = say("{low:g} to {high:g} {unit}")
    labels = tuple(
        between.format(low=step * width, high=(step + 1) * width, unit=unit)
        for step in range(first, last + 1)
    )
    return Classed(labels, codes.astype(np.int64))


def _date_classes(dates: pd.Series) -> Classed:
    """Years where there are several, else months."""
    if pd.api.types.is_datetime64_any_dtype(dates):
        dates = dates.dt.strftime("%Y-%m-%d")
    texts = dates.fillna("").astype(str)
    years = texts.str[:YEAR]
    parts = years if years[years != ""].nunique() > 1 else texts.str[:MONTH]
    labels = sorted(set(parts) - {""})
    codes = parts.map({label: index for index, label in enumerate(labels)}).fillna(NO_CLASS)
    return Classed(tuple(labels), np.asarray(codes, dtype=np.int64))
