"""Centres of plots, from plots.csv of the survey folder."""

from pathlib import Path

import pandas as pd

from mapper.load.known_points import point_key
from mapper.load.positions import no_plots
from mapper.load.reader import load_records
from mapper.survey import Survey

PLOTS_FILE = "plots.csv"


def read_plots(survey: Survey) -> pd.DataFrame:
    """A row a plot with a name: plot, lat, lon, position_accuracy_m; the first row with a place.

    Raises
    ------
    InputError
        When a file of plots cannot be used as a table.
    """
    files = _files(survey)
    if not files:
        return no_plots()
    values = load_records(files, survey.units, survey.records.crs).values
    key = point_key(values["plot"].astype(str))
    order = values["lat"].isna().sort_values(kind="stable").index
    first = values.loc[order][~key.loc[order].duplicated()]
    return first.loc[key[first.index] != "", list(no_plots())].reset_index(drop=True)


def _files(survey: Survey) -> list[Path]:
    named = [stand.plots for stand in survey.stand if stand.plots]
    files = [survey.folder / name for name in dict.fromkeys([*named, PLOTS_FILE])]
    return [file for file in files if file.is_file() and file not in survey.record_files]
