"""Copied cells, stuck instruments, favoured digits, twins, exchanged numbers, in small tables."""

import random
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from scipy import stats

from mapper.check.digits import at_least
from mapper.line import run_checks
from mapper.summarise import Line
from mapper.survey import read_survey

LineOf = Callable[[pd.DataFrame], Line]
METRE = 1 / 111_132.0  # degrees of latitude


@pytest.fixture
def line_of(tmp_path: Path) -> LineOf:
    def run(table: pd.DataFrame) -> Line:
        table.to_csv(tmp_path / "trees.csv", index=False)
        return run_checks(read_survey([tmp_path / "trees.csv"]))

    return run


def found(line: Line, rule: str) -> pd.DataFrame:
    return line.findings[line.findings["rule"] == rule]


def class_of_30(seed: int = 1) -> pd.DataFrame:
    """Thirty trees as a class hands them in; nothing is wrong with them."""
    draw = random.Random(seed)
    girths = [round(draw.gauss(100, 30)) for _ in range(30)]
    return pd.DataFrame(
        {
            "tree": [str(number) for number in range(1, 31)],
            "species": "Quercus robur",
            "date": "2026-05-04",
            "observer": "Team Heron",
            "girth_cm": girths,
            "height_m": [round((girth / 5) * draw.gauss(1, 0.08), 1) for girth in girths],
            "lat": [45 + 8 * n * METRE for n in range(30)],
            "lon": 7.0,
            "position_accuracy_m": 4,
        }
    )


@pytest.mark.parametrize("seed", range(4))
def test_a_class_without_blunders_hears_nothing(line_of: LineOf, seed: int) -> None:
    assert line_of(class_of_30(seed)).findings.empty


class TestCopied:
    def test_rows_filled_down(self, line_of: LineOf) -> None:
        table = class_of_30()
        table.loc[11:13, ["girth_cm", "height_m"]] = table.loc[10, ["girth_cm", "height_m"]].values
        rows = found(line_of(table), "copied_down")
        assert rows["tree"].tolist() == ["12", "13", "14"]
        assert set(rows["other_tree"]) == {"11"}
        assert "4 rows in a row" in rows["message"].iloc[0]
        assert "girth, height: from row 12 on" in rows["message"].iloc[0]

    def test_readings_of_one_tree_may_agree(self, line_of: LineOf) -> None:
        table = class_of_30()
        table.loc[11:13, table.columns] = table.loc[[10] * 3, table.columns].values
        assert found(line_of(table), "copied_down").empty

    def test_a_stuck_instrument(self, line_of: LineOf) -> None:
        table = class_of_30()
        table.loc[5:9, "height_m"] = 17.5
        rows = found(line_of(table), "stuck")
        assert rows["column"].tolist() == ["height"] * 4
        assert rows["value"].tolist() == ["17.5"] * 4

    def test_sorted_rows_are_no_run(self, line_of: LineOf) -> None:
        table = class_of_30()
        table["girth_cm"] = [60 + 2 * n for n in range(13)] + [86] * 4 + list(range(90, 103))
        assert found(line_of(table), "stuck").empty
        shuffled = table.assign(girth_cm=[*table["girth_cm"][13:], *table["girth_cm"][:13]])
        assert len(found(line_of(shuffled), "stuck")) == 3

    def test_coarse_readings_agree_by_chance(self, line_of: LineOf) -> None:
        table = class_of_30()
        table["height_m"] = [12, 14, 12, 12, 12, 12] * 5
        assert found(line_of(table), "stuck").empty


class TestDigits:
    def test_a_team_that_rounds(self, line_of: LineOf) -> None:
        table = class_of_30()
        table["girth_cm"] = (table["girth_cm"] / 5).round() * 5
        (row,) = found(line_of(table), "digits").to_dict("records")
        assert (row["severity"], row["column"]) == ("note", "girth")
        assert "30 of 30 whole numbers" in row["message"]

    def test_whole_numbers_alone_tell(self, line_of: LineOf) -> None:
        """A tape read to half a centimetre: among the halves no digit is favoured."""
        table = pd.concat([class_of_30(seed) for seed in (1, 2, 3)], ignore_index=True)
        table["tree"] = [str(number) for number in range(90)]
        table["girth_cm"] = (table["girth_cm"] / 5).round() * 5.0
        table.loc[25:, "girth_cm"] += 2.5
        (row,) = found(line_of(table), "digits").to_dict("records")
        assert "25 of 25 whole numbers" in row["message"]

    def test_the_chance_is_that_of_a_statistics_library(self) -> None:
        for readings, favoured in ((30, 12), (40, 20), (200, 60)):
            known = stats.binom.sf(favoured - 1, readings, 0.2)
            assert at_least(readings, favoured) == pytest.approx(known, rel=1e-9)


