"""Coordinates swapped, flipped, without their point, in the wrong zone: found, with the repair."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pyproj import CRS, Transformer

from mapper.line import run_checks
from mapper.load.places import known_crs
from mapper.summarise import Line
from mapper.survey import read_survey

SITES = [(48.2083, 16.3731), (-33.8568, 151.2153), (42.9489, -84.6014), (-34.6037, -58.3816)]
KNOWN = {"swapped", "sign_flipped", "point_lost", "minutes_as_decimals", "degree_digit",
         "zero_place", "far_from_site", "other_zone", "known_point_misplaced"}  # fmt: skip


@pytest.fixture
def line_of(tmp_path: Path) -> Callable[..., Line]:
    def run(text: str, toml: str = "", outline: str = "") -> Line:
        (tmp_path / "records").mkdir(exist_ok=True)
        (tmp_path / "records" / "a.csv").write_text(text, encoding="utf-8")
        if outline:
            (tmp_path / "stands.geojson").write_text(outline, encoding="utf-8")
        (tmp_path / "survey.toml").write_text(toml, encoding="utf-8")
        return run_checks(read_survey([tmp_path]))

    return run


def grove(site: tuple[float, float], last: str) -> str:
    """Eight good trees near a site, and one more row: its latitude and longitude as written."""
    rows = [f"t{n},100,{site[0] + n * 0.0003:.6f},{site[1] - n * 0.0002:.6f}" for n in range(8)]
    return "tree,girth_cm,lat,lon\n" + "\n".join([*rows, f"bad,100,{last}"]) + "\n"


def found(line: Line) -> list[tuple[str, str, str, str]]:
    """Rule, severity, proposed column and value of what was found about places."""
    told = line.findings[line.findings["rule"].isin(KNOWN)]
    names = ["rule", "severity", "proposed_column", "proposed_value"]
    return [tuple(row) for row in told[names].to_numpy().tolist()]


@pytest.mark.parametrize("site", SITES)
def test_swapped_coordinates_are_put_back(
    line_of: Callable[..., Line], site: tuple[float, float]
) -> None:
    lat, lon = f"{site[0] + 0.001:.5f}", f"{site[1] + 0.001:.5f}"
    line = line_of(grove(site, f"{lon},{lat}"))
    assert found(line) == [
        ("swapped", "error", "lat", lat),
        ("swapped", "error", "lon", lon),
    ]
    assert np.isnan(line.measured.trees.loc["bad", "lat"])
    assert not (line.findings["rule"] == "impossible").any()  # one blunder, said once


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("flip", [(-1, 1), (1, -1), (-1, -1)])
def test_a_flipped_sign_is_turned_back(
    line_of: Callable[..., Line], site: tuple[float, float], flip: tuple[int, int]
) -> None:
    line = line_of(grove(site, f"{flip[0] * site[0]},{flip[1] * site[1]}"))
    expected = [
        ("sign_flipped", "error", name, repr(value))
        for name, value, turned in zip(("lat", "lon"), site, flip, strict=True)
        if turned < 0
    ]
    assert found(line) == expected


def test_swapped_and_flipped_at_once(line_of: Callable[..., Line]) -> None:
    site = (42.9489, -84.6014)
    assert found(line_of(grove(site, "84.6014,42.9489"))) == [
        ("swapped", "error", "lat", "42.9489"),
        ("swapped", "error", "lon", "-84.6014"),
    ]


@pytest.mark.parametrize(
    ("last", "column", "meant"),
    [
        ("482083,16.3731", "lat", "48.2083"),
        ("48.2083,163731", "lon", "16.3731"),
        ("4.82083,16.3731", "lat", "48.2083"),
        ("48.2083,1.63731", "lon", "16.3731"),
    ],
)
def test_a_lost_point_is_put_back(
    line_of: Callable[..., Line], last: str, column: str, meant: str
) -> None:
    assert found(line_of(grove(SITES[0], last))) == [("point_lost", "error", column, meant)]


def test_minutes_behind_a_point_are_asked_about(line_of: Callable[..., Line]) -> None:
    """48°12'30" typed as 48.1230 lies 9.5 km off: asked, and still on the map."""
    line = line_of(grove((48.2083, 16.375), "48.1230,16.2230"))
    assert found(line) == [
        ("minutes_as_decimals", "warning", "lat", "48.208333333"),
        ("minutes_as_decimals", "warning", "lon", "16.375"),
    ]
    assert line.measured.trees.loc["bad", "lat"] == 48.123


