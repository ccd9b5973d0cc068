"""What headings mean, and that the table of headings is whole."""

from pathlib import Path

import pytest

from mapper.errors import InputError
from mapper.load import load_records
from mapper.load.columns import heading_key, known_columns, units_of
from mapper.load.headings import read_heading
from mapper.reference import rows

# The contract's headings, kept here a second time so that none is lost from the table.
CONTRACT = """
    tree stand plot stratum species identified_by id_confidence date visit observer
    observer_consent status planted setting tally note photo photo_consent photo_credit privacy
    lat lon x y crs position_accuracy position_method from_point bearing bearing_from distance
    distance_kind slope distance_to from_point_2 distance_2 side edge_double
    girth girth_method diameter diameter_2 measured_at measured_how stem_N snow_depth rings
    ring_height ring_years_missing
    height height_method instrument baseline baseline_kind baseline_method pace_length angle_top
    angle_base angle_unit slant_top slant_base eye_height mark_height angle_mark angle_top_2
    station_gap stick_length arm_length tree_shadow stick_shadow lean_offset length
    needles_per_bundle leaf
"""

MEANT = [
    ("girth_cm", "girth", "cm"),
    ("Girth (in)", "girth", "in"),
    ("Height [m]", "height", "m"),
    ("dbh cm", "diameter", "cm"),
    ("DBH(cm)", "diameter", "cm"),
    ("DBH - cm.", "diameter", "cm"),
    ("height in feet", "height", "ft"),
    ("height in", "height", "in"),
    ("diameter at breast height in inches", "diameter", "in"),
    ("Girth (at breast height)", "girth", ""),
    ("Girth (at 1.3 m)", "girth", ""),
    ("girthCm", "girth", "cm"),
    ("Girth ″", "girth", "in"),
    ("  HEIGHT\u00a0(m)\u200b ", "height", "m"),
    ("Tree #", "tree", ""),
    ("Tree No.", "tree", ""),
    ("tree_id", "tree", ""),
    ("id", "tree", ""),
    ("stem_1", "stem_1", ""),
    ("Stem 2 girth (cm)", "stem_2", "cm"),
    ("stem12", "stem_12", ""),
    ("decimalLatitude", "lat", ""),
    ("Longitude (°)", "lon", "deg"),
    ("lng", "lon", ""),
    ("x_m", "x", "m"),
    ("Easting", "x", ""),
    ("Date (dd/mm/yyyy)", "date", "d/m/y"),
    ("Planted (year)", "planted", ""),
    ("Species (if known)", "species", ""),
    ("Scientific Name", "species", ""),
    ("Common name", "local_name", ""),
    ("angle top °", "angle_top", "deg"),
]

IN_OTHER_LANGUAGES = [
    ("Perímetro del tronco (cm)", "girth", "cm"),
    ("Altura en metros", "height", "m"),
    ("Nº de árbol", "tree", ""),
    ("Año de plantación", "planted", ""),
    ("ano de plantacion", "planted", ""),
    ("Diámetro (pulgadas)", "diameter", "in"),
    ("Ángulo a la cima (°)", "angle_top", "deg"),
    ("Tronco 2 (cm)", "stem_2", "cm"),
    ("Circonférence à 1,30 m (cm)", "girth", "cm"),
    ("Hauteur en mètres", "height", "m"),
    ("hauteur de l’œil (m)", "eye_height", "m"),
    ("N° arbre", "tree", ""),
    ("Arbre N°", "tree", ""),
    ("Distance à l’arbre [m]", "baseline", "m"),
    ("Circonférence (po)", "girth", "in"),
    ("Umfang in cm", "girth", "cm"),
    ("UMFANG [cm]", "girth", "cm"),
    ("Höhe (m)", "height", "m"),
    ("Höhe (m)", "height", "m"),
    ("Hoehe (m)", "height", "m"),
    ("Baum-Nr.", "tree", ""),
    ("BHD cm", "diameter", "cm"),
    ("Winkel oben (Grad)", "angle_top", "deg"),
    ("Umfang in 1,30 m Höhe (cm)", "girth", "cm"),
    ("Stamm 2 (cm)", "stem_2", "cm"),
]


@pytest.mark.parametrize(("text", "name", "unit"), MEANT + IN_OTHER_LANGUAGES)
def test_heading_is_understood(text: str, name: str, unit: str) -> None:
    heading = read_heading(text)
    assert heading.column is not None
    assert (heading.column.name, heading.unit) == (name, unit)


@pytest.mark.parametrize(
    "text",
    [
        "x_unit",
        "stem_0",
        "trunk",
        "date seen",
        "girth quality",
        "consent",
        "girth_ha",
        "nombre",
        "Breite",
        "Umfang in 1 m Höhe",
        "altitude",
    ],
)
def test_a_heading_that_could_mean_several_things_stays_unknown(text: str) -> None:
    heading = read_heading(text)
    assert heading.column is None
    assert heading.remark is not None
    assert heading.remark.rule == "unknown_column"


@pytest.mark.parametrize(
    ("text", "advice"),
    [
        ("Girht", "Did you mean 'girth'?"),
        ("Girht (cm)", "Did you mean 'girth (cm)'?"),
        ("hieght", "'height'"),
        ("stem_0", "'stem_1'"),
        ("spcies", "'species'"),
        ("Umfnag in cm", "'umfang (cm)'"),
        ("Stammm 2", "'stamm 1'"),
    ],
)
def test_a_misspelt_heading_gets_a_suggestion(text: str, advice: str) -> None:
    remark = read_heading(text).remark
    assert remark is not None
    assert advice in remark.reason


