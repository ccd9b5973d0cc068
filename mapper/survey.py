"""survey.toml → Survey: what the leader says about a survey, validated and frozen."""

import difflib
import re
import tomllib
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StrictBool,
    ValidationError,
)
from pyproj import CRS
from pyproj.exceptions import CRSError

from mapper.errors import InputError
from mapper.reference import rows
from mapper.reference.growth import region_code, urban_regions
from mapper.survey_lines import line_of

# By these the program knows what it wrote itself.
SITE_MARK = ".groveplat-site"
FINDINGS_MARK = "groveplat check"
RECORD_ENDINGS = (".csv", ".tsv", ".txt", ".xlsx", ".geojson", ".json")


CM_PER_INCH = 2.54


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
        {"length": ('"1.30 m"', '"5 cm"'), "area": ('"1.2 ha"', '"3 acre"')}[quantity]
    )
    raise ValueError(f"write a number with its unit, as in {shown}")


def _length(text: object) -> float:
    return _in_unit(text, "length")


def _area(text: object) -> float:
    return _in_unit(text, "area")


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


Metres = Annotated[float, BeforeValidator(_length)]
Height = Annotated[float, BeforeValidator(_length), Field(gt=0)]
ClassWidth = Annotated[str, AfterValidator(_class_width)]
CrsName = Annotated[str, AfterValidator(_crs)]
Region = Annotated[str, AfterValidator(_region)]
Hectares = Annotated[float, BeforeValidator(_area), Field(gt=0)]


class Section(BaseModel):
    """A part of survey.toml: unknown keys are refused, values cannot be changed."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class Records(Section):
    """Which files hold the records, and how their places are written."""

    files: tuple[str, ...] = ("records/*.csv", "records/*.xlsx")
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
    def classes_in_inches(self) -> bool:
        """Whether a class is a whole number of inches wide, whatever its unit is called."""
        inches = self.diameter_class_cm / CM_PER_INCH
        return abs(inches - round(inches)) < 1e-6

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
    boundaries: StrictBool = True
    findings: Literal["counts", "full"] = "counts"
    licence: str = "CC-BY-4.0"


class Stand(Section):
    """One stand: how large it is and how its trees were chosen."""

    name: str
    area: Hectares | None = None
    setting: Literal["woodland", "open-grown"] | None = None
    design: Literal["chosen trees", "complete count", "plots", "angle count"] = "chosen trees"
    selection: Literal["by hand", "random", "systematic"] = "by hand"
    edge: Literal["none", "mirage", "walkthrough", "inside only"] = "none"
    plot_area: str | None = None
    plot_radius: str | None = None
    basal_area_factor: float | None = None
    plots: str | None = None
    strata: str | None = None


class Survey(Section):
    """A survey as its leader describes it, with its folder and its record files."""

    title: str = ""
    place: str = ""
    publisher: str = ""
    contact: str = ""
    address: str = ""
    language: str = "en"
    units: Literal["metric", "us"] = "metric"
    audience: Literal["general", "school"] = "general"
    records: Records = Records()
    measure: Measure = Measure()
    site: Site = Site()
    publish: Publish = Publish()
    stand: tuple[Stand, ...] = ()
    folder: Path = Field(default=Path(), exclude=True)
    record_files: tuple[Path, ...] = Field(default=(), exclude=True)
    boundary_file: Path | None = Field(default=None, exclude=True)
    complete_count: bool = Field(default=False, exclude=True)
    title_given: bool = Field(default=True, exclude=True)

    def stand_called(self, name: str) -> Stand:
        """The declared stand of that name, or one with what holds when nothing was declared."""
        design = "complete count" if self.complete_count else "chosen trees"
        for stand in self.stand:
            if stand_key(stand.name) == stand_key(name):
                told = {"name": name} if "design" in stand.model_fields_set else {"design": design}
                return stand.model_copy(update={"name": name, **told})
        return Stand.model_validate({"name": name, "design": design})


def stand_key(name: str) -> str:
    """By this two spellings of a stand's name are the same: case and spaces do not count."""
    return " ".join(name.split()).casefold()


FROM_OUTSIDE = {"folder", "record_files", "boundary_file", "complete_count", "title_given"}

