"""survey.toml → Survey: what the leader says about a survey, validated and frozen."""

import difflib
import re
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, ValidationError

from mapper.errors import InputError
from mapper.language import known_language
from mapper.settings import RECORD_FILES, Measure, Publish, Records, Section, Site, Stand
from mapper.survey_files import holds_records, matching, repair_files, unread_beside
from mapper.survey_lines import line_of

PHOTO_ENDINGS = (".jpg", ".jpeg", ".png", ".heic", ".heif")
RECORD_ENDINGS = (
    ".csv", ".xlsx", ".tsv", ".txt", ".ods", ".geojson", ".json", ".gpkg", ".shp", ".kml", ".kmz",
    ".gpx", ".parquet", ".geoparquet", ".zip", *PHOTO_ENDINGS,
)  # fmt: skip


class Survey(Section):
    """A survey as its leader describes it, with its folder and its record files."""

    title: str = ""
    place: str = ""
    publisher: str = ""
    contact: str = ""
    address: str = ""
    language: Annotated[str, AfterValidator(known_language)] = "en"
    units: Literal["metric", "us"] = "metric"
    audience: Literal["general", "school"] = "general"
    records: Records = Records()
    measure: Measure = Measure()
    site: Site = Site()
    publish: Publish = Publish()
    stand: tuple[Stand, ...] = ()
    folder: Path = Field(default=Path(), exclude=True)
    record_files: tuple[Path, ...] = Field(default=(), exclude=True)
    repair_files: tuple[Path, ...] = Field(default=(), exclude=True)
    unread_files: tuple[Path, ...] = Field(default=(), exclude=True)
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


# What a survey for a school publishes unless survey.toml says otherwise: a schoolyard exact on a
# map, with days, tells where children are and when.
SCHOOL: dict[str, object] = {
    "positions": "0.01 deg",
    "dates": "month",
    "boundaries": "cut",
    "photos": "none",
}

FROM_OUTSIDE = {
    "folder", "record_files", "repair_files", "unread_files", "boundary_file", "complete_count",
    "title_given",
}  # fmt: skip

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
                f"{paths[1]}: give one survey folder, or one or more tables. Only `groveplat "
                "build` takes several surveys."
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
            "repair_files": repair_files(survey.folder),
            "complete_count": complete_count,
            "title_given": bool(title) or survey.title_given,
        }
    )


def _from_folder(folder: Path) -> Survey:
    file = folder / "survey.toml"
    settings = _settings(file) if file.exists() else Survey()
    found = [path for pattern in settings.records.files for path in matching(folder, pattern)]
    shapes = {folder / file for file in (settings.site.boundaries, *settings.site.backdrop) if file}
    files = tuple(
        path for path in dict.fromkeys(found) if holds_records(path, folder) and path not in shapes
    )
    usual = settings.records.files == RECORD_FILES
    if not files:
        wanted = "tables in records" if usual else ", ".join(settings.records.files)
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
            "unread_files": unread_beside({*found, *shapes}, files) if usual else (),
        }
    )


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
    return _careful(survey) if survey.audience == "school" else survey


def _careful(survey: Survey) -> Survey:
    """A school's survey, with the careful values of what its file leaves open."""
    told = survey.publish.model_fields_set
    careful = {key: value for key, value in SCHOOL.items() if key not in told}
    return survey.model_copy(update={"publish": survey.publish.model_copy(update=careful)})


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
        if name == "site.tiles" and value != "none":
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
