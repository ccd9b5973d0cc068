"""The survey described in Ecological Metadata Language, as it goes with a Darwin Core archive."""

from xml.etree import ElementTree
from xml.etree.ElementTree import Element, SubElement

from mapper.language import say
from mapper.reference.licences import licence_of
from mapper.render import words
from mapper.render.darwin_core import PROTOCOL, dataset_id
from mapper.render.withheld import what_stays_home
from mapper.render.xml_text import xml_text
from mapper.summarise import Results
from mapper.survey import Survey

EML = "https://eml.ecoinformatics.org/eml-2.2.0"


def eml_text(results: Results, occurrences: int) -> str:
    """The survey's title, people, rights, place, time and method."""
    survey = results.survey
    name = dataset_id(survey)
    ElementTree.register_namespace("eml", EML)
    root = Element(f"{{{EML}}}eml", {"packageId": name, "system": name, "scope": "system"})
    dataset = SubElement(root, "dataset")
    _text(dataset, "title", survey.title)
    _party(dataset, "creator", survey)
    _party(dataset, "metadataProvider", survey)
    published = max((str(date) for date in results.trees["date"].dropna()), default="")
    if published:  # a whole day, or the year alone
        _text(dataset, "pubDate", published if len(published) == 10 else published[:4])
    _text(dataset, "language", survey.language)
    _paragraphs(dataset, "abstract", _abstract(results, occurrences))
    _paragraphs(dataset, "additionalInfo", (say("What stays home:"), *what_stays_home(results)))
    _rights(dataset, survey)
    _coverage(dataset, results)
    _party(dataset, "contact", survey)
    step = SubElement(SubElement(dataset, "methods"), "methodStep")
    _paragraphs(step, "description", (say(PROTOCOL),))
    return xml_text(root)


def _text(parent: Element, name: str, text: str) -> None:
    SubElement(parent, name).text = text


def _paragraphs(parent: Element, name: str, lines: tuple[str, ...]) -> None:
    part = SubElement(parent, name)
    for line in lines:
        _text(part, "para", line)


def _party(parent: Element, name: str, survey: Survey) -> None:
    """Who publishes: as the survey says, never a person it does not name."""
    party = SubElement(parent, name)
    _text(party, "organizationName", survey.publisher or survey.title)
    if "@" in survey.contact:
        _text(party, "electronicMailAddress", survey.contact)
    if survey.address:
        _text(party, "onlineUrl", survey.address)


def _abstract(results: Results, occurrences: int) -> tuple[str, ...]:
    trees = words.trees(len(results.trees))
    visits = words.counted(occurrences, "{n} visit", "{n} visits")
    sizes = say("Sizes of {trees} on {visits}, measured by volunteers.")
    return (f"{sizes.format(trees=trees, visits=visits)} {say(words.SAFETY)}",)


def _rights(parent: Element, survey: Survey) -> None:
    licence = licence_of(survey.publish.licence)
    para = SubElement(SubElement(parent, "intellectualRights"), "para")
    if not licence.link:
        para.text = licence.code
        return
    para.text = "This work is licensed under "
    link = SubElement(para, "ulink", {"url": licence.link})
    _text(link, "citetitle", f"{licence.name} ({licence.code})")


def _coverage(parent: Element, results: Results) -> None:
    trees = results.trees
    placed = trees[trees["lat"].notna()]
    dates = sorted(str(date) for date in trees["date"].dropna() if date)
    coverage = Element("coverage")
    if len(placed):
        part = SubElement(coverage, "geographicCoverage")
        _text(part, "geographicDescription", results.survey.place or results.survey.title)
        box = SubElement(part, "boundingCoordinates")
        for side, number in (
            ("west", placed["lon"].min()), ("east", placed["lon"].max()),
            ("north", placed["lat"].max()), ("south", placed["lat"].min()),
        ):  # fmt: skip
            _text(box, f"{side}BoundingCoordinate", repr(float(number)))
    if dates and len(dates[0]) != 7:  # a month alone is no date of this language
        span = SubElement(SubElement(coverage, "temporalCoverage"), "rangeOfDates")
        for end, date in (("beginDate", dates[0]), ("endDate", dates[-1])):
            _text(SubElement(span, end), "calendarDate", date)
    if len(coverage):
        parent.append(coverage)