def test_a_wrong_degree_is_asked_about(line_of: Callable[..., Line]) -> None:
    assert found(line_of(grove(SITES[0], "49.2083,16.3731"))) == [
        ("degree_digit", "warning", "lat", "48.2083")
    ]


def test_zero_zero_is_no_place(line_of: Callable[..., Line]) -> None:
    line = line_of(grove(SITES[0], "0,0"))
    assert found(line) == [("zero_place", "error", "", "")]
    assert np.isnan(line.measured.trees.loc["bad", "lat"])
    assert found(line_of("tree,girth_cm,lat,lon\na,100,0,0\n")) == [("zero_place", "error", "", "")]


def test_a_latitude_beyond_the_pole_is_swapped_even_where_nothing_else_is_known(
    line_of: Callable[..., Line],
) -> None:
    assert found(line_of("tree,girth_cm,lat,lon\na,100,151.2,-33.8\n")) == [
        ("swapped", "warning", "lat", "-33.8"),
        ("swapped", "warning", "lon", "151.2"),
    ]


def test_far_alone_is_asked_about_and_a_second_site_is_not(line_of: Callable[..., Line]) -> None:
    line = line_of(grove(SITES[0], "47.0707,15.4395"))
    assert found(line) == [("far_from_site", "warning", "", "")]
    (message,) = line.findings[line.findings["rule"] == "far_from_site"]["message"]
    assert message == "This place is 145 km from the other trees."
    second = grove((47.0707, 15.4395), "47.0708,15.4395").partition("\n")[2].replace("t", "u")
    both = grove(SITES[0], "48.2083,16.3731") + second.replace("bad", "v")
    assert found(line_of(both)) == []


def test_outlines_say_where_the_site_is(line_of: Callable[..., Line]) -> None:
    """All trees of the file are swapped: among themselves they look right."""
    ring = "[[16.36,48.20],[16.38,48.20],[16.38,48.22],[16.36,48.22],[16.36,48.20]]"
    outline = (
        '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"stand":"A"},'
        f'"geometry":{{"type":"Polygon","coordinates":[{ring}]}}}}]}}'
    )
    rows = [f"t{n},100,16.37{n},48.21{n}" for n in range(5)]
    text = "tree,girth_cm,lat,lon\n" + "\n".join(rows)
    line = line_of(text, '[site]\nboundaries = "stands.geojson"\n', outline)
    assert [row[0] for row in found(line)] == ["swapped"] * 10
    assert not (line.findings["rule"] == "outside_every_stand").any()


def utm(code: int) -> list[tuple[float, float]]:
    there = Transformer.from_crs(CRS.from_epsg(4326), CRS.from_epsg(code), always_xy=True)
    return [there.transform(16.3731 + n * 0.0002, 48.2083 + n * 0.0003) for n in range(9)]


def test_the_wrong_zone_is_found_for_one_record(line_of: Callable[..., Line]) -> None:
    rows = [f"t{n},100,{x:.1f},{y:.1f},EPSG:32633" for n, (x, y) in enumerate(utm(32633))]
    rows[4] = rows[4].replace("32633", "32632")
    line = line_of("tree,girth_cm,x,y,crs\n" + "\n".join(rows))
    assert found(line) == [("other_zone", "error", "crs", "EPSG:32633")]
    assert np.isnan(line.measured.trees.loc["t4", "lat"])


def test_the_wrong_zone_in_survey_toml_is_said_once(line_of: Callable[..., Line]) -> None:
    good = [f"g{n},100,48.208{n},16.373{n},," for n in range(9)] * 1
    rows = [f"t{n},100,,,{x:.1f},{y:.1f}" for n, (x, y) in enumerate(utm(32633)[:3])]
    text = "tree,girth_cm,lat,lon,x,y\n" + "\n".join([*good, *rows])
    line = line_of(text, '[records]\ncrs = "EPSG:32632"\n')
    (one,) = line.findings[line.findings["rule"] == "other_zone"].to_dict("records")
    assert one["record"] == -1
    assert "EPSG:32633 (WGS 84 / UTM zone 33N)" in one["message"]
    assert "So do 3 records" in one["message"]
    assert 'crs = "EPSG:32633"' in one["suggestion"]


