"""All stands as a table, and below them the whole survey."""

import math
from dataclasses import dataclass

from mapper.language import later, say
from mapper.render import words
from mapper.render.quantities import Measured, Scale, measured
from mapper.render.rows import Row, number, rows_of, text
from mapper.render.sheets import Site
from mapper.render.stand_figures import half_width, some_lack
from mapper.summarise import Results

COUNTED = {
    "complete count": later("all trees counted"),
    "plots": later("sample plots"),
    "angle count": later("angle count"),
    "chosen trees": later("chosen trees"),
}


@dataclass(frozen=True)
class StandRow:
    """One stand."""

    stand: str
    file: str
    way: str
    values: tuple[Measured | None, ...]  # as StandsTable.heads


@dataclass(frozen=True)
class StandsTable:
    """What the table of stands shows."""

    heads: tuple[str, ...]
    rows: tuple[StandRow, ...]
    totals: tuple[tuple[str, Measured], ...]
    left_out: str


def stands_table(results: Results, site: Site, shown: dict[str, Scale]) -> StandsTable:
    """Gather the stands and their sums."""
    columns = ("per_ha", "m2_per_ha", "cm", "m")
    heads = (
        say("Trees"),
        say("Cross-section"),
        say("Average thickness"),
        say("Average height"),
    )
    units = [shown[column].unit for column in columns]
    return StandsTable(
        heads=(
            say("Ground, {unit}").format(unit=shown["ha"].unit),
            *(f"{head}, {unit}" for head, unit in zip(heads, units, strict=True)),
        ),
        rows=tuple(_row(row, site, shown) for row in rows_of(results.stands)),
        totals=_totals(results, shown),
        left_out=_left_out(results),
    )


def _row(row: Row, site: Site, shown: dict[str, Scale]) -> StandRow:
    figures = (
        ("stems_per_ha", "per_ha"), ("basal_area_m2_per_ha", "m2_per_ha"),
        ("mean_diameter_cm", "cm"), ("mean_height_m", "m"),
    )  # fmt: skip
    values = [measured(number(row, "area_ha"), math.nan, shown["ha"])]
    values += [measured(number(row, name), half_width(row, name), shown[s]) for name, s in figures]
    stand = text(row, "stand")
    return StandRow(
        stand, site.stand_files[stand], say(COUNTED[text(row, "design")]), tuple(values)
    )


def _totals(results: Results, shown: dict[str, Scale]) -> tuple[tuple[str, Measured], ...]:
    area = Scale(shown["m2"].factor, shown["m2"].unit, 1)
    kinds: dict[str, tuple[str, Scale]] = {
        "area_ha": (say("Ground"), shown["ha"]),
        "trees": (say("Living trees"), Scale(1.0, "", 0)),
        "basal_area_m2": (say("Stem cross-section"), area),
    }
    found = []
    for row in rows_of(results.totals):
        label, scale = kinds[text(row, "quantity")]
        half = (number(row, "high") - number(row, "low")) / 2
        if (value := measured(number(row, "value"), half, scale)) is not None:
            least = text(row, "quantity") == "basal_area_m2" and _some_unsized(results)
            if least:
                label = say("{figure}, at least").format(figure=label)
            elif not math.isfinite(half):
                label = say("{figure} (how sure is not known)").format(figure=label)
            found.append((label, value))
    return tuple(found)


def _some_unsized(results: Results) -> bool:
    """Whether counted trees lack a diameter: then their cut faces add up to too little."""
    counted = results.stands[results.stands["design"] == "complete count"]
    return any(some_lack(row) for row in rows_of(counted))


def _left_out(results: Results) -> str:
    rows = {text(row, "quantity"): row for row in rows_of(results.totals)}
    left = int(number(rows["basal_area_m2"], "stands_left_out"))
    if not left:
        return ""
    return words.counted(
        left,
        "Without {n} stand: not all trees counted or sampled by chance, or no area known.",
        "Without {n} stands: not all trees counted or sampled by chance, or no area known.",
    )
