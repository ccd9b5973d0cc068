"""x and y put in the wrong zone of their grid, or swapped."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pyproj import CRS, Transformer
from pyproj.exceptions import ProjError

from mapper.check.findings import Rule, findings, joined
from mapper.check.sites import Site
from mapper.load.places import WGS84, known_crs

Floats = NDArray[np.float64]

ADVICE = "Look at the device's settings or the map's margin."
ZONE_DEG, ZONES = 6, 60
# EPSG codes of the Universal Transverse Mercator grids: family, then zone. EPSG registry, from
# memory; a test compares names and zones with the registry that the projection library carries.
FAMILIES = {32600: 32700, 32700: 32600, 25800: None, 26900: None}


def misread_grids(values: pd.DataFrame, cells: pd.DataFrame, site: Site, crs: str) -> pd.DataFrame:
    """Findings on x and y that land at the site once they are read in another zone, or swapped."""
    lat, lon = values["lat"].to_numpy(dtype=float), values["lon"].to_numpy(dtype=float)
    stray = values[~site.holds(lat, lon)]
    found = []
    for code, some in stray.groupby(stray["crs"].where(stray["crs"] != "", crs)):
        system = known_crs(str(code))
        if system is None:
            continue
        swapped = _holds(system, site, some["y"], some["x"])
        found.append(_swapped(some[swapped], cells))
        rest = some[~swapped]
        for other in _other_zones(system, site):
            lands = _holds(CRS.from_epsg(other), site, rest["x"], rest["y"])
            found.append(_other_zone(rest[lands], cells, other, site))
            rest = rest[~lands]
    return joined(found)


def _other_zones(system: CRS, site: Site) -> list[int]:
    """Grids of the same family whose zone is the site's or next to it."""
    code = system.to_epsg() or 0
    family, zone = code - code % 100, code % 100
    if family not in FAMILIES or not 1 <= zone <= ZONES:
        return []
    here = int((site.lon + 180) // ZONE_DEG) % ZONES
    zones = [(here + step) % ZONES + 1 for step in (0, -1, 1)]
    families = [family, FAMILIES[family]]
    return [
        one + number
        for one in families
        if one
        for number in zones
        if one + number != code and _known(one + number)
    ]


def _known(code: int) -> bool:
    return known_crs(str(code)) is not None


def _holds(system: CRS, site: Site, x: pd.Series, y: pd.Series) -> NDArray[np.bool_]:
    try:
        there = Transformer.from_crs(system, WGS84, always_xy=True)
    except ProjError:
        return np.zeros(len(x), dtype=bool)
    lon, lat = (np.asarray(part) for part in there.transform(x.to_numpy(), y.to_numpy()))
    reached = np.isfinite(lon) & np.isfinite(lat)
    lat, lon = np.where(reached, lat, 0.0), np.where(reached, lon, 0.0)
    return np.asarray(reached & site.holds(lat, lon))


def _swapped(at: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    """A finding for either cell; the place leaves the map with them."""
    tables = []
    for column, other in (("x", "y"), ("y", "x")):
        shown = at.assign(
            cell=cells[column].reindex(at.index),
            proposed_column=column,
            proposed_value=cells[other].reindex(at.index),
        )
        rule = Rule("swapped", "error", "lat", ADVICE, "x and y look swapped.", bars=True)
        tables.append(findings(rule, shown, "x and y look swapped: as meant they lie at the site."))
    return joined(tables)


def _other_zone(at: pd.DataFrame, cells: pd.DataFrame, code: int, site: Site) -> pd.DataFrame:
    """A finding a record; where no record names its system, one a file: survey.toml is wrong."""
    name = CRS.from_epsg(code).name
    message = f"In the system named for it this place is far off, in EPSG:{code} ({name}) it lies "
    message += f"near {site.of}."
    cause = "x and y belong to another zone."
    own = at["crs"] != ""
    named = at[own].assign(proposed_column="crs", proposed_value=f"EPSG:{code}")
    if "crs" in cells:
        named = named.assign(cell=cells["crs"].reindex(named.index))
    unnamed = at[~own]
    first = unnamed.drop_duplicates("file").assign(tree="", row=np.nan)
    whole = first.set_axis([-1] * len(first))
    counts = first["file"].map(unnamed["file"].value_counts()).to_numpy()
    messages = pd.Series(
        [f"{message} So do {count} records of this file." for count in counts],
        whole.index,
        dtype=str,
    )
    please = f'Write crs = "EPSG:{code}" in survey.toml, or a column crs.'
    return joined(
        [
            findings(Rule("other_zone", "error", "lat", ADVICE, cause, True), named, message),
            findings(Rule("other_zone", "error", "x", please, cause), whole, messages),
        ]
    )
