"""Every empty cell of stands.csv has a reason, whatever the stand is like."""

import json
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from mapper.line import run_checks
from mapper.summarise import Results
from mapper.survey import read_survey

SURVEY = """[[stand]]
name = "counted"
design = "complete count"
area = "1 ha"

[[stand]]
name = "no area"
design = "complete count"

[[stand]]
name = "dead only"
design = "complete count"
area = "0.5 ha"

[[stand]]
name = "unsized"
design = "complete count"
area = "0.5 ha"

[[stand]]
name = "one plot"
design = "plots"
selection = "random"
plots = "plots.csv"

[[stand]]
name = "two plots"
design = "plots"
selection = "random"
plots = "plots.csv"

[[stand]]
name = "by hand"
design = "plots"
selection = "by hand"
plots = "plots.csv"

[[stand]]
name = "angles"
design = "angle count"
selection = "random"
plots = "plots.csv"
basal_area_factor = "2 m2/ha"
"""
TREES = """tree,stand,plot,status,species,diameter_cm,height_m
1,counted,,alive,Quercus robur,30,20
2,counted,,alive,,
3,no area,,alive,Quercus robur,30,
4,dead only,,dead,Quercus robur,30,20
5,unsized,,alive,Quercus robur,,
6,one plot,p1,alive,Quercus robur,30,20
7,two plots,p2,alive,Quercus robur,30,20
8,two plots,p3,alive,Fagus sylvatica,20,
9,by hand,p4,alive,Quercus robur,30,20
10,by hand,p5,alive,Quercus robur,30,20
11,angles,a1,alive,Quercus robur,30,
12,angles,a2,alive,Quercus robur,,
13,chosen,,alive,Quercus robur,,
14,chosen,,alive,Quercus robur,40,22
"""
PLOTS = """plot,stand,area_m2
p1,one plot,400
p2,two plots,400
p3,two plots,400
p4,by hand,400
p5,by hand,400
a1,angles,
a2,angles,
"""
# Empty where they do not apply; the column `design` says so.
NOT_ASKED = {"selection", "plots", "period"}


def empty_cells(stands: pd.DataFrame) -> set[tuple[str, str]]:
    blank = stands.isna() | (stands.astype(str) == "")
    return {
        (str(stands["stand"].iloc[row]), str(stands.columns[column]))
        for row, column in zip(*blank.to_numpy().nonzero(), strict=True)
        if stands.columns[column] not in NOT_ASKED
    }


def test_every_empty_cell_of_a_stand_has_a_reason(results_of: Callable[..., Results]) -> None:
    results = results_of({"survey.toml": SURVEY, "records/trees.csv": TREES, "plots.csv": PLOTS})
    told = results.reasons[results.reasons["table"] == "stands"]
    given = set(zip(told["id"], told["column"], strict=True))
    empty = empty_cells(results.stands)
    assert sorted(empty - given) == []
    # A stand of nought trees says so, though the cell is full.
    assert given - empty == {("dead only", "trees")}
    assert len(empty) > 100
    assert not told.duplicated(["id", "column"]).any()
    # A stand that has no living tree has figures per hectare of nothing, and means of nobody.
    dead = results.stands.set_index("stand").loc["dead only"]
    assert dead["stems_per_ha"] == 0
    assert pd.isna(dead["mean_diameter_cm"])


def square(west: float, south: float, name: str) -> dict[str, object]:
    ring = [
        [west, south], [west + 0.001, south], [west + 0.001, south + 0.001], [west, south + 0.001],
        [west, south],
    ]  # fmt: skip
    geometry = {"type": "Polygon", "coordinates": [ring]}
    return {"type": "Feature", "properties": {"stand": name}, "geometry": geometry}


@pytest.mark.parametrize(("shift", "seen"), [(0.0005, ["50"]), (0.000999, []), (0.001, [])])
def test_ground_of_two_stands_is_found(tmp_path: Path, shift: float, seen: list[str]) -> None:
    shapes = [square(7, 48, "A"), square(7 + shift, 48, "B"), square(8, 48, "C")]
    collection = {"type": "FeatureCollection", "features": shapes}
    (tmp_path / "s.geojson").write_text(json.dumps(collection), encoding="utf-8")
    (tmp_path / "t.csv").write_text("tree,lat,lon\n1,48.0005,7.0001\n", encoding="utf-8")
    survey = read_survey([tmp_path / "t.csv"], boundaries=tmp_path / "s.geojson")
    found = run_checks(survey).findings
    messages = found.loc[found["rule"] == "overlapping_stands", "message"]
    assert [message.split(" by ")[1].split(" %")[0] for message in messages] == seen
