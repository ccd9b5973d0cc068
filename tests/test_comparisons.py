"""Two years of a stand, two kinds of trees, and the totals of a survey."""

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mapper.render import build_site
from mapper.render.pair_charts import PairChart, SideChart, kind_charts, year_charts
from mapper.render.quantities import scales
from mapper.summarise import Results
from mapper.summarise.comparison import MOST_STANDS, compare_stands
from mapper.summarise.totals import survey_totals

ResultsOf = Callable[..., Results]
COUNTED = """
[records]
files = ["a.csv"]
[[stand]]
name = "P"
design = "complete count"
area = "1 ha"
"""
HEAD = "tree,stand,date,girth_cm,status,species\n"


def year(year: int, girths: list[float], status: str = "alive", first: int = 1) -> str:
    return "".join(
        f"{number},P,{year}-05-01,{girth},{status},\n" for number, girth in enumerate(girths, first)
    )


def of_years(results: Results) -> pd.DataFrame:
    return results.comparison.query("kind == 'years'").set_index("quantity")


def test_two_years_of_a_full_count(results_of: ResultsOf) -> None:
    rows = year(2019, [100, 100, 100]) + year(2024, [110, 110, 110])
    table = of_years(results_of({"survey.toml": COUNTED, "a.csv": HEAD + rows}))
    assert table.loc["stems_per_ha", "sentence"] == (
        "P in 2019 and P in 2024 have the same number of trees on the same ground."
    )
    mean = table.loc["mean_diameter_cm"]
    assert mean["difference"] == pytest.approx(10 / np.pi)
    # The tape's sd 0.64 cm of girth, three trees, two years: 1.96 · 0.64 / π · √(2/3) (by hand)
    assert mean["high"] - mean["difference"] == pytest.approx(0.3260, abs=5e-4)
    assert mean["sentence"] == (
        "The average thickness of P in 2024 is slightly greater than that of P in 2019."
    )
    assert (mean["period"], mean["other_period"]) == ("2019", "2024")


def test_growth_within_the_error_is_none(results_of: ResultsOf) -> None:
    rows = year(2019, [100, 100, 100]) + year(2024, [100.2, 100.2, 100.2])
    table = of_years(results_of({"survey.toml": COUNTED, "a.csv": HEAD + rows}))
    assert table.loc["mean_diameter_cm", "sentence"] == (
        "In average thickness these measurements show no difference."
    )


def test_trees_left_out_are_not_called_gone(results_of: ResultsOf) -> None:
    rows = year(2019, [100, 100, 100]) + year(2024, [110, 110])
    table = of_years(results_of({"survey.toml": COUNTED, "a.csv": HEAD + rows}))
    for name in ("stems_per_ha", "basal_area_m2_per_ha"):
        assert "whether the others were there, the records do not say" in table["sentence"][name]
        assert np.isnan(table.loc[name, "low"])
    assert table.loc["mean_diameter_cm", "sentence"].startswith("Among the trees measured, ")


def test_a_tree_that_died_is_accounted_for(results_of: ResultsOf) -> None:
    dead = year(2024, [100], "dead", 3)
    rows = year(2019, [100, 100, 100]) + year(2024, [110, 110]) + dead
    table = of_years(results_of({"survey.toml": COUNTED, "a.csv": HEAD + rows}))
    assert table.loc["stems_per_ha", "sentence"] == (
        "P in 2019 has about 1.5 times as many trees on the same ground as P in 2024."
    )


def kinds(results_of: ResultsOf, beech: float, many: int = 6) -> pd.DataFrame:
    rows = [f"{n},P,2024-05-01,100,alive,Quercus robur\n" for n in range(6)]
    rows += [f"b{n},P,2024-05-01,{beech},alive,Fagus sylvatica\n" for n in range(many)]
    results = results_of({"survey.toml": COUNTED, "a.csv": HEAD + "".join(rows)})
    return results.comparison.query("kind == 'species' and stand == ''").set_index("quantity")


def test_two_kinds_of_trees(results_of: ResultsOf) -> None:
    mean = kinds(results_of, 200).loc["mean_diameter_cm"]
    assert (mean["species"], mean["other_species"]) == ("Fagus sylvatica", "Quercus robur")
    assert mean["difference"] == pytest.approx(-100 / np.pi)
    assert mean["low"] < mean["difference"] < mean["high"] < 0
    assert mean["sentence"].startswith("Among the trees measured, the average thickness of ")
    assert mean["sentence"].endswith(" is about twice that of English oak.")


def test_two_kinds_of_the_same_size(results_of: ResultsOf) -> None:
    mean = kinds(results_of, 100.1).loc["mean_diameter_cm"]
    assert mean["sentence"] == (
        "Among the trees measured, in average thickness these measurements show no difference."
    )


