"""The trees as biodiversity databases take them: Darwin Core occurrences and their measurements.

An occurrence is one tree on one visit; `organismID` is the same for all visits of a tree.
"""

import uuid
from collections.abc import Iterator

import numpy as np
import pandas as pd

from mapper.language import later, say
from mapper.reference import rows
from mapper.reference.licences import licence_of
from mapper.summarise import Results
from mapper.summarise.generalised import is_cut
from mapper.survey import Survey

DARWIN_CORE = "http://rs.tdwg.org/dwc/terms/"
# Two terms that Darwin Core takes from elsewhere.
BORROWED = {
    "license": "http://purl.org/dc/terms/license",
    "language": "http://purl.org/dc/elements/1.1/language",
}
DEGREES_CUT = {"0.001 deg": 0.001, "0.01 deg": 0.01}
PROTOCOL = later("Tree survey by volunteers: stem at breast height and height of the tree.")
OBSERVERS = {
    "hidden": later("Observer identities withheld."),
    "codes": later("Observer names withheld: codes stand for them."),
    "names": "",
}
RANKS = {"var.": "variety", "ssp.": "subspecies", "subsp.": "subspecies"}
# In the visits table: the value, its uncertainty, how it was found, its unit, what it is called.
MEASURED = (
    ("diameter_cm", "diameter_sd_cm", "diameter_method", "cm", "diameter at breast height"),
    ("height_m", "height_sd_m", "height_method", "m", "tree height"),
)


def term_address(term: str) -> str:
    """The full name of a term."""
    return BORROWED.get(term, DARWIN_CORE + term)


def dataset_id(survey: Survey) -> str:
    """The survey's address, or a name that depends on its title alone: the same at every build."""
    return survey.address or f"urn:uuid:{uuid.uuid5(uuid.NAMESPACE_URL, survey.title)}"


def occurrences(results: Results) -> pd.DataFrame:
    """A row a tree and visit, its columns named by terms."""
    survey, visits = results.survey, results.visits
    trees = results.trees.set_index("tree").reindex(visits["tree"]).reset_index()
    base = dataset_id(survey)
    named = _names(trees["species"].fillna("").astype(str))
    placed = trees["lat"].notna()
    table = pd.DataFrame(
        {
            "occurrenceID": _occurrence_ids(base, visits),
            "basisOfRecord": "HumanObservation",
            "license": licence_of(survey.publish.licence).iri,
            "language": survey.language,
            "datasetName": survey.title,
            "informationWithheld": _withheld(trees, survey),
            "dataGeneralizations": trees["data_generalizations"],
            "recordedBy": _people(visits),
            "organismID": base + ":" + trees["tree"],
            "organismName": trees["tree"],
            "occurrenceStatus": "present",
            "vitality": visits["status"].fillna("").map(_vitality),
            "organismRemarks": visits["status"].fillna("").map(_remark),
            "eventDate": visits["date"].fillna(""),
            "samplingProtocol": PROTOCOL,
            "locality": _locality(trees["stand"].fillna(""), survey.place),
            "decimalLatitude": trees["lat"],
            "decimalLongitude": trees["lon"],
            "geodeticDatum": np.where(placed, "EPSG:4326", ""),
            "coordinateUncertaintyInMeters": trees["position_accuracy_m"],
            "coordinatePrecision": _precision(trees, placed),
            "vernacularName": trees["common_name"].fillna(""),
        }
    )
    return table.join(named)


def measurements(results: Results) -> pd.DataFrame:
    """A row a measured value; occurrenceID says of which occurrence."""
    ids = _occurrence_ids(dataset_id(results.survey), results.visits)
    newest = ~results.visits["tree"].duplicated(keep="last")
    ages = results.trees.set_index("tree").reindex(results.visits["tree"][newest])
    parts = [_measured(results.visits, ids, names) for names in MEASURED]
    parts.append(_ages(ages, ids[newest], results.visits["date"][newest]))
    whole = pd.concat(parts, ignore_index=True)
    order = pd.Series(range(len(ids)), index=ids)
    return whole.iloc[np.argsort(order[whole["occurrenceID"]].to_numpy(), kind="stable")]


def _occurrence_ids(base: str, visits: pd.DataFrame) -> pd.Series:
    """Tree and day; where several visits share a shortened date, a number behind it."""
    ids = base + ":" + visits["tree"] + ":" + visits["date"].fillna("")
    again = ids.groupby(ids).cumcount()
    return ids.where(again == 0, ids + ":" + (again + 1).astype(str))