def test_x_and_y_swapped(line_of: Callable[..., Line]) -> None:
    rows = [f"t{n},100,{x:.1f},{y:.1f}" for n, (x, y) in enumerate(utm(32633))]
    x, y = utm(32633)[3]
    rows[3] = f"t3,100,{y:.1f},{x:.1f}"
    line = line_of("tree,girth_cm,x,y\n" + "\n".join(rows), '[records]\ncrs = "EPSG:32633"\n')
    assert found(line) == [
        ("swapped", "error", "x", f"{x:.1f}"),
        ("swapped", "error", "y", f"{y:.1f}"),
    ]


@pytest.mark.parametrize("zone", [1, 17, 33, 60])
def test_codes_of_the_grids_are_those_of_the_registry(zone: int) -> None:
    """Held against the EPSG registry that the projection library carries."""
    for family, words in ((32600, "{}N"), (32700, "{}S")):
        system = known_crs(str(family + zone))
        assert system is not None
        assert system.name == f"WGS 84 / UTM zone {words.format(zone)}"
        middle = system.area_of_use
        assert middle is not None
        assert (middle.west + 180) // 6 % 60 + 1 == zone


def test_trees_measured_from_a_misplaced_one_leave_the_map_with_it(
    line_of: Callable[..., Line],
) -> None:
    text = (
        grove(SITES[0], "16.3731,48.2083")
        .replace("\n", ",,,,\n")
        .replace("lon,,,,", "lon,from_point,bearing,bearing_from,distance_m")
    )
    line = line_of(text + "child,100,,,bad,90,true,10\n")
    assert ("known_point_misplaced", "error", "", "") in found(line)
    assert np.isnan(line.measured.trees.loc["child", "lat"])


def test_a_second_visit_with_a_misread_place_is_still_the_same_tree(
    line_of: Callable[..., Line],
) -> None:
    text = (
        grove(SITES[0], "48.2,16.37")
        .replace("\n", ",2024-05-01\n")
        .replace("lon,2024-05-01", "lon,date")
    )
    for last in ("16.3731,48.2083", "-48.2083,16.3731", "0,0"):
        line = line_of(text + f"t0,104,{last},2026-05-01\n")
        assert "t0" in line.measured.trees.index
        assert line.measured.trees.loc["t0", "visits"] == 2
        assert not (line.findings["rule"] == "duplicate_id").any()


@pytest.mark.parametrize("name", ["longleaf", "lansing"])
def test_open_data_raise_no_alarm(name: str) -> None:
    folder = Path(__file__).parent / "open_data"
    for boundaries in (None, folder / f"{name}_window.geojson"):
        survey = read_survey([folder / f"{name}_wgs84.csv"], boundaries=boundaries)
        assert found(run_checks(survey)) == []


def test_every_slip_planted_at_random_sites_is_found_and_nothing_else(
    line_of: Callable[..., Line],
) -> None:
    """A slip that cannot be told from the truth (a swap on the diagonal) is not planted."""
    random = np.random.default_rng(2)
    caught = alarms = planted = 0
    for _ in range(20):
        site = (random.uniform(-60, 65), random.uniform(-170, 170))
        if abs(site[0] - site[1]) < 0.1 or min(abs(site[0]), abs(site[1])) < 0.1:
            continue
        lat = site[0] + random.normal(0, 0.002, 40)
        lon = site[1] + random.normal(0, 0.002, 40)
        table = pd.DataFrame({"tree": range(40), "girth_cm": 100, "lat": lat, "lon": lon})
        slips = {3: ("lon", "lat", 1, 1), 9: ("lat", "lon", -1, 1), 21: ("lat", "lon", 1, -1)}
        for row, (first, second, one, two) in slips.items():
            values = table.loc[row, first] * one, table.loc[row, second] * two
            table.loc[row, ["lat", "lon"]] = values
        line = line_of(table.to_csv(index=False))
        rows = line.findings[line.findings["rule"].isin(KNOWN)]["record"]
        planted += len(slips)
        caught += len(set(rows) & set(slips))
        alarms += len(set(rows) - set(slips))
    assert planted > 50
    assert (caught, alarms) == (planted, 0)
