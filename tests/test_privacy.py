"""Publishing is a white list: secrets planted in every private place never reach the site."""

import json
import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from openpyxl import Workbook
from PIL import ExifTags, Image

from mapper.line import survey_results
from mapper.render import build_site
from mapper.summarise import Results
from mapper.summarise.public_findings import MEANINGS, NEVER
from mapper.survey import read_survey

ROOT = Path(__file__).parents[1]
SECRET = "Zanzibar"
NOTED = "Timbuktu"
Opened = Callable[[Path], dict[str, str]]
FOUR = "".join(f"{n},{100 + n},45.31234{n},7.12345{n},\n" for n in range(1, 5))
FIVE_IN_STAND_A = "".join(f"{n},A,100,45.31234{n},7.12345{n},\n" for n in range(1, 5))


def planted_survey(folder: Path) -> Path:
    """A survey with the secret in every cell and name that must stay at home."""
    (folder / "records").mkdir(parents=True)
    private = {
        "note": f"{SECRET} of {NOTED}", "observer": SECRET, "identified_by": SECRET,
        "photo": f"{SECRET}.jpg", "photo_consent": "yes", "photo_credit": SECRET,
        "instrument": SECRET, "from_point": SECRET, "favourite colour": SECRET,
        SECRET: "1", "position_method": SECRET, "id_confidence": SECRET,
    }  # fmt: skip
    table = pd.DataFrame(
        [
            {"tree": 1, "girth_cm": "157", "lat": 45.1, "lon": 7.1, "status": "alive", **private},
            {"tree": 2, "girth_cm": SECRET, "lat": 45.1, "lon": 7.2, "status": SECRET, **private},
            {"tree": 3, "girth_cm": f"12 {SECRET}", "lat": SECRET, "lon": 7.2, **private},
            {"tree": 4, "girth_cm": "90", "date": SECRET, "height_method": SECRET, **private},
        ]
    )
    table.to_csv(folder / "records" / f"{SECRET}.csv", index=False)
    _photo(folder / "photos" / f"{SECRET}.jpg")
    book = Workbook()
    book.active.title = SECRET
    book.active.append(["tree", "girth_cm", "note"])
    book.active.append([9, 80, SECRET])
    book.properties.creator = SECRET
    book.save(folder / "records" / f"{SECRET}.xlsx")
    shape = {
        "type": "Polygon",
        "coordinates": [[[7, 45], [7.3, 45], [7.3, 45.3], [7, 45.3], [7, 45]]],
    }
    for name in ("stands", "backdrop"):
        properties = {"stand": "A", "kind": "path", "owner": SECRET, "name": SECRET}
        feature = {"type": "Feature", "properties": properties, "geometry": shape}
        collection = {"type": "FeatureCollection", "name": SECRET, "features": [feature]}
        (folder / f"{name}.geojson").write_text(json.dumps(collection), encoding="utf-8")
    (folder / "survey.toml").write_text(
        'title = "T"\n[site]\nboundaries = "stands.geojson"\nbackdrop = ["backdrop.geojson"]\n',
        encoding="utf-8",
    )
    return folder


def _photo(file: Path) -> None:
    """A picture with the secret among what a camera writes beside it."""
    file.parent.mkdir()
    tags = Image.Exif()
    tags[ExifTags.Base.Artist] = SECRET
    Image.new("RGB", (64, 48)).save(file, exif=tags, comment=SECRET.encode())


@pytest.mark.parametrize("findings", ["counts", "full"])
def test_planted_secrets_stay_in_the_survey_folder(
    tmp_path: Path, findings: str, opened: Opened
) -> None:
    folder = planted_survey(tmp_path / f"{SECRET}-home")
    with (folder / "survey.toml").open("a", encoding="utf-8") as file:
        file.write(f'[publish]\nfindings = "{findings}"\n')
    build_site(survey_results(read_survey([folder])), tmp_path / "site")
    published = opened(tmp_path / "site")
    assert "157" in published["data/observations.csv"]
    assert "photos/1-64.jpg" in published
    for word in (SECRET, NOTED):
        assert [name for name, text in published.items() if word.lower() in text.lower()] == []
    assert not [name for name in published if SECRET.lower() in name.lower()]


def test_the_planted_secret_can_be_found(tmp_path: Path, opened: Opened) -> None:
    """The search itself works: a survey that publishes its notes shows them, without a name."""
    folder = planted_survey(tmp_path / "home")
    with (folder / "survey.toml").open("a", encoding="utf-8") as file:
        file.write("[publish]\nnotes = true\n")
    build_site(survey_results(read_survey([folder])), tmp_path / "site")
    published = opened(tmp_path / "site")
    assert f"[name] of {NOTED}" in published["data/observations.csv"]
    assert not [name for name, text in published.items() if SECRET.lower() in text.lower()]


