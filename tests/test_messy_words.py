"""Tables as four groups handed them in: each value read as meant, or asked about."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from mapper.check import check_records
from mapper.errors import InputError
from mapper.line import run_checks
from mapper.load import Records, load_records
from mapper.load.survey_records import load_survey
from mapper.screen import findings_text
from mapper.survey import read_survey

MESSY = Path(__file__).parent / "messy"

# What a person reads on each sheet: girth and height as written there, in cm and m. None: asked.
MEANT = {
    "klasse_7b.csv": {
        "girth_cm": [157, 80, 230, 81, None, None],
        "height_m": [None, 14.5, None, None, 25, None],
        "baseline_m": [20, None, 24.5, 18, None, None],
        "eye_height_m": [1.55, None, 1.55, 1.6, None, None],
        "date": ["2024-05-03"] * 2 + ["2024-05-17"] * 2 + [None, "2024-05-17"],
        "status": ["alive", "alive", "dead", "", "alive", "stump"],
        "note": ["Rinde rissig", "", "", "Zahl unsicher", "Maßband zu kurz", ""],
    },
    "releve_parc.tsv": {
        "girth_cm": [157, 80, 230, 81],
        "height_m": [None, 14.5, None, 18],
        "height_method": ["", "by eye", "", "reported"],
        "baseline_m": [20, None, 24.5, None],
        "angle_top_deg": [38, None, 41.5, None],
        "date": ["2024-05-03", "2024-05-04", "2024-05-03", "2024-08-01"],
        "status": ["alive", "alive", "dead", "alive"],
        "local_name": ["chêne pédonculé", "bouleau", "hêtre", "épicéa"],
    },
    "inventario_parque.csv": {
        "girth_cm": [157, None, 230, 81],
        "diameter_cm": [None, 25.5, None, None],
        "height_m": [17.2, 14.5, 20, 18],
        "date": ["2024-05-03", "2024-05-13", "2024-05-04", "2024-05-03"],
        "status": ["alive", "alive", "dead", "alive"],
        "photo_consent": ["yes", "no", "", ""],
    },
    "tree_walk.csv": {
        # 62 in, 2 ft 7.5 in, 120 in, 32.25 in; 56 ft, 47 ft 6 in, 59 ft
        "girth_cm": [157.48, 80.01, 304.8, 81.915],
        "height_m": [17.0688, 14.478, None, 17.9832],
        "baseline_m": [20.1168, None, 24.384, None],
        "eye_height_m": [1.6002, None, 1.6002, None],
        "date": ["2024-05-03", "2024-05-13", "2024-05-04", None],
        "status": ["alive", "alive", "dead", "alive"],
    },
}


def messy(name: str) -> Records:
    return load_records([MESSY / name])


@pytest.mark.parametrize("name", MEANT)
def test_every_value_is_read_as_meant_or_not_at_all(name: str) -> None:
    values = messy(name).values
    for column, meant in MEANT[name].items():
        for read, wanted in zip(values[column], meant, strict=True):
            if wanted is None:
                assert read != read
            elif column == "date":
                assert f"{read:%Y-%m-%d}" == wanted
            else:
                assert read == (pytest.approx(wanted) if isinstance(wanted, float) else wanted)


@pytest.mark.parametrize(
    ("name", "asked"),
    [
        (
            "klasse_7b.csv",
            [
                ("girth", "> 300", ""),
                ("girth", "80-82", "81"),
                ("girth", "~80", ""),
                ("height", "ca. 25", ""),
                ("status", "lebent", "alive"),
                ("date", "17.5.24", "2024-05-17"),
            ],
        ),
        ("releve_parc.tsv", [("girth", "80 à 82", "81"), ("girth", "env. 80", "")]),
        (
            "inventario_parque.csv",
            [
                ("date", "45415", "2024-05-03"),
                ("height", "aprox. 20", ""),
                ("photo_consent", "quizás", ""),
            ],
        ),
        (
            "tree_walk.csv",
            [
                ("height", ">60 ft", ""),
                ("height", "about 59 ft", ""),
                ("date", "5/17/24", "2024-05-17"),
            ],
        ),
    ],
)
def test_what_is_asked_about_and_proposed(name: str, asked: list[tuple[str, str, str]]) -> None:
    observations = load_survey(read_survey([MESSY / name]))
    found = check_records(observations)
    cells = found[(found["record"] >= 0) & (found["value"] != "")]
    told = cells[["column", "value", "proposed_value"]].itertuples(index=False, name=None)
    # Whatever else the checks say, each of these is said, and of the readers nothing more.
    assert set(asked) <= set(told)
    problems = messy(name).problems
    single = problems[problems["record"] >= 0]
    assert sorted(zip(single["column"], single["value"], single["proposed"], strict=True)) == (
        sorted(asked)
    )


def test_check_shows_how_every_column_was_understood(
    table: Callable[[str, str], Path],
) -> None:
    text = (MESSY / "tree_walk.csv").read_text("utf-8")
    line = run_checks(read_survey([table(text, "tree_walk.csv")]))
    shown = findings_text(line)
    for told in (
        "Tree # → tree\n",
        "Date (mm/dd/yyyy) → date, month first (as the heading says); '5/3/2024' is 2024-05-03; "
        "3 of 4 cells read\n",
        "Circ. (in) → girth in in; '62' is 157.48 cm\n",
        "Tree height → height, the unit in each cell; '56'' is 17.0688 m; 3 of 4 cells read\n",
        "Hieght (ft) → not known: kept, not published\n",
        "Did you mean 'height (ft)'?",
    ):
        assert told in shown
    assert re.search("day first .one above 12 shows it.", _shown(table, "klasse_7b.csv"))


def _shown(table: Callable[[str, str], Path], name: str) -> str:
    text = (MESSY / name).read_text("cp1252")
    return findings_text(run_checks(read_survey([table(text, name)])))


def loaded(table: Callable[[str], Path], text: str) -> Records:
    return load_records([table(text)])


def test_a_row_of_units_is_read_as_such(table: Callable[[str], Path]) -> None:
    text = "tree,girth,height (m),date,note\n,[in],,(mm/dd/yyyy),\n1,62,17,5/3/2024,1 of 2\n"
    records = loaded(table, text)
    assert records.values["row"].tolist() == [3]
    assert records.values["girth_cm"].tolist() == [pytest.approx(157.48)]
    assert f"{records.values['date'][0]:%Y-%m-%d}" == "2024-05-03"
    (note,) = records.problems.to_dict("records")
    assert (note["rule"], note["severity"]) == ("units_row", "note")
    assert note["reason"].startswith("Row 2 names the units of the columns")
    assert records.columns["unit"].tolist() == ["", "in", "m", "m/d/y", ""]


@pytest.mark.parametrize(
    "first",
    ["1,cm,17,", "1,cm,,", ",cm,17,", ",cm,much,", ",,,", "oak,80,m,"],
)
def test_a_record_is_not_taken_for_units(table: Callable[[str], Path], first: str) -> None:
    records = loaded(table, f"tree,girth,height,note\n{first}\n2,80,15,x\n")
    assert "units_row" not in set(records.problems["rule"])
    assert records.values["tree"].iloc[-1] == "2"


def test_heading_and_row_of_two_units_are_not_read(table: Callable[[str], Path]) -> None:
    records = loaded(table, "tree,girth_cm,height\n,in,m\n1,62,17\n")
    assert records.values["girth_cm"].isna().all()
    assert records.values["height_m"].tolist() == [17]
    (warning,) = records.problems[records.problems["severity"] == "warning"].to_dict("records")
    assert warning["rule"] == "unknown_unit"
    assert "The heading 'girth_cm' and row 2 ('in') name two units" in warning["reason"]


def test_units_and_no_record_below(table: Callable[[str], Path]) -> None:
    with pytest.raises(InputError, match="there is no record below the units in row 2"):
        loaded(table, "tree,girth\n,cm\n")


def test_of_two_names_the_botanical_one_is_the_species(table: Callable[[str], Path]) -> None:
    text = "tree,Baumart,Wissenschaftlicher Name\n1,Stieleiche,Quercus robur\n"
    records = loaded(table, text)
    assert records.values["species"].tolist() == ["Quercus robur"]
    assert records.values["local_name"].tolist() == ["Stieleiche"]
    reason = records.problems["reason"].tolist()
    assert reason == [
        "'Baumart' is read as local_name: 'Wissenschaftlicher Name' holds the botanical names."
    ]
    with pytest.raises(InputError, match="'Baumart' and 'Art' both mean 'species'"):
        loaded(table, "tree,Baumart,Art\n1,Stieleiche,Eiche\n")
    with pytest.raises(InputError, match="'Baumart' and 'Botanischer Name' both mean 'species'"):
        text = "tree,Baumart,Botanischer Name,Deutscher Name\n1,Stieleiche,Quercus robur,Eiche\n"
        loaded(table, text)
