"""Everything a survey's files hold, read and placed: the table the later stages start from."""

from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
import pandas as pd

from mapper.errors import InputError
from mapper.load import load_records
from mapper.load.boundaries import no_boundaries, read_backdrop, read_boundaries
from mapper.load.contacts import masked, with_distinct_masks
from mapper.load.copies import copies, with_keys_of_firsts
from mapper.load.decisions import read_decisions
from mapper.load.edges import MADE_UP
from mapper.load.identity import with_tree_keys, without_rows_in_keys
from mapper.load.offsets import has_offsets
from mapper.load.photo_record import with_photo_folders
from mapper.load.photos import Photos, find_photos, settled, with_photo_places
from mapper.load.plot_files import plot_key
from mapper.load.plot_sizes import read_plot_sizes, unread_headings
from mapper.load.plots import read_plots
from mapper.load.positions import no_plots, with_places
from mapper.load.records import Records
from mapper.load.repairs import layer_for
from mapper.load.species import name_species
from mapper.load.stands import assign_stands
from mapper.survey import Survey, stand_key

NAMES = ("tree", "stand", "plot", "stratum")  # two that differ must stay two
TEXTS = ("species", "local_name", "visit")
KEPT_BACK = ("0.001 deg", "0.01 deg", "hidden", "withheld")


@dataclass(frozen=True)
class Observations:
    """What was handed in, with each record's stand and the outlines around them."""

    records: Records
    values: pd.DataFrame  # Records.values with stand, stand_from, outlines, edge_m and copy_of
    boundaries: gpd.GeoDataFrame
    backdrop: gpd.GeoDataFrame
    photos: Photos
    unread: tuple[str, ...]  # names of files among the records that no reader knows
    plots: pd.DataFrame  # of sampled stands: a row a plot and nested size
    unread_headings: tuple[str, ...]  # of the files of plots and strata, each with its file

    @property
    def counted(self) -> "Observations":
        """The same without the records that were handed in before (copy_of is one of these)."""
        once = self.values["copy_of"] < 0
        if once.all():
            return self
        told = self.records.problems
        found = told[~told["record"].isin(once.index[~once])].reset_index(drop=True)
        cells, values = self.records.cells[once], self.records.values[once]
        records = replace(self.records, cells=cells, values=values, problems=found)
        return replace(self, records=records, values=self.values[once])


def load_survey(survey: Survey) -> Observations:
    """Read every record file, outline and backdrop of a survey.

    Raises
    ------
    InputError
        When a file cannot be used, or a declared stand is named nowhere.
    """
    files, decisions = survey.record_files, read_decisions(survey.repair_files)
    layer = layer_for(decisions, with_photo_folders(files)[0], survey.folder)
    read = load_records(files, survey.units, survey.records.crs, layer)
    photos = find_photos(survey, read)
    records = _placed(replace(read, values=with_photo_places(read.values, photos)), survey)
    values = _without_contacts(records.values)
    records = replace(records, values=values)
    boundaries = read_boundaries(survey.boundary_file) if survey.boundary_file else no_boundaries()
    placed = assign_stands(values, boundaries)
    plots = read_plot_sizes(survey, values.drop(columns="stand").join(placed["stand"]))
    placed = _by_plot(placed, values["plot"], plots)
    _refuse_unknown_stands(survey, {*placed["stand"], *boundaries["stand"], *_listed(plots)})
    named = name_species(values.drop(columns="stand").join(placed))
    by_angle = named.values["stand"].isin(plots["stand"][plots["basal_area_factor"] > 0])
    told = named.values.assign(by_angle=by_angle)
    lifted = _over_snow(told, survey.measure.breast_height)
    copy_of = copies(values)
    keyed = with_tree_keys(lifted[copy_of < 0])
    kept_back = survey.publish.positions != "exact" or keyed["privacy"].isin(KEPT_BACK).any()
    keyed = without_rows_in_keys(keyed) if kept_back else keyed
    whole = with_keys_of_firsts(keyed, lifted, copy_of)
    return Observations(
        records=replace(records, problems=pd.concat([records.problems, named.problems])),
        values=whole,
        boundaries=boundaries,
        backdrop=read_backdrop([survey.folder / file for file in survey.site.backdrop]),
        photos=settled(photos, whole),
        unread=tuple(file.name for file in survey.unread_files),
        plots=plots,
        unread_headings=unread_headings(survey),
    )


def _listed(plots: pd.DataFrame) -> set[str]:
    """Stands with plots: on all of them there may be no tree."""
    return set(plots["stand"])


def _by_plot(placed: pd.DataFrame, names: "pd.Series[str]", plots: pd.DataFrame) -> pd.DataFrame:
    """A record that names no stand and lies in no outline is in the stand of its plot."""
    if plots.empty:
        return placed
    stands = plots.drop_duplicates(["stand", "plot_key"]).set_index("plot_key")["stand"]
    sure = stands[~stands.index.duplicated(keep=False)]
    found = plot_key(names).map(sure).fillna("")
    bare = (placed["stand"] == "") & (found != "")
    return placed.assign(
        stand=placed["stand"].where(~bare, found),
        stand_from=placed["stand_from"].where(~bare, "plot"),
    )


def _placed(records: Records, survey: Survey) -> Records:
    at_edges = any(stand.edge in MADE_UP for stand in survey.stand)
    needed = at_edges or has_offsets(records.values)
    plots = read_plots(survey) if needed else no_plots()
    return with_places(records, plots, survey.records.crs)


def _without_contacts(values: pd.DataFrame) -> pd.DataFrame:
    """The records without e-mail addresses and the like in names that are published everywhere."""
    names = {name: with_distinct_masks(_text(values[name])) for name in NAMES}
    texts = {name: masked(_text(values[name])) for name in TEXTS}
    return values.assign(**names, **texts)


def _text(cells: pd.Series) -> "pd.Series[str]":
    return cells.fillna("").astype(str)


def _over_snow(values: pd.DataFrame, breast_height_m: float) -> pd.DataFrame:
    """The records with `above_snow_m`: breast height, where snow lay and nobody says more.

    `measured_at` is counted from the ground, so it needs no snow.
    """
    lifted = (values["snow_depth_cm"] > 0) & values["measured_at_m"].isna()
    return values.assign(above_snow_m=np.where(lifted, breast_height_m, np.nan))


def _refuse_unknown_stands(survey: Survey, known: set[str]) -> None:
    keys = {stand_key(name) for name in known}
    for stand in survey.stand:
        if stand_key(stand.name) not in keys:
            shown = ", ".join(sorted(known - {""})) or "none"
            raise InputError(
                f"survey.toml: [[stand]] name = '{stand.name}' is neither an outline's name nor "
                f"in a record's stand cell. Stands found: {shown}. Use one of these."
            )