def _people(visits: pd.DataFrame) -> pd.Series:
    """Several people of a visit, set apart as the standard recommends."""
    return visits["observers"].fillna("").str.replace("; ", " | ", regex=False)


def _names(species: pd.Series) -> pd.DataFrame:
    """Each name with its rank; one that no table knows is kept as it was written."""
    known = {row["species"] for row in rows("species")} | {row["genus"] for row in rows("genera")}
    kinds = species.drop_duplicates()
    found = pd.DataFrame(
        [_name(name, name in known) for name in kinds],
        index=pd.Index(kinds),
        columns=["scientificName", "taxonRank", "verbatimIdentification"],
    )
    return found.reindex(species).reset_index(drop=True).assign(kingdom="Plantae")


def _name(name: str, known: bool) -> tuple[str, str, str]:
    if not known:
        return "Plantae", "kingdom", name
    marked = [rank for mark, rank in RANKS.items() if f" {mark} " in name]
    if marked:
        return name, marked[0], ""
    return name, "species" if " " in name else "genus", ""


def _vitality(status: str) -> str:
    return {"dead": "dead", "stump": "dead", "fallen": ""}.get(status, "alive")


def _remark(status: str) -> str:
    return {"dead": "standing dead", "stump": "stump", "fallen": "fallen"}.get(status, "")


def _locality(stands: pd.Series, place: str) -> pd.Series:
    return stands.map(lambda stand: ", ".join(filter(None, [place, stand])))


def _precision(trees: pd.DataFrame, placed: "pd.Series[bool]") -> pd.Series:
    """What cutting decimals left, in degrees; nothing where none were cut."""
    cut = pd.Series(np.nan, index=trees.index)
    for name, degrees in DEGREES_CUT.items():
        cut = cut.mask(is_cut(trees, name) & placed, degrees)
    return cut


def _withheld(trees: pd.DataFrame, survey: Survey) -> pd.Series:
    """What the tree's own row keeps back, and what the survey keeps back of every tree."""
    everywhere = [say(OBSERVERS[survey.publish.observers])]
    everywhere += [] if survey.publish.notes else [say("Field notes withheld.")]
    told = " ".join(filter(None, everywhere))
    return (trees["information_withheld"] + " " + told).str.strip()


def _measured(
    visits: pd.DataFrame, ids: pd.Series, names: tuple[str, str, str, str, str]
) -> pd.DataFrame:
    """The values of one row of MEASURED."""
    value, sd, method, unit, kind = names
    there = visits[value].notna()
    found, own = visits[there], ids[there]
    accuracy = "standard uncertainty " + found[sd].round(3).astype(str) + f" {unit}"
    return pd.DataFrame(
        {
            "occurrenceID": own,
            "measurementID": own + ":" + kind.replace(" ", "-"),
            "measurementType": kind,
            "measurementValue": found[value],
            "measurementAccuracy": accuracy.where(found[sd].notna(), ""),
            "measurementUnit": unit,
            "measurementDeterminedBy": _people(found),
            "measurementDeterminedDate": found["date"].fillna(""),
            "measurementMethod": found[method].fillna(""),
            "measurementRemarks": "",
        }
    )


def _ages(trees: pd.DataFrame, ids: pd.Series, dates: pd.Series) -> pd.DataFrame:
    """The age of the newest visit, never without its range."""
    aged = trees["age_years"].notna().to_numpy()
    trees, ids, dates = trees[aged], ids[aged], dates[aged]
    ends = [
        trees[name].round().astype(int).astype(str) for name in ("age_low_years", "age_high_years")
    ]
    return pd.DataFrame(
        {
            "occurrenceID": ids,
            "measurementID": ids + ":age",
            "measurementType": "tree age",
            "measurementValue": trees["age_years"].to_numpy(),
            "measurementAccuracy": ("between " + ends[0] + " and " + ends[1]).to_numpy(),
            "measurementUnit": "years",
            "measurementDeterminedBy": "",
            "measurementDeterminedDate": dates.fillna(""),
            "measurementMethod": trees["age_method"].fillna("").to_numpy(),
            "measurementRemarks": ("counted from " + trees["age_since"].fillna("")).to_numpy(),
        }
    )


def terms(table: pd.DataFrame) -> Iterator[tuple[int, str]]:
    """Position and full name of each column."""
    for index, name in enumerate(table.columns):
        yield index, term_address(str(name))
