"""Several surveys, each read and checked by itself, as one line: one site shows them all."""

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from string import ascii_uppercase

import geopandas as gpd
import pandas as pd

from mapper.check import usable
from mapper.line import run_checks
from mapper.load.identity import with_tree_keys
from mapper.load.photos import Photos
from mapper.load.records import Records
from mapper.load.survey_records import Observations
from mapper.measure import measure_trees
from mapper.settings import Stand
from mapper.summarise import Line
from mapper.survey import Survey, stand_key

# Two outlines are one where they differ by less than this part of the ground: rounded corners.
SAME_GROUND = 0.001
FILE_IN_WORDS = re.compile(r"\bfile (\d+)(?=, (?:sheet|row) )")


@dataclass(frozen=True)
class _Before:
    """How much the surveys before this one hold: from there its numbers go on."""

    records: int = 0
    files: int = 0
    photos: int = 0
    roots: int = 0


def run_together(surveys: Sequence[Survey], title: str, tell: Callable[[str], None]) -> Line:
    """Read, check and measure every survey, and put them into one line, with a title if given."""
    lines = [run_checks(survey, tell) for survey in surveys]
    if len(lines) == 1:
        return lines[0]
    line = together(lines)
    named = {"title": title, "title_given": True} if title else {}
    return replace(line, survey=line.survey.model_copy(update=named))


def together(lines: Sequence[Line]) -> Line:
    """The lines of several surveys as one.

    A stand of the same name is one stand, of several years, where every survey has the same
    outline for it and says the same of it; else each keeps its own, with the survey's title behind
    the name. A tree number used in two surveys is one tree in such a shared stand, and where
    nothing speaks against it; else the survey's letter (A, B …) stands before it.
    """
    shared = _shared_stands(lines)
    before = _Before()
    parts: list[Line] = []
    for line, label in zip(lines, _labels(lines), strict=True):
        named = _with_stands(line, _new_names(line, lines, shared, label))
        parts.append(_moved(_dated(named, shared), before))
        before = _behind(parts[-1])
    keys = _keys([part.observations.values for part in parts], shared)
    parts = [_with_keys(part, keys) for part in parts]
    findings = pd.concat([part.findings for part in parts], ignore_index=True)
    observations = _observations([part.observations for part in parts])
    measured = measure_trees(usable(observations.values, findings))
    return Line(_survey([part.survey for part in parts]), observations, findings, measured)


def _labels(lines: Sequence[Line]) -> list[str]:
    """The titles, or letters where two surveys have one title."""
    titles = [line.survey.title for line in lines]
    return titles if len({*titles}) == len(titles) else list(ascii_uppercase[: len(titles)])


def _stands(line: Line) -> dict[str, str]:
    """The names of a survey's stands by their key."""
    values, bounds = line.observations.values["stand"], line.observations.boundaries["stand"]
    return {stand_key(name): name for name in (*values.unique(), *bounds) if name}


def _shared_stands(lines: Sequence[Line]) -> dict[str, str]:
    """Stands that are one in all surveys that name them: their name in the first, by key."""
    named: dict[str, list[Line]] = {}
    for line in lines:
        for key in _stands(line):
            named.setdefault(key, []).append(line)
    return {
        key: _stands(those[0])[key]
        for key, those in named.items()
        if len(those) > 1 and all(_same_stand(key, those[0], other) for other in those[1:])
    }


def _same_stand(key: str, one: Line, other: Line) -> bool:
    grounds, told = [], []
    for line in (one, other):
        outlines = line.observations.boundaries
        mine = outlines[outlines["stand"].map(stand_key) == key]
        if mine.empty:
            return False
        grounds.append(mine.geometry.union_all())
        told.append(line.survey.stand_called(key).model_dump(exclude={"name", "plots", "strata"}))
    apart = grounds[0].symmetric_difference(grounds[1]).area
    return bool(told[0] == told[1] and apart <= SAME_GROUND * grounds[0].area)


def _new_names(
    line: Line, lines: Sequence[Line], shared: dict[str, str], label: str
) -> dict[str, str]:
    """What each stand of a survey is called on the site, by its key."""
    uses = Counter(key for one in lines for key in _stands(one))
    return {
        key: shared.get(key, name if uses[key] == 1 else f"{name} ({label})")
        for key, name in _stands(line).items()
    }


