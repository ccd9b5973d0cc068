"""Which photo is shown with which tree, and what keeps one back."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from mapper.errors import InputError
from mapper.line import run_checks, survey_results
from mapper.load.photo_names import names_in, tree_in
from mapper.render import build_site
from mapper.summarise import Results
from mapper.survey import read_survey

Put = Callable[..., Path]
HEAD = "tree,girth_cm,date,lat,lon,photo,photo_consent\n"


def survey_at(folder: Path, rows: str, toml: str = "", head: str = HEAD) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "a.csv").write_text(head + rows, "utf-8")
    (folder / "survey.toml").write_text(f'[records]\nfiles = ["*.csv"]\n{toml}', "utf-8")
    return folder


def shown(folder: Path) -> list[tuple[str, str]]:
    """Tree and file of every photo that would be published."""
    results = survey_results(read_survey([folder]))
    return [(photo.tree, photo.file.name) for photo in results.photos]


def found(folder: Path) -> pd.DataFrame:
    """The findings about photos."""
    findings = run_checks(read_survey([folder])).findings
    return findings[findings["rule"].str.contains("photo")].reset_index(drop=True)


@pytest.mark.parametrize(
    ("cell", "file"),
    [
        ("IMG_1.jpg", "IMG_1.jpg"),
        ("img_1.JPG", "IMG_1.jpg"),
        ("IMG_1", "IMG_1.jpg"),
        ("IMG_1.jpg", "IMG_1.HEIC"),
        ("photos/IMG_1.jpg", "IMG_1.jpg"),
        ("class 3\\IMG_1.jpg", "class 3/IMG_1.jpg"),
        ("IMG_1.jpg", "class 3/IMG_1.jpg"),
        ("Höhe.jpg", "Ho\u0308he.jpg"),
        ("v1.2.jpg", "v1.2.jpg"),
    ],
)
def test_a_cell_finds_its_file(tmp_path: Path, put_photo: Put, cell: str, file: str) -> None:
    folder = survey_at(tmp_path / "s", f"1,100,,,,{cell},yes\n")
    put_photo(folder / "photos" / file)
    assert shown(folder) == [("1", Path(file).name)]
    assert found(folder).empty


def test_several_photos_of_one_tree(tmp_path: Path, put_photo: Put) -> None:
    folder = survey_at(tmp_path / "s", "1,100,,,,b.jpg; a.png,yes\n")
    for name in ("a.png", "b.jpg", "c.jpg"):
        put_photo(folder / "photos" / name)
    assert shown(folder) == [("1", "b.jpg"), ("1", "a.png")]
    (lone,) = found(folder).to_dict("records")
    assert (lone["rule"], lone["severity"]) == ("photo_of_no_tree", "note")
    assert lone["message"] == "Photos that fit no record: c.jpg."


@pytest.mark.parametrize(
    ("cell", "rule"),
    [
        ("IMG_2.jpg", "photo_missing"),
        ("IMG_7.jpg", "photo_not_clear"),
        ("../secret.jpg", "photo_outside"),
        ("x/../../secret.jpg", "photo_outside"),
        ("/etc/secret.jpg", "photo_outside"),
        ("C:\\secret.jpg", "photo_outside"),
        ("https://example.org/IMG_1.jpg", "photo_outside"),
        ("file:///secret.jpg", "photo_outside"),
    ],
)
def test_what_a_cell_cannot_name(tmp_path: Path, put_photo: Put, cell: str, rule: str) -> None:
    folder = survey_at(tmp_path / "s", f"1,100,,,,{cell},yes\n2,90,,,,IMG_1.jpg,yes\n")
    put_photo(folder / "secret.jpg")
    for name in ("IMG_1.jpg", "x/IMG_7.jpg", "y/IMG_7.jpg"):
        put_photo(folder / "photos" / name)
    assert shown(folder) == [("2", "IMG_1.jpg")]
    told = found(folder).set_index("rule").loc[rule]
    assert (told["row"], told["column"], told["value"]) == (2, "photo", cell)


def test_a_link_out_of_the_folder_is_not_followed(tmp_path: Path, put_photo: Put) -> None:
    folder = survey_at(tmp_path / "s", "1,100,,,,here.jpg,yes\n")
    secret = put_photo(tmp_path / "elsewhere" / "secret.jpg")
    (folder / "photos").mkdir()
    (folder / "photos" / "here.jpg").symlink_to(secret)
    assert shown(folder) == []
    assert found(folder)["rule"].tolist() == ["photo_missing", "not_a_photo"]


@pytest.mark.parametrize("named", ["..", "../elsewhere", ".", "", "/tmp"])
def test_the_photos_folder_lies_in_the_survey(tmp_path: Path, named: str) -> None:
    (tmp_path / "elsewhere").mkdir()
    folder = survey_at(tmp_path / "s", "1,100,,,,,\n", f'photos = "{named}"\n')
    with pytest.raises(InputError, match=r"survey\.toml: records\.photos names .* inside the"):
        shown(folder)


def test_a_photos_folder_misspelt(tmp_path: Path) -> None:
    folder = survey_at(tmp_path / "s", "1,100,,,,,\n", 'photos = "pcitures"\n')
    with pytest.raises(InputError, match=r"there is no such folder\. Check the spelling"):
        shown(folder)


def test_records_that_name_photos_nobody_handed_in(tmp_path: Path) -> None:
    folder = survey_at(tmp_path / "s", "".join(f"{n},90,,,,IMG_{n},yes\n" for n in range(9)))
    (told,) = found(folder).to_dict("records")
    assert told["message"].startswith("9 records name photos, and no photo was handed in.")


@pytest.mark.parametrize(
    ("consent", "public"),
    [("yes", True), ("no", False), ("", False), ("perhaps", False)],
)
def test_only_a_yes_is_consent(tmp_path: Path, put_photo: Put, consent: str, public: bool) -> None:
    folder = survey_at(tmp_path / "s", f"1,100,,,,a.jpg,{consent}\n2,90,,,,,yes\n")
    put_photo(folder / "photos" / "a.jpg")
    assert bool(shown(folder)) == public
    rules = found(folder)["rule"].tolist()
    assert ("photo_without_consent" in rules) == (consent in ("", "perhaps"))


def test_every_record_of_a_photo_must_agree(tmp_path: Path, put_photo: Put) -> None:
    folder = survey_at(tmp_path / "s", "1,100,,,,a.jpg,yes\n2,90,,,,a.jpg,\n3,80,,,,b.jpg,yes\n")
    for name in ("a.jpg", "b.jpg"):
        put_photo(folder / "photos" / name)
    assert shown(folder) == [("3", "b.jpg")]
    assert sorted(found(folder)["rule"]) == [
        "photo_of_several", "photo_of_several", "photo_without_consent",
    ]  # fmt: skip


def test_without_a_column_of_consent_one_note(tmp_path: Path, put_photo: Put) -> None:
    rows = "".join(f"{n},90,{n}.jpg\n" for n in range(4))
    folder = survey_at(tmp_path / "s", rows, head="tree,girth_cm,photo\n")
    for n in range(4):
        put_photo(folder / "photos" / f"{n}.jpg")
    assert shown(folder) == []
    (told,) = found(folder).to_dict("records")
    assert told["message"].endswith("Without a yes none is shown (4 photos).")


def test_photos_are_not_asked_about_when_none_is_published(tmp_path: Path, put_photo: Put) -> None:
    folder = survey_at(tmp_path / "s", "1,100,,,,a.jpg,\n2,90,,,,b.jpg,yes\n")
    for name in ("a.jpg", "b.jpg"):
        put_photo(folder / "photos" / name)
    with (folder / "survey.toml").open("a") as file:
        file.write('[publish]\nphotos = "none"\n')
    assert shown(folder) == []
    assert found(folder).empty


@pytest.mark.parametrize(
    ("file", "tree"),
    [
        ("14.jpg", "14"),
        ("14 (2).JPG", "14"),
        ("14_bark.jpg", "14"),
        ("T-14 north side.heic", "T-14"),
        ("Tree 14 bark.jpg", "14"),
        ("tree no. 14.png", "14"),
        ("Tree North.jpg", "North"),
        ("Baum 7.jpg", "7"),
        ("Old oak by the pond (2).jpg", "Old oak by the pond"),
        ("tree.jpg", ""),
        ("IMG_0014.jpg", ""),
        ("DSCN0014.JPG", ""),
        ("P1010014.JPG", ""),
        ("PXL_20260503_101500.jpg", ""),
        ("20260503_101500.jpg", ""),
        ("2026-05-03 14.jpg", ""),
        ("WhatsApp Image 14.jpeg", ""),
        ("image14.jpeg", ""),
    ],
)
def test_the_tree_in_a_file_name(file: str, tree: str) -> None:
    assert tree_in(file) == tree


def test_several_names_in_a_cell() -> None:
    assert names_in(" a.jpg;b b.png\n;c ") == ["a.jpg", "b b.png", "c"]


def test_a_file_named_as_its_tree(tmp_path: Path, put_photo: Put) -> None:
    rows = "T-1,100,,,,,yes\nT2,90,,,,x.jpg,yes\nT3,90,,,,,\nT4,90,,,,,no\n"
    folder = survey_at(tmp_path / "s", rows)
    for name in ("t 1 bark.jpg", "T2.jpg", "x.jpg", "T3.jpg", "T4.jpg", "IMG_0001.jpg"):
        put_photo(folder / "photos" / name)
    # T2's consent is about the photo that its cell names.
    assert shown(folder) == [("T2", "x.jpg"), ("T-1", "t 1 bark.jpg")]
    told = found(folder)
    silent = told[told["rule"] == "photo_without_consent"]
    assert silent["tree"].tolist() == ["T2", "T3"]
    assert told["message"][told["rule"] == "photo_of_no_tree"].tolist() == [
        "Photos that fit no record: IMG_0001.jpg."
    ]


def test_of_several_visits_the_one_of_its_day(tmp_path: Path, put_photo: Put) -> None:
    rows = "1,100,2025-05-03,,,,no\n1,101,2026-05-03,,,,yes\n"
    folder = survey_at(tmp_path / "s", rows)
    put_photo(folder / "photos" / "1.jpg", taken="2026:05:03 10:00:00")
    assert shown(folder) == [("1", "1.jpg")]
    put_photo(folder / "photos" / "1.jpg", taken="2024:05:03 10:00:00")
    assert shown(folder) == []


def test_a_number_that_two_trees_bear_says_nothing(tmp_path: Path, put_photo: Put) -> None:
    rows = "14,100,A,yes\n14,300,B,yes\n"
    folder = survey_at(tmp_path / "s", rows, head="tree,girth_cm,stand,photo_consent\n")
    put_photo(folder / "photos" / "14.jpg")
    assert shown(folder) == []
    assert "photo_of_no_tree" in found(folder)["rule"].tolist()


def near(metres: float) -> str:
    return f"{45 + metres / 111_195:.6f}"


@pytest.mark.parametrize(
    ("other_m", "day", "fits"),
    [(200, "03", True), (50, "03", False), (20, "03", False), (200, "04", False)],
)
def test_day_and_place_give_a_proposal_and_no_more(
    tmp_path: Path, put_photo: Put, other_m: float, day: str, fits: bool
) -> None:
    rows = f"1,100,2026-05-{day},{near(12)},7,,yes\n2,90,2026-05-{day},{near(other_m)},7,,yes\n"
    folder = survey_at(tmp_path / "s", rows)
    put_photo(folder / "photos" / "IMG_1.jpg", place=(45.0, 7.0))
    assert shown(folder) == []
    (told,) = found(folder).to_dict("records")
    assert told["rule"] == ("photo_by_place" if fits else "photo_of_no_tree")
    if fits:
        assert (told["row"], told["column"], told["proposed_value"]) == (2, "photo", "IMG_1.jpg")


def test_a_tree_too_far_is_not_proposed(tmp_path: Path, put_photo: Put) -> None:
    folder = survey_at(tmp_path / "s", f"1,100,2026-05-03,{near(31)},7,,yes\n")
    put_photo(folder / "photos" / "IMG_1.jpg", place=(45.0, 7.0))
    assert found(folder)["rule"].tolist() == ["photo_of_no_tree"]


def test_another_day_is_noted(tmp_path: Path, put_photo: Put) -> None:
    folder = survey_at(tmp_path / "s", "1,90,2026-05-01,,,a,yes\n2,90,2026-05-02,,,b,yes\n")
    for name in ("a.jpg", "b.jpg"):
        put_photo(folder / "photos" / name, taken="2026:05:03 01:00:00")
    (told,) = found(folder).to_dict("records")
    assert (told["tree"], told["message"]) == (
        "1", "The camera says 2026-05-03, the record another day.",
    )  # fmt: skip
    assert len(shown(folder)) == 2


@pytest.mark.parametrize(
    ("publish", "privacy", "public"),
    [
        ("", "exact", True),
        ("", "0.01 deg", False),
        ("", "hidden", False),
        ("", "withheld", False),
        ('positions = "0.001 deg"', "", False),
        ('positions = "hidden"', "", False),
    ],
)
def test_no_photo_where_the_place_is_no_public_matter(
    tmp_path: Path, put_photo: Put, publish: str, privacy: str, public: bool
) -> None:
    head = "tree,girth_cm,photo,photo_consent,privacy\n"
    rows = f"1,100,a.jpg,yes,{privacy}\n2,90,,,\n"
    folder = survey_at(tmp_path / "s", rows, f"[publish]\n{publish}\n", head)
    put_photo(folder / "photos" / "a.jpg")
    assert bool(shown(folder)) == public


def test_a_photo_cut_short_is_a_finding_and_not_shown(tmp_path: Path, put_photo: Put) -> None:
    folder = survey_at(tmp_path / "s", "1,100,,,,a.jpg,yes\n2,90,,,,b.jpg,yes\n3,9,,,,c.png,yes\n")
    cut = put_photo(folder / "photos" / "a.jpg")
    cut.write_bytes(cut.read_bytes()[:-900])
    put_photo(folder / "photos" / "b.jpg")
    (folder / "photos" / "c.png").write_text("no picture")
    assert shown(folder) == [("2", "b.jpg")]
    told = found(folder)
    assert told["rule"].tolist() == ["photo_unreadable"] * 2
    assert told["value"].tolist() == ["a.jpg", "c.png"]


def test_the_place_of_a_photo_is_the_last_resort(tmp_path: Path, put_photo: Put) -> None:
    folder = survey_at(tmp_path / "s", "1,100,,,,a.jpg,no\n2,90,,46,7,b.jpg,no\n3,90,,,,,\n")
    for name in ("a.jpg", "b.jpg"):
        put_photo(folder / "photos" / name, place=(45.0, 7.0))
    line = run_checks(read_survey([folder]))
    values = line.observations.values
    assert values["lat"].fillna(-1).tolist() == [45.0, 46.0, -1.0]
    # 5 m of the phone and 10 m of a step back: hypot(5, 10).
    assert values["position_accuracy_m"].fillna(-1).tolist() == [11.2, -1.0, -1.0]
    placed = line.findings[line.findings["rule"] == "placed_by_photo"]
    assert placed["tree"].tolist() == ["1"]
    missing = line.findings[
        (line.findings["rule"] == "missing") & (line.findings["column"] == "lat")
    ]
    assert missing["tree"].tolist() == ["3"]


def test_geotagged_photos_are_records(tmp_path: Path, put_photo: Put) -> None:
    folder = tmp_path / "s"
    put_photo(folder / "records" / "Tree 14 bark.jpg", place=(45.0, 7.0))
    put_photo(folder / "records" / "IMG_0001.heic", place=(-33.5, 18.25))
    put_photo(folder / "records" / "15.JPG", place=(1.0, 2.0), taken="never")
    line = run_checks(read_survey([folder]))
    values = line.observations.values.sort_values("tree")
    assert values["tree"].tolist() == ["", "14", "15"]
    assert values["lat"].tolist() == [-33.5, 45.0, 1.0]
    assert values["lon"].tolist() == [18.25, 7.0, 2.0]
    assert values["date"].dt.strftime("%Y-%m-%d").fillna("").tolist() == ["2026-05-03"] * 2 + [""]
    assert found(folder)["rule"].tolist() == ["photo_without_consent"]
    assert shown(folder) == []


def test_a_table_gives_the_consent_of_a_photo_that_is_a_record(
    tmp_path: Path, put_photo: Put
) -> None:
    folder = tmp_path / "s"
    folder.mkdir()
    photo = put_photo(folder / "14.jpg", place=(45.0, 7.0))
    table = folder / "a.csv"
    table.write_text("tree,girth_cm,photo_consent\n14,100,yes\n", "utf-8")
    results = survey_results(read_survey([table, photo]))
    assert [one.tree for one in results.photos] == ["14"]
    assert results.trees["lat"].tolist() == [45.0]


def pictures(results: Results, site: Path) -> dict[str, list[dict[str, object]]]:
    """What the site's script is told about photos."""
    build_site(results, site)
    script = (site / "data" / "workings-0.js").read_text("utf-8")
    text = re.findall(r"JSON\.parse\('(.*?)'\)", script)[1]
    told = json.loads(text.replace("\\'", "'").replace("\\\\", "\\"))
    assert isinstance(told, dict)
    return told


