"""Which trees a walk visits, and in which order."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.errors import InputError

MOST_STOPS = 20  # about what a group manages in an afternoon; common practice, no source
SEED = 20


@dataclass(frozen=True)
class Stop:
    """One tree of the walk; x and y are metres east and north of the middle of the walk."""

    number: int
    tree: str
    name: str
    stand: str
    girth_cm: float
    x_m: float
    y_m: float
    to_next_m: float
    why: str


@dataclass(frozen=True)
class Walk:
    """The stops in order, back to the first, and the trees without a place."""

    stops: tuple[Stop, ...]
    lon: float
    lat: float
    without_place: tuple[str, ...]

    @property
    def length_m(self) -> float:
        """Once round and back, as the crow flies. [m]"""
        return sum(stop.to_next_m for stop in self.stops)


def chosen_trees(
    trees: pd.DataFrame, findings: pd.DataFrame, named: Sequence[str], stand: str, most: int
) -> pd.DataFrame:
    """The trees to visit, with why: those named, else those in doubt first, then the stoutest.

    Raises
    ------
    InputError
        When a named tree or the stand is not in the survey.
    """
    living = trees[trees["status"].isin(["", "alive"])]
    if named:
        lost = [name for name in named if name not in trees.index]
        if lost:
            raise InputError(
                f"There is no tree '{lost[0]}' in this survey. Trees are named as in the records, "
                f"for example '{trees.index[0]}'."
            )
        return trees.loc[list(dict.fromkeys(named))].assign(why="")
    if stand:
        if stand not in set(trees["stand"]):
            known = ", ".join(sorted({name for name in trees["stand"] if name})) or "none"
            raise InputError(f"There is no stand '{stand}' in this survey. Stands: {known}.")
        living = living[living["stand"] == stand]
    reasons = reasons_to_return(living, findings)
    order = pd.DataFrame(
        {"doubtful": reasons == "", "girth": -living["girth_cm"].fillna(0)}, index=living.index
    )
    return living.assign(why=reasons).loc[order.sort_values(["doubtful", "girth"]).index[:most]]


def reasons_to_return(trees: pd.DataFrame, findings: pd.DataFrame) -> "pd.Series[str]":
    """Why each tree should be measured again, in a few words; empty where nothing asks for it."""
    reasons = pd.Series("", index=trees.index, dtype=object)
    doubts = findings[findings["severity"].isin(["error", "warning"])]
    doubted = {
        column: doubts.loc[doubts["column"].str.startswith(column), "tree"]
        for column in ("girth", "diameter", "height", "angle", "baseline")
    }
    tape = set(doubted["girth"]) | set(doubted["diameter"])
    sight = set(doubted["height"]) | set(doubted["angle"]) | set(doubted["baseline"])
    reasons[trees["height_m"].isna()] = "no height yet"
    reasons[trees.index.isin(list(sight))] = "the height was in doubt"
    reasons[trees.index.isin(list(tape))] = "the girth was in doubt"
    reasons[trees["girth_cm"].isna()] = "no girth yet"
    return reasons


def walk_of(trees: pd.DataFrame) -> Walk:
    """The shortest round that a well-tried search finds through the places of the trees."""
    placed = trees[trees["lat"].notna() & trees["lon"].notna()]
    without = tuple(map(str, trees.index.difference(placed.index, sort=False)))
    if placed.empty:
        return Walk((), np.nan, np.nan, without)
    lon, lat = float(placed["lon"].mean()), float(placed["lat"].mean())
    places = _metres(placed["lon"].to_numpy(), placed["lat"].to_numpy(), lon, lat)
    order = shortest_round(places)
    legs = _legs(places[order])
    stops = tuple(
        _stop(placed.iloc[row], number, places[row], leg)
        for number, (row, leg) in enumerate(zip(order, legs, strict=True), start=1)
    )
    return Walk(stops, lon, lat, without)


def unplaced_stops(trees: pd.DataFrame) -> list[Stop]:
    """Trees to measure whose place nobody wrote down."""
    return [_stop(trees.iloc[row], 0, np.full(2, np.nan), 0.0) for row in range(len(trees))]


def _stop(tree: pd.Series, number: int, place: NDArray[np.float64], leg: float) -> Stop:
    name = str(tree["common_name"] or tree["species_name"] or "kind not known")
    return Stop(
        number, str(tree.name), name, str(tree["stand"] or ""), float(tree["girth_cm"]),
        float(place[0]), float(place[1]), leg, str(tree.get("why", "")),
    )  # fmt: skip


def _metres(
    lon: NDArray[np.float64], lat: NDArray[np.float64], lon_0: float, lat_0: float
) -> NDArray[np.float64]:
    from pyproj import Transformer

    local = f"+proj=laea +lat_0={lat_0} +lon_0={lon_0} +datum=WGS84 +units=m"
    x, y = Transformer.from_crs("EPSG:4326", local, always_xy=True).transform(lon, lat)
    return np.column_stack([x, y])


def _legs(places: NDArray[np.float64]) -> list[float]:
    following = np.roll(places, -1, axis=0)
    return [float(leg) for leg in np.hypot(*(following - places).T)]


def shortest_round(places: NDArray[np.float64]) -> list[int]:
    """Rows of `places` in the order of a short round that begins farthest west.

    Two searches of networkx from two beginnings, the same at every run; the shorter round wins.
    """
    if len(places) < 4:
        return _from_west(list(range(len(places))), places)
    import networkx as nx

    apart = np.hypot(*(places[:, None, :] - places[None, :, :]).transpose(2, 0, 1))
    graph = nx.from_numpy_array(apart + np.where(np.eye(len(places), dtype=bool), 0, 1e-9))
    rounds = [
        nx.approximation.threshold_accepting_tsp(
            graph, beginning, seed=SEED, move=move, N_inner=300, max_iterations=20
        )
        for beginning in ("greedy", nx.approximation.christofides(graph))
        for move in ("1-1", "1-0")
    ]
    best = min((_uncrossed(order[:-1], apart) for order in rounds), key=lambda o: _length(o, apart))
    return _from_west(best, places)


def _uncrossed(order: list[int], apart: NDArray[np.float64]) -> list[int]:
    """Turn stretches round while that shortens the way: a shortest round never crosses itself."""
    count, better = len(order), True
    while better:
        better = False
        for i in range(count - 1):
            for j in range(i + 2, count - (i == 0)):
                a, b, c, d = order[i], order[i + 1], order[j], order[(j + 1) % count]
                if apart[a, c] + apart[b, d] < apart[a, b] + apart[c, d] - 1e-9:
                    order[i + 1 : j + 1] = reversed(order[i + 1 : j + 1])
                    better = True
    return order


def _length(order: list[int], apart: NDArray[np.float64]) -> float:
    return float(apart[order, np.roll(order, -1)].sum())


def _from_west(order: list[int], places: NDArray[np.float64]) -> list[int]:
    west = order.index(int(np.argmin(places[:, 0])))
    return [int(row) for row in order[west:] + order[:west]]