def _with_stands(line: Line, names: dict[str, str]) -> Line:
    def called(cells: "pd.Series[str]") -> "pd.Series[str]":
        return cells.map({name: names.get(stand_key(name), name) for name in cells.unique()})

    seen = line.observations
    values = seen.values.assign(stand=called(seen.values["stand"]))
    plots = seen.plots.assign(stand=called(seen.plots["stand"]).astype(str))
    outlines = seen.boundaries.assign(stand=called(seen.boundaries["stand"]))
    stands = tuple(
        stand.model_copy(update={"name": names.get(stand_key(stand.name), stand.name)})
        for stand in line.survey.stand
    )
    return replace(
        line,
        survey=line.survey.model_copy(update={"stand": stands}),
        observations=replace(seen, values=values, plots=plots, boundaries=outlines),
    )


def _dated(line: Line, shared: dict[str, str]) -> Line:
    """In a shared stand a plot without a day is of its own survey's time, and of no other."""
    seen = line.observations
    newest = seen.values.groupby("stand")["date"].max()
    mine = seen.plots["stand"].where(seen.plots["stand"].isin(list(shared.values())))
    dates = seen.plots["date"].fillna(mine.map(newest).astype("datetime64[s]"))
    return replace(line, observations=replace(seen, plots=seen.plots.assign(date=dates)))


def _moved(line: Line, before: _Before) -> Line:
    """The survey with its numbers of records, files, photos and points behind those before."""
    seen = line.observations
    on, files = before.records, before.files
    values = seen.values.set_axis(seen.values.index + on).assign(
        file=seen.values["file"].to_numpy() + files,
        copy_of=_on(seen.values["copy_of"], on).to_numpy(),
        place_root=_on(seen.values["place_root"], before.roots).to_numpy(),
    )
    found = line.findings.assign(
        record=_on(line.findings["record"], on),
        file=_on(line.findings["file"], files, least=1),
        message=[_renumbered(text, files) for text in line.findings["message"]],
    )
    moved = replace(
        seen,
        values=values,
        records=_records_on(seen.records, values, before),
        photos=_photos_on(seen.photos, before),
    )
    return replace(line, observations=moved, findings=found)


def _renumbered(message: str, files: int) -> str:
    """Rules name other records by "file 3, row 17"."""
    return FILE_IN_WORDS.sub(lambda found: f"file {int(found[1]) + files}", message)


def _on(numbers: "pd.Series[int]", by: int, least: int = 0) -> "pd.Series[int]":
    """Numbers moved on; what is below the least stands for none."""
    return numbers.where(numbers < least, numbers + by)


def _records_on(records: Records, values: pd.DataFrame, before: _Before) -> Records:
    def moved(table: pd.DataFrame) -> pd.DataFrame:
        known = {"record": before.records, "file": before.files}
        return table.assign(
            **{
                name: _on(table[name], by, least=int(name == "file"))
                for name, by in known.items()
                if name in table
            }
        )

    cells = records.cells
    return replace(
        records,
        cells=cells.set_axis(cells.index + before.records),
        values=values,
        columns=moved(records.columns),
        problems=moved(records.problems),
        history=moved(records.history),
        photos={number + before.files: those for number, those in records.photos.items()},
    )


def _photos_on(photos: Photos, before: _Before) -> Photos:
    def moved(table: pd.DataFrame) -> pd.DataFrame:
        return table.assign(
            record=_on(table["record"], before.records), photo=_on(table["photo"], before.photos)
        )

    files = photos.files
    return replace(
        photos,
        files=files.set_axis(files.index + before.photos),
        named=moved(photos.named),
        links=moved(photos.links),
    )


def _behind(line: Line) -> _Before:
    """What the next survey's numbers begin with."""
    seen = line.observations
    return _Before(
        records=int(seen.records.cells.index.max()) + 1,
        files=int(max(seen.values["file"].max(), seen.records.columns["file"].max())),
        photos=int(seen.photos.files.index.max()) + 1 if len(seen.photos.files) else 0,
        roots=int(seen.values["place_root"].max()) + 1,
    )


