"""Places measured from known points: bearings, tapes, norths, chains, and how sure they are."""

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from pyproj import CRS, Geod

from mapper.line import run_checks
from mapper.load.norths import convergence_deg, declination_deg
from mapper.load.positions import with_places
from mapper.load.survey_records import Observations, load_survey
from mapper.survey import read_survey

EARTH = Geod(ellps="WGS84")
PLOTS = "plot,lat,lon,position_accuracy\nP1,48.2,16.3,3\n"


def load(folder: Path, records: str, plots: str = PLOTS, toml: str = "") -> Observations:
    (folder / "records").mkdir(exist_ok=True)
    (folder / "records" / "a.csv").write_text(records, encoding="utf-8")
    (folder / "plots.csv").write_text(plots, encoding="utf-8")
    (folder / "survey.toml").write_text(toml, encoding="utf-8")
    return load_survey(read_survey([folder]))


def seen_from(place: tuple[float, float], observations: Observations, tree: str) -> list[float]:
    """Bearing and distance of a tree from a place (lat, lon)."""
    row = observations.values[observations.values["tree"] == tree].iloc[0]
    bearing, _, distance = EARTH.inv(place[1], place[0], row["lon"], row["lat"])
    return [bearing % 360, distance]


def rules(observations: Observations) -> list[tuple[str, str]]:
    found = observations.records.problems
    taped = found[found["rule"] != "unit_assumed"]
    return list(zip(taped["rule"], taped["value"], strict=True))


CENTRE = (48.2, 16.3)

# --- outside numbers -----------------------------------------------------------------------------


def test_the_direct_problem_as_geographiclib_prints_it(tmp_path: Path) -> None:
    """GeodSolve's example: from 40.6 N 73.8 W, azimuth 51, 5500 km on WGS 84."""
    records = "tree,plot,from_point,bearing,bearing_from,distance\na,P,P,51,true,5500 km\n"
    values = load(tmp_path, records, "plot,lat,lon\nP,40.6,-73.8\n").values
    assert values["lat"][0] == pytest.approx(51.884564505606761, abs=1e-11)
    assert values["lon"][0] == pytest.approx(-1.141172861200829, abs=1e-11)


def official_values() -> list[dict[str, str]]:
    path = Path(__file__).parent / "open_data" / "magnetic_2025.csv"
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", official_values())
def test_declination_as_the_model_s_makers_print_it(row: dict[str, str]) -> None:
    lat, lon, year = (np.array([float(row[name])]) for name in ("lat", "lon", "date"))
    found = declination_deg(lat, lon, year, float(row["alt"]))
    assert found[0] == pytest.approx(float(row["decl"]), abs=0.005)


@pytest.mark.parametrize("year", [2009.9, 2030.1])
def test_outside_its_years_the_model_says_nothing(year: float) -> None:
    assert np.isnan(declination_deg(np.array([48.0]), np.array([16.0]), np.array([year])))[0]


@pytest.mark.parametrize(("lat", "lon"), [(48.0, 17.5), (48.0, 12.6), (-33.0, 17.0), (60.0, 15.0)])
def test_convergence_of_a_transverse_mercator_grid(lat: float, lon: float) -> None:
    """tan(convergence) = tan(longitude from the central meridian) sin(latitude), on the sphere."""
    zone_33 = CRS.from_epsg(32633 if lat > 0 else 32733)
    by_hand = np.degrees(np.arctan(np.tan(np.radians(lon - 15)) * np.sin(np.radians(lat))))
    found = convergence_deg(np.array([lat]), np.array([lon]), zone_33)
    assert found[0] == pytest.approx(by_hand, abs=0.003)


# --- bearings and tapes --------------------------------------------------------------------------


def test_bearing_and_distance_from_a_plot_s_centre(tmp_path: Path) -> None:
    records = "tree,plot,bearing,bearing_from,distance_m\na,P1,135,true,12\nb,p1,S45E,true,12\n"
    found = load(tmp_path, records)
    for tree in ("a", "b"):
        assert seen_from(CENTRE, found, tree) == pytest.approx([135, 12], abs=1e-6)
    assert found.values["place_from"].tolist() == ["bearing and distance"] * 2


