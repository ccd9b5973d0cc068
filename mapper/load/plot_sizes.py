"""Sample plots and angle counts of a survey: each plot with its size, from a file of plots."""

from pathlib import Path

import numpy as np
import pandas as pd

from mapper import metrics
from mapper.errors import InputError
from mapper.load.plot_files import PlotFile, plot_columns, plot_key, read_plot_file
from mapper.settings import Stand
from mapper.survey import Survey, stand_key

SAMPLED = ("plots", "angle count")
COLUMNS = [
    "stand", "plot", "plot_key", "stratum", "lat", "lon", "date", "area_m2", "radius_m",
    "stratum_ha", "stand_ha", "basal_area_factor", "min_diameter_cm", "max_diameter_cm", "edge",
    "edge_distance_m", "edge_bearing",
]  # fmt: skip
FULL_TURN = 360.0
SIZE_PLEASE = (
    "Give radius, or length and width, or area, each above 0; or for all plots of the stand "
    "plot_radius or plot_area in survey.toml."
)


def read_plot_sizes(survey: Survey, records: pd.DataFrame) -> pd.DataFrame:
    """Every plot of every sampled stand, a row a plot and nested size, with the columns COLUMNS.

    Areas are horizontal: a plot laid out along a slope is smaller on the map. Where a stand names
    no file of plots, the plots are those that its `records` (stand, plot, stratum) name.

    Raises
    ------
    InputError
        When a file of plots is missing or cannot be used, or when a plot has no size.
    """
    spelt = {stand_key(name): name for name in records["stand"].unique() if name}
    sampled = [
        stand.model_copy(update={"name": spelt.get(stand_key(stand.name), stand.name)})
        for stand in survey.stand
        if stand.design in SAMPLED
    ]
    files = dict.fromkeys(stand.plots for stand in sampled if stand.plots)
    sheets = {name: read_plot_file(survey, name) for name in files}
    tables = [
        _of_stand(
            sheets[stand.plots] if stand.plots else _named(survey, records, stand),
            stand,
            _strata(survey, stand),
        )
        for stand in sampled
    ]
    return pd.concat([no_plot_sizes(), *tables], ignore_index=True) if tables else no_plot_sizes()


def _named(survey: Survey, records: pd.DataFrame, stand: Stand) -> PlotFile:
    """The plots that the records of a stand name; one without a tree is not among them."""
    here = (records["stand"].map(stand_key) == stand_key(stand.name)) & (records["plot"] != "")
    first = records[here][~plot_key(records.loc[here, "plot"]).duplicated()]
    if first.empty:
        raise InputError(
            f"{survey.folder / 'survey.toml'}: the stand '{stand.name}' is sampled with "
            f"{stand.design}, and no record of it names a plot. Fill in the heading plot, and list "
            'every plot, also those without a tree, in a file named by plots = "plots.csv".'
        )
    empty = {column.value_name: np.nan for column in plot_columns().values()}
    values = first[["plot", "stand", "stratum", "row"]].assign(
        **empty, lat=np.nan, lon=np.nan, slope_deg=np.nan, length_m=np.nan, date=pd.Timestamp("NaT")
    )
    return PlotFile(survey.folder / "survey.toml", values.assign(slope_corrected=""))


def no_plot_sizes() -> pd.DataFrame:
    """The table of a survey without plots."""
    texts = ("stand", "plot", "plot_key", "stratum", "edge")
    kinds = {name: str if name in texts else float for name in COLUMNS}
    return pd.DataFrame({name: pd.Series(dtype=kind) for name, kind in kinds.items()}).astype(
        {"date": "datetime64[s]"}
    )


def area_of(stand: Stand) -> float:
    """Area that survey.toml gives each plot of a stand, NaN where it gives none. [m²]"""
    if stand.plot_area is not None:
        return stand.plot_area * 10_000
    return np.nan if stand.plot_radius is None else float(np.pi * stand.plot_radius**2)


