"""Places in cells: degrees, minutes and seconds, two coordinates in one cell, bearings."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mapper.load import load_records
from mapper.load.angles import read_angle
from mapper.load.bearings import read_bearing
from mapper.load.pairs import read_pair
from mapper.load.records import Records

# A satellite observers' page of questions, USGS (FAQ 2982) and a wiki on geographic data print
# the first three; 45°30'47.39" is 45.513163 there to six places.
PRINTED = [
    ("48° 15' 23\"", 48.25639, 5e-6),
    ("45 degrees 37 57", 45.63250, 5e-6),
    ("45° 30' 47.39\"", 45.513163, 1e-6),
]


@pytest.mark.parametrize(("text", "printed", "tolerance"), PRINTED)
def test_worked_examples_of_minutes_and_seconds(
    text: str, printed: float, tolerance: float
) -> None:
    assert read_angle(text, "latitude").value == pytest.approx(printed, abs=tolerance)


@pytest.mark.parametrize("text", ["48 12 30", "48:12:30", "48 12.5", "48°12.5'", "N48 12 30"])
def test_marks_may_be_missing_where_a_latitude_is_asked(text: str) -> None:
    reading = read_angle(text, "latitude")
    assert (reading.value, reading.rule) == (48 + 12 / 60 + 30 / 3600, "")


@pytest.mark.parametrize("text", ["48.5 12", "48 12.5 30", "48 61", "48 12 60"])
def test_only_the_last_part_has_decimals_and_parts_end_at_60(text: str) -> None:
    assert read_angle(text, "latitude").rule == "not_a_number"


PAIRS = [
    ("48.2, 16.3", 48.2, 16.3),
    ("-33.9,151.2", -33.9, 151.2),
    ("48,2 16,3", 48.2, 16.3),
    ("48,2; 16,3", 48.2, 16.3),
    ("48,2, 16,3", 48.2, 16.3),
    ("(48.2 16.3)", 48.2, 16.3),
    ("N48.2 E16.3", 48.2, 16.3),
    ("16.3 W, 48.2 S", -48.2, -16.3),
    ("48°12'N 16°18'E", 48.2, 16.3),
    ("POINT (16.3 48.2)", 48.2, 16.3),
    ("SRID=4326;POINT Z (16.3 48.2 171)", 48.2, 16.3),
]


@pytest.mark.parametrize(("text", "lat", "lon"), PAIRS)
def test_two_coordinates_in_one_cell(text: str, lat: float, lon: float) -> None:
    found = read_pair(text)
    assert found is not None
    assert read_angle(found[0], "latitude").value == pytest.approx(lat, abs=1e-12)
    assert read_angle(found[1], "longitude").value == pytest.approx(lon, abs=1e-12)


@pytest.mark.parametrize(
    "text", ["48,2083", "48.2", "12, 200", "by the gate", "plot 3", "", "1 2 3"]
)
def test_what_holds_no_two_coordinates_is_left_alone(text: str) -> None:
    assert read_pair(text) is None


@given(st.text(max_size=20))
def test_any_text_is_a_pair_or_is_none(text: str) -> None:
    found = read_pair(text)
    assert found is None or len(found) == 2


def read(folder: Path, text: str) -> Records:
    (folder / "trees.csv").write_text(text, encoding="utf-8")
    return load_records([folder / "trees.csv"])


def test_a_column_of_pairs_becomes_latitude_and_longitude(tmp_path: Path) -> None:
    records = read(tmp_path, 'tree,Location\na,"48.2, 16.3"\nb,by the gate\nc,"48.3, 16.4"\n')
    assert records.values["lat"].tolist()[::2] == [48.2, 48.3]
    assert records.values["lon"].tolist()[::2] == [16.3, 16.4]
    found = records.problems[["record", "column", "value", "rule"]].to_numpy().tolist()
    assert found == [
        [-1, "lat", "Location", "read_beside_others"],
        [1, "lat", "by the gate", "not_a_number"],
    ]


def test_a_column_of_words_stays_what_it_is(tmp_path: Path) -> None:
    records = read(tmp_path, "tree,Location\na,by the gate\nb,at the pond\n")
    assert records.cells["Location"].tolist() == ["by the gate", "at the pond"]
    assert "lon" not in records.cells


def test_both_coordinates_may_stand_in_the_column_lat(tmp_path: Path) -> None:
    records = read(tmp_path, 'tree,lat\na,"48.2, 16.3"\n')
    assert records.values[["lat", "lon"]].to_numpy().tolist() == [[48.2, 16.3]]


# Quarters as two teaching pages print them: S28°41'E is 151°19', N06°35'E is 6°35' (a textbook's
# answers); S 45 W is 225 (Penn State, forest technology).
BEARINGS = [
    ("S28°41'E", 151 + 19 / 60),
    ("N06°35'E", 6 + 35 / 60),
    ("S 45 W", 225),
    ("N30W", 330),
    ("135", 135),
    ("135°30'", 135.5),
    ("NE", 45),
    ("south-east", 135),
    ("N.N.W.", 337.5),
    ("north", 0),
]


@pytest.mark.parametrize(("text", "degrees"), BEARINGS)
def test_a_bearing(text: str, degrees: float) -> None:
    reading = read_bearing(text, "bearing")
    assert reading.rule == ""
    assert reading.value == pytest.approx(degrees, abs=1e-9)


@pytest.mark.parametrize("text", ["N95E", "n45", "uphill", "100 %", "135 140"])
def test_what_is_no_bearing_says_so(text: str) -> None:
    reading = read_bearing(text, "bearing")
    assert reading.value != reading.value
    assert reading.reason
