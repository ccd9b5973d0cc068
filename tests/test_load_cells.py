"""What single cells say: numbers, lengths, angles, dates, choices."""

import calendar
import datetime
from fractions import Fraction

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils.datetime import CALENDAR_MAC_1904, from_excel, to_excel

from mapper.load.angles import read_angle
from mapper.load.cell_arrays import plain_numbers, tidied
from mapper.load.choices import nearest_choice, read_choice, read_flag, unknown_choice
from mapper.load.columns import known_columns, units_of
from mapper.load.dates import column_order, read_dates
from mapper.load.hedged import read_hedged
from mapper.load.numerals import read_numeral
from mapper.load.quantities import read_length, read_number
from mapper.load.reading import Reading
from mapper.load.text import plain, tidy
from mapper.load.words import word_key
from mapper.reference import rows

LENGTHS_CM = [
    ("81cm", 81.0),
    ("90 cm", 90.0),
    ("2,30 m", 230.0),
    ("2.30 m", 230.0),
    ("2 m 30", 230.0),
    ("2m30", 230.0),
    ("2 m, 30 cm", 230.0),
    ("2 m 05", 205.0),
    ("12 in", 30.48),
    ("12 in.", 30.48),
    ("12½ in", 31.75),
    ("12 1/2 in", 31.75),
    ("1/2 in", 1.27),
    ("7' 6\"", 228.6),
    ("7’ 6”", 228.6),
    ("7′6″", 228.6),
    ("7' 6''", 228.6),
    ("7'-6\"", 228.6),
    ("1.2e2 cm", 120.0),
    ("1,2e2 cm", 120.0),
    ("90 Zoll", 228.6),
    ("90 pulgadas", 228.6),
    ("90 pouces", 228.6),
    ("2,30 mètres", 230.0),
    ("6 Fuß", 182.88),
    ("7'6", 228.6),
    ("7 ft. 6 in.", 228.6),
    ("7 feet 6 inches", 228.6),
    ("5' 6 1/2\"", 168.91),
    ('90"', 228.6),
    ("1\u202f234 mm", 123.4),
    ("1\u00a0234,5 mm", 123.45),
    ("3\u200b \u2009m", 300.0),
    ("3 M", 300.0),
    ("１２ cm", 12.0),
    ("−2 m", -200.0),
]


@pytest.mark.parametrize(("text", "expected"), LENGTHS_CM)
def test_a_length_with_its_unit(text: str, expected: float) -> None:
    reading = read_length(text, units_of("length"), "cm")
    assert (reading.value, reading.bare, reading.rule) == (expected, False, "")


BARE = [
    ("1.2E2", 120.0),
    ("12e-1", 1.2),
    ("98,5", 98.5),
    ("−5", -5.0),
    ("12 1/2", 12.5),
    ("1.234,5", 1234.5),
    ("1,234.5", 1234.5),
    ("1 234,5", 1234.5),
    ("1,234,567", 1234567.0),
    ("0,234", 0.234),
    ("1234,567", 1234.567),
    (",5", 0.5),
]


@pytest.mark.parametrize(("text", "expected"), BARE)
def test_a_number_without_unit_is_given_back_bare(text: str, expected: float) -> None:
    reading = read_length(text, units_of("length"), "cm")
    assert (reading.value, reading.bare, reading.rule) == (expected, True, "")


REFUSED = [
    ("abc", "not_a_number", "'abc' is not a length. Write one number with its unit"),
    ("80-85", "not_a_number", "'80-85' is not a length"),
    ("~80", "not_a_number", "'~80' is not a length"),
    ("12.5.3", "not_a_number", "is not a length"),
    ("12,34,56", "not_a_number", "is not a length"),
    ("inf", "not_a_number", "is not a length"),
    ("6' 12\"", "not_a_number", "is not a length"),
    ("2 m 300", "not_a_number", "is not a length"),
    ("1 m 1/2", "not_a_number", "is not a length"),
    ("5 m 5 m", "not_a_number", "is not a length"),
    ("1'234", "not_a_number", "is not a length"),
    ("12 hands", "unknown_unit", "'hands' in '12 hands' is not a unit known here. Use one of: m,"),
    ("80?", "unknown_unit", "'?' in '80?' is not a unit"),
    ("2 m 3 hands", "unknown_unit", "'hands' in '2 m 3 hands'"),
]