class TestTwins:
    def alone(self) -> pd.DataFrame:
        """Trees 40 m apart, each once."""
        return class_of_30().assign(lat=[45 + 40 * n * METRE for n in range(30)])

    def test_one_tree_under_two_names(self, line_of: LineOf) -> None:
        table = self.alone()
        again = table.loc[[4]].assign(tree="77", lat=table["lat"][4] + 3 * METRE)
        again["girth_cm"] += 1
        (row,) = found(line_of(pd.concat([table, again])), "same_tree_twice").to_dict("records")
        assert (row["tree"], row["other_tree"]) == ("77", "5")
        assert (row["proposed_column"], row["proposed_value"]) == ("tree", "5")

    @pytest.mark.parametrize(
        ("change", "amount"), [("girth_cm", 150), ("species", "Acer campestre"), ("lat", 46)]
    )
    def test_another_tree_beside_it(self, line_of: LineOf, change: str, amount: object) -> None:
        table = self.alone()
        again = table.loc[[4]].assign(tree="77", lat=table["lat"][4] + 3 * METRE)
        line = line_of(pd.concat([table, again.assign(**{change: amount})]))
        assert found(line, "same_tree_twice").empty

    def test_a_row_of_planted_trees_is_no_row_of_twins(self, line_of: LineOf) -> None:
        table = class_of_30().assign(lat=[45 + 2.5 * n * METRE for n in range(30)])
        table["girth_cm"] = [100, 101, 99] * 10
        assert found(line_of(table), "same_tree_twice").empty

    def test_stems_without_room(self, line_of: LineOf) -> None:
        table = self.alone().assign(position_accuracy_m=0.05)
        table.loc[7, ["lat", "girth_cm", "species"]] = [table["lat"][6] + 0.3 * METRE, 300, "oak"]
        (row,) = found(line_of(table), "too_close").to_dict("records")
        assert (row["tree"], row["other_tree"]) == ("8", "7")
        # By phone nobody can say so.
        assert found(line_of(table.assign(position_accuracy_m=4)), "too_close").empty

    def test_a_place_copied_down(self, line_of: LineOf) -> None:
        table = self.alone()
        table.loc[9, "lat"] = table.loc[8, "lat"]
        rows = found(line_of(table), "same_place")
        assert (rows["tree"].tolist(), rows["severity"].tolist()) == (["10"], ["warning"])

    def test_one_place_for_a_whole_class_is_one_note(self, line_of: LineOf) -> None:
        rows = found(line_of(class_of_30().assign(lat=45.123456)), "same_place")
        assert rows["severity"].tolist() == ["note"]
        assert "30 trees" in rows["message"].iloc[0]


class TestExchanged:
    def two_visits(self, *girths: int) -> pd.DataFrame:
        first = class_of_30().drop(columns=["height_m", "lat", "lon", "position_accuracy_m"])
        again = first.assign(date="2029-05-04", girth_cm=first["girth_cm"] + 5)
        return pd.concat([first, again], ignore_index=True)

    def test_numbers_of_two_trees(self, line_of: LineOf) -> None:
        table = self.two_visits()
        table.loc[[2, 3], "girth_cm"] = [80, 160]
        table.loc[[32, 33], "girth_cm"] = [165, 85]
        line = line_of(table)
        told = line.findings[line.findings["proposed_column"] == "tree"].set_index("record")
        assert told["proposed_value"].to_dict() == {32: "4", 33: "3"}
        assert told["cause"].str.contains("exchanged").all()
        assert found(line, "unit_slip").empty

    def test_a_new_name_for_a_tree(self, line_of: LineOf) -> None:
        table = self.two_visits()
        table.loc[32, "species"] = "Quercus petraea"
        (row,) = found(line_of(table), "species_changed").to_dict("records")
        assert (row["tree"], row["severity"]) == ("3", "note")