def _of_stand(sheet: PlotFile, stand: Stand, strata: "pd.Series[float]") -> pd.DataFrame:
    """The plots of one stand: those that name it, or all where no row names a stand."""
    values = sheet.values
    named = values["stand"] != ""
    _refuse_without_stand(sheet.file, values, named)
    here = values["stand"].map(stand_key) == stand_key(stand.name)
    mine = values[here if named.any() else values["plot"] != ""]
    if mine.empty:
        raise InputError(
            f"{sheet.file}: has no plot of the stand '{stand.name}'. Give each of its plots a "
            "row with the headings plot and stand."
        )
    _refuse_unnamed(sheet.file, mine)
    sized = mine.assign(
        area_m2=_areas(sheet.file, mine, stand),
        basal_area_factor=_factors(sheet.file, mine, stand),
        radius_m=mine["radius_m"].fillna(stand.plot_radius or np.nan),
        stand=stand.name,
        edge=stand.edge,
        stand_ha=np.nan if stand.area is None else stand.area,
        plot_key=plot_key(mine["plot"]),
    )
    _refuse_no_edge(sheet.file, sized)
    _refuse_same_size(sheet.file, sized)
    _refuse_crossed_sizes(sheet.file, sized)
    return _in_strata(sheet.file, sized, strata)[COLUMNS]


def _in_strata(file: Path, plots: pd.DataFrame, strata: "pd.Series[float]") -> pd.DataFrame:
    """The plots with the area of their stratum; where no strata are declared, of none."""
    if strata.empty:
        return plots.assign(stratum="", stratum_ha=np.nan)
    key = plot_key(plots["stratum"])
    unknown = plots[~key.isin(strata.index)]
    if len(unknown):
        row = unknown.iloc[0]
        raise InputError(
            f"{file}, row {row['row']}: plot '{row['plot']}' names the stratum "
            f"'{row['stratum']}', which the file of strata lacks. Known: {', '.join(strata.index)}."
        )
    bare = sorted(set(strata.index) - set(key))
    if bare:
        raise InputError(
            f"{file}: no plot lies in the stratum '{bare[0]}'. Each stratum needs plots of its own."
        )
    return plots.assign(stratum=key, stratum_ha=key.map(strata))


def _strata(survey: Survey, stand: Stand) -> "pd.Series[float]":
    """Area of each stratum of a stand by its name; empty where none are declared. [ha]"""
    if not stand.strata:
        return pd.Series(dtype=float)
    sheet = read_plot_file(survey, stand.strata)
    values = sheet.values
    here = (values["stand"] == "") | (values["stand"].map(stand_key) == stand_key(stand.name))
    mine = values[here]
    bad = mine[~(mine["area_m2"] > 0) | (mine["stratum"] == "")]
    if len(bad) or mine.empty:
        row = f", row {bad['row'].iloc[0]}" if len(bad) else ""
        raise InputError(
            f"{sheet.file}{row}: a stratum needs a name and an area above 0. Write them under the "
            "headings stratum and area, as in 'area (ha)'."
        )
    again = mine[plot_key(mine["stratum"]).duplicated()]
    if len(again):
        second = again.iloc[0]
        raise InputError(
            f"{sheet.file}, row {second['row']}: a second row for the stratum "
            f"'{second['stratum']}'. "
            "Keep one."
        )
    return pd.Series(mine["area_m2"].to_numpy() / 10_000, index=plot_key(mine["stratum"]))


def _refuse_without_stand(file: Path, plots: pd.DataFrame, named: "pd.Series[bool]") -> None:
    """Where some plots name their stand, one that names none is in none: nobody would miss it."""
    bare = plots[~named & (plots["plot"] != "")]
    if named.any() and len(bare):
        row = bare.iloc[0]
        raise InputError(
            f"{file}, row {row['row']}: plot '{row['plot']}' names no stand, while others do. "
            "Name the stand of each plot."
        )


def _refuse_unnamed(file: Path, plots: pd.DataFrame) -> None:
    unnamed = plots[plots["plot"].str.strip() == ""]
    if len(unnamed):
        raise InputError(
            f"{file}, row {unnamed['row'].iloc[0]}: a plot without a name. Name each plot as the "
            "records do, under the heading plot."
        )