@pytest.mark.parametrize("text", ["altitude", "girth quality", "photos url", "crown width", "age"])
def test_a_heading_of_another_thing_gets_no_suggestion(text: str) -> None:
    remark = read_heading(text).remark
    assert remark is not None
    assert "Did you mean" not in remark.reason


def test_grad_is_a_degree_beside_german_words_only() -> None:
    assert read_heading("Winkel oben (Grad)").unit == "deg"
    assert read_heading("angle top (grad)").column is None
    assert read_heading("angle au sommet (grad)").column is None


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        (
            "Bearing (%)",
            "'%' in the heading 'Bearing (%)' is not understood, so the column is not read",
        ),
        ("bearing %", "Write one of: deg."),
        ("Height (hands)", "Write one of: m, mm, cm"),
        ("Date (roughly)", "Write dd/mm/yyyy, mm/dd/yyyy or yyyy-mm-dd"),
    ],
)
def test_a_unit_that_is_not_known_is_never_taken_for_another(text: str, reason: str) -> None:
    heading = read_heading(text)
    assert heading.column is None
    assert heading.remark is not None
    assert (heading.remark.rule, heading.remark.severity) == ("unknown_unit", "warning")
    assert reason in heading.remark.reason


def test_two_headings_of_one_meaning_are_refused(tmp_path: Path) -> None:
    table = tmp_path / "trees.csv"
    table.write_text("DBH,Diameter (cm),girth\n1,2,3\n")
    with pytest.raises(
        InputError,
        match=r"trees.csv: columns 'DBH' and 'Diameter \(cm\)' both mean 'diameter'. Keep one",
    ):
        load_records([table])


def test_every_contract_heading_is_in_the_table_and_nothing_is_lost() -> None:
    assert set(CONTRACT.split()) <= known_columns().keys()
    # One more than the contract: a common name beside a column of scientific names.
    assert known_columns().keys() - set(CONTRACT.split()) == {"local_name"}


@pytest.mark.parametrize("name", [*CONTRACT.split(), "local_name"])
def test_a_canonical_heading_and_its_value_name_mean_themselves(name: str) -> None:
    column = known_columns()[name]
    for text in (name, column.value_name):
        heading = read_heading(text.replace("N", "7"))
        assert heading.column is not None
        assert heading.column.name == name.replace("N", "7")
        assert heading.unit in ("", column.unit)


ALIASES = [
    (alias, row["name"])
    for row in rows("columns") + rows("headings_languages")
    for alias in (row["name"], *row["aliases"].split("|"))
    if alias
]


def test_no_alias_has_two_meanings() -> None:
    """In no two languages: día without its accent is short for a diameter."""
    meanings: dict[str, set[str]] = {}
    for alias, name in ALIASES:
        meanings.setdefault(heading_key(alias), set()).add(name)
    assert {key: names for key, names in meanings.items() if len(names) > 1} == {}


def test_no_alias_followed_by_a_unit_is_another_alias() -> None:
    """`height in` must not be both an alias and a height in inches."""
    aliases = dict(ALIASES)
    for alias, name in aliases.items():
        for unit in ("cm", "m", "in", "ft"):
            assert aliases.get(f"{alias} {unit}", name) == name


def test_every_heading_has_words_in_every_language() -> None:
    table = [(row["name"], row["language"]) for row in rows("headings_languages")]
    names = known_columns().keys()
    assert len(table) == len(set(table))
    assert set(table) == {(name, language) for name in names for language in ("es", "fr", "de")}


@pytest.mark.parametrize(
    "row", rows("headings_languages"), ids=lambda row: "{name} {language}".format(**row)
)
def test_a_word_of_another_language_means_its_heading(row: dict[str, str]) -> None:
    for alias in row["aliases"].split("|"):
        assert alias.replace("N", "n") == alias.lower()
        spoken = alias.replace("N", "3")
        for text in (spoken, spoken.upper(), spoken.capitalize()):
            column = read_heading(text).column
            assert column is not None, text
            assert column.name == row["name"].replace("N", "3")


@pytest.mark.parametrize("row", rows("columns"), ids=lambda row: row["name"])
def test_a_row_of_the_table_is_whole(row: dict[str, str]) -> None:
    assert row["kind"] in ("text", "choice", "number", "quantity", "date", "flag")
    assert row["private"] in ("yes", "no")
    assert row["label"]
    assert row["meaning"].endswith(".")
    assert row["aliases"].replace("N", "n") == row["aliases"].lower()
    assert bool(row["choices"]) == (row["kind"] == "choice")
    for unit in filter(None, (row["unit"], row["us_unit"])):
        assert unit in units_of(row["quantity"])


def test_free_text_is_private_but_for_the_names_a_page_is_built_of() -> None:
    """A free text may hold anything, a name or an address too."""
    texts = {row["name"]: row["private"] for row in rows("columns") if row["kind"] == "text"}
    public = {name for name, private in texts.items() if private == "no"}
    assert public == {"tree", "stand", "plot", "stratum", "species", "local_name", "visit", "crs"}
    rest = {row["private"] for row in rows("columns") if row["kind"] != "text"}
    assert rest == {"no"}