# Values the survey file may hold one day. To accept one and do nothing would be a lie.
NOT_BUILT: dict[str, tuple[object, ...]] = {
    "audience": ("school",),
    "publish.observers": ("codes", "names"),
    "stand.design": ("plots", "angle count"),
}
NOT_BUILT_AT_ALL = (
    "stand.plot_area",
    "stand.plot_radius",
    "stand.basal_area_factor",
    "stand.plots",
    "stand.strata",
)


# What the validation library says in Python's words, in those of a settings file.
KINDS = {
    "tuple_type": 'write a list, as in ["one", "two"]; for a stand write [[stand]]',
    "model_type": "write a section with its keys below it, as in [measure]",
    "string_type": 'write a text in quotes, as in "one"',
    "bool_type": "write true or false, without quotes",
    "float_type": "write a number",
}


def read_survey(
    paths: Sequence[Path],
    boundaries: Path | None = None,
    complete_count: bool = False,
    title: str = "",
) -> Survey:
    """The survey at a folder, a survey.toml, or one or more tables of trees.

    Raises
    ------
    InputError
        When a path is missing, the settings are wrong, or no record file is found.
    """
    first = paths[0]
    for path in paths:
        if not path.exists():
            raise InputError(f"{path}: there is no such file or folder. Check the spelling.")
    if first.is_dir() or first.name == "survey.toml":
        if len(paths) > 1:
            raise InputError(
                f"{paths[1]}: give one survey folder, or one or more tables, not both."
            )
        survey = _from_folder(first if first.is_dir() else first.parent)
    else:
        _refuse_same(paths)
        survey = Survey(
            title=_title_from(first),
            title_given=False,
            folder=first.parent,
            record_files=tuple(map(_record_file, paths)),
        )
    return _with_options(survey, boundaries, complete_count, title)


def _refuse_same(paths: Sequence[Path]) -> None:
    seen: set[Path] = set()
    for path in paths:
        if path.resolve() in seen:
            raise InputError(f"{path}: given twice. Every tree would count twice: give it once.")
        seen.add(path.resolve())


def _with_options(
    survey: Survey, boundaries: Path | None, complete_count: bool, title: str
) -> Survey:
    """What the command line says wins over what the survey says."""
    named = survey.folder / survey.site.boundaries if survey.site.boundaries else None
    return survey.model_copy(
        update={
            "title": title or survey.title,
            "boundary_file": boundaries or named,
            "complete_count": complete_count,
            "title_given": bool(title) or survey.title_given,
        }
    )


def _from_folder(folder: Path) -> Survey:
    file = folder / "survey.toml"
    settings = _settings(file) if file.exists() else Survey()
    found = [path for pattern in settings.records.files for path in _matching(folder, pattern)]
    files = tuple(path for path in dict.fromkeys(found) if _holds_records(path))
    if not files:
        wanted = ", ".join(settings.records.files)
        raise InputError(
            f"{folder}: no record file found (looked for {wanted}). "
            "Put the tables there, or name them in survey.toml under [records] files."
        )
    title = settings.title or _title_from(folder.resolve())
    return settings.model_copy(
        update={
            "title_given": bool(settings.title),
            "title": title,
            "folder": folder,
            "record_files": tuple(map(_record_file, files)),
        }
    )


def _matching(folder: Path, pattern: str) -> list[Path]:
    try:
        return sorted(path for path in folder.glob(pattern) if path.is_file())
    except (ValueError, NotImplementedError) as error:
        raise InputError(
            f"{folder / 'survey.toml'}: records.files names '{pattern}'. Name files inside the "
            'survey folder, as in "records/*.csv".'
        ) from error


def _holds_records(path: Path) -> bool:
    """Not the lock file of an open spreadsheet, nor anything this program wrote itself."""
    if path.name.startswith(("~$", ".")) or is_findings(path):
        return False
    return not any((parent / SITE_MARK).exists() for parent in path.parents)


def is_findings(path: Path) -> bool:
    """Whether a workbook is the list of findings that `check` wrote."""
    if path.suffix.lower() != ".xlsx" or not path.name.startswith("findings"):
        return False
    try:
        with zipfile.ZipFile(path) as archive:
            return FINDINGS_MARK.encode() in archive.read("docProps/core.xml")
    except (OSError, KeyError, zipfile.BadZipFile):
        return False