@pytest.mark.parametrize(("text", "rule", "reason"), REFUSED)
def test_what_is_no_length_says_so(text: str, rule: str, reason: str) -> None:
    reading = read_length(text, units_of("length"), "cm")
    assert reading.value != reading.value
    assert (reading.rule, reading.severity) == (rule, "error")
    assert reason in reading.reason


@pytest.mark.parametrize(
    ("text", "value", "reason"),
    [
        ("1,234", 1.234, "'1,234' was read with a decimal comma"),
        ("1,234 m", 123.4, "If it means thousands"),
        ("2 m 5", 205.0, "Write '05' or '50'"),
    ],
)
def test_a_doubtful_length_is_read_with_a_warning(text: str, value: float, reason: str) -> None:
    reading = read_length(text, units_of("length"), "cm")
    assert (reading.value, reading.rule, reading.severity) == (value, "ambiguous_number", "warning")
    assert reason in reading.reason


def test_a_pure_number_has_no_unit() -> None:
    assert read_number("1 985").value == 1985
    assert read_number("12,5").value == 12.5
    assert "'c. 1985' is not a number. Write digits only" in read_number("c. 1985").reason
    assert read_number("12 m").rule == "not_a_number"


@given(st.integers(0, 10**7), st.integers(0, 4), st.sampled_from([",", "."]), st.booleans())
def test_a_numeral_reads_back(digits: int, decimals: int, sign: str, grouped: bool) -> None:
    exact = Fraction(digits, 10**decimals)
    whole, rest = divmod(digits, 10**decimals)
    text = f"{whole:,}".replace(",", " " if grouped else "")
    text += f"{sign}{rest:0{decimals}d}" if decimals else ""
    numeral = read_numeral(text)
    assert numeral is not None
    assert numeral.value == exact


@given(
    st.decimals(0, 9999, places=2),
    st.sampled_from(["mm", "cm", "m", "in", "ft", "yd"]),
    st.sampled_from(["mm", "cm", "m", "in", "ft"]),
    st.sampled_from(["", " ", "\u00a0", "\u2009"]),
)
def test_a_length_is_the_same_length_in_any_unit(
    number: object, unit: str, wanted: str, space: str
) -> None:
    """NIST Handbook 44 and SI: 1 in = 25.4 mm and so on, stated here apart from units.csv."""
    mm = {"mm": "1", "cm": "10", "m": "1000", "in": "25.4", "ft": "304.8", "yd": "914.4"}
    expected = Fraction(str(number)) * Fraction(mm[unit]) / Fraction(mm[wanted])
    reading = read_length(f"{number}{space}{unit}", units_of("length"), wanted)
    assert reading.value == float(expected)


@given(
    st.integers(0, 40), st.integers(0, 11), st.sampled_from(["{}' {}\"", "{} ft {} in", "{}′{}″"])
)
def test_feet_and_inches_are_twelfths(feet: int, inches: int, form: str) -> None:
    reading = read_length(form.format(feet, inches), units_of("length"), "in")
    assert reading.value == 12 * feet + inches


@given(st.text(max_size=12))
def test_any_text_gives_a_number_or_a_reason(text: str) -> None:
    reading = read_length(text, units_of("length"), "cm")
    assert (reading.value == reading.value) or (reading.rule and reading.reason)


ANGLES = [
    ("38,5°", "angle", 38.5),
    ("38°30'", "angle", 38.5),
    ("38° 30′ 36″", "angle", 38.51),
    ("−5 deg", "angle", -5.0),
    ("38 degrees", "angle", 38.0),
    ("100 %", "angle", 45),
    ("-100%", "angle", -45),
    ("42° 56' 31.2\" N", "latitude", 42.942),
    ("N 42° 56.52'", "latitude", 42.942),
    ("42 56 31.2 N", "latitude", 42.942),
    ("42,942", "latitude", 42.942),
    ("42º56'31.2''", "latitude", 42.942),
    ("38.5°S", "latitude", -38.5),
    ("42.9 south", "latitude", -42.9),
    ("83.99 W", "longitude", -83.99),
    ("W83.99°", "longitude", -83.99),
    ("83.99 e", "longitude", 83.99),
]