def test_norths_are_turned_to_the_true_one(tmp_path: Path) -> None:
    records = (
        "tree,plot,date,bearing,bearing_from,distance_m,crs\n"
        "a,P1,2026-05-01,90,magnetic,12,\nb,P1,2026-05-01,90,grid,12,EPSG:32633\n"
    )
    found = load(tmp_path, records)
    declination = declination_deg(np.array([48.2]), np.array([16.3]), np.array([2026.33]))[0]
    convergence = convergence_deg(np.array([48.2]), np.array([16.3]), CRS.from_epsg(32633))[0]
    assert declination > 4  # east of north, as everywhere in Central Europe in these years
    assert convergence > 0.5
    assert seen_from(CENTRE, found, "a")[0] == pytest.approx(90 + declination, abs=0.06)
    assert seen_from(CENTRE, found, "b")[0] == pytest.approx(90 + convergence, abs=1e-3)


def test_slope_and_face(tmp_path: Path) -> None:
    records = (
        "tree,plot,girth_cm,bearing,bearing_from,distance_m,distance_kind,slope,distance_to\n"
        "a,P1,100,0,true,10,slope,20,\nb,P1,100,0,true,10,,,face\nc,P1,,0,true,10,,,face\n"
        "d,P1,100,0,true,10,slope,,\ne,P1,100,0,true,10,slope,36.397 %,\n"
    )
    found = load(tmp_path, records)
    level = 10 * np.cos(np.radians(20))
    expected = {"a": level, "b": 10 + 0.5 / np.pi, "c": 10, "d": 10, "e": level}
    for tree, distance in expected.items():
        assert seen_from(CENTRE, found, tree)[1] == pytest.approx(distance, abs=1e-5)
    assert sorted(rules(found)) == [("slope_missing", ""), ("stem_missing", "face")]


@pytest.mark.parametrize(
    ("side", "bearing"), [("left", 30), ("R", 150), ("north", 30), ("SSE", 150), ("rechts", 150)]
)
def test_two_tapes_and_the_side(tmp_path: Path, side: str, bearing: float) -> None:
    """From two points 10 m apart, 10 m from each: 60 degrees to either side of the line."""
    records = (
        "tree,plot,bearing,bearing_from,distance_m,from_point,from_point_2,distance_2_m,side\n"
        f"b,P1,90,true,10,,,,\na,P1,,,10,P1,b,10,{side}\n"
    )
    found = load(tmp_path, records)
    assert seen_from(CENTRE, found, "a") == pytest.approx([bearing, 10], abs=1e-4)
    assert found.values["place_from"].tolist() == ["bearing and distance", "two tapes"]
    # The second point's own error counts like one of the tape; the tapes cross at 60 degrees.
    point, tree = found.values["place_relative_m"]
    assert tree == pytest.approx(np.hypot(2.4477 * 0.12, point) / np.sqrt(1 - 0.5), rel=1e-4)
    assert found.records.problems.query("rule != 'unit_assumed'").empty


def test_two_tapes_ask_for_the_side_and_for_distances_that_meet(tmp_path: Path) -> None:
    records = (
        "tree,plot,bearing,bearing_from,distance_m,from_point,from_point_2,distance_2_m,side\n"
        "b,P1,90,true,10,,,,\nc,P1,,,10,P1,b,10,\nd,P1,,,3,P1,b,3,left\ne,P1,,,3,P1,b,10,uphill\n"
    )
    found = load(tmp_path, records)
    assert found.values["lat"].notna().tolist() == [True, False, False, False]
    assert sorted(rules(found)) == [
        ("side_not_told", ""),
        ("side_not_told", "uphill"),
        ("tapes_do_not_meet", "3"),
    ]


# --- chains --------------------------------------------------------------------------------------

CHAIN = (
    "tree,plot,from_point,bearing,bearing_from,distance_m\n"
    "a,P1,P1,90,true,10\nb,P1,a,0,true,10\nc,P1,tree B,270,true,10\nd,P1,C,180,true,10\n"
)


def test_a_chain_of_trees_comes_back_to_where_it_began(tmp_path: Path) -> None:
    found = load(tmp_path, CHAIN)
    assert seen_from(CENTRE, found, "d")[1] < 1e-4
    one_link = found.values["place_relative_m"][0]
    links = one_link * np.sqrt([1, 2, 3, 4])
    assert found.values["place_relative_m"].tolist() == pytest.approx(links)
    assert (found.values["place_root"] == found.values["place_root"][0]).all()


