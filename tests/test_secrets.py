"""A survey full of planted secrets, and the whole site searched for them: every byte of it."""

import datetime
import json
import re
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from PIL import Image

from mapper.line import survey_results
from mapper.load.contacts import contact_in, without_contacts, without_places_in
from mapper.render import build_site
from mapper.summarise import Results
from mapper.summarise.observers import photo_credits
from mapper.survey import read_survey

Opened = Callable[[Path], dict[str, str]]
PEOPLE = ("Ottilie Hartwood", "Bramwell Quince")
CONTACTS = (
    "ottilie@hartwood.example", "bram (at) quince (dot) example", "+44 7911 123456",
    "(555) 010-4477", "@ottilie_h", "https://hartwood.example/garden", "www.quince.example",
)  # fmt: skip
# Digits that are found nowhere else.
LAT, LON = ("45.312{}7", "-71.438{}3")
CAMERA = "Quincecam 77"
FROM_THE_FAMILYS = {"bearing": 123.45, "distance": 17.35, "from_point": "T0"}
DAYS = [datetime.date(2023, 10, 17), datetime.date(2024, 11, 23), datetime.date(2025, 9, 14)]
SETTINGS = [
    {"positions": "0.001 deg", "dates": "month", "observers": "codes", "findings": "full"},
    {"positions": "0.01 deg", "dates": "year", "observers": "hidden", "findings": "full"},
    {"positions": "hidden", "dates": "month", "observers": "hidden", "findings": "counts"},
]


def secret_survey(folder: Path, **publish: object) -> Path:
    """Secrets in every cell that may hold one; the first tree is a family's own."""
    (folder / "records").mkdir(parents=True)
    rows = [_row(number) for number in range(12)]
    pd.DataFrame(rows).to_csv(folder / "records" / "a.csv", index=False)
    for name in ("home", "garden"):
        _photo(folder / "photos" / f"{name}.jpg")
    corners = [[-71.43831, 45.31231], [-71.43791, 45.31231], [-71.43791, 45.31261]]
    shape = {"type": "Polygon", "coordinates": [[*corners, corners[0]]]}
    feature = {"type": "Feature", "properties": {"stand": "Grove"}, "geometry": shape}
    for name in ("stands", "paths"):
        text = json.dumps({"type": "FeatureCollection", "features": [feature]})
        (folder / f"{name}.geojson").write_text(text, "utf-8")
    lines = [f"{key} = {json.dumps(value)}" for key, value in publish.items()]
    toml = 'title = "T"\n[site]\nboundaries = "stands.geojson"\nbackdrop = ["paths.geojson"]\n'
    (folder / "survey.toml").write_text(toml + "[publish]\n" + "\n".join(lines) + "\n", "utf-8")
    return folder


def _photo(path: Path) -> None:
    """A picture whose file names its maker, its device and a place."""
    path.parent.mkdir(exist_ok=True)
    picture = Image.new("RGB", (640, 480), (40, 90, 50))
    exif = picture.getexif()
    exif[0x013B], exif[0x010F], exif[0x010E] = PEOPLE[0], CAMERA, CONTACTS[0]
    exif.get_ifd(0x8825).update({1: "N", 2: (45.0, 18.0, 44.47), 3: "W", 4: (71.0, 26.0, 17.13)})
    picture.save(path, exif=exif, comment=PEOPLE[1].encode())


def _row(number: int) -> dict[str, object]:
    place = (LAT.format(f"{number:02d}"), LON.format(f"{number:02d}"))
    contact = CONTACTS[number % len(CONTACTS)]
    return {
        "tree": contact if number == 3 else f"T{number}",
        "stand": "Grove" if number % 2 else "www.quince.example",
        "species": "wonder tree, ask ottilie@hartwood.example" if number == 4 else "oak",
        "date": DAYS[number % 3].isoformat(),
        "girth_cm": 100 + 7 * number, "baseline_m": 20, "angle_top": 30 + number, "eye_height": 1.6,
        "lat": place[0], "lon": place[1], "position_accuracy": 4.25,
        **(FROM_THE_FAMILYS if number == 4 else {}),
        "observer": PEOPLE[number % 2], "observer_consent": "no", "identified_by": PEOPLE[1],
        "photo": {0: "home.jpg", 5: "garden.jpg"}.get(number, ""), "photo_consent": "yes",
        "photo_credit": PEOPLE[0],
        "note": f"{PEOPLE[0]} says: {contact}; stands at {place[0]}, {place[1]}",
        "our code": f"{contact} {place[0]} {PEOPLE[1].upper()}",
        "Garden position": f"{place[0]} {place[1]}",
        "privacy": {0: "hidden", 1: "withheld", 2: "0.01 deg"}.get(number, ""),
    }  # fmt: skip


