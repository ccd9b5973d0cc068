"""The hand-over to the site: published tables only."""

from collections.abc import Mapping
from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

from mapper.load.photo_files import PhotoFile
from mapper.survey import Survey

Point = tuple[float, float]


@dataclass(frozen=True)
class Sight:
    """What was sighted for a height; points are metres across and up, as seen from the eye."""

    top: Point
    foot: Point
    top_deg: float
    low_deg: float | None = None  # to the foot, or to the mark
    mark: Point | None = None


@dataclass(frozen=True)
class Step:
    """One line of a tree's working."""

    title: str
    inputs: str
    formula: str
    result: str
    method: str  # a function of mapper.metrics, and an anchor of the methods page
    note: str = ""
    sight: Sight | None = None  # to draw a height by


@dataclass(frozen=True)
class PublicPhoto:
    """A photo that may be shown. Of its file only the picture, drawn anew, leaves the folder."""

    tree: str
    file: PhotoFile
    day: str  # as exact as dates are published
    credit: str


@dataclass(frozen=True)
class Results:
    """Everything here may be published: places are cut, private cells and withheld trees gone."""

    survey: Survey
    trees: pd.DataFrame
    visits: pd.DataFrame
    observations: pd.DataFrame
    stands: pd.DataFrame  # a row a stand, of the year that its sheet shows
    stands_by_year: pd.DataFrame
    classes: pd.DataFrame
    classes_by_year: pd.DataFrame  # of stands that were measured in several years
    species: pd.DataFrame
    species_classes: pd.DataFrame
    spread: pd.DataFrame  # Ripley's L, a row a stand and distance
    height_curves: pd.DataFrame  # height by thickness, a row a stand
    comparison: pd.DataFrame
    totals: pd.DataFrame  # of all stands that were counted or sampled
    increments: pd.DataFrame  # growth of stands
    agreement: pd.DataFrame  # how well the survey's own readings agree
    findings: pd.DataFrame
    repairs: pd.DataFrame  # what was changed in the records after they were handed in
    reasons: pd.DataFrame
    workings: Mapping[str, tuple[Step, ...]]
    boundaries: gpd.GeoDataFrame
    backdrop: gpd.GeoDataFrame
    withheld: int = 0  # trees that no table shows
    photos: tuple[PublicPhoto, ...] = ()
    other_units: "Results | None" = None  # the same survey for readers of the other units
