"""Ages from the rows of a table: which way wins, what each gives, and why there is none."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mapper.errors import InputError
from mapper.line import run_checks
from mapper.measure.ages import tree_ages, which_is_older
from mapper.measure.biomass import tree_biomass
from mapper.reference.growth import urban_regions
from mapper.summarise import Results
from mapper.survey import read_survey

Ages = Callable[..., pd.DataFrame]
HEAD = "tree,species,date,diameter_cm,planted,rings,ring_height_m,ring_years_missing,setting,status"
OPEN = '[measure]\nsetting = "open-grown"\ngrowth_region = "MidWst"\n'
# The known trees of the worked line in the docstring of age_from_calibration.
KNOWN = [(10, 18), (20, 30), (25, 41), (35, 52), (40, 66)]


@pytest.fixture
def ages_of(tmp_path: Path) -> Ages:
    def run(rows: str, toml: str = "", head: str = HEAD) -> pd.DataFrame:
        (tmp_path / "records").mkdir(exist_ok=True)
        (tmp_path / "records" / "trees.csv").write_text(f"{head}\n{rows}", encoding="utf-8")
        (tmp_path / "survey.toml").write_text(toml, encoding="utf-8")
        line = run_checks(read_survey([tmp_path]))
        return tree_ages(line.measured.trees, line.measured.records, line.survey)

    return run


def ends(ages: pd.DataFrame, tree: str) -> list[float]:
    return [float(ages.loc[tree, f"age_{end}years"]) for end in ("low_", "", "high_")]


class TestPlanted:
    def test_the_year_of_planting_wins_and_is_a_year_wide(self, ages_of: Ages) -> None:
        # Docstring of age_from_planting_year: planted 1990, measured at 2026.5: 35.5 to 36.5.
        ages = ages_of("1,Acer platanoides,2026-07-02,30,1990,80,,,open-grown,\n", OPEN)
        assert ends(ages, "1") == pytest.approx([35.5, 36, 36.5], abs=0.003)
        told = ages.loc["1", ["age_method", "age_since", "age_reason"]].tolist()
        assert told == ["planted", "planting", ""]

    def test_a_tree_planted_in_the_year_of_the_visit(self, ages_of: Ages) -> None:
        assert ends(ages_of("1,,2026-07-02,3,2026,,,,,\n"), "1")[0] == 0

    @pytest.mark.parametrize("precision", ["month", "year"])
    def test_an_age_does_not_tell_the_day_of_the_visit(self, ages_of: Ages, precision: str) -> None:
        toml = f'[publish]\ndates = "{precision}"\n'
        one, other = (
            ends(ages_of(f"1,oak,2026-07-{day},20,1990,,,,,\n", toml), "1") for day in ("03", "27")
        )
        assert one == other
        assert one[0] <= 35.5 <= 36.57 <= one[2]

    def test_without_a_date_it_says_so_and_guesses_nothing_rougher(self, ages_of: Ages) -> None:
        ages = ages_of("1,Quercus alba,,55.88,1990,,,,,\n2,oak,2020-01-01,9,,,,,,\n")
        assert np.isnan(ages.loc["1", "age_years"])
        assert "needs a date of measurement" in ages.loc["1", "age_reason"]

    def test_a_dead_tree_is_told_by_its_rings_only(self, ages_of: Ages) -> None:
        ages = ages_of(
            "1,Quercus alba,2026-05-01,40,1950,,,,,dead\n"
            "2,Quercus alba,2026-05-01,40,,,,,,fallen\n"
            "3,Quercus alba,2026-05-01,,1950,60,,,,stump\n"
        )
        assert ages["age_years"].tolist() == pytest.approx([np.nan, np.nan, 60], nan_ok=True)
        assert "when it died" in ages.loc["1", "age_reason"]
        assert "rings only" in ages.loc["2", "age_reason"]
        assert ages.loc["3", "age_method"] == "rings"


class TestRings:
    def test_the_worked_count(self, ages_of: Ages) -> None:
        # Docstring of age_from_rings: 80 rings, 3 missing, at 0.3 m: 79.3 to 90.0.
        ages = ages_of("1,oak,2026-07-02,,,80,0.3,3,,stump\n2,oak,2026-07-02,,,80,,,,stump\n")
        assert ends(ages, "1") == pytest.approx([79.3, 84.65, 90])
        assert ends(ages, "2") == [79, 80, 81]
        assert ages["age_since"].tolist() == ["germination", "ring height"]

    def test_a_living_tree_ages_on_after_the_count_and_a_stump_does_not(
        self, ages_of: Ages
    ) -> None:
        ages = ages_of(
            "1,oak,2016-07-02,40,,80,,,,\n1,oak,2026-07-02,45,,,,,,\n"
            "2,oak,2016-07-02,,,80,,,,stump\n2,oak,2026-07-02,,,,,,,stump\n"
        )
        assert ages["age_years"].tolist() == pytest.approx([90, 80], abs=0.01)

    def test_counts_that_cannot_be_leave_the_figures(self, ages_of: Ages) -> None:
        ages = ages_of("1,oak,2026-07-02,,,-80,,,,stump\n2,oak,2026-07-02,,,0,,,,stump\n")
        assert ages["age_years"].isna().all()


class TestCalibration:
    def known(self, species: str = "Quercus robur", setting: str = "") -> str:
        rows = [
            f"k{size}{setting},{species},2026-07-02,{size},,{rings},,,{setting},\n"
            for size, rings in KNOWN
        ]
        return "".join(rows)

    def test_the_worked_line(self, ages_of: Ages) -> None:
        # Docstrings of age_from_calibration and _range: 47.4, 36.6 to 58.3 at 30 cm.
        ages = ages_of(self.known() + "t,Quercus robur,2026-07-02,30,,,,,,\n")
        assert ends(ages, "t") == pytest.approx([36.6, 47.4, 58.3], abs=0.05)
        assert ages.loc["t", "age_method"] == "own calibration"
        assert ages.loc["t", "age_since"] == "ring height"

    def test_it_wins_over_equations_and_factors(self, ages_of: Ages) -> None:
        rows = self.known("Acer platanoides") + "t,Acer platanoides,2026-07-02,30,,,,,,\n"
        assert ages_of(rows, OPEN).loc["t", "age_method"] == "own calibration"
        assert ages_of(rows).loc["t", "age_method"] == "own calibration"

    def test_only_inside_its_diameters_and_the_reason_says_which(self, ages_of: Ages) -> None:
        ages = ages_of(self.known() + "t,Quercus robur,2026-07-02,41,,,,,,\n")
        assert np.isnan(ages.loc["t", "age_years"])
        assert "5 trees of the species have a known age, from 10.0 to 40.0 cm" in str(
            ages.loc["t", "age_reason"]
        )

    @pytest.mark.parametrize(
        "tree",
        [
            "t,Quercus petraea,2026-07-02,30,,,,,,\n",
            "t,Quercus robur,2026-07-02,30,,,,,open-grown,\n",
        ],
    )
    def test_not_for_another_species_or_setting(self, ages_of: Ages, tree: str) -> None:
        assert np.isnan(ages_of(self.known() + tree).loc["t", "age_years"])

    def test_four_trees_are_too_few(self, ages_of: Ages) -> None:
        rows = "".join(self.known().splitlines(keepends=True)[1:])
        ages = ages_of(rows + "t,Quercus robur,2026-07-02,30,,,,,,\n")
        assert ages.loc["t", "age_reason"] == "no growth factor is known for the species"

    def test_what_counts_from_other_starts_is_not_on_one_line(self, ages_of: Ages) -> None:
        planted = "p,Quercus robur,2026-07-02,12,2000,,,,,\n"
        rows = "".join(self.known().splitlines(keepends=True)[1:])
        tree = "t,Quercus robur,2026-07-02,30,,,,,,\n"
        assert np.isnan(ages_of(planted + rows + tree).loc["t", "age_years"])

    def test_a_tree_counted_from_another_start_does_not_move_the_line(self, ages_of: Ages) -> None:
        planted = "p,Quercus robur,2026-07-02,22,1500,,,,,\n"
        tree = "t,Quercus robur,2026-07-02,30,,,,,,\n"
        ages = ages_of(planted + self.known() + tree)
        assert ends(ages, "t") == pytest.approx([36.6, 47.4, 58.3], abs=0.05)

    def test_known_ages_are_those_when_the_stem_was_measured(self, ages_of: Ages) -> None:
        later = "".join(f"k{size},Quercus robur,2036-07-02,,,,,,,\n" for size, _ in KNOWN)
        tree = "t,Quercus robur,2026-07-02,30,,,,,,\n"
        ages = ages_of(self.known() + later + tree)
        assert ends(ages, "t")[1] == pytest.approx(47.4, abs=0.05)
        assert ages.loc["k10", "age_years"] == pytest.approx(28, abs=0.01)


class TestUrban:
    @pytest.mark.parametrize(
        ("region", "species", "size", "age"),
        [
            # TRADE worked examples of UTD2016, table TS6
            ("MidWst", "Acer platanoides", 30, 14.55),
            ("NoEast", "Quercus palustris", 50, 36.02),
            ("GulfCo", "Carya illinoinensis", 30, 24.11),
            ("CenFla", "Acer rubrum", 40, 18.09),
        ],
    )
    def test_worked_examples(
        self, ages_of: Ages, region: str, species: str, size: float, age: float
    ) -> None:
        toml = f'[measure]\nsetting = "open-grown"\ngrowth_region = "{region}"\n'
        ages = ages_of(f"1,{species},2026-07-02,{size},,,,,,\n2,oak,2026-07-02,9,,,,,,\n", toml)
        low, middle, high = ends(ages, "1")
        assert middle == pytest.approx(age, abs=0.005)
        assert low < middle < high
        told = ages.loc["1", ["age_method", "age_since"]].tolist()
        assert told == ["urban equation", "planting"]

    def test_the_range_is_that_of_the_worked_red_maple(self, ages_of: Ages) -> None:
        # Docstring of urban_prediction_range: 18.09 years at 40 cm: 9.8 to 26.4.
        toml = OPEN.replace("MidWst", "Cen Fla")
        low, _, high = ends(ages_of("1,Acer rubrum,2026-07-02,40,,,,,,\n", toml), "1")
        assert (low, high) == (pytest.approx(9.8, abs=0.05), pytest.approx(26.4, abs=0.05))

    @pytest.mark.parametrize(
        ("region", "species", "size", "part"),
        [
            ("MidWst", "Quercus robur", 30, "no urban equation for the species"),
            ("MidWst", "Acer platanoides", 78, "outside those that the urban equation was made"),
            ("MidWst", "Acer platanoides", 4.5, "4.6 to 77.5 cm"),
            # falls from 103 cm on (test_growth_tables)
            ("NoEast", "Acer platanoides", 30, "makes some thicker trees younger"),
            ("", "Acer platanoides", 30, "growth_region in survey.toml"),
        ],
    )
    def test_refusals_say_why(
        self, ages_of: Ages, region: str, species: str, size: float, part: str
    ) -> None:
        toml = '[measure]\nsetting = "open-grown"\n'
        toml += f'growth_region = "{region}"\n' if region else ""
        ages = ages_of(f"1,{species},2026-07-02,{size},,,,,,\n", toml)
        assert np.isnan(ages.loc["1", "age_years"])
        assert part in ages.loc["1", "age_reason"]
        assert "growth factor is refused" in ages.loc["1", "age_reason"]

    def test_the_tree_wins_over_the_stand_and_the_stand_over_the_survey(
        self, ages_of: Ages
    ) -> None:
        toml = (
            '[measure]\ngrowth_region = "MidWst"\n[[stand]]\nname = "A"\nsetting = "open-grown"\n'
        )
        rows = "1,A,,Acer platanoides,30\n2,A,woodland,Acer platanoides,30\n"
        rows += "3,,,Acer platanoides,30\n4,,open-grown,Acer platanoides,30\n"
        ages = ages_of(rows, toml, "tree,stand,setting,species,diameter_cm")
        urban, factor = "urban equation", "growth factor"
        assert ages["age_method"].tolist() == [urban, factor, factor, urban]


class TestGrowthFactor:
    @pytest.mark.parametrize(
        ("size", "column", "age"),
        [
            (55.88, "diameter_cm", 110),  # 22 in white oak × 5 (GINLC list, by way of TRADE 34)
            (351, "girth_cm", 220),  # white oak 351 cm round × 5 (TRADE 35)
        ],
    )
    def test_white_oak(self, ages_of: Ages, size: float, column: str, age: float) -> None:
        ages = ages_of(f"1,Quercus alba,{size}\n", "", f"tree,species,{column}")
        low, middle, high = ends(ages, "1")
        assert middle == pytest.approx(age, abs=0.5)
        assert (low, high) == (pytest.approx(middle / 2), pytest.approx(middle * 2))
        assert ages.loc["1", "age_method"] == "growth factor"

    @pytest.mark.parametrize(
        ("row", "part"),
        [
            ("1,Quercus robur,30,,\n", "no growth factor is known for the species"),
            ("1,Quercus alba,,,\n", "no girth or diameter"),
            ("1,,30,,\n", "no species was named"),
            ("1,Quercus alba,,60,60\n", "one stem"),
        ],
    )
    def test_why_there_is_none(self, ages_of: Ages, row: str, part: str) -> None:
        ages = ages_of(row, "", "tree,species,diameter_cm,stem_1_cm,stem_2_cm")
        assert np.isnan(ages.loc["1", "age_years"])
        assert part in ages.loc["1", "age_reason"]

    def test_a_living_tree_ages_on_after_its_stem_was_measured(self, ages_of: Ages) -> None:
        ages = ages_of("1,Quercus alba,2016-07-02,55.88,,,,,,\n1,Quercus alba,2026-07-02,,,,,,,\n")
        assert ages.loc["1", "age_years"] == pytest.approx(120, abs=0.01)


def test_every_tree_has_an_age_or_a_reason_and_never_both(ages_of: Ages) -> None:
    species = ["Quercus alba", "Acer platanoides", "Pinus strobus", "", "Nothing known"]
    rows = "".join(
        f"{n},{species[n % 5]},{'2026-07-02' if n % 3 else ''},{n * 2.5 if n % 7 else ''},"
        f"{1900 + n if n % 4 == 0 else ''},{n if n % 6 == 0 else ''},,,"
        f"{'open-grown' if n % 2 else ''},{'dead' if n % 11 == 0 else ''}\n"
        for n in range(120)
    )
    ages = ages_of(rows, '[measure]\ngrowth_region = "MidWst"\n')
    given = ages["age_years"].notna()
    assert (given == (ages["age_reason"] == "")).all()
    assert (given == (ages["age_method"] != "")).all()
    assert (given == (ages["age_since"] != "")).all()
    some = ages[given]
    assert (some["age_low_years"] <= some["age_years"]).all()
    assert (some["age_years"] <= some["age_high_years"]).all()
    assert some["age_low_years"].ge(0).all()
    assert {"planted", "rings", "urban equation", "growth factor"} == set(some["age_method"])


class TestFindings:
    @pytest.mark.parametrize(
        ("rows", "rule", "severity", "barred"),
        [
            ("1,oak,2020-07-02,30,2021,,,,,\n", "planted_later", "error", True),
            ("1,oak,2020-07-02,30,1990.5,,,,,\n", "planted_later", "error", True),
            ("1,oak,2020-07-02,30,90,,,,,\n", "impossible", "error", True),
            ("1,oak,2020-07-02,30,1990,60,,,,\n", "rings_before_planting", "note", False),
            ("1,oak,2020-07-02,30,1990,9000,,,,\n", "impossible", "error", True),
        ],
    )
    def test_what_does_not_fit(
        self, tmp_path: Path, rows: str, rule: str, severity: str, barred: bool
    ) -> None:
        (tmp_path / "a.csv").write_text(f"{HEAD}\n{rows}", encoding="utf-8")
        found = run_checks(read_survey([tmp_path / "a.csv"])).findings.set_index("rule")
        assert found.loc[rule, "severity"] == severity
        assert found.loc[rule, "bars"] == barred

    def test_what_fits_raises_nothing(self, tmp_path: Path) -> None:
        rows = (
            "1,Quercus robur,2020-07-02,30,2020,,,,,\n2,Quercus robur,2020-07-02,30,1990,31,,,,\n"
        )
        (tmp_path / "a.csv").write_text(f"{HEAD}\n{rows}", encoding="utf-8")
        assert run_checks(read_survey([tmp_path / "a.csv"])).findings.empty


class TestRegion:
    def test_an_unknown_region_is_named_with_line_and_what_is_allowed(self, ages_of: Ages) -> None:
        with pytest.raises(InputError) as caught:
            ages_of("1,oak,,30,,,,,,\n", '[measure]\n\ngrowth_region = "Bavaria"\n')
        assert "survey.toml, line 3: measure.growth_region = 'Bavaria'" in str(caught.value)
        assert all(code in str(caught.value) for code in urban_regions())

    def test_both_spellings_of_the_database_are_one_region(self, tmp_path: Path) -> None:
        (tmp_path / "records").mkdir()
        (tmp_path / "records" / "a.csv").write_text("girth_cm\n90\n", encoding="utf-8")
        (tmp_path / "survey.toml").write_text('[measure]\ngrowth_region = "Cen Fla"\n', "utf-8")
        assert read_survey([tmp_path]).measure.growth_region == "CenFla"


class TestOlder:
    ROWS = (
        "p,oak,2026-07-02,20,1990,,,,,\nq,oak,2026-07-02,20,1990,,,,,\n"
        "old,oak,2026-07-02,20,1950,,,,,\nr,oak,2026-07-02,20,,80,,,,\ns,oak,2026-07-02,20,,81,,,,\n"
        "n,Nothing known,2026-07-02,20,,,,,,\n"
        "u,Acer platanoides,2026-07-02,30,,,,,open-grown,\n"
        "v,Acer platanoides,2026-07-02,34,,,,,open-grown,\n"
    )

    @pytest.mark.parametrize(
        ("one", "other", "sentence"),
        [
            ("p", "old", "Tree old is older than tree p: more than 99 chances in 100"),
            ("old", "p", "Tree old is older than tree p: more than 99 chances in 100"),
            ("p", "q", "We cannot tell: tree p is the older with 50 chances in 100"),
            ("u", "v", "Tree v is probably older than tree u: "),
            ("r", "s", "We cannot tell: the ranges overlap"),
            ("p", "r", "Tree r is older than tree p as far as we can tell"),
            ("p", "n", "We cannot tell: tree n has no age, since no growth factor is known"),
        ],
    )
    def test_sentences(self, ages_of: Ages, one: str, other: str, sentence: str) -> None:
        ages = ages_of(self.ROWS, '[measure]\ngrowth_region = "MidWst"\n')
        assert which_is_older(ages, one, other).startswith(sentence)

    def test_a_tree_that_is_not_there(self, ages_of: Ages) -> None:
        with pytest.raises(InputError, match="there is no tree 'z'"):
            which_is_older(ages_of(self.ROWS), "p", "z")

    def test_a_rule_of_thumb_has_no_chance_in_100(self, ages_of: Ages) -> None:
        said = which_is_older(ages_of(self.ROWS), "p", "r")
        assert "rule of thumb" in said
        assert "chances" not in said


FILES = {
    "survey.toml": '[measure]\ngrowth_region = "MidWst"\nbiomass = true\n',
    "records/a.csv": HEAD + "\n"
    "oak,Quercus alba,2026-07-02,30,,,,,,\n"
    "maple,Acer platanoides,2026-07-02,30,,,,,open-grown,\n"
    "young,Quercus alba,2026-07-02,2,2020,,,,,\n"
    "stump,Quercus alba,2026-07-02,,,80,0.3,3,,stump\n",
}


class TestPublished:
    def test_columns_reasons_and_workings(self, results_of: Callable[..., Results]) -> None:
        results = results_of(FILES)
        trees = results.trees.set_index("tree")
        assert trees.loc["maple", "age_years"] == pytest.approx(14.55, abs=0.005)
        # TRADE 39: oak of 30 cm, group 9: 526.6 kg
        assert trees.loc["oak", "biomass_kg"] == pytest.approx(526.6, abs=0.05)
        told = results.reasons.set_index(["id", "column"])["reason"]
        assert "thinner than 2.5 cm" in told["young", "biomass_kg"]
        assert "not alive" in told["stump", "biomass_kg"]
        assert "two days" in told["", "growth_girth_cm_per_year"]
        steps = {step.title: step for step in results.workings["maple"]}
        assert steps["Age"].formula == ("1.81099 + 0.32363 × 30.0 + 0.00337 × 30.0², more or less")
        assert steps["Age"].result == "10 to 19 years since planting"
        assert steps["Age"].method == "urban_prediction"
        weight = {step.title: step for step in results.workings["oak"]}
        assert weight["Rough dry weight"].result.startswith("527 ± ")
        assert weight["Carbon in the rough dry weight"].result == "263 kg"
        assert "rule of thumb" in weight["Age"].note
        assert "Nobody said how it grew" in weight["Age"].note
        rings = {step.title: step for step in results.workings["stump"]}["Age"]
        assert rings.formula == "80 − 1 + 0.3 / 1 to 80 + 1 + 2 × 3 + 0.3 / 0.1"
        assert rings.result == "79 to 90 years since it grew from seed"

    def test_the_working_adds_the_years_since(self, results_of: Callable[..., Results]) -> None:
        rows = "1,Quercus alba,2016-07-02,50.8,,,,,,\n1,Quercus alba,2026-07-02,,,,,,,\n"
        results = results_of({"records/a.csv": f"{HEAD}\n{rows}"})
        (step,) = (one for one in results.workings["1"] if one.title == "Age")
        assert step.formula == "50.8 / 2.54 × 5, times 0.5 to 2, and 10.0 years since then"
        assert step.result == "59 to 210 years since it grew from seed"

    def test_no_dry_weight_unless_asked_for(self, results_of: Callable[..., Results]) -> None:
        results = results_of({**FILES, "survey.toml": ""})
        assert results.trees["biomass_kg"].isna().all()
        words = " ".join(str(step) for steps in results.workings.values() for step in steps)
        assert "weight" not in words and "arbon" not in words
        told = results.reasons.query("column == 'biomass_kg'")
        assert told["id"].tolist() == [""]
        assert "was not asked for" in told["reason"].iloc[0]

    def test_a_withheld_tree_is_not_in_the_line_of_the_others(
        self, results_of: Callable[..., Results]
    ) -> None:
        rows = "".join(
            f"k{size},Quercus robur,{size},{rings},{'withheld' if size == 10 else ''}\n"
            for size, rings in KNOWN
        )
        head = "tree,species,diameter_cm,rings,privacy\n"
        results = results_of({"records/a.csv": head + rows + "t,Quercus robur,30,,\n"})
        assert np.isnan(results.trees.set_index("tree").loc["t", "age_years"])


class TestBiomass:
    def test_stem_by_stem(self, tmp_path: Path) -> None:
        # TRADE, corrections: for stems of 10, 15 and 20 cm the combined diameter says 23 % more.
        girths = ",".join(f"{np.pi * size:.6f}" for size in (10, 15, 20))
        (tmp_path / "a.csv").write_text(
            f"tree,species,stem_1_cm,stem_2_cm,stem_3_cm,diameter_cm\n1,Quercus alba,{girths},\n"
            "2,Quercus alba,,,,26.9258\n3,Cercis nowhere,,,,20\n",
            encoding="utf-8",
        )
        table = tree_biomass(run_checks(read_survey([tmp_path / "a.csv"])).measured.trees)
        several, one, unknown = table["biomass_kg"]
        assert 1.22 <= one / several <= 1.25
        assert np.isnan(unknown)
        assert "no equation" in table.loc["3", "biomass_reason"]

    def test_a_dead_tree_has_none(self, tmp_path: Path) -> None:
        rows = "1,Quercus alba,30,dead\n2,Quercus alba,30,\n"
        (tmp_path / "a.csv").write_text(f"tree,species,diameter_cm,status\n{rows}", "utf-8")
        table = tree_biomass(run_checks(read_survey([tmp_path / "a.csv"])).measured.trees)
        assert table["biomass_kg"].isna().tolist() == [True, False]
        assert table["biomass_reason"].tolist() == ["the tree is not alive", ""]

    @pytest.mark.parametrize(
        ("species", "size", "part"),
        [
            ("Quercus alba", 73, ""),  # JENKINS2003, table 4: up to 73 cm
            ("Quercus alba", 74, "Thicker than the 73 cm"),
            ("Populus tremuloides", 30, "is not known here"),
        ],
    )
    def test_sizes_beyond_the_equation_are_said(
        self, results_of: Callable[..., Results], species: str, size: float, part: str
    ) -> None:
        toml = "[measure]\nbiomass = true\n"
        rows = f"tree,species,diameter_cm\n1,{species},{size}\n"
        results = results_of({"survey.toml": toml, "records/a.csv": rows})
        (step,) = (one for one in results.workings["1"] if one.title == "Rough dry weight")
        assert part in step.note
        assert ("Thicker" in step.note) == (size > 73)
