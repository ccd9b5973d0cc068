"""Several files → one table: units, places, problems, and nothing lost."""

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mapper.errors import InputError
from mapper.load import Records, load_records
from mapper.load.columns import known_columns
from mapper.load.records import PROBLEM_COLUMNS, WHOLE_COLUMN


def load(tmp_path: Path, *texts: str, units: str = "metric", crs: str = "EPSG:4326") -> Records:
    files = []
    for number, text in enumerate(texts, start=1):
        files.append(tmp_path / f"trees{number}.csv")
        files[-1].write_text(text, encoding="utf-8")
    return load_records(files, units, crs)


def problems(records: Records, rule: str) -> pd.DataFrame:
    return records.problems[records.problems["rule"] == rule]


def test_a_plot_with_its_own_coordinates_is_placed_by_latitude_and_longitude(
    tmp_path: Path,
) -> None:
    text = (
        "id,longitude,latitude,x_m,y_m,dbh_cm,girth_cm\n"
        "1,-83.998955542,30.759177376,200.0,8.8,32.9,103.358398\n"
        "2,-83.998962853,30.7591882,199.3,10.0,53.5,168.075207\n"
    )
    records = load(tmp_path, text)
    wanted = ["tree", "lon", "lat", "x", "y", "diameter_cm", "girth_cm"]
    assert records.values[wanted].to_numpy().tolist() == [
        ["1", -83.998955542, 30.759177376, 200.0, 8.8, 32.9, 103.358398],
        ["2", -83.998962853, 30.7591882, 199.3, 10.0, 53.5, 168.075207],
    ]
    assert records.columns["name"].tolist() == ["tree", "lon", "lat", "x", "y", "diameter", "girth"]
    (note,) = records.problems.to_dict("records")
    assert (note["record"], note["file"], note["severity"]) == (WHOLE_COLUMN, 1, "note")
    assert note["rule"] == "no_crs"
    assert (
        "x and y of 2 records name no projected coordinate system, so lat and lon were used"
        in (note["reason"])
    )


def test_every_known_column_is_there_and_empty_where_not_handed_in(tmp_path: Path) -> None:
    values = load(tmp_path, "tree,stem_2,stem_1\na,10 cm,20 cm\n").values
    expected = [
        name
        for column in known_columns().values()
        for name in (["stem_1_cm", "stem_2_cm"] if column.name == "stem_N" else [column.value_name])
    ]
    assert values.columns.tolist() == ["file", "row", "sheet", *expected, "place_from"]
    assert values["species"].tolist() == [""]
    assert math.isnan(values["girth_cm"][0])
    assert values["date"].isna().all()
    assert values["date"].dtype.kind == "M"
    assert {values[name].dtype.kind for name in ("girth_cm", "lat", "planted", "x")} == {"f"}


def test_files_are_merged_in_the_order_handed_in(tmp_path: Path) -> None:
    records = load(tmp_path, "tree,girth_cm\na,10\n\nb,20\n", "Tag,Height (m),extra\nc,5,x\n")
    origin = records.values[["file", "row", "tree"]].to_numpy().tolist()
    assert origin == [[1, 2, "a"], [1, 4, "b"], [2, 2, "c"]]
    assert records.values.index.tolist() == records.cells.index.tolist() == [0, 1, 2]
    assert records.cells["height"].tolist() == ["", "", "5"]
    assert records.cells["extra"].tolist() == ["", "", "x"]
    assert [file.name for file in records.files] == ["trees1.csv", "trees2.csv"]


def test_cells_are_kept_as_handed_in(tmp_path: Path) -> None:
    records = load(tmp_path, "tree,girth_cm,Weather\n a ,90 cm ,sunny  day\nb,much,\n")
    assert records.cells.to_numpy().tolist() == [
        [" a ", "90 cm ", "sunny  day"],
        ["b", "much", ""],
    ]
    assert records.values["tree"].tolist() == ["a", "b"]


