"""Reference tables: units held against relations from elsewhere, every row against its source."""

import csv
import math
from fractions import Fraction

import pytest

from mapper import reference
from mapper.errors import TableError
from mapper.metrics import height_from_angles_sd
from mapper.reference import FOLDER, NO_SOURCE, read_rows, rows, sources

TABLES = sorted(path.stem for path in FOLDER.glob("*.csv"))

# many of one unit are so many of another; the relations are not those the factors were read from
RELATIONS = [
    (12, "in", 1, "ft"),
    (3, "ft", 1, "yd"),
    (Fraction(11, 2), "yd", 1, "rod"),
    (4, "rod", 1, "chain"),
    (66, "ft", 1, "chain"),
    (10, "chain", 1, "furlong"),
    (8, "furlong", 1, "mile"),
    (5280, "ft", 1, "mile"),
    (10, "mm", 1, "cm"),
    (10, "cm", 1, "dm"),
    (10, "dm", 1, "m"),
    (1000, "m", 1, "km"),
    (127, "cm", 50, "in"),
    (100, "m2", 1, "are"),
    (100, "are", 1, "ha"),
    (100, "ha", 1, "km2"),
    (43560, "ft2", 1, "acre"),
]


def factor(unit: str) -> Fraction:
    """Exact factor as written in the table."""
    return Fraction(next(row["factor"] for row in rows("units") if row["unit"] == unit))


@pytest.mark.parametrize(("many", "unit", "some", "other"), RELATIONS)
def test_units_stand_in_the_right_relation(many, unit, some, other):
    assert many * factor(unit) == some * factor(other)


def test_areas_stand_in_the_right_relation_to_lengths():
    square_metre = factor("m2")

    assert factor("acre") == 10 * factor("chain") ** 2 * square_metre
    assert 640 * factor("acre") == factor("mile") ** 2 * square_metre
    assert factor("ft2") == factor("ft") ** 2 * square_metre
    assert factor("ha") == 100**2 * square_metre


def test_a_basal_area_factor_is_an_area_over_an_area():
    exact = factor("ft2") / factor("acre") / factor("m2")

    assert factor("m2/ha") == 1
    assert float(factor("ft2/acre")) == pytest.approx(float(exact), rel=1e-13)


def test_a_marathon_a_tall_person_and_a_football_field_come_out_right():
    # Known by heart outside surveying: 26 miles 385 yards is 42.195 km; 6 ft is about 1.83 m;
    # 100 yards by 160 feet is 1.102 acres.
    assert float(26 * factor("mile") + 385 * factor("yd")) == pytest.approx(42195, abs=0.5)
    assert float(6 * factor("ft")) == pytest.approx(1.83, abs=0.005)
    field = 100 * factor("yd") * 160 * factor("ft") * factor("m2")
    assert float(field / factor("acre")) == pytest.approx(1.102, abs=0.0005)


def test_units_cover_the_units_the_relations_speak_of_and_no_other():
    tested = {unit for relation in RELATIONS for unit in (relation[1], relation[3])}

    # No length of its own: scales of instruments, and the pace of whoever walked.
    scales = {"deg", "percent", "per 66", "degrees from vertical", "pace", "m2/ha", "ft2/acre"}
    assert {row["unit"] for row in rows("units")} == tested | scales


def test_each_quantity_has_the_unit_it_is_brought_to():
    for row in rows("units"):
        base = next(other for other in rows("units") if other["unit"] == row["to_unit"])
        assert base["quantity"] == row["quantity"]
        assert float(base["factor"]) == 1


def test_a_word_for_a_unit_means_one_unit_of_its_quantity():
    words = [
        (row["quantity"], word)
        for row in rows("units")
        for word in [row["unit"], *row["aliases"].split("|")]
    ]

    assert len(words) == len(set(words))
    assert all(word == word.strip().lower() for _, word in words)


@pytest.mark.parametrize("name", TABLES)
def test_every_table_can_be_read_and_every_row_has_a_known_source(name):
    table = rows(name)

    assert table
    for row in table:
        assert row.get("source", NO_SOURCE) in {NO_SOURCE, *sources()}


def test_every_source_says_how_it_was_read():
    for key, source in sources().items():
        assert source.key == key
        assert len(source.citation) > 20
        assert source.link == "" or source.link.startswith("http")
        assert source.read_on in {"excerpt", "from memory"} or source.read_on.endswith(" in full")


# Everything that somebody reads off a tool. A height by eye is not here: nobody has published how
# far off those are.
MEASURED = {
    "offset", "bearing",
    "girth", "diameter", "snow_depth", "angle", "baseline", "eye_height", "slant", "station_gap",
    "mark_height", "stick_length", "arm_length", "tree_shadow", "stick_shadow", "lean_offset",
    "length", "height",
}  # fmt: skip


def test_uncertainties_are_complete():
    table = rows("uncertainties")
    units = {row["unit"] for row in rows("units")} | {"ratio"}

    assert len({(row["input"], row["method"]) for row in table}) == len(table)
    assert {row["input"] for row in table} == MEASURED
    for row in table:
        assert float(row["sd"]) > 0
        assert row["unit"] in units
        assert (row["kind"], row["unit"] == "ratio") in {("absolute", False), ("relative", True)}
        assert row["shared"] in {"yes", "no"}
        assert row["note"].endswith(".")


def uncertainty(quantity: str, method: str) -> float:
    chosen = [r for r in rows("uncertainties") if (r["input"], r["method"]) == (quantity, method)]
    return float(chosen[0]["sd"])