@pytest.mark.parametrize(("text", "quantity", "expected"), ANGLES)
def test_an_angle(text: str, quantity: str, expected: float) -> None:
    reading = read_angle(text, quantity)
    assert reading.rule == ""
    assert reading.value == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "quantity", "rule", "reason"),
    [
        ("38 grad", "angle", "unknown_unit", "'grad' in '38 grad'"),
        ("45 12", "angle", "not_a_number", "'45 12' is not an angle. Write it in degrees"),
        ("42° 75'", "latitude", "not_a_number", "is not a latitude"),
        ("83.99 N", "longitude", "not_a_number", "is not a longitude"),
        ("-83.99 W", "longitude", "not_a_number", "is not a longitude"),
        ("30.75, -83.99", "latitude", "not_a_number", "such as 42.9489"),
    ],
)
def test_what_is_no_angle_says_so(text: str, quantity: str, rule: str, reason: str) -> None:
    reading = read_angle(text, quantity)
    assert reading.value != reading.value
    assert reading.rule == rule
    assert reason in reading.reason


def hedged(text: str) -> Reading:
    return read_hedged(text, lambda cell: read_length(cell, units_of("length"), "cm"))


ESTIMATES = [
    ("~80", 80.0), ("≈ 80", 80.0), ("ca. 80 cm", 80.0), ("c80", 80.0), ("about 80", 80.0),
    ("80?", 80.0), ("80 (?)", 80.0), ("80 cm (est.)", 80.0), ("80 est", 80.0),
    ("80 ± 2 cm", 80.0), ("80+/-2", 80.0), ("0.8 m ± 0.02", 80.0), ("~2 m 30", 230.0),
    ("env. 80", 80.0), ("environ 2,30 m", 230.0), ("aprox. 80", 80.0), ("etwa 80", 80.0),
    ("ungefähr 80 cm", 80.0), ("ungefaehr 80 cm", 80.0),
]  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), ESTIMATES)
def test_an_estimate_is_read_with_a_note(text: str, expected: float) -> None:
    reading = hedged(text)
    assert reading.value == expected
    assert (reading.rule, reading.severity) == ("approximate", "note")
    assert f"'{text}' was read as" in reading.reason


RANGES = [
    ("80-82", 81.0, "81"), ("80–82 cm", 81.0, "81 cm"), ("0,80 - 0,82 m", 81.0, "0.81 m"),
    ("80 to 82", 81.0, "81"), ("80 a 82", 81.0, "81"), ("80 à 82", 81.0, "81"),
    ("80 bis 82", 81.0, "81"), ("80 cm - 82", 81.0, "81 cm"), ("80..82", 81.0, "81"),
    ("80 cm - 0.9 m", 85.0, ""), ("7' - 8'", 228.6, "7.5 '"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "middle", "proposed"), RANGES)
def test_a_range_is_read_as_its_middle_with_a_warning(
    text: str, middle: float, proposed: str
) -> None:
    reading = hedged(text)
    assert reading.value == pytest.approx(middle)
    assert (reading.rule, reading.severity) == ("a_range", "warning")
    assert reading.proposed == proposed


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("82-80", "a_range"),
        ("8-82", "a_range"),
        ("80-80", "a_range"),
        ("> 80", "a_bound"),
        ("≥80 cm", "a_bound"),
        ("80+", "a_bound"),
        ("more than 2 m", "a_bound"),
        ("über 80", "a_bound"),
        ("moins de 80", "a_bound"),
        ("80 c", "unknown_unit"),
        ("80-", "unknown_unit"),
        ("80 - 90 - 100", "not_a_number"),
        ("~80-82", "not_a_number"),
        ("~", "not_a_number"),
        ("?", "not_a_number"),
        ("80+75", "not_a_number"),
        ("12-05-2024", "not_a_number"),
    ],
)
def test_a_doubt_that_leaves_no_number_is_refused(text: str, rule: str) -> None:
    reading = hedged(text)
    assert reading.value != reading.value
    assert (reading.rule, reading.severity) == (rule, "error")


def test_what_has_no_doubt_is_read_as_ever() -> None:
    for text in ("80", "-5", "2 m 30", "7' 6\"", "1,234", "abc", "12 hands", ""):
        assert repr(hedged(text)) == repr(read_length(text, units_of("length"), "cm"))