def test_a_bad_cell_is_a_problem_and_the_record_stays(tmp_path: Path) -> None:
    records = load(tmp_path, "tree,girth_cm\na,90\nb,much\nc,much\nd,12 hands\n")
    assert records.values["girth_cm"].isna().tolist() == [False, True, True, True]
    assert records.problems.columns.tolist() == PROBLEM_COLUMNS
    assert records.problems["record"].dtype == records.values["file"].dtype == np.int64
    found = records.problems[["record", "file", "column", "value", "severity", "rule"]]
    assert found.to_numpy().tolist() == [
        [1, 1, "girth", "much", "error", "not_a_number"],
        [2, 1, "girth", "much", "error", "not_a_number"],
        [3, 1, "girth", "12 hands", "error", "unknown_unit"],
    ]


@pytest.mark.parametrize("word", ["", " ", "NA", "n/a", "-", "–", "none", "NaN", "null"])
def test_words_for_nothing_are_nothing(tmp_path: Path, word: str) -> None:
    text = (
        f"tree,girth_cm,date,status,lat,lon\na,90,2024-05-03,alive,1,2\nNA,{word},{word},{word},,\n"
    )
    records = load(tmp_path, text)
    assert records.problems.empty
    assert records.values["girth_cm"].isna().tolist() == [False, True]
    assert records.values["date"].isna().tolist() == [False, True]
    assert records.values["status"].tolist() == ["alive", ""]
    assert records.values["tree"].tolist() == ["a", "NA"]


@pytest.mark.parametrize("word", ["inf", "-Infinity", "1e400"])
def test_infinity_is_no_size(tmp_path: Path, word: str) -> None:
    records = load(tmp_path, f"tree,girth_cm,tally\na,{word},{word}\n")
    assert records.values[["girth_cm", "tally"]].isna().all(axis=None)
    assert records.problems["severity"].tolist() == ["error", "error"]
    assert records.problems["column"].tolist() == ["girth", "tally"]


# --- units -------------------------------------------------------------------------------------


def test_cell_beats_heading_beats_survey(tmp_path: Path) -> None:
    text = "tree,girth (in),height\na,10,5\nb,10 cm,5 ft\n"
    metric, us = load(tmp_path, text), load(tmp_path, text, units="us")
    assert metric.values["girth_cm"].tolist() == us.values["girth_cm"].tolist() == [25.4, 10.0]
    assert metric.values["height_m"].tolist() == [5.0, 1.524]
    assert us.values["height_m"].tolist() == [1.524, 1.524]
    assert metric.columns[["name", "unit", "unit_from"]].to_numpy().tolist() == [
        ["tree", "", ""],
        ["girth", "in", "heading"],
        ["height", "m", "survey"],
    ]


def test_a_bare_number_without_unit_is_noted_once_a_column(tmp_path: Path) -> None:
    records = load(tmp_path, "tree,girth,angle_top\na,10,30\nb,20,40\n", units="us")
    (note,) = problems(records, "unit_assumed").to_dict("records")
    assert (note["record"], note["column"], note["severity"]) == (WHOLE_COLUMN, "girth", "note")
    assert note["reason"] == (
        "'girth' names no unit, so bare numbers were read with the unit in. "
        "Write the unit in the heading, such as 'girth_in'."
    )


def test_units_in_every_cell_need_no_note(tmp_path: Path) -> None:
    records = load(tmp_path, "tree,girth\na,10 cm\nb,1 m 20\n")
    assert records.problems.empty
    assert records.columns["unit_from"].tolist() == ["", "cell"]


@given(st.decimals(0, 9999, places=3), st.sampled_from(["mm", "cm", "m", "in", "ft"]))
def test_heading_and_cell_give_the_same_length(
    tmp_path_factory: pytest.TempPathFactory, number: object, unit: str
) -> None:
    tmp_path = tmp_path_factory.mktemp("lengths")
    records = load(tmp_path, f"girth_{unit}\n{number}\n", f"girth\n{number} {unit}\n")
    heading, cell = records.values["girth_cm"]
    # Whole columns are multiplied in binary, single cells in decimals: the last bit may differ.
    assert abs(heading - cell) <= np.spacing(max(heading, cell))