def test_a_rare_kind_is_not_compared(results_of: ResultsOf) -> None:
    assert kinds(results_of, 200, many=4).empty


def stand(design: str, **figures: float) -> dict[str, object]:
    empty = dict.fromkeys(("stems_per_ha", "basal_area_m2_per_ha"), np.nan)
    ends = {f"{name}_{end}": np.nan for name in empty for end in ("low", "high")}
    common = {"design": design, "selection": "random", "area_ha": np.nan, "trees": 0}
    common |= {"area_from": "survey"}
    return {**common, **empty, **ends, **figures}


def basal(value: float, half: float) -> dict[str, float]:
    name = "basal_area_m2_per_ha"
    return {name: value, f"{name}_low": value - half, f"{name}_high": value + half}


def test_totals_of_a_park() -> None:
    stands = [
        stand("complete count", area_ha=2, trees=300, **basal(10, 0.5)),
        stand("complete count", area_ha=1, trees=100, **basal(20, 2)),
        stand("plots", area_ha=4, trees=9, stems_per_ha=100, stems_per_ha_low=80,
              stems_per_ha_high=130, **basal(30, 3)),
        stand("angle count", area_ha=1, trees=9, **basal(30, 5)),
        stand("chosen trees", area_ha=9, trees=50),
    ]  # fmt: skip
    totals = survey_totals(pd.DataFrame(stands)).set_index("quantity")
    assert totals.loc["area_ha", "value"] == 8
    trees = totals.loc["trees"]
    assert trees[["value", "low", "high"]].tolist() == [800, 720, 920]
    assert trees["stands_left_out"] == 2  # the angle count cannot tell, nobody asked the chosen
    # 2·10 + 1·20 + 4·30 + 1·30 = 190; counted: 1 + 2 = 3; sampled: √(12² + 5²) = 13; √(9 + 169)
    area = totals.loc["basal_area_m2"]
    assert area["value"] == 190
    assert area["high"] - area["value"] == pytest.approx(np.sqrt(178))
    assert area["value"] - area["low"] == pytest.approx(np.sqrt(178))


def test_a_park_of_chosen_trees_has_no_total() -> None:
    totals = survey_totals(pd.DataFrame([stand("chosen trees", area_ha=9, trees=50)]))
    assert totals["value"].isna().all()
    assert totals["stands_left_out"].tolist() == [1, 1, 1]


def test_the_pages_show_years_kinds_and_totals(results_of: ResultsOf, tmp_path: Path) -> None:
    toml = COUNTED + COUNTED[COUNTED.index("[[stand]]") :].replace('"P"', '"Q"')
    rows = year(2019, [100, 100, 100]) + year(2024, [110, 110, 110])
    rows += "".join(f"q{n},Q,2024-05-01,90,alive,Quercus robur\n" for n in range(5))
    rows += "".join(f"f{n},Q,2024-05-01,60,alive,Fagus sylvatica\n" for n in range(5))
    build_site(results_of({"survey.toml": toml, "a.csv": HEAD + rows}), tmp_path / "site")
    page = (tmp_path / "site" / "compare.html").read_text("utf-8")
    assert "2019 and 2024" in page
    assert "living trees 13" in page
    assert "Together: ground 2.00" in page
    assert page.count('data-sort aria-sort="ascending">') == page.count("data-sort>") == 1
    assert "at least" not in page
    assert ">European beech and English oak</summary>" in page
    own = (tmp_path / "site" / "stand-p.html").read_text("utf-8")
    assert "From year to year" in own
    assert own.count('<p class="chart-name">') == 2
    kinds_of_q = (tmp_path / "site" / "stand-q.html").read_text("utf-8")
    assert ">European beech and English oak</summary>" in kinds_of_q
    assert "5 trees from 25 to 30 cm." in kinds_of_q


def chart_of(results: Results, stand: str, pair: tuple[str, str]) -> PairChart:
    shown = scales("metric")
    charts = {**year_charts(results, shown, stand), **kind_charts(results, shown, stand)}
    return charts[pair]


def widest_bar(side: SideChart) -> tuple[float, ...]:
    """Where the first bar begins and how wide it is, and how high the highest. [drawing units]"""
    bars = re.findall(r'class="bar" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)"', side.chart)
    return float(bars[0][0]), float(bars[0][2]), min(float(bar[1]) for bar in bars)


