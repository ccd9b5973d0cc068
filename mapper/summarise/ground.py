"""The ground that stands cover: their outlines, and the plots on which they were sampled."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace

import geopandas as gpd
import pandas as pd
from shapely.geometry.base import BaseGeometry

from mapper.measure.ground import GUESSED


def no_guess() -> pd.DataFrame:
    """The table of stands none of which has a guessed area."""
    return pd.DataFrame({name: pd.Series(dtype=float) for name in GUESSED}).astype({"stand": str})


@dataclass(frozen=True)
class Ground:
    """What is known of the ground, whoever stands on it."""

    outlines: gpd.GeoDataFrame  # stand, area_ha, geometry
    plots: pd.DataFrame  # a row a plot and nested size, as load.plot_sizes gives them
    guessed: pd.DataFrame = field(default_factory=no_guess)  # as measure.ground gives them

    def of(self, stands: Collection[str]) -> "Ground":
        """The ground of these stands only."""
        return Ground(
            *(
                table[table["stand"].isin(list(stands))]
                for table in (self.outlines, self.plots, self.guessed)
            )
        )

    def in_year(self, year: int) -> "Ground":
        """With the plots of that year; a plot without a day was there every year."""
        dated = self.plots["date"].dt.year
        return replace(self, plots=self.plots[dated.isna() | (dated == year)])

    def in_periods(self, years: Mapping[str, str]) -> "Ground":
        """With each stand's plots of its year; those of a stand that is not named all stay."""
        year = self.plots["stand"].map(years).astype(float)
        dated = self.plots["date"].dt.year
        return replace(self, plots=self.plots[year.isna() | dated.isna() | (dated == year)])

    @property
    def shapes(self) -> dict[str, BaseGeometry]:
        """The outline of each stand that has one."""
        return dict(zip(self.outlines["stand"], self.outlines.geometry, strict=True))

    @property
    def stands(self) -> set[str]:
        """Every stand that has an outline, a plot or a guessed area."""
        return {*self.outlines["stand"], *self.plots["stand"], *self.guessed["stand"]}