def test_a_large_length_is_not_rounded_beyond_what_a_float_holds(tmp_path: Path) -> None:
    records = load(tmp_path, "girth_m\n9152.424\n", "girth\n9152.424 m\n")
    heading, cell = records.values["girth_cm"]
    assert abs(heading - cell) <= np.spacing(cell)


def test_points_among_decimal_commas_are_doubted(tmp_path: Path) -> None:
    records = load(tmp_path, "tree;girth_cm;height_m\na;98,5;1.234\nb;1.234;9.5\n")
    assert records.values["girth_cm"].tolist() == [98.5, 1.234]
    (warning,) = problems(records, "ambiguous_number").to_dict("records")
    assert (warning["record"], warning["value"], warning["severity"]) == (1, "1.234", "warning")
    assert "though the column has decimal commas" in warning["reason"]


# --- words -------------------------------------------------------------------------------------


def test_choices_and_flags(tmp_path: Path) -> None:
    text = "tree,status,height_method,photo_consent\na,DEAD,Two_Angles,Yes\nb,sick,magic,perhaps\n"
    records = load(tmp_path, text)
    wanted = ["status", "height_method", "photo_consent"]
    assert records.values[wanted].to_numpy().tolist() == [
        ["dead", "two angles", "yes"],
        ["", "", ""],
    ]
    found = problems(records, "unknown_choice")
    assert found["column"].tolist() == wanted
    assert found["reason"].tolist()[0] == (
        "'sick' is not one of: alive, dead, fallen, stump. Write one of these."
    )
    assert "'perhaps' is not one of: yes, no." in found["reason"].tolist()[2]


def test_a_common_name_alone_is_the_species(tmp_path: Path) -> None:
    text = "tree,Scientific name,Common name\na,Quercus robur,oak\nb,,beech\n"
    values = load(tmp_path, text, "tree,Common name\nc,ash\n").values
    assert values["species"].tolist() == ["Quercus robur", "beech", "ash"]
    assert values["local_name"].tolist() == ["oak", "beech", "ash"]


def test_an_unknown_column_is_kept_and_noted_once(tmp_path: Path) -> None:
    records = load(tmp_path, "tree,hieght_m,girth_cm\na,5,1\nb,6,2\n")
    assert records.cells["hieght_m"].tolist() == ["5", "6"]
    described = records.columns.loc[records.columns["heading"] == "hieght_m", ["name", "cells"]]
    assert described.to_numpy().tolist() == [["", 2]]
    (note,) = problems(records, "unknown_column").to_dict("records")
    assert (note["record"], note["severity"], note["value"]) == (WHOLE_COLUMN, "note", "hieght_m")
    assert note["reason"].startswith("'hieght_m' is not a heading known here. It is kept")


def test_two_unknown_columns_of_one_name_are_both_kept(tmp_path: Path) -> None:
    records = load(tmp_path, "tree,extra,extra\na,1,2\n")
    assert records.cells.to_numpy().tolist() == [["a", "1", "2"]]
    assert records.cells.columns.is_unique


def test_dates_of_a_column_are_read_together(tmp_path: Path) -> None:
    records = load(tmp_path, "tree,date\na,3/5/2024\nb,25/5/2024\n", "tree,date\nc,3/5/2024\n")
    assert records.values["date"].astype(str).tolist()[:2] == [
        "2024-05-03",
        "2024-05-25",
    ]
    (problem,) = problems(records, "ambiguous_date").to_dict("records")
    assert (problem["record"], problem["file"], problem["value"]) == (2, 2, "3/5/2024")


@pytest.mark.parametrize(
    ("unit", "reading", "degrees"),
    # straight up, level and halfway, by definition of each scale
    [("percent", 100, 45), ("degrees from vertical", 60, 30), ("per 66", -66, -45)],
)
def test_angles_of_other_scales_are_read_in_degrees(
    tmp_path: Path, unit: str, reading: float, degrees: float
) -> None:
    rows = f"a,{reading},,{unit}\nb,30,-5,degrees\nc,30°,,{unit}\nd,100 %,-100%,{unit}\n"
    records = load(tmp_path, "tree,angle_top,angle_base,angle_unit\n" + rows)
    assert records.values["angle_top_deg"].tolist() == pytest.approx([degrees, 30, 30, 45])
    assert records.values["angle_base_deg"].tolist()[1:4:2] == pytest.approx([-5, -45])
    assert records.problems.empty


