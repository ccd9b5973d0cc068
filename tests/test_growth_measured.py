"""Growth from the rows of a table: the orange trees, pairs of visits, shrinkage and leaps."""

import csv
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mapper.line import run_checks
from mapper.measure.growth import stand_increment, tree_growth
from mapper.summarise import Line, Results
from mapper.survey import read_survey

ORANGE = Path(__file__).parent / "open_data" / "orange_35.csv"
LineOf = Callable[[str], Line]


@pytest.fixture
def line_of(tmp_path: Path) -> LineOf:
    def run(text: str) -> Line:
        table = tmp_path / "trees.csv"
        table.write_text(text, encoding="utf-8")
        return run_checks(read_survey([table]))

    return run


def orange_rows() -> str:
    """35 girths of five orange trees (DRAPER1998) as records; the first day is made up."""
    with ORANGE.open(encoding="utf-8", newline="") as file:
        rows = [
            f"{row['tree']},{date(1970, 1, 1) + timedelta(float(row['age_days']))},"
            f"{float(row['girth_mm']) / 10}\n"
            for row in csv.DictReader(file)
        ]
    return "tree,date,girth_cm\n" + "".join(rows)


class TestOrange:
    def test_growth_from_the_first_to_the_newest_visit(self, line_of: LineOf) -> None:
        growth = tree_growth(line_of(orange_rows()).measured.visits)
        # Tree 2: 33 mm on day 118, 203 mm on day 1582 (test_growth): 42.41 mm a year.
        assert growth.loc["2", "growth_girth_cm_per_year"] == pytest.approx(4.241, abs=0.0005)
        assert growth.loc["2", "growth_girth_cm_per_year_days"] == 1464
        # 0.64 cm each by tape: sqrt(2) * 0.64 * 365.25 / 1464
        assert growth["growth_girth_cm_per_year_sd"].tolist() == pytest.approx(
            [0.2258] * 5, abs=1e-4
        )
        assert growth["growth_height_m_per_year"].isna().all()

    def test_none_shrank_or_leapt(self, line_of: LineOf) -> None:
        assert not set(line_of(orange_rows()).findings["rule"]) & {"shrunk", "leapt"}

    def test_it_is_published_with_its_working(self, results_of: Callable[..., Results]) -> None:
        results = results_of({"records/a.csv": orange_rows()})
        trees = results.trees.set_index("tree")
        assert trees.loc["2", "growth_girth_cm_per_year"] == pytest.approx(4.241, abs=0.0005)
        (step,) = (step for step in results.workings["2"] if step.title == "Growth in girth")
        assert step.formula == "(20.3 − 3.3) × 365.25 / 1464"
        assert step.result == "4.24 ± 0.45 cm a year"
        assert step.method == "increment_per_year"


class TestPairs:
    HEAD = "tree,date,girth_cm,measured_at_m,height_m,status,stem_1_cm,stem_2_cm\n"

    def growth(self, line_of: LineOf, rows: str, dates: str = "day") -> pd.DataFrame:
        return tree_growth(line_of(self.HEAD + rows).measured.visits, dates)

    @pytest.mark.parametrize(
        "rows",
        [
            "1,2020-05-01,90,,,,,\n1,2020-12-01,91,,,,,\n",  # 214 days
            "1,2020-05-01,90,1.3,,,,\n1,2022-05-01,91,0.5,,,,\n",
            "1,2020-05-01,,,,,90,\n1,2022-05-01,,,,,90,40\n",
            "1,2020-05-01,90,,,,,\n1,,91,,,,,\n",
            "1,2020-05-01,90,,,,,\n1,2022-05-01,91,,,dead,,\n",
            "1,2020-05-01,90,,,,,\n1,2022-05-01,,,,,,\n",
        ],
    )
    def test_visits_that_say_nothing_about_a_year(self, line_of: LineOf, rows: str) -> None:
        growth = self.growth(line_of, rows)
        assert np.isnan(growth.loc["1", "growth_girth_cm_per_year"])
        assert growth.loc["1", "growth_reason"] != ""

    def test_the_first_visit_measured_as_the_newest_counts(self, line_of: LineOf) -> None:
        rows = "1,2018-05-01,70,0.5,,,,\n1,2020-05-01,90,1.3,,,,\n1,2022-05-01,96,1.3,,,,\n"
        growth = self.growth(line_of, rows)
        assert growth.loc["1", "growth_girth_cm_per_year"] == pytest.approx(3, abs=0.01)

    def test_heights_and_girths_have_visits_of_their_own(self, line_of: LineOf) -> None:
        rows = "1,2020-05-01,90,,10,,,\n1,2022-05-01,96,,,,,\n1,2024-05-01,,,12,,,\n"
        growth = self.growth(line_of, rows).loc["1"]
        assert growth["growth_girth_cm_per_year"] == pytest.approx(3, abs=0.01)
        assert growth["growth_height_m_per_year"] == pytest.approx(0.5, abs=0.001)
        assert growth["growth_reason"] == ""

    @pytest.mark.parametrize("precision", ["month", "year"])
    def test_growth_does_not_tell_the_days(self, line_of: LineOf, precision: str) -> None:
        one, other = (
            self.growth(line_of, f"1,2020-05-{day},90,,,,,\n1,2022-05-01,96,,,,,\n", precision)
            for day in ("02", "30")
        )
        assert one.equals(other)


