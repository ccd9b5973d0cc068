"""Two years of a stand, two kinds of trees: each pair with its sentences and differences."""

import math
from dataclasses import dataclass

from mapper.language import listed, say
from mapper.render.pair_charts import PairChart, kind_charts, year_charts
from mapper.render.quantities import Scale, plain
from mapper.render.rows import Row, number, rows_of, text
from mapper.render.signed import change_texts
from mapper.render.stand_figures import KINDS
from mapper.render.structure_figures import COMPARED, RATIO
from mapper.summarise import Results


@dataclass(frozen=True)
class Difference:
    """One figure of both."""

    label: str
    term: str
    values: tuple[str, str, str, str]  # the one, the other, other less one, likely range


@dataclass(frozen=True)
class FurtherPair:
    """Two years or two kinds, ready to read."""

    title: str
    sides: tuple[str, str]
    sentences: tuple[str, ...]
    rows: tuple[Difference, ...]
    chart: PairChart | None


def year_pairs(results: Results, shown: dict[str, Scale], stand: str) -> tuple[FurtherPair, ...]:
    """Each year of a stand with the next, and the first with the last."""
    table = results.comparison
    mine = table[(table["kind"] == "years") & (table["stand"] == stand)]
    charts = year_charts(results, shown, stand)
    return _grouped(rows_of(mine), ("period", "other_period"), charts, ({}, shown))


def kind_pairs(
    results: Results, shown: dict[str, Scale], stand: str = ""
) -> tuple[FurtherPair, ...]:
    """The commonest kinds of trees of a stand, or ("") of the whole survey, by pairs."""
    table = results.comparison
    rows = rows_of(table[(table["kind"] == "species") & (table["stand"] == stand)])
    named = results.species.drop_duplicates("species").set_index("species")["common_name"]
    common = {str(kind): str(name) for kind, name in named.items() if name}
    charts = kind_charts(results, shown, stand)
    return _grouped(rows, ("species", "other_species"), charts, (common, shown))


def _grouped(
    rows: list[Row],
    sides: tuple[str, str],
    charts: dict[tuple[str, str], PairChart],
    words: tuple[dict[str, str], dict[str, Scale]],
) -> tuple[FurtherPair, ...]:
    """The rows of each pair together; `words` are other names of the sides, and the units."""
    called, shown = words
    pairs: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        pairs.setdefault((text(row, sides[0]), text(row, sides[1])), []).append(row)
    return tuple(
        _pair((called.get(one, one), called.get(other, other)), group, shown,
              charts.get((one, other)))
        for (one, other), group in pairs.items()
    )  # fmt: skip


def _pair(
    names: tuple[str, str], rows: list[Row], shown: dict[str, Scale], chart: PairChart | None
) -> FurtherPair:
    by_quantity = {text(row, "quantity"): row for row in rows}
    told = [
        Difference(
            say(kind.label),
            ", ".join(filter(None, (say(kind.term), scale.unit))),
            _values(by_quantity[kind.column], scale),
        )
        for kind in (*KINDS, *COMPARED)
        if kind.column in by_quantity
        for scale in ({**shown, "ratio": RATIO}[kind.scale],)
    ]
    sentences = tuple(dict.fromkeys(filter(None, (text(row, "sentence") for row in rows))))
    return FurtherPair(listed(names), names, sentences, tuple(told), chart)


def _values(row: Row, scale: Scale) -> tuple[str, str, str, str]:
    one, other = (
        plain(number(row, name), Scale(scale.factor, "", scale.decimals))
        for name in ("value", "other_value")
    )
    change = (number(row, "difference"), number(row, "low"), number(row, "high"))
    decimals = scale.decimals
    if 0 < (change[2] - change[1]) * scale.factor / 2 < 10.0**-decimals:
        decimals += 1
    difference, likely = change_texts(change, scale, decimals)
    return one, other, difference, likely or _why_none(change)


def _why_none(change: tuple[float, float, float]) -> str:
    return say("exact") if math.isfinite(change[1]) else say("not known")