def test_uncertainties_follow_from_the_figures_their_notes_give():
    # The mean difference of two readings is 2 / sqrt(pi) = 1.128 sd; limits are sqrt(3) sd.
    one_diameter_cm = 0.23 / (2 / 3.14159**0.5)

    assert uncertainty("diameter", "tape") == pytest.approx(one_diameter_cm, abs=0.005)
    assert uncertainty("girth", "tape") == pytest.approx(3.14159 * one_diameter_cm, abs=0.005)
    assert uncertainty("diameter", "calipers") == 0.3
    for tool in ("tape", "diameter tape", "string", "calipers"):
        in_girth = 3.14159 * uncertainty("diameter", tool)
        assert uncertainty("girth", tool) == pytest.approx(in_girth, abs=0.02)
    assert uncertainty("angle", "protractor") == pytest.approx(2 / 3**0.5, abs=0.05)
    assert uncertainty("baseline", "taped") == pytest.approx(0.2 / 3**0.5, abs=0.005)
    assert uncertainty("baseline", "paced") == 1 / 50
    assert uncertainty("slant", "ranged") == pytest.approx(0.9144 / 3**0.5, abs=0.005)
    assert uncertainty("slant", "taped") == uncertainty("baseline", "taped")
    assert uncertainty("station_gap", "taped") == uncertainty("baseline", "taped")
    assert uncertainty("station_gap", "paced") == uncertainty("baseline", "paced")
    assert uncertainty("station_gap", "ranged") == uncertainty("slant", "ranged")


def test_the_end_of_a_shadow_is_as_blurred_as_the_sun_is_wide():
    # The sun is 0.53 degrees across; at 45 degrees the end of a shadow is spread over that.
    def blur(height_m: float) -> float:
        low, high = math.radians(45 - 0.265), math.radians(45 + 0.265)
        return height_m / math.tan(low) - height_m / math.tan(high)

    assert blur(20) == pytest.approx(0.37, abs=0.005)
    assert blur(20) / 2 < uncertainty("tree_shadow", "") < blur(20)
    assert blur(1) / 2 == pytest.approx(uncertainty("stick_shadow", ""), abs=0.002)


def test_an_unknown_instrument_counts_as_the_poorest():
    angles = {r["method"]: float(r["sd"]) for r in rows("uncertainties") if r["input"] == "angle"}

    assert angles[""] == max(angles.values())


def test_a_clinometer_of_the_table_gives_the_published_spread_of_heights():
    # LUOMA2017: 0.5 m, which is 2.9 %, so 17.2 m; one tree height away, eye at 1.6 m.
    top, base = 42.2, -5.3  # atan(15.6 / 17.2), atan(-1.6 / 17.2)

    sd = height_from_angles_sd(17.2, top, base, 0, uncertainty("angle", "clinometer"))

    assert sd == pytest.approx(0.5, abs=0.01)


def test_size_classes_follow_one_another_without_a_gap():
    by_scheme: dict[tuple[str, str], list[dict[str, str]]] = {}
    for row in rows("size_classes"):
        by_scheme.setdefault((row["scheme"], row["group"]), []).append(row)

    for classes in by_scheme.values():
        lowers = [float(row["lower_cm"]) for row in classes]
        uppers = [row["upper_cm"] for row in classes]
        assert lowers == sorted(set(lowers))
        assert [float(upper) for upper in uppers[:-1]] == lowers[1:]
        assert uppers[-1] == ""


def test_size_classes_are_those_of_the_published_table():
    # SCHNABEL2017, table 2: 5-9.9, 10-24.9, 25-49.9, 50-99.9, 100+ cm.
    scheme = [row for row in rows("size_classes") if row["scheme"] == "schnabel2017"]
    names = {row["name"]: row["lower_cm"] for row in scheme}

    assert names == {
        "very small": "5",
        "small": "10",
        "intermediate": "25",
        "large": "50",
        "very large": "100",
    }


def table_with(tmp_path, *lines):
    path = tmp_path / "limits.csv"
    path.write_text("\n".join(["column,upper,source", *lines]) + "\n", encoding="utf-8")
    return path


def test_an_unknown_source_is_refused(tmp_path):
    path = table_with(tmp_path, "girth,4500,GUM2008", "height,130,NOBODY1999")

    with pytest.raises(TableError) as error:
        read_rows(path)

    assert str(error.value) == (
        "limits.csv line 3: source 'NOBODY1999' is not a key in sources.csv. Add it there first."
    )


def test_a_row_without_a_source_is_refused(tmp_path):
    with pytest.raises(TableError, match=r"limits\.csv line 2: source '' is not a key"):
        read_rows(table_with(tmp_path, "girth,4500,"))


def test_common_practice_is_a_source_when_it_says_so(tmp_path):
    path = table_with(tmp_path, 'girth,4500,"common practice, no source"')

    assert read_rows(path) == ({"column": "girth", "upper": "4500", "source": NO_SOURCE},)


@pytest.mark.parametrize("line", ["girth,4500,common practice, no source", "girth,4500"])
def test_a_row_of_another_length_is_refused(tmp_path, line):
    with pytest.raises(TableError, match=r"limits\.csv line 2: \d cells where the heading has 3"):
        read_rows(table_with(tmp_path, line))


def test_an_unknown_table_is_refused():
    with pytest.raises(TableError, match=r"no reference table 'unit'\. Known tables: .*units"):
        rows("unit")


def test_a_source_that_stands_twice_is_refused(tmp_path, monkeypatch):
    with (tmp_path / "sources.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(
            [["key", "citation", "link", "read_on"], ["A1", "x", "", ""], ["A1", "y", "", ""]]
        )
    monkeypatch.setattr(reference, "FOLDER", tmp_path)

    with pytest.raises(TableError, match=r"sources\.csv line 3: key 'A1' stands twice\. Keep one"):
        sources.__wrapped__()