def test_an_estimate_that_is_ambiguous_besides_keeps_that_doubt() -> None:
    assert hedged("~1,234").rule == "ambiguous_number"


@given(st.text(alphabet="0123456789.,-~? >cmab±", max_size=12))
def test_any_doubt_gives_a_number_or_a_reason(text: str) -> None:
    reading = hedged(text)
    assert (reading.value == reading.value) or (reading.rule and reading.reason)


@given(st.integers(1, 999), st.integers(1, 999))
def test_a_middle_lies_between_its_ends(low: int, high: int) -> None:
    reading = hedged(f"{low}-{high} mm")
    if low < high <= 2 * low:
        assert reading.value == pytest.approx((low + high) / 20)
    else:
        assert reading.severity == "error"


MAY_3 = datetime.date(2024, 5, 3)


@pytest.mark.parametrize(
    "text",
    [
        "2024-05-03",
        "2024/5/3",
        "2024-05-03T10:15:00Z",
        "2024-05-03 10:15",
        "20240503",
        "3 May 2024",
        "3rd may 2024",
        "3-May-2024",
        "May 3, 2024",
        "Fri, 3 May 2024",
        "Friday, May 3, 2024",
        "2024 May 3",
        "2024‑05‑03",
        "3 de mayo de 2024",
        "viernes, 3 de mayo del 2024",
        "3 mayo 2024",
        "3 mai 2024",
        "vendredi 3 mai 2024",
        "le 3 mai 2024",
        "3. Mai 2024",
        "Freitag, 3. Mai 2024",
        "03-mai-2024 10:15",
    ],
)
def test_a_date_that_needs_no_context(text: str) -> None:
    assert read_dates([text], "") == [MAY_3]


def test_every_month_has_its_name_in_four_languages() -> None:
    table = [row for row in rows("cell_words") if row["kind"] == "month"]
    assert {(row["meaning"], row["language"]) for row in table} == {
        (str(month), language) for month in range(1, 13) for language in ("en", "es", "fr", "de")
    }
    for row in table:
        for name in row["words"].split("|"):
            day = datetime.date(2024, int(row["meaning"]), 5)
            assert read_dates([f"5 {name} 2024", f"{name.upper()} 5, 2024"], "") == [day, day]
    # Python's own calendar agrees on the English ones.
    for number, name in enumerate(calendar.month_name):
        if name:
            assert read_dates([f"1 {name} 2024"], "") == [datetime.date(2024, number, 1)]


@pytest.mark.parametrize(
    ("text", "month"),
    [("aoû", 8), ("aug", 8), ("ago", 8), ("ene", 1), ("dez", 12), ("déc.", 12), ("dic", 12),
     ("okt", 10), ("mär", 3), ("fév", 2), ("avr", 4), ("abr", 4), ("sept", 9), ("set", 9)],
)  # fmt: skip
def test_months_cut_short(text: str, month: int) -> None:
    assert read_dates([f"5 {text} 2024"], "") == [datetime.date(2024, month, 5)]


def test_a_beginning_of_two_months_is_none() -> None:
    (answer,) = read_dates(["5 jui 2024"], "")  # juin, juillet
    assert answer[0] == "not_a_date"  # type: ignore[index]


def in_column(texts: list[str]) -> list[object]:
    return list(read_dates(texts, column_order(texts)))


def test_one_day_above_twelve_decides_for_the_column() -> None:
    assert in_column(["3/5/2024", "25/5/2024"])[0] == MAY_3
    assert in_column(["5.3.2024", "5.25.2024"])[0] == MAY_3
    assert column_order(["3/5/2024", "25/5/2024"]) == "d/m/y"
    assert column_order(["3/5/2024", "5/25/2024"]) == "m/d/y"
    # 24-05-03 may be of 2024 or of 2003.
    assert column_order(["3/5/2024", "24-05-03"]) == ""


def test_the_heading_decides_where_it_says_the_order() -> None:
    assert read_dates(["3/5/2024"], "d/m/y") == [MAY_3]
    assert read_dates(["5/3/2024"], "m/d/y") == [MAY_3]