class TestStand:
    def test_basal_area_by_the_trees_measured_twice(self, line_of: LineOf) -> None:
        rows = (
            "1,A,2020-05-01,20\n1,A,2022-05-01,22\n2,A,2020-05-01,30\n2,A,2022-05-01,31\n"
            "3,A,2022-05-01,50\n4,B,2020-05-01,20\n4,B,2022-05-01,24\n"
        )
        visits = line_of("tree,stand,date,diameter_cm\n" + rows).measured.visits
        table = stand_increment(visits, pd.Series({"A": 0.05, "C": 1.0}))
        # By hand: π/40000 * (22² - 20² + 31² - 30²) = 0.011388 m² in 730 days on 0.05 ha
        assert table.loc["A", "trees_measured_twice"] == 2
        assert table.loc["A", "basal_area_increment_m2_per_ha"] == pytest.approx(
            0.0113883 * 365.25 / 730 / 0.05, rel=1e-4
        )
        assert table.loc["A", "basal_area_increment_m2_per_ha_sd"] > 0
        assert np.isnan(table.loc["C", "basal_area_increment_m2_per_ha"])
        assert table.index.tolist() == ["A", "C"]


class TestFlags:
    def rules(self, line: Line) -> list[str]:
        kept = line.findings[line.findings["rule"].isin(["shrunk", "leapt"])]
        assert not kept["bars"].any()
        assert set(kept["severity"]) <= {"warning"}
        return kept["rule"].tolist()

    @pytest.mark.parametrize(
        ("first", "second", "rules"),
        [
            # 0.64 cm each by tape: two combined sd are 1.81 cm; at most 13.8 cm in a year.
            (90, 88.25, []),
            (90, 88.13, ["shrunk"]),
            (90, 105.5, []),
            (90, 105.8, ["leapt"]),
        ],
    )
    def test_beyond_two_combined_sd(
        self, line_of: LineOf, first: float, second: float, rules: list[str]
    ) -> None:
        rows = f"tree,date,girth_cm\n1,2020-05-01,{first}\n1,2021-05-01,{second}\n"
        assert self.rules(line_of(rows)) == rules

    def test_it_stands_at_the_record_of_the_later_visit(self, line_of: LineOf) -> None:
        rows = "tree,date,girth_cm\n1,2021-05-01,80\n1,2020-05-01,90\n"
        (row,) = line_of(rows).findings.query("rule == 'shrunk'").to_dict("records")
        assert (row["row"], row["column"]) == (2, "girth")
        assert "Girth 80.0 cm, at the visit before 90.0 cm" in row["message"]

    @pytest.mark.parametrize(
        "rows",
        [
            "1,2020-05-01,90,1.3,\n1,2022-05-01,80,0.5,\n",
            "1,2020-05-01,90,,\n1,2022-05-01,80,,dead\n",
            "1,2020-05-01,90,,\n1,2020-05-01,80,,\n",
            "1,2020-05-01,90,,\n2,2022-05-01,80,,\n",
            "1,2020-05-01,90,,\n1,,80,,\n",
        ],
    )
    def test_what_is_not_compared(self, line_of: LineOf, rows: str) -> None:
        assert self.rules(line_of("tree,date,girth_cm,measured_at_m,status\n" + rows)) == []

    def test_heights_by_angles(self, line_of: LineOf) -> None:
        head = "tree,date,baseline_m,angle_top,angle_base\n"
        rows = "1,2020-05-01,20,38,-5\n1,2021-05-01,20,30,-5\n"
        assert self.rules(line_of(head + rows)) == ["shrunk"]