def test_two_years_are_drawn_on_one_axis(results_of: ResultsOf) -> None:
    """Half as many trees are half as high; the same class lies in the same place."""
    rows = year(2019, [100, 100, 100, 100, 160]) + year(2024, [100, 100, 160])
    chart = chart_of(
        results_of({"survey.toml": COUNTED, "a.csv": HEAD + rows}), "P", ("2019", "2024")
    )
    assert chart.title == "Thickness of the stems: trees per ha"
    one, other = (widest_bar(side) for side in chart.sides)
    assert one[:2] == other[:2]
    floor = 204 - 40  # height of the chart less the room below its axis
    assert (floor - one[2]) / (floor - other[2]) == pytest.approx(2, rel=0.01)
    assert chart.rows == (
        ("30 to 35", "4", "2"), ("35 to 40", "", ""), ("40 to 45", "", ""),
        ("45 to 50", "", ""), ("50 to 55", "1", "1"),
    )  # fmt: skip


def test_any_two_years_are_paired(results_of: ResultsOf) -> None:
    rows = "".join(year(then, [100, 100]) for then in (2018, 2020, 2022, 2024))
    table = results_of({"survey.toml": COUNTED, "a.csv": HEAD + rows}).comparison
    pairs = table.query("kind == 'years'")[["period", "other_period"]].drop_duplicates()
    assert len(pairs) == 6


PLOTS = """
[records]
files = ["a.csv"]
[[stand]]
name = "P"
design = "plots"
selection = "random"
plots = "plots.csv"
plot_area = "0.01 ha"
"""


def test_classes_of_a_year_rest_on_the_plots_of_that_year(results_of: ResultsOf) -> None:
    """Two plots of 100 m² in 2019, four in 2024: a tree is 50 of a hectare, then 25."""
    plots = "plot,stand,date\n" + "".join(f"a{n},P,2019-05-01\n" for n in range(2))
    plots += "".join(f"b{n},P,2024-05-01\n" for n in range(4))
    head = HEAD.replace("stand,", "stand,plot,")
    rows = "1,P,a0,2019-05-01,100,alive,Quercus robur\n2,P,a1,2019-05-01,100,alive,Quercus robur\n"
    rows += (
        "3,P,b0,2024-05-01,100,alive,Quercus robur\n4,P,b1,2024-05-01,100,alive,Fagus sylvatica\n"
    )
    results = results_of({"survey.toml": PLOTS, "a.csv": head + rows, "plots.csv": plots})
    by_year = results.classes_by_year.query("quantity == 'diameter'").set_index("period")
    assert by_year["per_ha"].to_dict() == {"2019": 100, "2024": 50}
    shown = results.classes.query("quantity == 'diameter' and stand == 'P'")
    assert shown["per_ha"].tolist() == [50]
    kinds = results.species_classes.query("stand == 'P'").set_index("species")["per_ha"]
    assert kinds.to_dict() == {"Quercus robur": 25, "Fagus sylvatica": 25}
    assert results.species.query("stand == 'P'")["stems_per_ha"].tolist() == [25, 25]


def test_kinds_are_compared_in_each_stand(results_of: ResultsOf) -> None:
    toml = COUNTED + COUNTED[COUNTED.index("[[stand]]") :].replace('"P"', '"Q"')
    rows = [
        f"{stand}{kind}{n},{stand},2024-05-01,{girth},alive,{kind}\n"
        for stand, girth in (("P", 100), ("Q", 60))
        for kind in ("Quercus robur", "Fagus sylvatica")
        for n in range(5)
    ]
    results = results_of({"survey.toml": toml, "a.csv": HEAD + "".join(rows)})
    told = results.comparison.query("kind == 'species' and quantity == 'mean_diameter_cm'")
    assert told["stand"].tolist() == ["", "P", "Q"]
    assert told["value"].tolist() == pytest.approx([80 / np.pi, 100 / np.pi, 60 / np.pi])
    chart = chart_of(results, "Q", ("Fagus sylvatica", "Quercus robur"))
    assert chart.rows == (("15 to 20", "5", "5"),)


def test_a_total_with_a_tree_unsized_is_a_least_one(results_of: ResultsOf, tmp_path: Path) -> None:
    toml = COUNTED + COUNTED[COUNTED.index("[[stand]]") :].replace('"P"', '"Q"')
    rows = "1,P,2024-05-01,100,alive,\n2,P,2024-05-01,,alive,\n3,Q,2024-05-01,90,alive,\n"
    build_site(results_of({"survey.toml": toml, "a.csv": HEAD + rows}), tmp_path / "site")
    page = (tmp_path / "site" / "compare.html").read_text("utf-8")
    assert "stem cross-section, at least 0.1" in page


def test_pairs_are_of_the_largest_stands(longleaf: Results) -> None:
    many = pd.concat([longleaf.stands] * (MOST_STANDS + 1), ignore_index=True)
    many = many.assign(stand=[f"S{n}" for n in many.index], trees=many.index.to_numpy())
    table = compare_stands(many)
    assert set(table["stand"]) | set(table["other_stand"]) == set(many["stand"]) - {"S0"}