def _keys(tables: Sequence[pd.DataFrame], shared: dict[str, str]) -> "pd.Series[str]":
    """The tree of every record of all surveys."""
    letters = ascii_uppercase[: len(tables)]
    values = pd.concat(
        [table.assign(survey=letter) for letter, table in zip(letters, tables, strict=True)]
    )
    once = values["copy_of"] < 0
    number = values["tree"].astype(str).str.strip().str.casefold()
    in_shared = values["stand"].isin(list(shared.values())) & values["numbered"]
    several = values["survey"].groupby(number).transform("nunique") > 1
    met = values["numbered"] & number.isin(number[in_shared & several])
    keys = values["tree_key"].copy()
    if (met & once).any():
        keys[met & once] = with_tree_keys(values[met & once])["tree_key"]
    clash = values["survey"].groupby(keys).transform("nunique") > 1
    keys = keys.where(met | ~clash, values["survey"] + "-" + keys)
    copies = values["copy_of"][~once]
    keys[copies.index] = keys[copies].to_numpy()
    return keys


def _with_keys(line: Line, keys: "pd.Series[str]") -> Line:
    seen = line.observations
    values = seen.values.assign(tree_key=keys.reindex(seen.values.index))
    renamed = dict(zip(seen.values["tree_key"], values["tree_key"], strict=True))
    other = line.findings["other_tree"]
    return replace(
        line,
        observations=replace(seen, values=values, records=replace(seen.records, values=values)),
        findings=line.findings.assign(other_tree=other.map(lambda key: renamed.get(key, key))),
    )


def _observations(parts: Sequence[Observations]) -> Observations:
    values = pd.concat([part.values for part in parts])
    records = [part.records for part in parts]
    return Observations(
        records=replace(
            records[0],
            cells=pd.concat([one.cells for one in records]).fillna(""),
            values=values,
            columns=pd.concat([one.columns for one in records], ignore_index=True),
            problems=pd.concat([one.problems for one in records], ignore_index=True),
            files=tuple(file for one in records for file in one.files),
            photos={n: those for one in records for n, those in one.photos.items()},
            history=pd.concat([one.history for one in records], ignore_index=True),
        ),
        values=values,
        boundaries=_outlines([part.boundaries for part in parts]),
        backdrop=_drawn_once([part.backdrop for part in parts]),
        photos=_photos([part.photos for part in parts]),
        unread=tuple(name for part in parts for name in part.unread),
        plots=pd.concat([part.plots for part in parts], ignore_index=True),
        unread_headings=tuple(text for part in parts for text in part.unread_headings),
    )


def _outlines(parts: Sequence[gpd.GeoDataFrame]) -> gpd.GeoDataFrame:
    """Every outline; of a stand that several surveys share the first one's."""
    earlier: set[str] = set()
    kept = []
    for part in parts:
        kept.append(part[~part["stand"].isin(list(earlier))])
        earlier |= {*part["stand"]}
    return gpd.GeoDataFrame(pd.concat(kept, ignore_index=True), crs=parts[0].crs)


def _drawn_once(parts: Sequence[gpd.GeoDataFrame]) -> gpd.GeoDataFrame:
    whole = gpd.GeoDataFrame(pd.concat(parts, ignore_index=True), crs=parts[0].crs)
    again = pd.Series(whole.geometry.to_wkb(), index=whole.index).duplicated()
    return whole[~again].reset_index(drop=True)


def _photos(parts: Sequence[Photos]) -> Photos:
    return Photos(
        files=pd.concat([part.files for part in parts]),
        named=pd.concat([part.named for part in parts], ignore_index=True),
        links=pd.concat([part.links for part in parts], ignore_index=True),
        others=tuple(name for part in parts for name in part.others),
        wanted=parts[0].wanted,
    )


def _survey(surveys: Sequence[Survey]) -> Survey:
    """What the site says of itself: titles and names joined, the rest as in the first survey."""
    told: dict[str, Stand] = {}
    for stand in (stand for survey in surveys for stand in survey.stand):
        told.setdefault(stand_key(stand.name), stand)

    def joined(key: str) -> str:
        return "; ".join(dict.fromkeys(filter(None, (getattr(one, key) for one in surveys))))

    return surveys[0].model_copy(
        update={
            **{key: joined(key) for key in ("title", "place", "publisher")},
            "stand": tuple(told.values()),
            "record_files": tuple(file for one in surveys for file in one.record_files),
            "title_given": all(one.title_given for one in surveys),
        }
    )
