"""The trees as columns, and the lists that the columns point into."""

import math
from dataclasses import dataclass

import pandas as pd

from mapper.language import later, listed, say
from mapper.render.colourings import Colouring, class_columns, colourings
from mapper.render.quantities import Scale, scales
from mapper.summarise import Results

TREES_PER_CHUNK = 500
OTHER_COLOUR = 8
WOODS = {"softwood": later("softwood"), "hardwood": later("hardwood"), "": ""}
SYMBOLS = {"broadleaf": 0, "conifer": 1, "dead": 2, "unknown": 3}
DECIMALS = {
    "lat": 7,
    "lon": 7,
    # Three more than the page shows: rounded twice, 47.746 would come out as 47.8.
    "diameter_cm": 4,
    "height_m": 4,
    "girth_cm": 4,
    "diameter_sd_cm": 3,
    "height_sd_m": 3,
}


@dataclass(frozen=True)
class Groups:
    """The lists that the trees' columns point into, in the order that pages and filters show."""

    species: tuple[dict[str, object], ...]
    stands: tuple[str, ...]
    sizes: tuple[dict[str, str], ...]
    colourings: tuple[Colouring, ...] = ()


def groups(results: Results) -> Groups:
    """Species by number of trees, stands as the survey lists them, size classes small to large."""
    shown = scales(results.survey.units)
    sizes = _sizes(results.trees, results.classes, shown["cm"])
    names = tuple(", ".join(filter(None, (one["name"], one["range"]))) for one in sizes)
    return Groups(
        species=_species(results.trees),
        stands=tuple(results.stands["stand"].astype(str)),
        sizes=sizes,
        colourings=colourings(class_columns(results.trees, shown["m"]), names),
    )


def group_indexes(trees: pd.DataFrame, found: Groups) -> pd.DataFrame:
    """For every tree its place in each list, -1 for none."""
    species = {entry["name"]: index for index, entry in enumerate(found.species)}
    stands = {name: index for index, name in enumerate(found.stands)}
    sizes = {entry["name"]: index for index, entry in enumerate(found.sizes)}
    return pd.DataFrame(
        {
            "species": trees["species"].map(species).fillna(-1).astype(int),
            "stand": trees["stand"].map(stands).fillna(-1).astype(int),
            "size": trees[size_column(trees)].map(sizes).fillna(-1).astype(int),
        }
    )


def size_column(trees: pd.DataFrame) -> str:
    """The survey's named size classes where it uses a scheme, else plain diameter classes."""
    return "size_class" if trees["size_class"].fillna("").ne("").any() else "diameter_class"


def tree_columns(trees: pd.DataFrame, found: Groups) -> dict[str, object]:
    numbers = {name: rounded(trees[name], places) for name, places in DECIMALS.items()}
    indexes = group_indexes(trees, found)
    # Most surveys know no accuracy: a million nulls would weigh as much as the trees.
    accuracy = rounded(trees["position_accuracy_m"], 1)
    numbers["position_accuracy_m"] = accuracy if any(accuracy) else []
    return numbers | {
        "id": trees["tree"].astype(str).tolist(),
        "species": indexes["species"].tolist(),
        "stand": indexes["stand"].tolist(),
        "size": indexes["size"].tolist(),
        "symbol": symbols(trees).tolist(),
        "date": date_texts(trees["date"]),
        "findings": trees["finding_count"].fillna(0).astype(int).tolist(),
        "chunk": [index // TREES_PER_CHUNK for index in range(len(trees))],
    }


def symbols(trees: pd.DataFrame) -> pd.Series:
    """The number of each tree's plan symbol."""
    return trees["symbol"].map(SYMBOLS).fillna(SYMBOLS["unknown"]).astype(int)


def rounded(column: pd.Series, places: int) -> list[float | None]:
    """Numbers for JSON, where a missing one is null."""
    numbers = pd.to_numeric(column).astype(float).round(places)
    return [None if number != number else number for number in numbers.tolist()]


def date_texts(column: pd.Series) -> list[str]:
    """Dates as published: a day, a month or a year, empty where there is none."""
    if pd.api.types.is_datetime64_any_dtype(column):
        column = column.dt.strftime("%Y-%m-%d")
    return column.fillna("").astype(str).tolist()


def _species(trees: pd.DataFrame) -> tuple[dict[str, object], ...]:
    kinds = (
        trees.groupby(["species", "common_name"], dropna=False)
        .size()
        .reset_index(name="trees")
        .sort_values(["trees", "species"], ascending=[False, True])
        .drop_duplicates("species")
    )
    kinds = kinds[kinds["species"].fillna("") != ""].fillna("")
    columns = (kinds[name].tolist() for name in ("species", "common_name", "trees"))
    named = list(zip(*columns, strict=True))
    return tuple(
        {"name": name, "common": common, "colour": min(rank, OTHER_COLOUR), "trees": trees}
        for rank, (name, common, trees) in enumerate(named)
    )


def _sizes(trees: pd.DataFrame, classes: pd.DataFrame, scale: Scale) -> tuple[dict[str, str], ...]:
    column = size_column(trees)
    smallest = trees[trees[column].fillna("") != ""].groupby(column)["diameter_cm"].min()
    ranges = _size_ranges(classes, scale)
    return tuple(
        {"name": str(name), "range": ranges.get(str(name), "")}
        for name in smallest.sort_values().index
    )


def _size_ranges(classes: pd.DataFrame, scale: Scale) -> dict[str, str]:
    """The limits of each size class; softwoods and hardwoods may each have their own."""
    columns = ["name", "group", "lower", "upper"]
    sized = classes[classes["quantity"] == "size"].drop_duplicates(["name", "group"])
    ranges: dict[str, dict[str, list[str]]] = {}
    for name, group, lower, upper in sized[columns].itertuples(index=False, name=None):
        ranges.setdefault(str(name), {}).setdefault(_range(lower, upper, scale), []).append(
            str(group)
        )
    return {name: _grouped(by_range) for name, by_range in ranges.items()}


def _grouped(by_range: dict[str, list[str]]) -> str:
    if len(by_range) == 1:
        return next(iter(by_range))
    return "; ".join(
        f"{listed([say(WOODS[group]) for group in groups])} {text}"
        for text, groups in by_range.items()
    )


def _range(lower: float, upper: float, scale: Scale) -> str:
    start, end = (round(limit * scale.factor, 1) for limit in (lower, upper))
    if math.isfinite(upper):
        return say("{low:g} to {high:g} {unit}").format(low=start, high=end, unit=scale.unit)
    return say("{low:g} {unit} and more").format(low=start, unit=scale.unit)
