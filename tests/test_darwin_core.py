"""The Darwin Core archive, against the standard's own list of terms and its text guide."""

import csv
import io
import zipfile
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest

from mapper.line import survey_results
from mapper.render import build_site
from mapper.render.darwin_core import measurements, occurrences
from mapper.summarise import Results
from mapper.survey import read_survey

ROOT = Path(__file__).parents[1]
GUIDE = "{http://rs.tdwg.org/dwc/text/}"
EML = "{https://eml.ecoinformatics.org/eml-2.2.0}"
TERMS = list(
    csv.DictReader((ROOT / "tests/standards/darwin_core_terms.csv").read_text("utf-8").splitlines())
)
TOML = '[records]\nfiles = ["*.csv"]\n'
VISITS = (
    "tree,date,species,girth_cm,height_m,status,lat,lon,privacy,planted\n"
    "1,2019-05-03,Quercus robur,100,15,,45.12345,7.12345,,1950\n"
    "1,2024-05-04,Quercus robur,110,16,,45.12345,7.12345,,1950\n"
    "1,2024-09-04,Quercus robur,111,,,45.12345,7.12345,,1950\n"
    "2,2024-05-04,Acer,90,,dead,45.22345,7.22345,hidden,\n"
    "3,2024-05-04,wishing tree,80,9,stump,45.32345,7.32345,0.01 deg,\n"
    "4,,Quercus rubra,70,8,fallen,,,,\n"
)


@pytest.fixture(scope="module")
def members(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """What the demo's archive holds."""
    site = tmp_path_factory.mktemp("demo") / "site"
    build_site(survey_results(read_survey([ROOT / "demo"])), site)
    with zipfile.ZipFile(site / "data" / "darwin-core.zip") as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@pytest.fixture
def results(results_of: Callable[..., Results]) -> Results:
    return results_of({"survey.toml": TOML, "a.csv": VISITS})


def table(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(data.decode("utf-8"), newline="")))


def test_every_term_is_in_the_standard_and_every_required_one_is_there(
    members: dict[str, bytes],
) -> None:
    root = ElementTree.fromstring(members["meta.xml"])
    for element in root:
        part = element.attrib["rowType"].rsplit("/", 1)[1]
        known = {row["term"] for row in TERMS if row["part"] == part}
        used = [field.attrib["term"] for field in element.iter(f"{GUIDE}field")]
        assert len(used) == len(set(used))
        assert set(used) - known == set()
        required = {row["term"] for row in TERMS if row["part"] == part and row["required"]}
        assert required
        assert required <= set(used)
        (location,) = element.iter(f"{GUIDE}location")
        heading = next(iter(csv.reader([members[location.text or ""].decode().split("\n")[0]])))
        for field in element.iter(f"{GUIDE}field"):
            name = heading[int(field.attrib["index"])]
            assert field.attrib["term"].rsplit("/", 1)[1] == name


def test_the_description_is_built_as_the_text_guide_asks(members: dict[str, bytes]) -> None:
    root = ElementTree.fromstring(members["meta.xml"])
    assert root.tag == f"{GUIDE}archive"
    assert root.attrib["metadata"] in members
    core, extension = root
    assert (core.tag, extension.tag) == (f"{GUIDE}core", f"{GUIDE}extension")
    # Order of the schema: files, then the identifier, then the fields.
    for element, identifier in ((core, "id"), (extension, "coreid")):
        names = [child.tag.removeprefix(GUIDE) for child in element]
        assert names[:2] == ["files", identifier]
        assert set(names[2:]) == {"field"}
        assert element.attrib["ignoreHeaderLines"] == "1"


def test_each_measurement_belongs_to_an_occurrence(members: dict[str, bytes]) -> None:
    ids = [row["occurrenceID"] for row in table(members["occurrence.csv"])]
    measured = table(members["measurementorfact.csv"])
    assert len(set(ids)) == len(ids) == 396
    assert {row["occurrenceID"] for row in measured} <= set(ids)
    own = [row["measurementID"] for row in measured]
    assert len(set(own)) == len(own)
    assert {row["basisOfRecord"] for row in table(members["occurrence.csv"])} == {
        "HumanObservation"
    }