def site_of(folder: Path, opened: Opened) -> dict[str, str]:
    build_site(survey_results(read_survey([folder / "home"])), folder / "site")
    return opened(folder / "site")


def told(site: dict[str, str], secrets: list[str]) -> list[tuple[str, str]]:
    return [
        (secret, name)
        for secret in secrets
        for name, text in site.items()
        if secret.casefold() in (text + name).casefold()
    ]


def days_as_written(day: datetime.date, dates: str) -> list[str]:
    """A day as files and pages write it; in a survey by years a month is one too many as well."""
    days = [f"{day:%Y-%m-%d}", f"{day.day} {day:%B} {day.year}", f"{day.day} {day:%B}"]
    return days if dates == "month" else [*days, f"{day:%Y-%m}", f"{day:%B} {day.year}"]


@pytest.mark.parametrize("settings", SETTINGS, ids=lambda one: str(one["positions"]))
def test_nothing_planted_is_in_any_byte_of_the_site(
    tmp_path: Path, opened: Opened, settings: dict[str, object]
) -> None:
    secret_survey(
        tmp_path / "home", **settings, notes=True, columns=["our code", "Garden position"],
        boundaries="cut",
    )  # fmt: skip
    site = site_of(tmp_path, opened)
    assert "says" in site["data/observations.csv"]
    people = [part for name in PEOPLE for part in (name, *name.split())]
    places = [secret.format(f"{n:02d}")[:-1] for n in range(12) for secret in (LAT, LON)]
    corners = ["71.43831", "45.31231", "71.43791", "45.31261"]
    days = [text for day in DAYS for text in days_as_written(day, str(settings["dates"]))]
    offsets = ["123.45", "17.35"]
    secrets = [
        *people,
        *CONTACTS,
        *places,
        *corners,
        *days,
        *offsets,
        "garden.jpg",
        "home.jpg",
        CAMERA,
    ]
    assert told(site, secrets) == []


def test_the_search_finds_what_is_published(tmp_path: Path, opened: Opened) -> None:
    """The same survey with everything open shows places, offsets and days in every format."""
    secret_survey(tmp_path / "home", positions="exact", notes=True, columns=["Garden position"])
    site = site_of(tmp_path, opened)
    place, day = LAT.format("05")[:-1], DAYS[2].isoformat()
    for secret, files in {
        place: ["data/trees.csv", "data/trees.geojson", "data/survey.gpkg", "data/trees.parquet",
                "data/darwin-core.zip/occurrence.csv", "data/map.js"],
        day: ["data/visits.csv", "data/survey.gpkg", "data/darwin-core.zip/occurrence.csv"],
    }.items():  # fmt: skip
        assert {name for _, name in told(site, [secret])} >= set(files)


def test_one_familys_tree_is_kept_back_in_an_open_survey(tmp_path: Path, opened: Opened) -> None:
    secret_survey(
        tmp_path / "home", positions="exact", notes=True, findings="full",
        columns=["our code", "Garden position"],
    )  # fmt: skip
    site = site_of(tmp_path, opened)
    places = [secret.format(f"{n:02d}")[:-1] for n in range(3) for secret in (LAT, LON)]
    # From a tree with an exact place, tape and compass would lead to the one that is kept back.
    assert told(site, [*places, *CONTACTS, *PEOPLE, "123.45", "17.35", "T1,", '"T1"', CAMERA]) == []
    assert len({name.split("-")[0] for name in site if name.startswith("photos/")}) == 1
    assert "The place of 1 tree is cut to 0.01 degree on purpose" in site["index.html"]
    trees = pd.read_csv(tmp_path / "site/data/trees.csv").set_index("tree")
    assert trees.loc["T0", "information_withheld"].startswith("Place withheld.")
    assert trees.loc["T2", "data_generalizations"].startswith("Coordinates cut to 0.01 degree")
    assert trees.loc["T5", ["data_generalizations", "information_withheld"]].isna().all()