def test_the_order_of_the_rows_does_not_matter(tmp_path: Path) -> None:
    head, *rows = CHAIN.splitlines()
    forth = load(tmp_path, CHAIN).values.set_index("tree")
    back = load(tmp_path, "\n".join([head, *rows[::-1]])).values.set_index("tree")
    names = ["lat", "lon", "place_accuracy_m", "place_relative_m"]
    pd.testing.assert_frame_equal(forth[names].sort_index(), back[names].sort_index())


def test_a_circle_is_refused_in_words_and_broken_where_a_tree_has_coordinates(
    tmp_path: Path,
) -> None:
    records = (
        "tree,lat,lon,from_point,bearing,bearing_from,distance_m\n"
        "a,,,b,0,true,10\nb,,,a,0,true,10\nc,,,b,0,true,10\n"
        "d,48.2,16.3,e,0,true,10\ne,,,d,0,true,10\nf,,,f,0,true,10\n"
    )
    found = load(tmp_path, records)
    assert seen_from(CENTRE, found, "e") == pytest.approx([0, 10], abs=1e-6)
    assert found.values["lat"].notna().tolist() == [False, False, False, True, True, False]
    circle = [cell for rule, cell in rules(found) if rule == "measured_in_a_circle"]
    assert sorted(circle) == ["a", "b", "e", "f"]
    assert ("point_not_placed", "b") in rules(found)


def test_points_that_are_none_or_several_are_said_once(tmp_path: Path) -> None:
    records = (
        "tree,plot,from_point,bearing,bearing_from,distance_m\n"
        "1,P1,P1,0,true,10\n1,P2,1,0,true,10\nP1,P2,plot P1,90,true,5\n"
        "2,P1,gate,0,true,10\n3,P1,gate,0,true,10\n4,P3,1,0,true,10\n5,P2,P1,0,true,10\n"
        "6,P1,plot P1,,true,10\n"
    )
    found = load(tmp_path, records)
    assert sorted(rules(found)) == [
        ("incomplete_offset", "plot P1"),
        ("measured_in_a_circle", "1"),
        ("unclear_point", "1"),
        ("unclear_point", "P1"),
        ("unknown_point", "gate"),
    ]
    (gate,) = found.records.problems.query("rule == 'unknown_point'")["reason"]
    assert gate.endswith("So 2 records of this file have no place by tape.")


def test_a_long_chain_is_placed_quickly_and_an_endless_one_said_to_be_too_long(
    tmp_path: Path,
) -> None:
    links = [f"t{n},t{n - 1},0,true,1" for n in range(1, 1003)]
    records = "tree,from_point,bearing,bearing_from,distance_m\nt0,P1,0,true,1\n" + "\n".join(links)
    found = load(tmp_path, records)
    assert found.values["lat"].notna().sum() == 1000
    assert [rule for rule, _ in rules(found)] == ["point_not_placed"] * 3


# --- which place wins, and how sure it is --------------------------------------------------------


def test_tape_wins_and_a_far_coordinate_is_doubted(tmp_path: Path) -> None:
    records = (
        "tree,plot,lat,lon,bearing,bearing_from,distance_m\n"
        "a,P1,48.2001,16.3001,0,true,10\nb,P1,48.21,16.3,0,true,10\nc,P1,48.2002,16.3,,,\n"
    )
    found = load(tmp_path, records)
    for tree in ("a", "b"):
        assert seen_from(CENTRE, found, tree) == pytest.approx([0, 10], abs=1e-6)
    assert found.values["place_from"][2] == "lat and lon"
    assert rules(found) == [("places_disagree", "48.21")]


def test_an_unnamed_north_is_read_as_true_told_once_and_makes_the_place_less_sure(
    tmp_path: Path,
) -> None:
    records = "tree,plot,date,bearing,bearing_from,distance_m\na,P1,2026-05-01,0,,20\n"
    found = load(tmp_path, records + "b,P1,2026-05-01,0,true,20\nc,P1,2026-05-01,0,,20\n")
    assert seen_from(CENTRE, found, "a") == pytest.approx([0, 20], abs=1e-6)
    (unsaid,) = found.records.problems.query("rule == 'north_not_told'").to_dict("records")
    assert "2 bearings were read from true north" in unsaid["reason"]
    assert "+5.3 degrees" in unsaid["reason"]
    relative = found.values["place_relative_m"]
    assert relative[0] > 1.5 * relative[1]