@pytest.mark.parametrize(
    ("toml", "alt"),
    [
        ("", "English oak 14, girth 212 cm, photographed 3 May 2026"),
        ('dates = "month"', "English oak 14, girth 212 cm, photographed May 2026"),
        ('dates = "year"', "English oak 14, girth 212 cm, photographed 2026"),
    ],
)
def test_words_for_who_cannot_see_it(tmp_path: Path, put_photo: Put, toml: str, alt: str) -> None:
    head = "tree,species,girth_cm,photo,photo_consent,photo_credit\n"
    rows = "14,Quercus robur,212,a,yes,<b>Someone\n15,,,b;c,yes,\n"
    folder = survey_at(tmp_path / "s", rows, f"[publish]\n{toml}\n", head)
    for name in ("a.jpg", "b.jpg", "c.jpg"):
        put_photo(folder / "photos" / name)
    told = pictures(survey_results(read_survey([folder])), tmp_path / "site")
    assert [picture["alt"] for picture in told["14"]] == [alt]
    assert "Someone" not in json.dumps(told)
    assert [str(one["alt"]).rpartition(", ")[2] for one in told["15"]] == [
        "photo 1 of 2", "photo 2 of 2",
    ]  # fmt: skip
    files = sorted(path.name for path in (tmp_path / "site" / "photos").iterdir())
    assert files == ["1-480.jpg", "1-640.jpg", "2-480.jpg", "2-640.jpg", "3-480.jpg", "3-640.jpg"]


