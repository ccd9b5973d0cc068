"""The whole line against open data and results of general statistics software (tests/open_data)."""

import csv
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mapper.line import run_checks
from mapper.load.boundaries import read_boundaries
from mapper.summarise import Results
from mapper.summarise.spacing import pattern_of
from mapper.summarise.spread import ripley_l, strewn
from mapper.survey import read_survey

OPEN_DATA = Path(__file__).parent / "open_data"


def reference(dataset: str) -> dict[str, float]:
    with (OPEN_DATA / "reference_results.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["dataset"] == dataset]
    return {row["quantity"]: float(row["value"]) for row in rows}


# The plot was set on the globe with coordinates to 1e-9 degrees; the area closes to some 1e-8.
RELATIVE = 1e-6


def test_longleaf_stand_figures_equal_r(longleaf: Results) -> None:
    (stand,) = longleaf.stands.to_dict("records")
    known = reference("longleaf")
    assert stand["trees"] == known["n_trees"] == 584
    assert stand["area_ha"] == pytest.approx(known["area"], rel=RELATIVE)
    assert stand["stems_per_ha"] == pytest.approx(known["density"], rel=RELATIVE)
    assert stand["basal_area_m2_per_ha"] == pytest.approx(known["basal_area_per_ha"], rel=RELATIVE)
    assert stand["mean_diameter_cm"] == pytest.approx(known["mean_dbh"], rel=RELATIVE)
    assert stand["quadratic_mean_diameter_cm"] == pytest.approx(
        known["quadratic_mean_diameter"], rel=RELATIVE
    )
    assert stand["gini_basal_area"] == pytest.approx(known["gini_basal_area"], rel=RELATIVE)


@pytest.mark.parametrize("dataset", ["longleaf", "lansing"])
def test_ripley_within_the_true_boundary_equals_r(dataset: str) -> None:
    trees = pd.read_csv(OPEN_DATA / f"{dataset}_wgs84.csv")
    (outline,) = read_boundaries(OPEN_DATA / f"{dataset}_window.geojson").geometry
    pattern = pattern_of(trees[["longitude", "latitude"]].to_numpy(dtype=float), outline)
    found = {
        float(name.removeprefix("ripley_L_border(r=").removesuffix(")")): value
        for name, value in reference(dataset).items()
        if name.startswith("ripley_L_border")
    }
    radii = np.array(sorted(found))

    reach = ripley_l(pattern.spots, pattern.ground, radii)

    assert len(radii) == 5
    assert reach == pytest.approx([found[radius] for radius in radii], rel=RELATIVE)


def test_the_band_of_chance_is_seeded_and_holds_chance() -> None:
    (outline,) = read_boundaries(OPEN_DATA / "longleaf_window.geojson").geometry
    ground = pattern_of(np.array([[0.0, 0.0], [0.0, 1.0]]), outline).ground
    radii = np.arange(1, 9) * 5.0
    draws = [
        ripley_l(strewn(120, ground, np.random.default_rng(seed)), ground, radii)
        for seed in range(200)
    ]
    # By chance L is the distance, but for the few trees of one draw.
    assert np.mean(draws, axis=0) == pytest.approx(radii, rel=0.03)
    again = ripley_l(strewn(120, ground, np.random.default_rng(7)), ground, radii)
    assert again.tolist() == draws[7].tolist()


@pytest.mark.parametrize("dataset", ["longleaf", "lansing"])
def test_spacing_equals_r(dataset: str, request: pytest.FixtureRequest) -> None:
    (stand,) = request.getfixturevalue(dataset).stands.to_dict("records")
    known = reference(dataset)
    assert stand["clark_evans"] == pytest.approx(known["clark_evans_R_naive"], rel=RELATIVE)
    assert stand["clark_evans_donnelly"] == pytest.approx(
        known["clark_evans_R_Donnelly"], rel=RELATIVE
    )
    # R cuts the curve of its correction off on a grid of distances, so it is not the same method.
    assert stand["clark_evans_edge"] == pytest.approx(known["clark_evans_R_cdf"], rel=0.015)


def test_longleaf_classes_of_10_cm_equal_r(tmp_path: Path) -> None:
    from mapper.line import survey_results

    settings = '[records]\nfiles = ["*.csv"]\n[measure]\ndiameter_class = "10 cm"\n'
    (tmp_path / "survey.toml").write_text(settings, encoding="utf-8")
    text = (OPEN_DATA / "longleaf_wgs84.csv").read_text("utf-8")
    (tmp_path / "longleaf.csv").write_text(text, encoding="utf-8")
    results = survey_results(
        read_survey([tmp_path], OPEN_DATA / "longleaf_window.geojson", complete_count=True)
    )
    classes = results.classes.query("stand == 'longleaf' and quantity == 'diameter'")
    ours = {
        f"count_dbh_class_[{row.lower:g},{row.upper:g})": row.trees for row in classes.itertuples()
    }
    theirs = {name: n for name, n in reference("longleaf").items() if name.startswith("count_dbh")}
    assert ours == theirs


def test_trees_on_the_edge_are_counted() -> None:
    survey = read_survey(
        [OPEN_DATA / "longleaf_wgs84.csv"], OPEN_DATA / "longleaf_window.geojson", True
    )
    values = run_checks(survey).observations.values
    # x or y at 0 or 200 m: rounding to 1e-9 degrees put three of them outside by up to 0.1 mm.
    on_edge = values["edge_m"] < 0.05
    assert on_edge.sum() >= 3
    assert (values["stand"][on_edge] == "longleaf").all()


def test_lansing_density_and_species_equal_r(lansing: Results) -> None:
    (stand,) = lansing.stands.to_dict("records")
    known = reference("lansing")
    assert stand["trees"] == known["n_trees"] == 2251
    assert stand["trees_with_diameter"] == 0
    assert stand["stems_per_ha"] == pytest.approx(known["density"], rel=RELATIVE)
    assert stand["shannon"] == pytest.approx(known["shannon_H_ln"], rel=RELATIVE)
    assert stand["simpson"] == pytest.approx(known["simpson_1_minus_D"], rel=RELATIVE)
    counts = lansing.species.query("stand == ''").set_index("species")["trees"]
    assert counts["Carya"] == 703  # summary(lansing) of spatstat.data: 703 hickory, 514 maple
    assert counts["Acer"] == 514
