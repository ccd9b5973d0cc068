"""The open data sheet: what may be taken, what its columns mean, what stays home."""

from dataclasses import dataclass

from mapper.language import say
from mapper.reference.licences import Licence, licence_of
from mapper.render import words
from mapper.render.downloads import Download
from mapper.render.sheets import Page, Site, page_of
from mapper.render.withheld import what_stays_home
from mapper.summarise import Results


@dataclass(frozen=True)
class DataPage:
    """What data.html shows."""

    page: Page
    downloads: tuple[Download, ...]
    licence: Licence
    withheld: tuple[str, ...]
    doubts: str
    repairs: str
    agreement: tuple[str, ...]


def data_page(results: Results, site: Site, downloads: tuple[Download, ...]) -> DataPage:
    """List the files with their columns."""
    about = say("{title}: the measurements as open data.").format(title=site.title)
    return DataPage(
        page=page_of(site, "data.html", about),
        downloads=downloads,
        licence=licence_of(results.survey.publish.licence),
        withheld=what_stays_home(results),
        doubts=words.findings(results.findings),
        repairs=words.repairs(results.repairs),
        agreement=words.agreement(results.agreement),
    )
