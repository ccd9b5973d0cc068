"""Plots near the edge of a stand, and ground that does not fit together."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from mapper import metrics
from mapper.errors import InputError
from mapper.line import run_checks
from mapper.summarise import Results
from mapper.survey import read_survey
from tests.test_plots import SETTINGS, stand_of, survey

ResultsOf = Callable[..., Results]
RADIUS = 10.0
PER_HA = 10_000 / (math.pi * RADIUS**2)
# The edge runs 8 m north of plot 1; plot 2 lies far inside.
PLOTS = "plot,radius (m),edge_distance (m),edge_bearing\n1,10,8,0\n2,10,,\n"
TREES = "tree,stand,plot,diameter_cm,from_point,bearing,distance (m),bearing_from\n"


def at_edge(results_of: ResultsOf, way: str, rows: str, plots: str = PLOTS) -> Results:
    settings = SETTINGS + f'edge = "{way}"\n'
    return results_of(survey(survey_toml=settings, plots_csv=plots, records__t_csv=TREES + rows))


def rules(results: Results) -> set[str]:
    return set(results.findings["rule"])


@pytest.mark.parametrize(
    ("way", "bearing", "distance", "times"),
    [
        ("walkthrough", 0, 5, 2),  # twice 5 m is 10 m, beyond 8 m
        ("walkthrough", 0, 3, 1),
        ("walkthrough", 180, 9, 1),
        ("mirage", 0, 7, 2),  # 9 m from the mirrored middle 16 m away
        ("mirage", 0, 5, 1),  # 11 m from it
        ("mirage", 90, 9, 1),
        ("none", 0, 5, 1),
    ],
)
def test_a_tree_near_a_straight_edge_counts_as_the_method_says(
    results_of: ResultsOf, way: str, bearing: int, distance: int, times: int
) -> None:
    found = at_edge(results_of, way, f"1,Wood,1,30,plot centre,{bearing},{distance},true\n")

    assert stand_of(found)["stems_per_ha"] == pytest.approx(times * PER_HA / 2)


def test_what_was_decided_in_the_field_wins(results_of: ResultsOf) -> None:
    rows = "1,Wood,1,30,plot centre,0,5,true,no\n2,Wood,1,30,plot centre,0,1,true,yes\n"
    records = TREES.strip() + ",edge_double\n" + rows
    settings = SETTINGS + 'edge = "walkthrough"\n'

    found = results_of(survey(survey_toml=settings, plots_csv=PLOTS, records__t_csv=records))

    assert stand_of(found)["stems_per_ha"] == pytest.approx(3 * PER_HA / 2)


def test_at_an_angle_count_the_reach_is_the_limiting_distance(results_of: ResultsOf) -> None:
    # POINTSLIDES: factor 4 and 30 cm reach 7.5 m. The mirrored point is 8 m away.
    settings = """
