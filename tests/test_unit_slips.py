"""Slips of unit and decimal point: found where something speaks against them, and only there."""

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from mapper.check.trend import robust_line
from mapper.line import run_checks
from mapper.summarise import Line
from mapper.survey import read_survey

OPEN_DATA = Path(__file__).parent / "open_data"
LineOf = Callable[[pd.DataFrame], Line]
FOREST = {
    "DF": "Pseudotsuga menziesii", "GF": "Abies grandis", "WC": "Thuja plicata",
    "WL": "Larix occidentalis", "WP": "Pinus monticola", "SF": "Abies lasiocarpa",
    "ES": "Picea engelmannii", "LP": "Pinus contorta", "PP": "Pinus ponderosa",
}  # fmt: skip


@pytest.fixture
def line_of(tmp_path: Path) -> LineOf:
    def run(table: pd.DataFrame) -> Line:
        table.to_csv(tmp_path / "trees.csv", index=False)
        return run_checks(read_survey([tmp_path / "trees.csv"]))

    return run


def found(line: Line, *names: str) -> pd.DataFrame:
    return line.findings[line.findings["rule"].isin(names)]


def forest() -> pd.DataFrame:
    """The forest cruise as records, its blunders left in."""
    raw = pd.read_csv(OPEN_DATA / "ufc_1991.csv").query("dbh_mm > 0")
    return pd.DataFrame(
        {
            "tree": raw["plot"].astype(str) + "-" + raw["tree"].astype(str),
            "species": raw["species"].map(FOREST).fillna(""),
            "diameter_cm": raw["dbh_mm"] / 10,
            "height_m": raw["height_dm"] / 10,
        }
    )


def test_the_slips_of_a_real_forest_and_nothing_else(line_of: LineOf) -> None:
    line = line_of(forest())
    # The manual of the cleaned table says that it omits errors; this height is one of them.
    (slip,) = found(line, "unit_slip").to_dict("records")
    assert (slip["tree"], slip["column"], slip["value"]) == ("67-6", "height", "3.4")
    assert slip["proposed_value"] == "34 m"
    assert found(line, "impossible")["tree"].tolist() == ["78-5"]  # a height of 0
    assert found(line, "duplicate_row")["tree"].tolist() == ["43-6", "44-1", "44-2"]
    assert found(line, "duplicate_id")["tree"].tolist() == ["44-3"]
    others = {"species_unknown", "missing", "undated_repeat"}
    assert set(line.findings["rule"]) - others == {
        "unit_slip", "impossible", "duplicate_row", "duplicate_id",
    }  # fmt: skip


def test_real_trees_without_blunders_raise_no_alarm(line_of: LineOf) -> None:
    cherry = pd.read_csv(OPEN_DATA / "black_cherry_31.csv")[["diameter_cm", "height_m"]]
    pines = pd.read_csv(OPEN_DATA / "finpines_126.csv").query("diameter > 0")
    pines = pines.rename(columns={"diameter": "diameter_cm", "height": "height_m"})
    for table, species in ((cherry, "Prunus serotina"), (pines, "Pinus sylvestris")):
        trees = table[["diameter_cm", "height_m"]].assign(species=species)
        assert line_of(trees.assign(tree=range(len(trees)))).findings.empty


@pytest.mark.parametrize(
    ("column", "factor", "cause"),
    [
        ("height_m", 3.2808, "feet written as metres"),
        ("height_m", 10, "decimal point"),
        ("height_m", 0.1, "decimal point"),
        ("diameter_cm", 10, "millimetres"),
        ("diameter_cm", 0.01, "metres written as centimetres"),
    ],
)
def test_a_slip_in_a_real_forest(line_of: LineOf, column: str, factor: float, cause: str) -> None:
    table = forest().query("height_m > 0 and tree != '67-6'").drop_duplicates("tree")
    table = table.reset_index(drop=True)
    meant = table.loc[100, column]
    table.loc[100, column] = round(meant * factor, 2)
    line = line_of(table)
    (slip,) = found(line, "unit_slip", "impossible", "impossible_shape").head(1).to_dict("records")
    assert slip["record"] == 100
    assert slip["proposed_column"] == column.rsplit("_", 1)[0]
    assert cause in slip["cause"]
    assert float(slip["proposed_value"].split()[0]) == pytest.approx(meant, rel=0.02)


