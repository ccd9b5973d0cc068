"""The open data sheet: what may be taken, what its columns mean, what stays home."""

from dataclasses import dataclass

from mapper.render import words
from mapper.render.downloads import Download
from mapper.render.sheets import Page, Site, page_of
from mapper.settings import Publish
from mapper.summarise import Results


@dataclass(frozen=True)
class DataPage:
    """What data.html shows."""

    page: Page
    downloads: tuple[Download, ...]
    licence: str
    withheld: tuple[str, ...]
    doubts: str
    agreement: tuple[str, ...]


def data_page(results: Results, site: Site, downloads: tuple[Download, ...]) -> DataPage:
    """List the files with their columns."""
    return DataPage(
        page=page_of(site, "data.html", f"{site.title}: the measurements as open data."),
        downloads=downloads,
        licence=results.survey.publish.licence,
        withheld=_withheld(results),
        doubts=words.findings(results.findings),
        agreement=words.agreement(results.agreement),
    )


def _withheld(results: Results) -> tuple[str, ...]:
    publish = results.survey.publish
    lines = ["Trees whose record says that they are to be kept back."]
    if publish.observers == "hidden":
        lines.append("Who measured each tree.")
    if not publish.notes:
        lines.append("The notes that volunteers wrote.")
    lines += _photo_lines(publish)
    lines.append("The names of the record files: a file is called by its number.")
    lines.append("Columns of the records that we do not know, unless the survey names them.")
    if publish.positions == "hidden":
        lines.append("The places of the trees.")
    elif publish.positions != "exact":
        lines.append(f"The exact places: they are cut to {publish.positions}.")
    if publish.dates != "day":
        lines.append(f"The exact dates: only the {publish.dates} is given.")
    if not publish.boundaries:
        lines.append("The outlines of the stands.")
    return tuple(lines)


def _photo_lines(publish: Publish) -> tuple[str, ...]:
    if publish.photos == "none":
        return ("Photographs.",)
    if publish.positions != "exact":
        return ("Photographs: a picture can show where a tree stands.",)
    return (
        "Photographs that nobody agreed to show, and those of trees whose place is kept back.",
        "What a camera writes beside a picture: place, hour, device, names.",
    )
