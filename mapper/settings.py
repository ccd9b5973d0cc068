"""The sections of survey.toml: each key with its type, its default and what is allowed."""

import re
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StrictBool
from pyproj import CRS
from pyproj.exceptions import CRSError

from mapper.reference import rows
from mapper.reference.growth import region_code, urban_regions
from mapper.reference.licences import full_codes, licence_of


def _in_unit(text: object, quantity: str) -> float:
    """Read `5 cm` or `1.2 ha` as a number of the quantity's base unit (m, ha)."""
    match = re.fullmatch(r"\s*([0-9]+(?:\.[0-9]+)?)\s*([^\s0-9].*?)\s*", str(text))
    units = {
        name: float(row["factor"])
        for row in rows("units")
        if row["quantity"] == quantity
        for name in (row["unit"], *row["aliases"].split("|"))
        if name
    }
    if match and match[2] in units:
        return float(match[1]) * units[match[2]]
    shown = " or ".join(
        {
            "length": ('"1.30 m"', '"5 cm"'),
            "area": ('"1.2 ha"', '"3 acre"'),
            "basal area factor": ("2", '"10 ft2/acre"'),
        }[quantity]
    )
    raise ValueError(f"write a number with its unit, as in {shown}")


def _length(text: object) -> float:
    return _in_unit(text, "length")


def _area(text: object) -> float:
    return _in_unit(text, "area")


def _factor(value: object) -> float:
    """A bare number is in m²/ha."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value)
    return _in_unit(value, "basal area factor")


def _class_width(text: str) -> str:
    if _length(text) <= 0:
        raise ValueError("a class has a width above 0")
    return text


def _crs(text: str) -> str:
    try:
        CRS.from_user_input(int(text) if text.isdecimal() else text)
    except (CRSError, ValueError) as error:
        raise ValueError('name a coordinate system, as in "EPSG:32632"') from error
    return text


def _region(text: str) -> str:
    code = region_code(text)
    if text and not code:
        known = ", ".join(f"{name} ({place})" for name, place in urban_regions().items())
        raise ValueError(f"name one of the regions {known}")
    return code


def _outlines(value: object) -> bool | str:
    if isinstance(value, bool) or value == "cut":
        return value
    raise ValueError('write true, false, or "cut" for outlines as coarse as the places')


def _licence(text: str) -> str:
    words = " ".join(text.split())
    if not words:
        raise ValueError('name a licence, as in "CC-BY-4.0", or say what a reader may do')
    codes = full_codes(words)
    if codes:
        raise ValueError(f"name the licence with its version: {' or '.join(codes)}")
    return licence_of(words).code


Metres = Annotated[float, BeforeValidator(_length)]
Height = Annotated[float, BeforeValidator(_length), Field(gt=0)]
ClassWidth = Annotated[str, AfterValidator(_class_width)]
CrsName = Annotated[str, AfterValidator(_crs)]
Outlines = Annotated[bool | Literal["cut"], BeforeValidator(_outlines)]
LicenceName = Annotated[str, AfterValidator(_licence)]
Region = Annotated[str, AfterValidator(_region)]
BasalAreaFactor = Annotated[float, BeforeValidator(_factor), Field(gt=0)]
Hectares = Annotated[float, BeforeValidator(_area), Field(gt=0)]


class Section(BaseModel):
    """A part of survey.toml: unknown keys are refused, values cannot be changed."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


# A read-me (txt, json) or a drawing (png) may lie among the records: read where they are named.
RECORD_FILES = tuple(
    f"records/*.{ending}"
    for ending in (
        "csv", "xlsx", "tsv", "ods", "geojson", "gpkg", "shp", "kml", "kmz", "gpx", "parquet",
        "geoparquet", "zip", "jpg", "jpeg", "heic", "JPG", "JPEG", "HEIC",
    )
)  # fmt: skip


class Records(Section):
    """Which files hold the records, and how their places are written."""

    files: tuple[str, ...] = RECORD_FILES
    crs: CrsName = "EPSG:4326"
    photos: str = "photos"


class Measure(Section):
    """How the trees were measured, and how they are classed."""

    breast_height: Height = 1.30
    slope_rule: Literal["uphill", "midpoint"] = "uphill"
    setting: Literal["woodland", "open-grown"] = "woodland"
    growth_region: Region = ""
    diameter_class: ClassWidth = "5 cm"
    size_classes: str = ""
    smallest_diameter: Metres = 0.0
    biomass: StrictBool = False

    @property
    def diameter_class_cm(self) -> float:
        """Width of a diameter class. [cm]"""
        return round(_length(self.diameter_class) * 100, 6)

    @property
    def smallest_diameter_cm(self) -> float:
        """The diameter from which on a tree enters the stand's figures. [cm]"""
        return round(self.smallest_diameter * 100, 6)


class Site(Section):
    """What is drawn besides the trees."""

    boundaries: str = ""
    backdrop: tuple[str, ...] = ()
    tiles: str = "none"


class Publish(Section):
    """What may leave the survey folder. The first value of each is the most careful one."""

    photos: Literal["consented", "none"] = "consented"
    observers: Literal["hidden", "codes", "names"] = "hidden"
    positions: Literal["exact", "0.001 deg", "0.01 deg", "hidden"] = "exact"
    dates: Literal["day", "month", "year"] = "day"
    columns: tuple[str, ...] = ()
    notes: StrictBool = False
    boundaries: Outlines = True
    findings: Literal["counts", "full"] = "counts"
    licence: LicenceName = "CC-BY-4.0"


class Stand(Section):
    """One stand: how large it is and how its trees were chosen."""

    name: str
    area: Hectares | None = None
    setting: Literal["woodland", "open-grown"] | None = None
    design: Literal["chosen trees", "complete count", "plots", "angle count"] = "chosen trees"
    selection: Literal["by hand", "random", "systematic"] = "by hand"
    edge: Literal["none", "mirage", "walkthrough", "inside only"] = "none"
    plot_area: Hectares | None = None
    plot_radius: Height | None = None
    basal_area_factor: BasalAreaFactor | None = None
    plots: str | None = None
    strata: str | None = None