def test_angles_of_an_unknown_scale_are_not_used(tmp_path: Path) -> None:
    records = load(tmp_path, "tree,angle_top,angle_base,angle_unit\na,45,,grads\nb,30,-5,degrees\n")
    assert records.values["angle_top_deg"].tolist()[1:] == [30]
    assert math.isnan(records.values["angle_top_deg"][0])
    found = problems(records, "unknown_unit")
    assert found[["record", "column", "value"]].to_numpy().tolist() == [[0, "angle_top", "45"]]
    assert "angle_unit says is not known" in found["reason"].tolist()[0]


def test_an_angle_beyond_its_scale(tmp_path: Path) -> None:
    records = load(
        tmp_path, "tree,angle_top,angle_base,angle_unit\na,45,200,degrees from vertical\n"
    )
    (found,) = problems(records, "impossible").to_dict("records")
    assert (found["column"], found["value"], found["severity"]) == ("angle_base", "200", "error")


# --- places ------------------------------------------------------------------------------------

# Where the central meridian of zone 32 (9° E) meets the equator, UTM has x 500 000 and y 0, by
# definition; at 45° N on that meridian y is 0.9996 times the meridian arc, 4 984 944.378 m
# (WGS 84: any geodesy textbook), so 4 982 950.400 m.
ON_THE_MERIDIAN = 4_982_950.400
METRE_IN_DEGREES = 1 / 111_000


@pytest.mark.parametrize("code", ["EPSG:32632", "32632", "epsg:32632"])
def test_x_and_y_with_their_system_win_over_lat_and_lon(tmp_path: Path, code: str) -> None:
    text = (
        f"tree,x,y,crs,lat,lon\na,500000,0,{code},1,2\n"
        f"b,500000,{ON_THE_MERIDIAN},{code},,\nc,,,,1,2\n"
    )
    records = load(tmp_path, text)
    assert records.values["lat"].tolist() == pytest.approx([0, 45, 1], abs=0.01 * METRE_IN_DEGREES)
    assert records.values["lon"].tolist() == pytest.approx([9, 9, 2], abs=0.01 * METRE_IN_DEGREES)
    assert records.problems.empty


def test_the_surveys_system_holds_where_a_record_names_none(tmp_path: Path) -> None:
    text = "tree,x,y,crs\na,500000,0,\nb,500000,0,EPSG:32633\n"
    records = load(tmp_path, text, crs="EPSG:32632")
    assert records.values["lon"].tolist() == pytest.approx([9, 15], abs=1e-9)


def test_a_unit_in_the_heading_of_x_is_converted(tmp_path: Path) -> None:
    feet = ON_THE_MERIDIAN / 0.3048
    text = f"tree,x_ft,y_ft,crs\na,{500_000 / 0.3048},{feet},EPSG:32632\n"
    records = load(tmp_path, text)
    assert records.values["lat"][0] == pytest.approx(45, abs=0.01 * METRE_IN_DEGREES)
    # A system of US survey feet: ft in a heading means those.
    text = "tree,x_ft,y_ft,crs\na,2000000,1000000,EPSG:2229\n"
    plain = load(tmp_path, text.replace("_ft", "")).values
    assert load(tmp_path, text).values["lat"].tolist() == plain["lat"].tolist()


def test_x_and_y_may_be_degrees_where_the_record_says_so(tmp_path: Path) -> None:
    records = load(tmp_path, "tree,x,y,crs\na,7.5,45.5,EPSG:4326\n")
    assert records.values[["lat", "lon"]].to_numpy().tolist() == [[45.5, 7.5]]


def test_latitudes_of_another_datum_are_moved(tmp_path: Path) -> None:
    """NAD27 and WGS 84 differ by some metres to some tens of metres in the United States."""
    records = load(tmp_path, "tree,lat,lon\na,40,-100\n", crs="EPSG:4267")
    north_m = abs(records.values["lat"][0] - 40) * 111_000
    east_m = abs(records.values["lon"][0] + 100) * 85_000
    assert 1 < math.hypot(north_m, east_m) < 100