def test_photos_of_a_folder_are_one_table(tmp_path: Path, put_photo: Put) -> None:
    folder = tmp_path / "s"
    for number in (1, 2, 3):
        place = None if number == 2 else (45.0, 7.0 + number)
        put_photo(folder / "records" / f"T{number}.jpg", place=place)
    (folder / "records" / "a.csv").write_text("tree,species,girth_cm\n9,oak,100\n", "utf-8")
    line = run_checks(read_survey([folder]))
    records = line.observations.records
    assert [file.name for file in records.files] == ["a.csv", "records"]
    told = records.values[["tree", "file", "row"]].to_dict("split")["data"]
    assert told == [["9", 1, 2], ["T1", 2, 1], ["T3", 2, 3]]
    links = line.observations.photos.links.merge(
        line.observations.photos.files["name"], left_on="photo", right_index=True
    )
    assert sorted(zip(links["record"], links["name"], strict=True)) == [
        (1, "T1.jpg"),
        (2, "T3.jpg"),
    ]
    # Nobody looks for a species or a girth in a photo.
    assert not {"no_size", "missing"} & set(line.findings["rule"][line.findings["tree"] != "9"])


def test_a_photo_without_a_place_is_no_record(tmp_path: Path, put_photo: Put) -> None:
    """A scanned record sheet among the records is not taken for a tree."""
    folder = tmp_path / "s"
    put_photo(folder / "records" / "sheet 1.jpg")
    (folder / "records" / "broken.jpg").write_bytes(b"no picture")
    with pytest.raises(InputError, match=r"a photo is a record only if the camera wrote down"):
        run_checks(read_survey([folder]))
    (folder / "records" / "a.csv").write_text("tree,girth_cm\n1,100\n", "utf-8")
    line = run_checks(read_survey([folder]))
    assert line.observations.values["tree"].tolist() == ["1"]
    told = found(folder).set_index("rule")["message"]
    assert told["photo_of_no_tree"] == "Photos that fit no record: broken.jpg, sheet 1.jpg."
    assert "broken.jpg: not a picture that can be read" in told["photo_unreadable"]


@pytest.mark.parametrize(
    ("observers", "consent", "other", "credit"),
    [
        ("names", "yes", "", "Ada Elm; [e-mail]"),
        ("names", "yes", "no", "[e-mail]"),
        ("names", "", "", ""),
        ("codes", "yes", "", ""),
        ("hidden", "yes", "", ""),
    ],
)
def test_who_took_a_photo_is_named_with_observers_only(
    tmp_path: Path, put_photo: Put, observers: str, consent: str, other: str, credit: str
) -> None:
    head = "tree,girth_cm,observer,observer_consent,photo,photo_consent,photo_credit\n"
    rows = f"1,90,Bo,{consent},a,yes,Ada Elm; ada@example.org\n2,80,Ada  Elm,{other},,,\n"
    folder = survey_at(tmp_path / "s", rows, f'[publish]\nobservers = "{observers}"\n', head)
    put_photo(folder / "photos" / "a.jpg")
    results = survey_results(read_survey([folder]))
    assert [photo.credit for photo in results.photos] == [credit]