def test_norths_that_cannot_be_known_leave_the_bearing_unused(tmp_path: Path) -> None:
    records = (
        "tree,plot,date,bearing,bearing_from,distance_m\n"
        "a,P1,1999-05-01,0,magnetic,20\nb,P1,2026-05-01,0,grid,20\nc,P1,,0,magnetic,20\n"
    )
    found = load(tmp_path, records)
    assert found.values["lat"].notna().tolist() == [False, False, True]
    assert rules(found) == [
        ("north_not_known", "magnetic"),
        ("north_not_known", "grid"),
        ("undated_bearing", ""),
    ]


def test_the_radius_of_a_place_by_bearing_holds_the_true_one_19_times_in_20(tmp_path: Path) -> None:
    """Against a simulation with the uncertainties of reference/uncertainties.csv."""
    found = load(tmp_path, "tree,plot,bearing,bearing_from,distance_m\na,P1,0,true,2.3\n")
    radius = found.values["place_relative_m"][0]
    random = np.random.default_rng(7)
    distance = 2.3 + random.normal(0, 0.12, 200_000)
    bearing = np.radians(random.normal(0, 3, 200_000))
    off = np.hypot(distance * np.sin(bearing), distance * np.cos(bearing) - 2.3)
    assert np.mean(off <= radius) == pytest.approx(0.95, abs=0.003)  # along and across are alike


@pytest.mark.parametrize(("first", "second"), [(6.0, 8.0), (10.0, 10.0), (9.0, 4.0)])
def test_the_radius_of_two_tapes_holds_it_at_least_as_often(
    tmp_path: Path, first: float, second: float
) -> None:
    records = (
        "tree,lat,lon,position_accuracy,distance_m,from_point,from_point_2,distance_2_m,side\n"
        "p,48.2,16.3,0,,,,,\nq,48.2,16.30013458,0,,,,,\n"
        f"a,,,,{first},p,q,{second},left\n"
    )
    values = load(tmp_path, records).values
    line = EARTH.inv(16.3, 48.2, 16.30013458, 48.2)[2]
    random = np.random.default_rng(7)
    one, two = (size + random.normal(0, 0.12, 200_000) for size in (first, second))
    along = (one**2 - two**2 + line**2) / (2 * line)
    across = np.sqrt(np.maximum(one**2 - along**2, 0))
    true_along = (first**2 - second**2 + line**2) / (2 * line)
    off = np.hypot(along - true_along, across - np.sqrt(first**2 - true_along**2))
    share = np.mean(off <= values["place_accuracy_m"][2])
    assert 0.945 < share < 0.985


def test_the_known_point_s_error_is_carried_on(tmp_path: Path) -> None:
    values = load(tmp_path, CHAIN).values
    relative = values["place_relative_m"].to_numpy()
    assert values["place_accuracy_m"].to_numpy() == pytest.approx(np.hypot(6, relative))
    unknown = load(tmp_path, CHAIN, "plot,lat,lon\nP1,48.2,16.3\n").values
    assert unknown["place_accuracy_m"].isna().all()
    assert unknown["place_relative_m"].to_numpy() == pytest.approx(relative)


def test_a_tape_wins_over_a_photo_s_place(tmp_path: Path) -> None:
    records = load(
        tmp_path, "tree,plot,bearing,bearing_from,distance_m\na,P1,0,true,10\nb,,,,\n"
    ).records
    photo = {"lat": 48.3, "lon": 16.3, "place_from": "photo", "position_accuracy_m": 5.0}
    plots = pd.DataFrame({"plot": ["P1"], "lat": 48.2, "lon": 16.3, "position_accuracy_m": 3.0})
    found = with_places(replace(records, values=records.values.assign(**photo)), plots, "EPSG:4326")
    assert found.values["place_from"].tolist() == ["bearing and distance", "photo"]
    assert found.values["place_accuracy_m"][1] == 10


def test_fixes_of_several_days_are_averaged(tmp_path: Path) -> None:
    records = (
        "tree,girth_cm,date,lat,lon,position_accuracy\n"
        "a,100,2026-05-01,48.20000,16.3,4\na,101,2026-05-02,48.20004,16.3,4\n"
        "b,100,2026-05-01,48.20000,16.4,4\nb,100,2026-05-01,48.20002,16.4,4\n"
        "c,100,2026-05-01,48.20000,16.5,4\n"
    )
    load(tmp_path, records)
    trees = run_checks(read_survey([tmp_path])).measured.trees
    assert trees["lat"].tolist() == pytest.approx([48.20002, 48.20001, 48.2], abs=1e-12)
    assert trees["place_accuracy_m"].tolist() == pytest.approx([8 / np.sqrt(2), 8, 8])