def _refuse_no_edge(file: Path, plots: pd.DataFrame) -> None:
    """The middle of a plot lies in the stand, so no distance to the edge is below 0."""
    edge, towards = plots["edge_distance_m"], plots["edge_bearing"]
    below = edge < 0
    bad = plots[below | (towards < 0) | (towards > FULL_TURN)]
    if bad.empty:
        return
    row = bad.iloc[0]
    if row["edge_distance_m"] < 0:
        allowed = f"edge_distance is {row['edge_distance_m']:g} m. Allowed: 0 or more"
    else:
        allowed = f"edge_bearing is {row['edge_bearing']:g} degrees. Allowed: 0 to 360"
    raise InputError(
        f"{file}, row {row['row']}: of plot '{row['plot']}' the {allowed}. Measure from the middle "
        "of the plot, which lies in the stand, to the nearest point of the edge."
    )


def _refuse_same_size(file: Path, plots: pd.DataFrame) -> None:
    """One row a plot; several only where each is for other diameters."""
    again = plots[plots.duplicated(["plot_key", "min_diameter_cm"], keep="first")]
    if len(again):
        row = again.iloc[0]
        raise InputError(
            f"{file}, row {row['row']}: a second row for plot '{row['plot']}'. Keep one, or say "
            "with min_diameter which diameters each size is for."
        )


def _refuse_crossed_sizes(file: Path, plots: pd.DataFrame) -> None:
    """Nested sizes must not share diameters, nor end before they begin."""
    ordered = plots.sort_values(["plot_key", "min_diameter_cm"], na_position="first")
    low = ordered["min_diameter_cm"].fillna(0)
    high = ordered["max_diameter_cm"].fillna(np.inf)
    before = high.groupby(ordered["plot_key"]).shift()
    bad = ordered[(high <= low) | (before > low)]
    if len(bad):
        row = bad.iloc[0]
        raise InputError(
            f"{file}, row {row['row']}: the diameters of plot '{row['plot']}' begin at "
            f"{row['min_diameter_cm']:g} cm, inside those of another of its sizes or beyond their "
            "own end. Let each size begin where the one before ends."
        )


def _areas(file: Path, plots: pd.DataFrame, stand: Stand) -> pd.Series:
    """Horizontal area of each plot, NaN in an angle count. [m²]"""
    if stand.design == "angle count":
        return pd.Series(np.nan, index=plots.index)
    sides = plots["length_m"] * plots["width_m"]
    given = plots["area_m2"].fillna(np.pi * plots["radius_m"] ** 2).fillna(sides)
    bad = ~(given.fillna(area_of(stand)) > 0)
    if bad.any():
        row = plots[bad].iloc[0]
        raise InputError(
            f"{file}, row {row['row']}: plot '{row['plot']}' has no size. {SIZE_PLEASE}"
        )
    area = given.fillna(area_of(stand))
    # Downhill is as steep as uphill.
    slope = plots["slope_deg"].fillna(0).abs()
    along = (slope > 0) & (plots["slope_corrected"] == "no")
    flat = pd.Series(metrics.area_of_slope(area, slope), index=plots.index)
    return flat.where(along, area)


def _factors(file: Path, plots: pd.DataFrame, stand: Stand) -> pd.Series:
    """Basal area factor of each angle count, NaN elsewhere. [m²/ha]"""
    if stand.design != "angle count":
        return pd.Series(np.nan, index=plots.index)
    factor = plots["basal_area_factor_m2/ha"].fillna(stand.basal_area_factor or np.nan)
    bad = ~(factor > 0)
    if bad.any():
        row = plots[bad].iloc[0]
        raise InputError(
            f"{file}, row {row['row']}: point '{row['plot']}' has no basal area factor. Give "
            'basal_area_factor here or in survey.toml, as 2 (m²/ha) or "10 ft2/acre".'
        )
    return factor


def unread_headings(survey: Survey) -> tuple[str, ...]:
    """Headings of the files of plots and strata that mean nothing, each with its file."""
    names = [name for stand in survey.stand for name in (stand.plots, stand.strata) if name]
    return tuple(
        f"'{heading}' in {name}"
        for name in dict.fromkeys(names)
        for heading in read_plot_file(survey, name).unread
    )