def test_a_date_that_could_be_another_is_not_guessed() -> None:
    (answer,) = in_column(["3/5/2024"])
    assert answer[:2] == (  # type: ignore[index]
        "ambiguous_date",
        "'3/5/2024' may be day and month or month and day, and its column does not tell. "
        "Write the order in the heading, as in 'date (dd/mm/yyyy)'. "
        "Or: Write year-month-day, such as 2024-05-03.",
    )
    assert in_column(["5/5/2024"]) == [datetime.date(2024, 5, 5)]


def test_a_column_of_both_orders_decides_only_what_is_certain() -> None:
    both = in_column(["25/3/2024", "3/25/2024", "3/5/2024"])
    assert both[:2] == [datetime.date(2024, 3, 25)] * 2
    assert both[2][0] == "ambiguous_date"  # type: ignore[index]


@pytest.mark.parametrize(
    ("text", "order", "proposed"),
    [
        ("3.5.24", "", ""),
        ("3.5.24", "d/m/y", "2024-05-03"),
        ("5/3/'24", "m/d/y", "2024-05-03"),
        ("3-May-24", "", "2024-05-03"),
    ],
)
def test_a_year_of_two_digits_is_asked_about(text: str, order: str, proposed: str) -> None:
    (answer,) = read_dates([text], order)
    assert isinstance(answer, tuple)
    assert (answer.day, answer.proposed) == (None, proposed)
    assert answer.reason.startswith(f"'{text}' has a year of two digits")


@pytest.mark.parametrize(
    ("text", "day"),
    [
        # 36526 is the first day of 2000 in every spreadsheet (from memory).
        ("36526", datetime.date(2000, 1, 1)),
        ("45292", datetime.date(2024, 1, 1)),
        ("45415.42", MAY_3),
    ],
)
def test_a_day_number_of_a_spreadsheet_is_read_and_told(text: str, day: datetime.date) -> None:
    (answer,) = read_dates([text], "")
    assert isinstance(answer, tuple)
    assert (answer.rule, answer.day, answer.proposed) == ("day_number", day, day.isoformat())


@given(st.dates(datetime.date(1955, 1, 1), datetime.date(2100, 1, 1)))
def test_day_numbers_are_those_of_the_spreadsheet_library(day: datetime.date) -> None:
    (answer,) = read_dates([str(int(to_excel(day)))], "")
    assert isinstance(answer, tuple)
    assert answer.day == day
    early = from_excel(int(to_excel(day)), epoch=CALENDAR_MAC_1904)
    assert f"from 1904 it would be {early:%Y-%m-%d}" in answer.reason


@pytest.mark.parametrize(
    ("text", "rule", "reason"),
    [
        ("3.5.24", "ambiguous_date", "'3.5.24' has a year of two digits"),
        ("2024-02-30", "not_a_date", "'2024-02-30' is not a day of the calendar"),
        ("25/13/2024", "not_a_date", "is not a day of the calendar"),
        ("3 Foo 2024", "not_a_date", "'3 Foo 2024' is not a day of the calendar"),
        ("31 juin 2024", "not_a_date", "is not a day of the calendar"),
        ("big 3 May 2024", "not_a_date", "is not a date"),
        ("spring", "not_a_date", "'spring' is not a date. Write year-month-day"),
        ("May 2024", "not_a_date", "'May 2024' names no day. Write year-month-day"),
        ("2024", "not_a_date", "'2024' names no day"),
        ("12345", "not_a_date", "'12345' is not a date"),
    ],
)
def test_what_is_no_date_says_so(text: str, rule: str, reason: str) -> None:
    (answer,) = read_dates([text], "")
    assert isinstance(answer, tuple)
    assert answer.day is None
    assert answer.rule == rule
    assert reason in answer.reason


@given(st.dates(datetime.date(1900, 1, 1), datetime.date(2100, 1, 1)))
def test_iso_dates_read_back(day: datetime.date) -> None:
    assert read_dates([day.isoformat(), f"{day:%d %B %Y}"], "") == [day, day]