def test_x_and_y_without_a_system_place_nothing(tmp_path: Path) -> None:
    records = load(tmp_path, "tree,x,y\na,200,8.8\n")
    assert records.values[["lat", "lon"]].isna().all(axis=None)
    (warning,) = problems(records, "no_crs").to_dict("records")
    assert warning["severity"] == "warning"
    assert "so these records have no place. Name the system in a column crs" in warning["reason"]


def test_places_that_cannot_be_used(tmp_path: Path) -> None:
    text = (
        "tree,lat,lon,x,y,crs\n"
        "half,45,,,,\n"
        "unknown,45,7,500000,0,EPSG:999999\n"
        "far,,,1e30,1e30,EPSG:32632\n"
    )
    records = load(tmp_path, text)
    assert records.values["lat"].isna().tolist() == [True, False, True]
    found = records.problems[["record", "column", "value", "severity", "rule"]]
    assert found.to_numpy().tolist() == [
        [WHOLE_COLUMN, "x", "", "note", "no_crs"],
        [0, "lat", "45", "error", "half_a_place"],
        [1, "crs", "EPSG:999999", "error", "unknown_crs"],
        [2, "x", "1e30", "error", "not_in_crs"],
    ]
    assert "lat is given, but no readable lon. Give both" in records.problems["reason"][1]


def test_a_survey_system_that_is_not_known_is_refused(tmp_path: Path) -> None:
    with pytest.raises(
        InputError, match=r"coordinate system 'EPSG:0' is not known. Name the system"
    ):
        load(tmp_path, "tree\na\n", crs="EPSG:0")


# --- size --------------------------------------------------------------------------------------


def test_many_records_are_read_without_a_loop_over_them(tmp_path: Path) -> None:
    """A hundred thousand rows with some odd cells; the same texts are parsed once."""
    count = 100_000
    girths = np.where(np.arange(count) % 10 == 0, "81,5 cm", "90.25")
    table = pd.DataFrame({"tree": range(count), "girth_cm": girths, "lat": 45.5, "lon": 7.5})
    table.to_csv(tmp_path / "many.csv", index=False)
    records = load_records([tmp_path / "many.csv"])
    assert len(records.values) == count
    assert records.values["girth_cm"].sum() == 81.5 * count / 10 + 90.25 * count * 9 / 10
    assert records.problems.empty


def test_an_estimate_has_no_accuracy_of_a_tape(tmp_path: Path) -> None:
    rows = ["1,~80,,15,", "2,80-82,,ca. 15,", "3,~80,tape,15,reported", "4,80,,8-25,", "5,> 80,,,"]
    table = tmp_path / "trees.csv"
    table.write_text("tree,girth_cm,girth_method,height_m,height_method\n" + "\n".join(rows) + "\n")
    records = load_records([table])
    assert records.values["girth_method"].tolist() == ["by eye", "by eye", "tape", "", ""]
    assert records.values["height_method"].tolist() == ["", "by eye", "reported", "", ""]
    assert records.cells["girth_method"].tolist() == ["", "", "tape", "", ""]
    assert records.values["girth_cm"].tolist()[:4] == [80, 81, 80, 80]
    assert records.values[["girth_cm", "height_m"]].isna().sum().tolist() == [1, 2]


def test_a_reading_that_was_meant_otherwise_is_proposed(tmp_path: Path) -> None:
    table = tmp_path / "trees.csv"
    table.write_text("tree,girth_cm,status,date\n1,80-82,deda,3.5.24\n2,80,alive,2024-05-13\n")
    problems = load_records([table]).problems.set_index("column")
    assert problems["proposed"].to_dict() == {"girth": "81", "status": "dead", "date": ""}


def test_feet_and_a_hyphen_are_not_a_range(tmp_path: Path) -> None:
    table = tmp_path / "trees.csv"
    table.write_text("tree,height_ft\n1,5-6\n")
    records = load_records([table])
    assert records.values["height_m"].isna().all()
    assert records.problems["rule"].tolist() == ["not_a_number"]