def test_offsets_are_told_where_every_place_is(results_of: Callable[..., Results]) -> None:
    head = "tree,girth_cm,lat,lon,bearing,distance,privacy\n"
    rows = "1,90,45.1,7.1,12.5,3.5,\n2,90,45.1001,7.1001,,,\n"
    told_ = results_of({"records/a.csv": head + rows}).observations
    assert told_["bearing_deg"].tolist()[0] == 12.5
    kept = results_of({"records/a.csv": head + rows.replace(",,,", ",,,hidden")}).observations
    assert kept["bearing_deg"].isna().all()
    assert kept["distance_m"].isna().all()


def test_outlines_are_cut_with_the_places(results_of: Callable[..., Results]) -> None:
    corners = [[7.1234, 45.1234], [7.1299, 45.1234], [7.1299, 45.1299], [7.1234, 45.1299]]
    small = [[7.1234, 45.1234], [7.1236, 45.1234], [7.1236, 45.1236], [7.1234, 45.1234]]
    features = [
        {
            "type": "Feature", "properties": {"stand": name},
            "geometry": {"type": "Polygon", "coordinates": [[*shape, shape[0]]]},
        }
        for name, shape in (("Large", corners), ("Small", small))
    ]  # fmt: skip
    shapes = json.dumps({"type": "FeatureCollection", "features": features})

    def run(positions: str, boundaries: str) -> Results:
        toml = '[records]\nfiles = ["*.csv"]\n[site]\nboundaries = "s.geojson"\n'
        toml += 'backdrop = ["s.geojson"]\n[publish]\n'
        toml += f'positions = "{positions}"\nboundaries = {boundaries}\n'
        files = {"survey.toml": toml, "s.geojson": shapes, "a.csv": "girth_cm,stand\n90,Large\n"}
        return results_of(files)

    cut = run("0.001 deg", '"cut"')
    assert cut.boundaries["stand"].tolist() == ["Large"]  # the small one is no area any more
    ring = cut.boundaries.geometry.iloc[0].exterior.coords
    assert set(ring) == {(7.123, 45.123), (7.129, 45.123), (7.129, 45.129), (7.123, 45.129)}
    assert cut.boundaries.crs.to_epsg() == 4326
    assert cut.backdrop.empty
    assert run("hidden", '"cut"').boundaries.empty
    assert run("exact", "false").boundaries.empty
    assert len(run("exact", "false").backdrop) == 2
    assert len(run("exact", '"cut"').boundaries) == 2
    assert "outlines_tell_places" not in run("exact", "true").findings["rule"].tolist()


def test_outlines_around_hidden_trees_are_a_finding(tmp_path: Path) -> None:
    from mapper.line import run_checks

    for boundaries, wanted in ((True, 1), (False, 1), ("cut", 0)):
        home = tmp_path / str(boundaries)
        secret_survey(home, positions="hidden", boundaries=boundaries)
        rules = run_checks(read_survey([home])).findings["rule"].tolist()
        assert rules.count("outlines_tell_places") == wanted  # the paths tell, if not the outlines


def test_a_school_starts_from_careful_values(tmp_path: Path, opened: Opened) -> None:
    home = secret_survey(tmp_path / "home", notes=False)
    toml = (home / "survey.toml").read_text("utf-8")
    (home / "survey.toml").write_text('audience = "school"\n' + toml, "utf-8")
    publish = read_survey([home]).publish
    assert (publish.positions, publish.dates) == ("0.01 deg", "month")
    assert (publish.boundaries, publish.photos, publish.observers) == ("cut", "none", "hidden")
    places = [secret.format(f"{n:02d}")[:-1] for n in range(12) for secret in (LAT, LON)]
    site = site_of(tmp_path, opened)
    assert told(site, [*places, "71.43831", *PEOPLE]) == []
    assert "The places are cut to 0.01 degree on purpose" in site["index.html"]
    (home / "survey.toml").write_text(
        'audience = "school"\n[publish]\npositions = "exact"\n', "utf-8"
    )
    assert read_survey([home]).publish.positions == "exact"
    assert read_survey([home]).publish.dates == "month"