def test_choices_do_not_mind_case_and_spacing() -> None:
    choices = ("one angle", "two angles")
    for text in ("Two Angles", "two_angles", "TWO-ANGLES", "twoangles"):
        assert read_choice(text, choices) == "two angles"
    assert read_choice("three angles", choices) is None
    assert nearest_choice("tow angles", choices) == "two angles"
    assert nearest_choice("sick", ("alive", "dead")) == ""
    assert unknown_choice("tow angles", choices, "two angles").endswith(
        "not one of: one angle, two angles. Did you mean 'two angles'?"
    )
    assert unknown_choice("sick", ("alive", "dead")).endswith("alive, dead. Write one of these.")


@pytest.mark.parametrize(
    ("heading", "word", "choice"),
    [
        ("status", "Snag", "dead"),
        ("status", "lebend", "alive"),
        ("status", "gefaellt", "stump"),
        ("status", "Muerto en pie", "dead"),
        ("status", "tombe", "fallen"),
        ("height_method", "laser", "reported"),
        ("baseline_method", "laser", "ranged"),
        ("height_method", "à l’œil", "by eye"),
        ("girth_method", "Maßband", "tape"),
        ("girth_method", "massband", "tape"),
        ("measured_how", "Hanglage", "slope"),
        ("distance_kind", "schräg", "slope"),
        ("angle_unit", "%", "percent"),
        ("privacy", "nicht veröffentlichen", "withheld"),
        ("leaf", "gegenständig", "opposite"),
    ],
)
def test_words_that_mean_a_choice(heading: str, word: str, choice: str) -> None:
    assert read_choice(word, known_columns()[heading].choices, heading) == choice


def test_a_word_means_one_thing_under_one_heading() -> None:
    for kind in {row["kind"] for row in rows("cell_words")}:
        seen: dict[str, str] = {}
        for row in rows("cell_words"):
            if row["kind"] == kind:
                for word in row["words"].split("|"):
                    assert seen.setdefault(word_key(word), row["meaning"]) == row["meaning"], word


def test_every_kind_of_word_is_a_heading_or_one_that_is_read() -> None:
    columns = known_columns()
    for row in rows("cell_words"):
        if row["kind"] in columns:
            assert row["meaning"] in columns[row["kind"]].choices
            assert word_key(row["meaning"]) not in map(word_key, row["words"].split("|"))
        else:
            assert row["kind"] in {"flag", "number", "month", "weekday"}


def test_flags() -> None:
    yes = ("Yes", "y", "TRUE", "1", "✓", "sí", "Si", "oui", "Ja", "WAHR", "vrai")
    no = ("No", "n", "false", "0", "non", "Nein", "FALSCH", "faux")
    assert [read_flag(word) for word in yes] == ["yes"] * len(yes)
    assert [read_flag(word) for word in no] == ["no"] * len(no)
    # A cross may mean either: consent is not guessed. Neither is it from a letter or a question.
    assert [read_flag(word) for word in ("x", "o", "yes?", "maybe", "")] == [None] * 5


def test_marks_that_look_alike_are_one() -> None:
    assert plain("7’\u00a06”") == "7' 6\""
    assert plain("−3\u2009½") == "-3 1/2"
    assert plain("38º") == "38°"
    assert tidy(" Quercus\u00a0 robur\u200b\n") == "Quercus robur"


@pytest.mark.parametrize("odd", ["a  b", " a", "a ", "a\tb", "a\u00a0b", "\u200ba", "é  b", "a\nb"])
@pytest.mark.parametrize("count", [1, 5000])
def test_a_whole_column_is_tidied_as_its_cells_are(odd: str, count: int) -> None:
    cells = pd.Series([*(f"tree {number}" for number in range(count)), odd], dtype=str)
    assert tidied(cells).tolist() == [tidy(cell) for cell in cells]


@pytest.mark.parametrize(
    "odd", ["", "x", " 7", "1e3", "nan", "inf", "-.5", "+5.", "0x10", "1_0", "٣"]
)
@pytest.mark.parametrize("count", [1, 5000])
def test_a_whole_column_of_numbers_is_read_as_its_cells_are(odd: str, count: int) -> None:
    numbers = [number / 7 for number in range(count)]
    read = plain_numbers(pd.Series([*map(repr, numbers), odd], dtype=str))
    assert read[:count].tolist() == numbers
    alone = {"1e3": 1000.0, "-.5": -0.5, "+5.": 5.0}.get(odd, float("nan"))
    assert read[count] == pytest.approx(alone, abs=0, nan_ok=True)