def test_a_column_is_published_when_the_survey_names_it(results_of: Callable[..., Results]) -> None:
    toml = '[records]\nfiles = ["*.csv"]\n[publish]\ncolumns = ["bark"]\n'
    results = results_of({"survey.toml": toml, "a.csv": "girth_cm,bark,secret\n100,rough,x\n"})
    assert results.observations["bark"].tolist() == ["rough"]
    assert "secret" not in results.observations


@pytest.mark.parametrize(
    ("positions", "lat", "lon", "accuracy"),
    [
        ("exact", 45.312341, -7.123451, None),
        ("0.001 deg", 45.312, -7.123, 157),
        ("0.01 deg", 45.31, -7.12, 1570),
        ("hidden", None, None, None),
    ],
)
def test_places_are_cut_everywhere(
    tmp_path: Path, opened: Opened, positions: str, lat: float | None, lon: float | None,
    accuracy: float | None,
) -> None:  # fmt: skip
    folder = tmp_path / "home"
    folder.mkdir()
    toml = f'[records]\nfiles = ["*.csv"]\n[publish]\npositions = "{positions}"\n'
    (folder / "survey.toml").write_text(toml, encoding="utf-8")
    (folder / "a.csv").write_text(
        "tree,girth_cm,lat,lon\n1,100,45.312341,-7.123451\n2,90,45.312999,-7.123999\n", "utf-8"
    )
    results = survey_results(read_survey([folder]))
    tree = results.trees.iloc[0]
    for ours, wanted in ((tree["lat"], lat), (tree["lon"], lon)):
        assert pd.isna(ours) if wanted is None else ours == wanted
    ours = tree["position_accuracy_m"]
    assert pd.isna(ours) if accuracy is None else ours == accuracy
    build_site(results, tmp_path / "site")
    exact = [name for name, text in opened(tmp_path / "site").items() if "45.3123" in text]
    assert bool(exact) == (positions == "exact")


def test_a_cut_place_never_gains_a_digit(results_of: Callable[..., Results]) -> None:
    toml = '[records]\nfiles = ["*.csv"]\n[publish]\npositions = "0.001 deg"\n'
    results = results_of({"survey.toml": toml, "a.csv": "girth_cm,lat,lon\n1,42.950,8.29\n"})
    assert results.trees["lat"].tolist() == [42.95]
    assert results.trees["lon"].tolist() == [8.29]


def test_the_most_careful_record_of_a_tree_wins(results_of: Callable[..., Results]) -> None:
    rows = (
        "1,2025-01-01,100,45.1,7.1,hidden\n1,2026-01-01,101,45.1,7.1,\n2,2026-01-01,99,45.1,7.1,\n"
    )
    results = results_of(
        {
            "survey.toml": '[records]\nfiles = ["*.csv"]\n',
            "a.csv": "tree,date,girth_cm,lat,lon,privacy\n" + rows,
        }
    )
    assert results.trees["lat"].isna().tolist() == [True, False]
    assert results.observations.set_index("tree")["lat"].isna().tolist() == [True, True, False]


def test_a_withheld_tree_counts_only_in_totals_of_five(results_of: Callable[..., Results]) -> None:
    head = "tree,stand,girth_cm,lat,lon,privacy\n"
    rows = [f"{n},A,100,45.1,7.1,\n" for n in range(1, 5)] + ["5,A,300,45.1,7.1,withheld\n"]
    small = ["6,B,100,45.1,7.1,\n", "7,B,300,45.1,7.1,withheld\n"]
    results = results_of(
        {
            "survey.toml": '[records]\nfiles = ["*.csv"]\n',
            "a.csv": head + "".join(rows + small),
        }
    )
    assert results.trees["tree"].tolist() == ["1", "2", "3", "4", "6"]
    assert set(results.observations["tree"]) == {"1", "2", "3", "4", "6"}
    assert set(results.workings) == {"1", "2", "3", "4", "6"}
    counts = results.stands.set_index("stand")["trees"]
    assert counts.to_dict() == {"A": 5, "B": 1}


def test_a_privacy_that_cannot_be_read_withholds(results_of: Callable[..., Results]) -> None:
    results = results_of(
        {
            "survey.toml": '[records]\nfiles = ["*.csv"]\n',
            "a.csv": "tree,girth_cm,lat,lon,privacy\n1,90,45.1,7.1,dont show\n2,90,45.1,7.1,\n",
        }
    )
    assert results.trees["tree"].tolist() == ["2"]


