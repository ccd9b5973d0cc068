"""Several surveys for one site: a folder or a survey.toml each, and tables as one more."""

from collections.abc import Sequence
from pathlib import Path

from mapper.errors import InputError
from mapper.survey import Survey, read_survey

# What a site says once, or what makes figures of two surveys unlike: it must be told alike.
SECTIONS = ("measure", "publish")
KEYS = ("units", "language", "audience")


def read_surveys(
    paths: Sequence[Path],
    boundaries: Path | None = None,
    complete_count: bool = False,
    title: str = "",
) -> tuple[Survey, ...]:
    """One survey, or several that agree on what a site says once; these keep their own titles.

    Raises
    ------
    InputError
        As `read_survey`, when a survey is given twice, or when two differ in such a setting.
    """
    folders = [path for path in paths if path.is_dir() or path.name == "survey.toml"]
    tables = [path for path in paths if path not in folders]
    if len(folders) + bool(tables) < 2:
        return (read_survey(paths, boundaries, complete_count, title),)
    if boundaries:
        raise InputError(
            f"{boundaries}: --boundaries cannot be shared by several surveys. Name each one's "
            'outlines in its survey.toml, under [site] boundaries = "stands.geojson".'
        )
    groups = [[folder] for folder in folders] + ([tables] if tables else [])
    surveys = tuple(read_survey(group, None, complete_count) for group in groups)
    _refuse_twice(surveys)
    for other in surveys[1:]:
        _refuse_unlike(surveys[0], other)
    return surveys


def _refuse_twice(surveys: Sequence[Survey]) -> None:
    seen: dict[Path, Path] = {}
    for survey in surveys:
        for file in survey.record_files:
            if file.resolve() in seen:
                raise InputError(
                    f"{file}: given twice, in {seen[file.resolve()]} and in {survey.folder}. "
                    "Every tree would count twice: give it once."
                )
            seen[file.resolve()] = survey.folder


def _refuse_unlike(one: Survey, other: Survey) -> None:
    for key in KEYS:
        _refuse_two_values(one, other, key, getattr(one, key), getattr(other, key))
    for section in SECTIONS:
        ours, theirs = getattr(one, section), getattr(other, section)
        for key in type(ours).model_fields:
            _refuse_two_values(
                one, other, f"{section}.{key}", getattr(ours, key), getattr(theirs, key)
            )


def _refuse_two_values(one: Survey, other: Survey, key: str, ours: object, theirs: object) -> None:
    if ours != theirs:
        raise InputError(
            f"{other.folder / 'survey.toml'}: {key} is {theirs!r}, and {ours!r} in "
            f"{one.folder / 'survey.toml'}. One site has one: set both alike, or build two sites."
        )