def test_who_took_a_photo_is_named_as_observers_are() -> None:
    values = pd.DataFrame(
        {
            "observer": ["Ada Quill", "Ben Marsh"], "observer_consent": ["yes", "no"],
            "photo_credit": ["ada@quill.example", "ben marsh"],
        }
    )  # fmt: skip
    assert photo_credits(values).tolist() == ["[e-mail]", ""]


def test_columns_that_speak_of_places_or_people_are_warned_of(tmp_path: Path) -> None:
    from mapper.line import run_checks

    home = tmp_path / "home"
    home.mkdir()
    (home / "a.csv").write_text(
        "tree,girth_cm,GardenLat,Pupil name,bark,spot\n1,90,x,y,z,45.31234 -71.43812\n", "utf-8"
    )
    columns = ["GardenLat", "Pupil name", "bark", "spot"]
    (home / "survey.toml").write_text(
        f'[records]\nfiles = ["*.csv"]\n[publish]\ncolumns = {json.dumps(columns)}\n', "utf-8"
    )
    found = run_checks(read_survey([home])).findings
    found = found[found["rule"] == "named_column"].set_index("column")["message"]
    assert set(found.index) == {"GardenLat", "Pupil name", "spot"}
    assert "places" in found["GardenLat"]
    assert "people" in found["Pupil name"]


def test_contacts_in_a_published_cell_are_a_finding(tmp_path: Path) -> None:
    from mapper.line import run_checks

    home = secret_survey(tmp_path / "home", notes=True, columns=["our code"])
    found = run_checks(read_survey([home])).findings
    found = found[found["rule"] == "contact_in_text"]
    assert found["column"].value_counts().to_dict() == {
        "note": 12, "our code": 12, "stand": 6, "tree": 1, "species": 1,
    }  # fmt: skip
    assert found["message"].str.startswith("Holds ").all()
    quiet = secret_survey(tmp_path / "quiet")
    found = run_checks(read_survey([quiet])).findings
    assert "note" not in found["column"][found["rule"] == "contact_in_text"].tolist()


def test_two_trees_called_by_addresses_stay_two(results_of: Callable[..., Results]) -> None:
    results = results_of(
        {"records/a.csv": "tree,girth_cm\na@b.example,90\nc@d.example,80\na@b.example,91\n"}
    )
    assert results.trees["tree"].tolist() == ["[withheld 1]", "[withheld 2]"]
    assert results.trees["girth_cm"].tolist() == [90.5, 80.0]


@pytest.mark.parametrize(
    ("text", "kind", "clean"),
    [
        ("write to a.b+c@school.example.org", "e-mail", "write to [e-mail]"),
        ("a (at) b (dot) org", "e-mail", "[e-mail]"),
        ("tel +49 151 23456789.", "phone", "tel [phone]."),
        ("(555) 123-4567 or 0664/1234567", "phone", "[phone] or [phone]"),
        ("01 42 68 53 00", "phone", "[phone]"),
        ("by @oak_hugger today", "handle", "by [handle] today"),
        ("see https://x.example/y?z=1", "link", "see [link]"),
        ("photos on faces.example/anna", "link", "photos on [link]"),
        ("girth 157 cm at 1.30 m", "", None),
        ("measured 2026-05-17 and 17.05.2026", "", None),
        ("seen 1998-2005, plot 12/13/14", "", None),
        ("45.312341, -71.438901", "", None),
        ("20 m, 38 deg, 1.6", "", None),
        ("@ 1.3 m", "", None),
        ("Quercus x heterophylla", "", None),
    ],
)
def test_what_is_a_contact(text: str, kind: str, clean: str | None) -> None:
    assert contact_in(text) == kind
    assert without_contacts(text) == (text if clean is None else clean)


@pytest.mark.parametrize(
    "text",
    ["45.3123, -71.4381", "45° 18' 44.4\" N", "400000, 5000000", "///oak.elm.ash", "8FVC9G8F+6X",
     "32TQM 12345 67890", "45,31234"],
)  # fmt: skip
def test_what_tells_a_place(text: str) -> None:
    clean = without_places_in(pd.Series([f"by {text} there", "girth 157.5 cm, 1.30 m"]))
    assert not re.search(r"\d{3}|oak", clean[0].replace("[place]", ""))
    assert "[place]" in clean[0]
    assert clean[1] == "girth 157.5 cm, 1.30 m"