def test_findings_about_withheld_trees_are_not_published(
    results_of: Callable[..., Results],
) -> None:
    toml = '[records]\nfiles = ["*.csv"]\n[publish]\nfindings = "full"\n'
    results = results_of(
        {"survey.toml": toml, "a.csv": "tree,girth_cm,privacy\nT7,-4,withheld\nT8,-4,\n"}
    )
    assert results.findings["tree"].tolist() == ["T8"]


def test_dates_are_shortened(results_of: Callable[..., Results]) -> None:
    toml = '[records]\nfiles = ["*.csv"]\n[publish]\ndates = "month"\n'
    results = results_of({"survey.toml": toml, "a.csv": "date,girth_cm\n2026-05-17,100\n"})
    for table in (results.trees, results.visits, results.observations):
        assert table["date"].tolist() == ["2026-05"]


def test_offsets_go_with_the_place(results_of: Callable[..., Results]) -> None:
    head = "tree,girth_cm,x,y,crs,privacy\n"
    rows = "1,100,400000,5000000,EPSG:32632,hidden\n2,100,400000,5000000,EPSG:32632,\n"
    results = results_of({"survey.toml": '[records]\nfiles = ["*.csv"]\n', "a.csv": head + rows})
    table = results.observations.set_index("tree")
    assert table["x"].isna().tolist() == [True, False]
    assert table["crs"].tolist() == ["", "EPSG:32632"]


def test_the_wheel_of_the_demo_has_no_private_cell(tmp_path: Path, opened: Opened) -> None:
    """The demo's own notes and team names do not reach its site."""
    demo = ROOT / "demo"
    build_site(survey_results(read_survey([demo])), tmp_path / "site")
    words = " ".join(opened(tmp_path / "site").values())
    assert "Team Wren" in (demo / "records" / "grove.csv").read_text("utf-8")
    assert "Team Wren" not in words
    assert "grove.csv" not in words
    assert zipfile.is_zipfile(demo / "records" / "campus.xlsx")


def test_every_rule_has_public_words() -> None:
    """A rule without words of its own would leave the reader with nothing to go by."""
    rules = set()
    for stage in ("load", "check"):
        for path in (ROOT / "mapper" / stage).rglob("*.py"):
            source = path.read_text("utf-8")
            rules |= set(re.findall(r"(?:Rule|Remark)\(\s*\"([a-z_]+)\"", source))
    assert {"impossible", "missing", "duplicate_id", "unknown_column"} <= rules
    assert rules - set(MEANINGS) - set(NEVER) == set()


def test_withheld_trees_are_in_no_mixed_or_dead_total(results_of: Callable[..., Results]) -> None:
    head = "tree,stand,species,girth_cm,height_m,status,privacy\n"
    rows = "s,A,Quercus robur,700,60.5,,withheld\nd,A,Quercus robur,90,,dead,withheld\n"
    rows += "".join(f"g{n},A,Acer rubrum,100,,,\n" for n in range(4))
    rows += "".join(f"h{n},A,Acer rubrum,,10,,\n" for n in range(4))
    results = results_of({"survey.toml": '[records]\nfiles = ["*.csv"]\n', "a.csv": head + rows})
    (stand,) = results.stands.to_dict("records")
    assert np.isnan(stand["lorey_height_m"])
    assert (stand["trees"], stand["dead_trees"], stand["species_count"]) == (8, 0, 1)
    assert results.withheld == 2


def test_a_stand_found_from_a_kept_place_is_kept(tmp_path: Path) -> None:
    folder = planted_survey(tmp_path / "home")
    rows = "1,45.1,7.1,hidden,\n2,45.1,7.1,,\n3,45.1,7.1,hidden,B\n4,46,7.1,hidden,\n"
    (folder / "records" / "p.csv").write_text(
        "girth_cm,lat,lon,privacy,stand\n" + rows.replace("1,45", "100,45"), encoding="utf-8"
    )
    toml = '[records]\nfiles = ["records/p.csv"]\n[site]\nboundaries = "stands.geojson"\n'
    (folder / "survey.toml").write_text(toml + '[publish]\nfindings = "full"\n', "utf-8")
    results = survey_results(read_survey([folder]))
    placed = results.trees["lat"].notna()
    assert results.trees["stand"][placed].tolist() == ["A"]
    assert sorted(results.trees["stand"][~placed]) == ["", "", "B"]
    assert not set(results.findings["rule"]) & {"outside_every_stand", "near_an_edge"}


@pytest.mark.parametrize("name", ["file", "row", "symbol"])
def test_own_columns_named_as_published_ones(results_of: Callable[..., Results], name: str) -> None:
    toml = f'[records]\nfiles = ["*.csv"]\n[publish]\ncolumns = ["{name}"]\n'
    results = results_of({"survey.toml": toml, "a.csv": f"tree,girth_cm,{name}\n1,90,x\n"})
    assert "x" in results.observations.iloc[0].tolist()