def visits(*girths: str, height: str = "") -> pd.DataFrame:
    """One tree, measured each May."""
    days = [f"{2020 + n}-05-01" for n in range(len(girths))]
    return pd.DataFrame(
        {"tree": "7", "date": days, "girth_cm": girths, "height_m": height, "lat": 45, "lon": 7}
    )


@pytest.mark.parametrize(
    ("girths", "row", "proposal"),
    [
        (("150", "60.2", "154"), 3, "152.9 cm"),
        (("150", "48.4", "154"), 3, "152.1 cm"),
        (("150", "1.52", "154"), 3, "152 cm"),
        (("150", "1520", "154"), 3, "152 cm"),
        (("1500", "152", "154"), 2, "150 cm"),
    ],
)
def test_the_visit_that_contradicts_the_others(
    line_of: LineOf, girths: tuple[str, ...], row: int, proposal: str
) -> None:
    line = line_of(visits(*girths))
    (slip,) = found(line, "unit_slip").to_dict("records")
    assert (slip["row"], slip["proposed_value"]) == (row, proposal)
    assert "other visits" in slip["message"]
    assert found(line, "shrunk", "leapt").empty  # one blunder, one finding


def test_a_certain_slip_leaves_the_figures_and_a_doubtful_one_stays(line_of: LineOf) -> None:
    certain = line_of(visits("150", "1520", "154"))
    assert found(certain, "unit_slip")["bars"].tolist() == [True]
    assert certain.measured.visits["diameter_cm"].isna().tolist() == [False, True, False]
    # Two visits only: which of the two is wrong cannot be told, so both stay.
    doubtful = line_of(visits("150", "60"))
    assert found(doubtful, "unit_slip")["bars"].tolist() == [False]
    assert doubtful.measured.visits["diameter_cm"].notna().all()


@pytest.mark.parametrize(
    ("column", "factor", "cause"),
    [
        ("height_m", 3.2808, "height: It looks like feet written as metres."),
        ("diameter_cm", 10, "diameter: It looks like millimetres"),
        ("diameter_cm", 0.01, "diameter: It looks like metres written as centimetres."),
    ],
)
def test_a_whole_file_in_another_unit(
    line_of: LineOf, column: str, factor: float, cause: str
) -> None:
    cherry = pd.read_csv(OPEN_DATA / "black_cherry_31.csv")[["diameter_cm", "height_m"]]
    table = cherry.assign(tree=range(31), species="Prunus serotina")
    table[column] *= factor
    (row,) = found(line_of(table), "units_of_file").to_dict("records")
    assert (row["record"], row["severity"]) == (-1, "warning")
    assert cause in row["cause"]


def test_growth_is_no_slip(line_of: LineOf) -> None:
    assert found(line_of(visits("12", "20", "31", "40")), "unit_slip").empty


def test_of_girth_and_diameter_the_one_at_fault(line_of: LineOf) -> None:
    table = forest().query("height_m > 0 and tree != '67-6'").drop_duplicates("tree").head(200)
    table = table.assign(girth_cm=(table["diameter_cm"] * np.pi).round(1)).reset_index(drop=True)
    table.loc[50, "girth_cm"] *= 10
    table.loc[60, "diameter_cm"] *= 10
    seen = found(line_of(table), "disagree").set_index("record")
    assert seen["proposed_column"].to_dict() == {50: "girth", 60: "diameter"}


def test_the_line_through_many_points_is_that_of_a_statistics_library() -> None:
    rng = np.random.default_rng(7)
    x = rng.uniform(5, 80, 60)
    y = 2 + 0.15 * x + rng.normal(0, 0.4, 60)
    y[:9] *= 10
    start, slope = robust_line(x, y)
    known = stats.theilslopes(y, x, method="joint")
    assert slope == pytest.approx(known.slope)
    assert start == pytest.approx(known.intercept)
    assert slope == pytest.approx(0.15, abs=0.05)  # a seventh of the points is far off


def test_the_town_table_orders_its_limits() -> None:
    with (Path("mapper/reference") / "slenderness.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            steps = [float(row[name]) for name in ("lowest", "low", "middle", "high", "highest")]
            assert steps == sorted(steps)