def _title_from(path: Path) -> str:
    return re.sub(r"[_-]+", " ", path.stem).strip() or "Survey"


def _record_file(path: Path) -> Path:
    if path.suffix.lower() not in RECORD_ENDINGS:
        raise InputError(
            f"{path}: cannot read '{path.suffix}' files as records. "
            f"Known endings: {', '.join(RECORD_ENDINGS)}."
        )
    return path


def _settings(file: Path) -> Survey:
    try:
        text = file.read_text(encoding="utf-8-sig")
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{file}: not a readable settings file: {error}.") from error
    except UnicodeDecodeError as error:
        raise InputError(f"{file}: not saved as UTF-8. Save it again as UTF-8 text.") from error
    inner = sorted(FROM_OUTSIDE & raw.keys())
    if inner:
        raise InputError(_unknown(file, text, (inner[0],)))
    try:
        survey = Survey.model_validate(raw)
    except ValidationError as error:
        raise InputError(_explained(file, text, error)) from error
    _refuse_unbuilt(file, text, raw)
    _refuse_twins(file, text, survey)
    return survey


def _refuse_twins(file: Path, text: str, survey: Survey) -> None:
    for number, stand in enumerate(survey.stand):
        if stand_key(stand.name) in [stand_key(one.name) for one in survey.stand[:number]]:
            raise InputError(
                f"{_where(file, text, ('stand', number, 'name'))}: a second [[stand]] named "
                f"'{stand.name}'. Keep one."
            )


def _explained(file: Path, text: str, error: ValidationError) -> str:
    first = error.errors()[0]
    keys = tuple(first["loc"])
    if first["type"] == "extra_forbidden":
        return _unknown(file, text, keys)
    where = _where(file, text, keys)
    if first["type"] == "missing":
        return f"{where}: the key '{keys[-1]}' is missing. Add it."
    reason = KINDS.get(first["type"], first["msg"].removeprefix("Value error, "))
    return f"{where}: {_dotted(keys)} = {first['input']!r}: {reason[0].lower()}{reason[1:]}."


def _unknown(file: Path, text: str, keys: tuple[str | int, ...]) -> str:
    known = _known_keys(keys[:-1])
    near = difflib.get_close_matches(str(keys[-1]), known, 1, 0.5)
    advice = f"Did you mean '{near[0]}'?" if near else f"Known keys here: {', '.join(known)}."
    return f"{_where(file, text, keys)}: unknown key '{_dotted(keys)}'. {advice}"


def _known_keys(parents: tuple[str | int, ...]) -> list[str]:
    sections: dict[str, type[Section]] = {
        "records": Records, "measure": Measure, "site": Site, "publish": Publish, "stand": Stand
    }  # fmt: skip
    section = sections.get(str(parents[0]), Survey) if parents else Survey
    return [name for name in section.model_fields if name not in FROM_OUTSIDE]


def _dotted(keys: Sequence[str | int]) -> str:
    return ".".join(str(key) for key in keys if not isinstance(key, int))


def _where(file: Path, text: str, keys: tuple[str | int, ...]) -> str:
    line = line_of(text, keys)
    return f"{file}, line {line}" if line else str(file)


def _refuse_unbuilt(file: Path, text: str, raw: dict[str, Any]) -> None:
    """Settings that are agreed but not built yet are refused, not quietly ignored."""
    for keys, value in _leaves(raw):
        name = _dotted(keys)
        tiles = name == "site.tiles" and value != "none"
        language = name == "language" and value != "en"
        unbuilt = name in NOT_BUILT_AT_ALL or value in NOT_BUILT.get(name, ())
        if unbuilt or tiles or language:
            raise InputError(
                f"{_where(file, text, keys)}: {name} = {value!r} is planned but not built yet. "
                "Leave it out for now."
            )


def _leaves(
    raw: Any, keys: tuple[str | int, ...] = ()
) -> list[tuple[tuple[str | int, ...], object]]:
    if isinstance(raw, dict):
        return [leaf for key, value in raw.items() for leaf in _leaves(value, (*keys, key))]
    if isinstance(raw, list) and raw and isinstance(raw[0], dict):
        return [leaf for index, value in enumerate(raw) for leaf in _leaves(value, (*keys, index))]
    return [(keys, raw)]