def test_the_average_is_safe_at_180_degrees(tmp_path: Path) -> None:
    records = "tree,girth_cm,date,lat,lon\na,100,2026-05-01,-16.8,179.99999\n"
    load(tmp_path, records + "a,100,2026-05-02,-16.8,-179.99997\n")
    trees = run_checks(read_survey([tmp_path])).measured.trees
    assert trees["lon"].tolist() == pytest.approx([-179.99999], abs=1e-9)


def test_two_fixes_on_either_side_of_an_edge_are_one_tree(tmp_path: Path) -> None:
    outline = (
        '{"type":"FeatureCollection","features":['
        '{"type":"Feature","properties":{"stand":"W"},"geometry":{"type":"Polygon",'
        '"coordinates":[[[16.2,48.1],[16.3,48.1],[16.3,48.3],[16.2,48.3],[16.2,48.1]]]}},'
        '{"type":"Feature","properties":{"stand":"E"},"geometry":{"type":"Polygon",'
        '"coordinates":[[[16.3,48.1],[16.4,48.1],[16.4,48.3],[16.3,48.3],[16.3,48.1]]]}}]}'
    )
    (tmp_path / "stands.geojson").write_text(outline, encoding="utf-8")
    records = "tree,girth_cm,date,lat,lon\na,100,2026-05-01,48.2,16.29999\n"
    records += "a,101,2026-06-01,48.2,16.30001\n"
    found = load(tmp_path, records, toml='[site]\nboundaries = "stands.geojson"\n')
    assert found.values["stand"].tolist() == ["W", "E"]
    assert found.values["tree_key"].tolist() == ["a", "a"]


ODD_ROWS = st.lists(
    st.fixed_dictionaries(
        {
            "tree": st.sampled_from(["", "1", "2", "3", "P1", "tree 1", "gate"]),
            "plot": st.sampled_from(["", "P1", "p1 ", "P2"]),
            "date": st.sampled_from(["", "2026-05-01", "1999-01-01"]),
            "lat": st.sampled_from(["", "48.2", "95", "0", "x"]),
            "lon": st.sampled_from(["", "16.3", "0", "-181"]),
            "from_point": st.sampled_from(["", "1", "2", "P1", "plot 1", "centre", "nobody"]),
            "bearing": st.sampled_from(["", "0", "361", "-5", "NE", "S95E", "12°"]),
            "bearing_from": st.sampled_from(["", "true", "grid", "magnetic", "left"]),
            "distance_m": st.sampled_from(["", "0", "-3", "7", "1e9", "7 ft"]),
            "distance_kind": st.sampled_from(["", "slope", "horizontal"]),
            "slope": st.sampled_from(["", "20", "90", "400 %"]),
            "distance_to": st.sampled_from(["", "face"]),
            "from_point_2": st.sampled_from(["", "1", "P1", "2"]),
            "distance_2_m": st.sampled_from(["", "0", "8", "1e9"]),
            "side": st.sampled_from(["", "left", "N", "?"]),
            "crs": st.sampled_from(["", "EPSG:32633", "nonsense"]),
        }
    ),
    min_size=1,
    max_size=6,
)


@given(rows=ODD_ROWS)
@hypothesis_settings(max_examples=60, derandomize=True)
def test_any_rows_give_places_or_reasons(
    tmp_path_factory: pytest.TempPathFactory, rows: list[dict[str, str]]
) -> None:
    """Every record stays, every place lies on the globe or is found impossible, nothing raises."""
    folder = tmp_path_factory.mktemp("odd")
    load(folder, pd.DataFrame(rows).assign(girth_cm="100").to_csv(index=False))
    line = run_checks(read_survey([folder]))
    values = line.observations.values
    assert len(values) == len(rows)
    placed = values["lat"].notna()
    assert (placed == (values["place_from"] != "")).all()
    taped = values["place_from"].isin(["bearing and distance", "two tapes"])
    assert values.loc[taped, "lat"].between(-90, 90).all()
    assert line.measured.trees["lat"].dropna().between(-90, 90).all()