[[stand]]
name = "Wood"
design = "angle count"
basal_area_factor = 4
edge = "mirage"
plots = "plots.csv"
"""
    plots = "plot,edge_distance (m),edge_bearing\n1,4,0\n2,,\n"
    near, far = (
        stand_of(
            results_of(
                survey(
                    survey_toml=settings,
                    plots_csv=plots,
                    records__t_csv=TREES + f"1,Wood,1,30,plot centre,0,{distance},true\n",
                )
            )
        )
        for distance in (1, 0.4)
    )

    assert near["basal_area_m2_per_ha"] == pytest.approx(4)
    assert far["basal_area_m2_per_ha"] == pytest.approx(2)


def test_a_tree_whose_place_nobody_knows_is_told(results_of: ResultsOf) -> None:
    found = at_edge(results_of, "walkthrough", "1,Wood,1,30,,,,\n2,Wood,2,30,,,,\n")

    told = found.findings[found.findings["rule"] == "edge_place_unknown"]
    assert told["count"].tolist() == [1]
    assert stand_of(found)["stems_per_ha"] == pytest.approx(PER_HA)


def test_places_surveyed_to_a_centimetre_say_where_a_tree_stands(results_of: ResultsOf) -> None:
    # 5 m north of the middle: 5 / 111194 degrees (a sphere of 6371 km).
    plots = (
        "plot,lat,lon,position_accuracy (m),radius (m),edge_distance (m),edge_bearing\n"
        "1,46.5,7.5,0.02,10,8,0\n"
    )
    records = (
        "tree,stand,plot,diameter_cm,lat,lon,position_accuracy (m)\n"
        f"1,Wood,1,30,{46.5 + 5 / 111194:.9f},7.5,{{}}\n"
    )
    settings = SETTINGS + 'edge = "walkthrough"\n'

    sure, unsure = (
        results_of(
            survey(survey_toml=settings, plots_csv=plots, records__t_csv=records.format(accuracy))
        )
        for accuracy in (0.02, 4)
    )

    assert stand_of(sure)["stems_per_ha"] == pytest.approx(2 * PER_HA)
    assert stand_of(unsure)["stems_per_ha"] == pytest.approx(PER_HA)
    assert "edge_place_unknown" in rules(unsure)


def test_a_tree_beyond_the_edge_is_told(results_of: ResultsOf) -> None:
    assert "beyond_the_edge" in rules(
        at_edge(results_of, "mirage", "1,Wood,1,30,plot centre,0,9,true\n")
    )


def test_an_edge_that_nothing_makes_up_for_is_told(results_of: ResultsOf) -> None:
    row = "1,Wood,1,30,plot centre,0,5,true\n"

    assert "edge_not_made_up" in rules(at_edge(results_of, "none", row))
    assert "edge_not_made_up" not in rules(at_edge(results_of, "mirage", row))
    nowhere = "plot,radius (m)\n1,10\n"
    assert "edge_not_told" in rules(at_edge(results_of, "mirage", row, nowhere))


@pytest.mark.parametrize(
    ("edge", "told"), [("-1,0", "edge_distance is -1 m"), ("3,400", "edge_bearing is 400")]
)
def test_an_edge_that_cannot_be_is_refused(results_of: ResultsOf, edge: str, told: str) -> None:
    plots = f"plot,radius (m),edge_distance (m),edge_bearing\n1,10,{edge}\n"

    with pytest.raises(InputError, match=f"row 2: of plot '1' the {told}"):
        at_edge(results_of, "mirage", "1,Wood,1,30,plot centre,0,5,true\n", plots)


class TestWithoutBias:
    """A strip of 60 m, endless to north and south; every middle of a fine grid is tried once."""

    WIDTH, LENGTH = 60.0, 100.0

    def means(self, reach: NDArray[np.float64]) -> dict[str, float]:
        """What all middles give on average, over the truth, by the way the edge is made up for."""
        random = np.random.default_rng(5)
        trees = random.random((len(reach), 2)) * (self.WIDTH, self.LENGTH)
        # Thicker near the edges, as hedges are, so that a bias shows.
        trees[::3, 0] = random.random(len(trees[::3])) * 5
        middle_x = (np.arange(240) + 0.5) / 240 * self.WIDTH
        middle_y = (np.arange(200) + 0.5) / 200 * self.LENGTH
        x, y = (axis.ravel()[:, None] for axis in np.meshgrid(middle_x, middle_y))
        east = trees[:, 0] - x
        north = (trees[:, 1] - y + self.LENGTH / 2) % self.LENGTH - self.LENGTH / 2
        distance, bearing = np.hypot(east, north), np.degrees(np.arctan2(east, north))
        west_nearer = x < self.WIDTH / 2
        edge = np.where(west_nearer, x, self.WIDTH - x)
        towards = np.where(west_nearer, 270.0, 90.0)
        one = np.where(distance <= reach, 1.0, 0.0)
        share = one * self.WIDTH * self.LENGTH / (math.pi * reach**2) / len(reach)
        counts = {
            "none": one,
            "walkthrough": metrics.walkthrough_count(distance, bearing, edge, towards),
            "mirage": metrics.mirage_count(distance, bearing, edge, towards, reach),
        }
        return {way: float((share * count).sum() / x.size) for way, count in counts.items()}

    @pytest.mark.parametrize("kind", ["plots", "angle count"])
    def test_the_mean_over_all_middles_is_the_truth(self, kind: str) -> None:
        # DUCEY2004: both methods are unbiased along a straight edge.
        sizes = np.random.default_rng(6).uniform(10, 60, 60)
        by_angle = np.asarray(metrics.limiting_distance(4, sizes))
        found = self.means(by_angle if kind == "angle count" else np.full(60, 9.0))

        assert found["walkthrough"] == pytest.approx(1, abs=0.003)
        assert found["mirage"] == pytest.approx(1, abs=0.003)
        assert found["none"] < 0.9


def found_in(folder: Path, rule: str, **files: str) -> list[dict[str, Any]]:
    """The findings of one rule, as the leader sees them."""
    for name, text in survey(**files).items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    table = run_checks(read_survey([folder])).findings
    return table[table["rule"] == rule].to_dict("records")


ONE_TREE = "tree,stand,plot,diameter_cm\n1,Wood,1,30\n"
STRATA = SETTINGS + 'strata = "strata.csv"\n'
IN_STRATA = "plot,stratum,area (m2)\n1,dry,100\n2,dry,100\n3,wet,100\n4,wet,100\n"


def test_a_heading_of_plots_that_means_nothing_is_told(tmp_path: Path) -> None:
    (row,) = found_in(
        tmp_path,
        "plot_heading_not_read",
        survey_toml=SETTINGS,
        plots_csv="plot,radius (m),radias,date,notes\n1,10,3,2026-05-03,wet\n",
        records__t_csv=ONE_TREE,
    )

    assert "the heading 'radias' in plots.csv" in row["message"]
    assert "date" not in row["message"]


def test_plots_larger_than_their_stand_are_told(tmp_path: Path) -> None:
    files = {"plots_csv": "plot,area (ha)\n1,0.6\n2,0.6\n", "records__t_csv": ONE_TREE}
    small, large = SETTINGS + 'area = "1 ha"\n', SETTINGS + 'area = "2 ha"\n'

    (row,) = found_in(tmp_path / "1", "plots_beyond_stand", survey_toml=small, **files)
    assert "1.20 ha together, and the stand has only 1.00 ha" in row["message"]
    assert found_in(tmp_path / "2", "plots_beyond_stand", survey_toml=large, **files) == []


@pytest.mark.parametrize(("area", "told"), [("4 ha", 0), ("4.1 ha", 0), ("5 ha", 1)])
def test_strata_that_are_not_the_stand_are_told(tmp_path: Path, area: str, told: int) -> None:
    rows = found_in(
        tmp_path,
        "strata_beside_stand",
        survey_toml=STRATA + f'area = "{area}"\n',
        plots_csv=IN_STRATA,
        strata_csv="stratum,area (ha)\ndry,3\nwet,1\n",
        records__t_csv=ONE_TREE,
    )

    assert len(rows) == told


def test_a_tree_in_another_stratum_than_its_plot_is_told(tmp_path: Path) -> None:
    (row,) = found_in(
        tmp_path,
        "other_stratum",
        survey_toml=STRATA,
        plots_csv=IN_STRATA,
        strata_csv="stratum,area (ha)\ndry,3\nwet,1\n",
        records__t_csv="tree,plot,stratum,diameter_cm\n1,1,Wet,30\n2,1, DRY ,30\n3,3,,30\n",
    )

    assert row["tree"] == "1"
    assert "stratum 'dry', the record says 'Wet'" in row["message"]


def test_several_stems_at_an_angle_count_are_told(tmp_path: Path) -> None:
    (row,) = found_in(
        tmp_path,
        "stems_at_an_angle",
        survey_toml=SETTINGS.replace('"plots"\n', '"angle count"\nbasal_area_factor = 2\n', 1),
        plots_csv="plot\n1\n",
        records__t_csv="tree,stand,plot,stem_1,stem_2\n1,Wood,1,20,30\n2,Wood,1,20,\n",
    )

    assert row["tree"] == "1"


def test_an_undated_record_among_several_years_is_told(tmp_path: Path) -> None:
    (row,) = found_in(
        tmp_path,
        "undated_in_years",
        survey_toml="",
        records__t_csv=(
            "tree,stand,girth_cm,date\n1,Wood,80,2020-05-03\n1,Wood,90,2024-05-03\n2,Wood,70,\n"
            "3,Field,70,\n4,Field,70,2024-05-03\n"
        ),
    )

    assert row["tree"] == "2"
    assert "one of 2024" in row["message"]


def test_two_tapes_name_the_point_that_has_no_place(tmp_path: Path) -> None:
    (row,) = found_in(
        tmp_path,
        "point_not_placed",
        survey_toml="",
        records__t_csv=(
            "tree,girth_cm,lat,lon,from_point,distance,from_point_2,distance_2,side\n"
            "A,80,46.5,7.5,,,,,\nB,80,,,,,,,\nC,80,,,A,5,B,6,left\n"
        ),
    )

    assert row["column"] == "from_point_2"
    assert "point 'B' has no place" in row["message"]


def test_of_two_tapes_the_unknown_point_is_named(tmp_path: Path) -> None:
    (row,) = found_in(
        tmp_path,
        "unknown_point",
        survey_toml="",
        records__t_csv=(
            "tree,girth_cm,lat,lon,from_point,distance,from_point_2,distance_2,side\n"
            "A,80,46.5,7.5,,,,,\nC,80,,,A,5,Gate,6,left\n"
        ),
    )

    assert row["column"] == "from_point_2"
    assert "'Gate'" in row["message"]


def test_a_stand_of_empty_plots_is_handed_in_by_its_plots(results_of: ResultsOf) -> None:
    settings = SETTINGS + SETTINGS.replace("Wood", "Heath")
    plots = "plot,stand,radius (m)\n1,Wood,10\n2,Wood,10\n3,Heath,10\n4,Heath,10\n"

    results = results_of(survey(survey_toml=settings, plots_csv=plots, records__t_csv=ONE_TREE))
    heath = stand_of(results, "Heath")

    assert heath["plots"] == 2
    for figure in ("stems_per_ha", "basal_area_m2_per_ha"):
        assert heath[figure] == 0
        assert np.isnan(heath[f"{figure}_high"])
        told = results.reasons.query(f"id == 'Heath' and column == '{figure}_high'")["reason"]
        assert told.tolist() == [
            "no living tree on any plot: how many the ground between them has, they cannot say"
        ]
    assert np.isnan(heath["mean_diameter_cm"])
