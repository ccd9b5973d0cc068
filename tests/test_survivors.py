"""Faults that were once put in on purpose and that no test noticed. Each has one now."""

import re
from collections.abc import Callable
from html import unescape
from pathlib import Path

import numpy as np
import pytest

from mapper.line import run_checks, survey_results
from mapper.render import build_site
from mapper.summarise import Results
from mapper.survey import read_survey

FILES = '[records]\nfiles = ["*.csv"]\n'
COUNTED = '[[stand]]\nname = "{}"\ndesign = "complete count"\narea = "{}"\n'
TWO = COUNTED.format("P", "0.5 ha") + COUNTED.format("Q", "0.25 ha")


def shown(site: Path, page: str) -> str:
    """The text of a page as a reader sees it, on one line."""
    inline = re.sub(r"</?(?:span|b|i|em|strong|abbr)\b[^>]*>", "", (site / page).read_text("utf-8"))
    text = re.sub(r"<[^>]+>", " ", inline)
    return " ".join(unescape(text).replace("\u00a0", " ").split())


def test_uncertainties_of_a_difference_add_in_squares(results_of: Callable[..., Results]) -> None:
    rows = "".join(f"p{n},P,{90 + n}\nq{n},Q,{60 + n}\n" for n in range(4)) + "q9,Q,61\n"
    results = results_of({"survey.toml": FILES + TWO, "a.csv": "tree,stand,girth_cm\n" + rows})
    table = results.comparison.set_index("quantity").loc["mean_diameter_cm"]
    errors = results.stands["mean_diameter_cm_se_measurement"].to_numpy()
    half = (table["high"] - table["low"]) / 2
    assert half == pytest.approx(1.959964 * np.sqrt((errors**2).sum()), rel=1e-6)


def test_us_pages_show_feet_and_inches(results_of: Callable[..., Results], tmp_path: Path) -> None:
    toml = 'units = "us"\n' + FILES
    text = "tree,girth_cm,height_m,lat,lon\n1,254,30.48,45,-71\n"
    build_site(results_of({"survey.toml": toml, "a.csv": text}), tmp_path / "site")
    page = shown(tmp_path / "site", "trees.html")
    # 254 cm = 100.0 in; 30.48 m = 100 ft (exact by definition of the inch)
    assert "100.0 31.8 ± 0.2 100 large" in page
    assert "Height, ft" in page


