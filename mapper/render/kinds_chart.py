"""How thick the stems of each kind are: bars in the colours of the map, and their table."""

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd
from markupsafe import Markup

from mapper.language import figure, later, say
from mapper.render import words
from mapper.render.charts import Bars, Labels, shared_axes, stacked
from mapper.render.quantities import Scale
from mapper.render.tree_data import OTHER_COLOUR, Groups

OTHERS = later("other kinds")
UNKNOWN = later("kind not recorded")


@dataclass(frozen=True)
class KindsChart:
    """A chart with its words and its table, a column a kind."""

    title: str
    summary: str
    chart: Markup
    unit: str
    kinds: tuple[tuple[str, str], ...]  # name, colour
    rows: tuple[tuple[str, tuple[str, ...]], ...]  # interval, trees of each kind


def kinds_chart(
    table: pd.DataFrame, classes: pd.DataFrame, groups: Groups, scale: Scale, title: str
) -> KindsChart | None:
    """None where there is one kind only. `classes` are those of all kinds of the stand."""
    if table["species"].nunique() < 2:
        return None
    colours = {str(entry["name"]): number for number, entry in enumerate(groups.species)}
    # The commonest kind of the survey lies at the foot of every bar, as in the key.
    number = table["species"].map(colours).fillna(OTHER_COLOUR).clip(upper=OTHER_COLOUR)
    limits = classes.sort_values("lower")
    counts = (
        table.assign(number=number.astype(int))
        .pivot_table(index="lower", columns="number", values="trees", aggfunc="sum")
        .reindex(limits["lower"])
        .fillna(0)
    )
    names = _names(table, number)
    lower = tuple(round(float(limit) * scale.factor, 1) for limit in limits["lower"])
    upper = tuple(round(float(limit) * scale.factor, 1) for limit in limits["upper"])
    summary = _summary(table, names, scale)
    whole = Bars(lower, upper, tuple(counts.sum(axis=1).tolist()))
    layers = [(f"fill-{kind}", tuple(counts[kind].tolist())) for kind in counts]
    return KindsChart(
        title=title,
        summary=summary,
        chart=stacked(whole, layers, shared_axes([whole]), Labels(summary, scale.unit)),
        unit=scale.unit,
        kinds=tuple((names[kind], f"fill-{kind}") for kind in sorted(names)),
        rows=tuple(
            (
                words.interval(low, high),
                tuple(figure(cell, ",.0f") if cell else "" for cell in cells),
            )
            for low, high, cells in zip(lower, upper, counts.to_numpy().tolist(), strict=True)
        ),
    )


def _cell(count: float) -> str:
    return figure(count, ",.0f") if count else ""


def _names(table: pd.DataFrame, number: "pd.Series[int]") -> Mapping[int, str]:
    """What each colour stands for; all beyond the last own colour are together."""
    named = table.assign(number=number).drop_duplicates("species")
    shown = named["common_name"].where(named["common_name"] != "", named["species"])
    shown = shown.where(shown != "", say(UNKNOWN))
    found = dict(zip(named["number"], shown, strict=True))
    if (named["number"] == OTHER_COLOUR).sum() > 1:
        found[OTHER_COLOUR] = say(OTHERS)
    return {int(kind): str(name) for kind, name in found.items()}


def _summary(table: pd.DataFrame, names: Mapping[int, str], scale: Scale) -> str:
    """The kind with the thickest and the one with the thinnest stems, by their middle tree."""
    middle = (table["lower"] + table["upper"]) / 2 * table["trees"]
    by_kind = middle.groupby(table["species"]).sum() / table.groupby("species")["trees"].sum()
    common = table.drop_duplicates("species").set_index("species")["common_name"]
    thick, thin = str(by_kind.idxmax()), str(by_kind.idxmin())
    if thick == thin:
        return say("{n} kinds, on average equally thick.").format(n=len(names))
    said = [
        say("{kind} (about {size:.0f}\u00a0{unit})").format(
            kind=words.kind(kind, str(common[kind])),
            size=by_kind[kind] * scale.factor,
            unit=scale.unit,
        )
        for kind in (thick, thin)
    ]
    return say("On average the thickest are {thickest}, the thinnest {thinnest}.").format(
        thickest=said[0], thinnest=said[1]
    )