def test_a_tree_is_one_organism_on_all_its_visits(results: Results) -> None:
    rows = occurrences(results).set_index("organismName")
    assert rows.loc["1", "organismID"].nunique() == 1
    assert rows.loc["1", "eventDate"].tolist() == ["2019-05-03", "2024-05-04", "2024-09-04"]
    assert rows["occurrenceID"].is_unique
    measured = measurements(results)
    heights = measured[measured["measurementType"] == "tree height"]
    assert heights["measurementValue"].tolist() == [15.0, 16.0, 9.0, 8.0]
    assert heights["measurementUnit"].unique().tolist() == ["m"]
    ages = measured[measured["measurementType"] == "tree age"]
    newest = rows.loc["1", "occurrenceID"].iloc[-1]
    assert ages["occurrenceID"].tolist() == [newest]
    assert ages["measurementAccuracy"].iloc[0].startswith("between ")


def test_names_carry_their_rank_and_unknown_ones_stay_as_written(results: Results) -> None:
    rows = occurrences(results).drop_duplicates("organismName").set_index("organismName")
    columns = ["scientificName", "taxonRank", "verbatimIdentification"]
    assert rows.loc["1", columns].tolist() == ["Quercus robur", "species", ""]
    assert rows.loc["2", columns].tolist() == ["Acer", "genus", ""]
    assert rows.loc["3", columns].tolist() == ["Plantae", "kingdom", "wishing tree"]
    assert rows["vitality"].tolist() == ["alive", "dead", "dead", ""]
    assert rows["organismRemarks"].tolist() == ["", "standing dead", "stump", "fallen"]


def test_what_was_kept_back_is_said_in_the_standards_fields(results: Results) -> None:
    rows = occurrences(results).drop_duplicates("organismName").set_index("organismName")
    assert rows["dataGeneralizations"].tolist() == [
        "", "", "Coordinates cut to 0.01 degree: further decimals dropped.", "",
    ]  # fmt: skip
    assert rows["informationWithheld"].str.startswith("Place withheld.").tolist() == [
        False, True, False, False,
    ]  # fmt: skip
    assert rows["informationWithheld"].str.contains("Observer identities withheld").all()
    assert rows["decimalLatitude"].fillna(0).tolist() == [45.12345, 0, 45.32, 0]
    assert rows["coordinatePrecision"].fillna(0).tolist() == [0, 0, 0.01, 0]
    assert rows["geodeticDatum"].tolist() == ["EPSG:4326", "", "EPSG:4326", ""]
    assert rows.loc["3", "coordinateUncertaintyInMeters"] == 1570


def test_shortened_dates_keep_visits_apart_and_are_told(
    results_of: Callable[..., Results],
) -> None:
    toml = TOML + '[publish]\ndates = "year"\n'
    rows = occurrences(results_of({"survey.toml": toml, "a.csv": VISITS}))
    assert rows["occurrenceID"].is_unique
    assert rows["eventDate"].tolist() == ["2019", "2024", "2024", "2024", "2024", ""]
    assert rows["dataGeneralizations"].str.contains("Date cut to the year").sum() == 5


def test_the_survey_is_described(members: dict[str, bytes]) -> None:
    root = ElementTree.fromstring(members["eml.xml"])
    assert root.tag == f"{EML}eml"
    assert root.attrib["packageId"]
    (dataset,) = root
    names = [child.tag for child in dataset]
    # Order of the schema (eml-resource, then eml-dataset), as in the profile's sample file.
    order = [
        "title", "creator", "metadataProvider", "pubDate", "language", "abstract",
        "additionalInfo", "intellectualRights", "coverage", "contact", "methods",
    ]  # fmt: skip
    assert names == order
    box = dataset.find("coverage/geographicCoverage/boundingCoordinates")
    assert box is not None
    sides = {child.tag[:4]: float(child.text or "nan") for child in box}
    assert sides["west"] < sides["east"]
    assert sides["sout"] < sides["nort"]
    link = dataset.find("intellectualRights/para/ulink")
    assert link is not None
    assert link.attrib["url"] == "https://creativecommons.org/licenses/by/4.0/"


def test_a_survey_in_its_barest_form_is_described(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    build_site(results_of({"records/a.csv": "girth_cm\n80\n"}), tmp_path / "site")
    with zipfile.ZipFile(tmp_path / "site/data/darwin-core.zip") as archive:
        dataset = ElementTree.fromstring(archive.read("eml.xml"))[0]
        assert len(table(archive.read("occurrence.csv"))) == 1
    names = [child.tag for child in dataset]
    assert "pubDate" not in names
    assert "coverage" not in names
