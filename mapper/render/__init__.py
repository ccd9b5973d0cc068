"""Tables in, a whole site out: pages, maps, open data, in one step."""

import tempfile
from pathlib import Path

from mapper.language import speaking
from mapper.render.downloads import write_downloads
from mapper.render.map_data import write_map_data
from mapper.render.pages import write_maps, write_pages, write_second_set
from mapper.render.photos import write_photos
from mapper.render.script_words import write_script_words
from mapper.render.sheets import site_of
from mapper.render.single_file import refuse_many, refuse_other_file, write_single_file
from mapper.render.site_files import bundled_assets, copy_assets
from mapper.render.swap import replaced_site
from mapper.summarise import Results

__all__ = ["build_file", "build_site"]


def build_site(results: Results, out: Path) -> None:
    """Write the survey's site to `out`, replacing an older one in one step.

    Raises
    ------
    InputError
        When `out` holds something that is not a site of ours, or the page scripts are not built.
    """
    assets = bundled_assets()
    with speaking(results.survey.language), replaced_site(out) as folder:
        site = site_of(results)
        downloads = write_downloads(results, folder / "data")
        pictures = write_photos(results, folder)
        write_map_data(results, site, folder / "data", pictures)
        write_maps(results, site, folder)
        write_pages(results, site, downloads, pictures, folder)
        if results.other_units:
            write_second_set(results.other_units, downloads, pictures, folder)
        copy_assets(assets, folder / "assets")
        write_script_words(folder)


def build_file(results: Results, out: Path) -> tuple[str, ...]:
    """Write the survey's site as one html file; returns the names of downloads left out of it.

    Raises
    ------
    InputError
        When `out` is something that is not a site of ours, when there are more than 20,000 trees
        (a browser then loads them piece by piece), or when the page scripts are not built.
    """
    refuse_other_file(out)
    refuse_many(len(results.trees))
    with tempfile.TemporaryDirectory() as folder:
        build_site(results, Path(folder, "site"))
        return write_single_file(Path(folder, "site"), out)