def test_pages_show_two_standard_deviations(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    toml = FILES + COUNTED.format("P", "0.5 ha")
    results = results_of({"survey.toml": toml, "a.csv": "tree,stand,girth_cm\n1,P,100\n"})
    build_site(results, tmp_path / "site")
    (tree,) = results.trees.to_dict("records")
    # sd of the diameter 0.64 / π = 0.204 cm: two of them are 0.4
    assert tree["diameter_sd_cm"] == pytest.approx(0.2037, abs=1e-4)
    assert "31.8 ± 0.4" in shown(tmp_path / "site", "trees.html")
    assert re.search(r"31\.83? ± 0\.40? ", shown(tmp_path / "site", "stand-p.html"))


def test_half_widths_without_an_interval_are_two_errors(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    toml = FILES + COUNTED.format("P", "0.5 ha")
    head = "tree,stand,baseline_m,angle_top,angle_base\n"
    results = results_of({"survey.toml": toml, "a.csv": head + "1,P,20,38,-5\n2,P,,,\n"})
    build_site(results, tmp_path / "site")
    error = results.stands["mean_height_m_se_measurement"].iloc[0]
    assert f"17.4 ± {2 * error:.1f}" in shown(tmp_path / "site", "stand-p.html")


def test_a_devices_accuracy_is_doubled(results_of: Callable[..., Results]) -> None:
    text = "tree,girth_cm,lat,lon,position_accuracy_m\n1,90,45,7,4\n"
    results = results_of({"survey.toml": FILES, "a.csv": text})
    assert results.trees["position_accuracy_m"].tolist() == [8]
    assert results.observations["position_accuracy_m"].tolist() == [4]


REVEALING = {
    "x": "400000", "y": "5000000", "crs": "EPSG:32632", "bearing": "45", "bearing_from": "true",
    "distance": "12", "distance_kind": "slope", "slope": "10", "distance_to": "face",
    "distance_2": "9", "plot": "P7", "edge_double": "yes",
}  # fmt: skip


@pytest.mark.parametrize("name", list(REVEALING))
def test_no_offset_is_published_with_a_cut_place(
    results_of: Callable[..., Results], name: str
) -> None:
    toml = FILES + '[publish]\npositions = "0.01 deg"\n'
    row = f"1,90,45,7,{REVEALING[name]}\n"
    exact = results_of({"survey.toml": FILES, "a.csv": f"tree,girth_cm,lat,lon,{name}\n" + row})
    (column,) = [one for one in exact.observations if one == name or one.startswith(name + "_")][:1]
    assert exact.observations[column].notna().all()
    cut = results_of({"survey.toml": toml, "a.csv": f"tree,girth_cm,lat,lon,{name}\n" + row})
    assert column not in cut.observations or cut.observations[column].replace("", None).isna().all()


def test_a_year_is_a_year(results_of: Callable[..., Results]) -> None:
    toml = FILES + '[publish]\ndates = "year"\n'
    results = results_of({"survey.toml": toml, "a.csv": "date,girth_cm\n2026-05-17,100\n"})
    assert results.trees["date"].tolist() == ["2026"]


def test_notes_are_no_findings_of_a_tree(results_of: Callable[..., Results]) -> None:
    text = "tree,species,girth_cm\n1,,-1\n2,,100\n"
    results = results_of({"survey.toml": FILES, "a.csv": text})
    assert results.trees["finding_count"].tolist() == [1, 0]


@pytest.mark.parametrize(
    ("girth", "doubt"), [(157, False), (168, True), (146, True), (49.97, True)]
)
def test_girth_against_diameter_on_both_sides(tmp_path: Path, girth: float, doubt: bool) -> None:
    table = tmp_path / "a.csv"
    table.write_text(f"tree,girth_cm,diameter_cm\n1,{girth},49.97\n", encoding="utf-8")
    rules = run_checks(read_survey([table])).findings["rule"]
    assert ("disagree" in set(rules)) == doubt


@pytest.mark.parametrize(("metres", "trees"), [(25, 1), (35, 2)])
def test_how_far_one_tree_can_be_from_itself(tmp_path: Path, metres: float, trees: int) -> None:
    # A degree of latitude at 45 N is 111,132 m long (WGS 84; common practice, no source).
    north = 45 + metres / 111_132
    rows = f"1,2024-05-01,100,45,7\n1,2026-05-01,101,{north:.9f},7\n"
    table = tmp_path / "a.csv"
    table.write_text("tree,date,girth_cm,lat,lon\n" + rows, encoding="utf-8")
    assert len(run_checks(read_survey([table])).measured.trees) == trees


def test_heights_are_classed_by_5_m_at_2_decimals(results_of: Callable[..., Results]) -> None:
    text = "tree,height_m\n1,9.99\n2,9.996\n3,14.96\n4,3\n"
    results = results_of({"survey.toml": FILES, "a.csv": text})
    assert results.trees["height_class"].tolist() == ["5-10", "10-15", "10-15", "0-5"]


def test_class_counts_per_hectare_and_tallies(results_of: Callable[..., Results]) -> None:
    text = "tree,stand,species,girth_cm,tally\n1,P,Quercus robur,100,3\n2,P,Acer rubrum,100,\n"
    toml = FILES + COUNTED.format("P", "0.5 ha")
    results = results_of({"survey.toml": toml, "a.csv": text})
    classes = results.classes.query("stand == 'P' and quantity == 'diameter' and trees > 0")
    assert classes["trees"].tolist() == [4]
    assert classes["per_ha"].tolist() == [8]
    oak, maple = results.species.query("stand == 'P'").to_dict("records")
    assert oak["trees"] == 3
    assert oak["basal_area_m2"] == pytest.approx(3 * maple["basal_area_m2"])


YEARS = (
    "tree,stand,date,girth_cm,status\n"
    + "".join(f"{n},P,2019-05-01,100,\n" for n in range(5))
    + "".join(f"{n},P,2024-05-01,{110 if n else 100},{'' if n else 'fallen'}\n" for n in range(5))
    + "0,P,2025-05-01,,fallen\n1,P,2025-05-01,112,\n"
)


def test_each_year_of_a_stand_is_figured_alone(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    toml = FILES + COUNTED.format("P", "0.5 ha")
    results = results_of(
        {"survey.toml": toml, "a.csv": YEARS.replace("1,P,2025-05-01,300", "1,P,2025-05-01,112")}
    )
    table = results.stands_by_year.set_index("period")
    assert table["trees"].to_dict() == {"2019": 5, "2024": 4, "2025": 1}
    assert table["mean_diameter_cm"].round(3).to_dict() == {
        "2019": 31.831, "2024": 35.014, "2025": 35.651,
    }  # fmt: skip
    (shown,) = results.stands.to_dict("records")
    assert shown["period"] == "2024"  # in 2025 only one tree was measured
    counts = results.classes.query("stand == 'P' and quantity == 'diameter'")["trees"].sum()
    assert counts == 4
    build_site(results, tmp_path / "site")
    text = (tmp_path / "site" / "data" / "stands.csv").read_text("utf-8")
    assert len(text.splitlines()) == 4


def test_undated_records_are_of_the_newest_year(results_of: Callable[..., Results]) -> None:
    text = "tree,stand,date,girth_cm\n1,P,2019-05-01,100\n2,P,2024-05-01,100\n3,P,,100\n"
    results = results_of({"survey.toml": FILES, "a.csv": text})
    assert results.stands_by_year["trees"].tolist() == [1, 2]
    assert results.stands_by_year["period"].tolist() == ["2019", "2024"]


def test_a_pair_the_other_way_round_is_turned(tmp_path: Path) -> None:
    import json

    (tmp_path / "a.csv").write_text(
        "tree,stand,girth_cm\n1,P,90\n2,P,95\n3,Q,60\n4,Q,63\n", encoding="utf-8"
    )
    (tmp_path / "survey.toml").write_text(FILES + TWO, encoding="utf-8")
    build_site(survey_results(read_survey([tmp_path])), tmp_path / "site")
    page = (tmp_path / "site" / "compare.html").read_text("utf-8")
    (block,) = re.findall(r'id="comparisons"[^>]*>(.*?)</script>', page, re.DOTALL)
    pairs = {(pair["left"], pair["right"]): pair["rows"] for pair in json.loads(block)["pairs"]}
    ranges = [
        next(row["range"] for row in rows if row["label"] == "Average thickness")
        for rows in (pairs["P", "Q"], pairs["Q", "P"])
    ]
    low, high = (float(part.replace("−", "-")) for part in ranges[0].split(" to "))
    turned = [float(part.replace("−", "-")) for part in ranges[1].split(" to ")]
    assert turned == [-high, -low]
    assert low < high < 0


def test_an_eye_height_is_shared(results_of: Callable[..., Results]) -> None:
    head = "tree,stand,girth_cm,baseline_m,baseline_method,angle_top,eye_height_m\n"
    rows = "".join(f"{n},P,100,20,taped,38,1.6\n" for n in range(900))
    toml = FILES + COUNTED.format("P", "5 ha")
    (stand,) = results_of({"survey.toml": toml, "a.csv": head + rows}).stands.to_dict("records")
    # Eye height 0.05 m, the same at every tree; the rest shrinks by √900.
    assert stand["mean_height_m_se_measurement"] > 0.05


def test_withheld_visits_are_withheld(results_of: Callable[..., Results]) -> None:
    text = "tree,girth_cm,privacy\n1,100,\n2,100,withheld\n"
    results = results_of({"survey.toml": FILES, "a.csv": text})
    for table in (results.trees, results.visits, results.observations):
        assert table["tree"].tolist() == ["1"]


def test_outlines_that_are_not_to_be_published(tmp_path: Path) -> None:
    import json

    ring = [[7, 45], [7.1234567, 45], [7.1234567, 45.1], [7, 45.1], [7, 45]]
    feature = {"type": "Feature", "properties": {"stand": "A"},
               "geometry": {"type": "Polygon", "coordinates": [ring]}}  # fmt: skip
    collection = {"type": "FeatureCollection", "features": [feature]}
    (tmp_path / "s.geojson").write_text(json.dumps(collection), encoding="utf-8")
    (tmp_path / "a.csv").write_text("tree,girth_cm,lat,lon\n1,90,45.05,7.05\n", encoding="utf-8")
    settings = FILES + '[site]\nboundaries = "s.geojson"\n[publish]\nboundaries = {}\n'
    for shown in (True, False):
        (tmp_path / "survey.toml").write_text(settings.format(str(shown).lower()), "utf-8")
        results = survey_results(read_survey([tmp_path]))
        assert len(results.boundaries) == int(shown)
        build_site(results, tmp_path / "out" / str(shown))
        words = "".join(
            path.read_text("utf-8")
            for path in (tmp_path / "out" / str(shown)).rglob("*.*s*")
            if path.is_file()
        )
        assert ("7.1234567" in words) == shown


def test_dead_trees_are_drawn_as_dead(results_of: Callable[..., Results]) -> None:
    text = "tree,species,girth_cm,status\n1,Pinus nigra,90,\n2,Pinus nigra,90,dead\n3,,90,\n"
    results = results_of({"survey.toml": FILES, "a.csv": text})
    assert results.trees["symbol"].tolist() == ["conifer", "dead", "unknown"]


def test_the_stoutest_is_a_living_tree(results_of: Callable[..., Results], tmp_path: Path) -> None:
    text = "tree,species,girth_cm,height_m,status\n1,,300,30,dead\n2,,200,20,\n3,,100,10,\n"
    build_site(results_of({"survey.toml": FILES, "a.csv": text}), tmp_path / "site")
    page = shown(tmp_path / "site", "index.html")
    # Girth 200 cm, two standard uncertainties of 0.64 cm
    assert "200.0 ± 1.3 cm round" in page
    assert "300.0" not in page


def test_shares_and_bars_per_hectare(results_of: Callable[..., Results], tmp_path: Path) -> None:
    rows = "".join(f"p{n},P,Acer rubrum,{90 + n}\n" for n in range(8))
    rows += "q1,Q,Acer rubrum,60\nq2,Q,Quercus robur,61\n"
    text = "tree,stand,species,girth_cm\n" + rows
    build_site(results_of({"survey.toml": FILES + TWO, "a.csv": text}), tmp_path / "site")
    assert re.search(r"Acer rubrum \)? ?1 50 % ", shown(tmp_path / "site", "stand-q.html"))
    # Girths 90 to 94 cm are 28.6 to 29.9 cm thick: 5 trees on 0.5 ha; 95 to 97 cm above 30 cm: 3.
    assert "25 to 30 5 10.0 30 to 35 3 6.0" in shown(tmp_path / "site", "compare.html")
    acres = 'units = "us"\n' + FILES + TWO
    build_site(results_of({"survey.toml": acres, "a.csv": text}), tmp_path / "us")
    # Girths 90 to 97 cm are 11.3 to 12.2 in thick: all 8 trees, 16 per hectare, 6.47 per acre
    # (1 acre = 0.40468564224 ha)
    assert "11 to 13 8 6.5" in shown(tmp_path / "us", "compare.html")


@pytest.mark.parametrize(("angle", "told"), [(60, False), (61, True)])
def test_steep_sights_are_told(tmp_path: Path, angle: int, told: bool) -> None:
    table = tmp_path / "a.csv"
    table.write_text(f"tree,baseline_m,angle_top,angle_base\n1,20,{angle},-5\n", "utf-8")
    assert ("steep" in set(run_checks(read_survey([table])).findings["rule"])) == told


@pytest.mark.parametrize(("metres", "trees"), [(8, 1), (12, 2)])
def test_how_far_one_tree_can_be_on_one_day(tmp_path: Path, metres: float, trees: int) -> None:
    north = 45 + metres / 111_132
    rows = f"1,2026-05-01,100,45,7\n1,2026-05-01,101,{north:.9f},7\n"
    table = tmp_path / "a.csv"
    table.write_text("tree,date,girth_cm,lat,lon\n" + rows, encoding="utf-8")
    assert len(run_checks(read_survey([table])).measured.trees) == trees


@pytest.mark.parametrize(("eye", "bad"), [("2.4 m", False), ("2.6 m", True), ("0.2 m", True)])
def test_eyes_are_at_a_persons_height(tmp_path: Path, eye: str, bad: bool) -> None:
    table = tmp_path / "a.csv"
    table.write_text(f"tree,baseline_m,angle_top,eye_height\n1,20,38,{eye}\n", "utf-8")
    rules = set(run_checks(read_survey([table])).findings["rule"])
    assert ("impossible" in rules) == bad


def test_how_well_readings_agree_is_published(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    rows = "".join(f"{n},2026-05-01,{girth}\n" for n in range(6) for girth in (100 + n, 101 + n))
    results = results_of({"survey.toml": FILES, "a.csv": "tree,date,girth_cm\n" + rows})
    (row,) = results.agreement.to_dict("records")
    # Six pairs 1 cm of girth apart: sd of one reading is 1 / π / √2 = 0.2251 cm (by hand)
    assert row["sd"] == pytest.approx(0.2251, abs=1e-4)
    assert (row["trees"], row["pairs"]) == (6, 6)
    # 0.318 cm of diameter apart, 0.25 cm are allowed: none of the pairs
    assert row["within_tolerance_share"] == 0
    build_site(results, tmp_path / "site")
    assert "6 trees measured more than once in a day" in shown(tmp_path / "site", "data.html")
    assert "0% of 6 pairs" in shown(tmp_path / "site", "data.html")


def test_what_a_stand_gains_in_a_year(results_of: Callable[..., Results]) -> None:
    rows = "1,P,2020-05-01,100\n1,P,2024-05-01,110\n2,P,2024-05-01,90\n"
    toml = FILES + COUNTED.format("P", "0.5 ha")
    results = results_of({"survey.toml": toml, "a.csv": "tree,stand,date,girth_cm\n" + rows})
    (row,) = results.increments.to_dict("records")
    # (110² - 100²) / 4π / 10,000 = 0.016711 m² in 4.0 years (1461 days) on 0.5 ha: 0.008356
    assert row["trees_measured_twice"] == 1
    assert row["basal_area_increment_m2_per_ha"] == pytest.approx(0.008356, abs=5e-6)


def test_a_year_without_a_day_of_its_own(results_of: Callable[..., Results]) -> None:
    """Its only counted tree has no date: the year is named all the same."""
    text = (
        "tree,stand,date,girth_cm,privacy\n1,P,2019-05-01,100,\n"
        "2,P,2024-05-01,100,withheld\n3,P,,100,\n"
    )
    results = results_of({"survey.toml": FILES, "a.csv": text})
    assert results.stands_by_year["period"].tolist() == ["2019", "2024"]
    assert results.stands_by_year["trees"].tolist() == [1, 1]


def test_a_trees_height_is_shown_with_two_deviations(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    text = "tree,girth_cm,baseline_m,angle_top,angle_base\n1,100,20,38,-5\n"
    results = results_of({"survey.toml": FILES, "a.csv": text})
    build_site(results, tmp_path / "site")
    (sd,) = results.trees["height_sd_m"]
    assert f"17.4 ± {2 * sd:.1f}" in shown(tmp_path / "site", "trees.html")
    assert f"17.4 ± {2 * sd:.1f} m tall" in shown(tmp_path / "site", "index.html")
