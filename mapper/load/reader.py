"""Several files of any known format → one table of records."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pandas as pd

from mapper.errors import InputError, NoRecordsError
from mapper.load.angle_units import read_scales
from mapper.load.csv_file import read_csv
from mapper.load.estimates import as_estimates
from mapper.load.geojson_file import read_geojson
from mapper.load.paces import read_paces
from mapper.load.parquet_file import read_parquet
from mapper.load.photo_record import read_photos, with_photo_folders
from mapper.load.places import place, survey_crs
from mapper.load.records import PROBLEM_COLUMNS, Records, Remark, Sheet, remark_problems
from mapper.load.repairs import (
    NO_LAYER,
    Layer,
    history_of,
    lay_over_file,
    lost_history,
    repair_problems,
)
from mapper.load.table import Table, completed, read_sheet
from mapper.load.vector_file import read_gpkg, read_gpx, read_kml, read_shapefile
from mapper.load.workbook_file import read_workbook
from mapper.load.zip_file import read_zip
from mapper.survey import PHOTO_ENDINGS

READERS: Mapping[str, Callable[[Path], list[Sheet]]] = {
    ".csv": read_csv,
    ".tsv": read_csv,
    ".txt": read_csv,
    ".xlsx": read_workbook,
    ".ods": read_workbook,
    ".geojson": read_geojson,
    ".json": read_geojson,
    ".gpkg": read_gpkg,
    ".shp": read_shapefile,
    ".kml": read_kml,
    ".gpx": read_gpx,
    ".parquet": read_parquet,
    ".geoparquet": read_parquet,
}
PACKED = (".zip", ".kmz")


def load_records(
    files: Sequence[Path],
    units: str = "metric",
    crs: str = "EPSG:4326",
    layer: Layer = NO_LAYER,
) -> Records:
    """Read tables of tree records into one, in the order handed in; geotagged photos come last.

    Parameters
    ----------
    files
        Of any format in READERS, zip or kmz with such files in it, or photos.
    units
        What numbers without any unit are in: metric (cm, m) or us (in, ft).
    crs
        Coordinate system of records that name none.
    layer
        Repairs to lay over the cells before they are read.

    Raises
    ------
    InputError
        When a file cannot be used as a table of records.
    """
    system = survey_crs(crs)
    sources, photos = with_photo_folders(files)
    sheets, empty = _handed_in(sources, photos)
    tables, history = _read_all(sheets, sources, units, layer)
    cells = pd.concat([table.cells for table in tables]).fillna("")
    values = completed(pd.concat([table.values for table in tables]))
    unit_m = pd.concat([table.unit_m for table in tables])
    columns = pd.concat([table.columns for table in tables], ignore_index=True)
    walked = read_paces(values, cells, columns)
    angles, refused = read_scales(walked.values, cells, columns)
    placed = place(values, system, unit_m)
    noted = [*placed.remarks.items(), *walked.remarks.items()]
    noted += [(file, [remark]) for file, remark in empty.items()]
    remarks = [remark_problems(notes, file) for file, notes in noted]
    found = pd.concat([walked.problems, refused, placed.problems])
    found = _with_cells(found, cells, values["file"])
    problems = pd.concat(
        [*(table.problems for table in tables), *remarks, found, repair_problems(history, layer)]
    )
    problems = problems.astype({"record": int, "file": int})
    return Records(
        cells=cells,
        values=as_estimates(_named(angles), problems).assign(
            lat=placed.lat, lon=placed.lon, place_from=placed.place_from
        ),
        columns=columns,
        problems=problems.sort_values(["file", "record"], kind="stable", ignore_index=True),
        files=sources,
        photos=photos,
        history=history,
    )


def _handed_in(
    files: Sequence[Path], photos: Mapping[int, Sequence[Path]]
) -> tuple[dict[int, list[Sheet]], dict[int, Remark]]:
    """The sheets of each file by its number, and a remark on each that has no record yet."""
    sheets: dict[int, list[Sheet]] = {}
    empty: dict[int, NoRecordsError] = {}
    for number, file in enumerate(files, start=1):
        try:
            one = read_photos(file, photos[number]) if number in photos else _sheets(file)
            sheets[number] = one
        except NoRecordsError as error:
            empty[number] = error
    if empty and not any(sheets.values()):
        raise next(iter(empty.values()))
    reason = "This file has headings and no record below them. Fill it in, or take it away."
    return sheets, dict.fromkeys(empty, Remark("no_record", "note", reason))


def _read_all(
    sheets: dict[int, list[Sheet]], files: Sequence[Path], units: str, layer: Layer
) -> tuple[list[Table], pd.DataFrame]:
    """Every sheet as understood, and what became of the repairs."""
    tables: list[Table] = []
    told = [lost_history(layer)]
    first = 0
    for number, handed_in in sheets.items():
        if not handed_in:  # no photo of the folder knows its place
            continue
        for original, laid in zip(handed_in, lay_over_file(handed_in, layer, number), strict=True):
            tables.append(read_sheet(laid.sheet, number, first, units))
            told.append(history_of(original, laid, tables[-1], units))
            first += len(laid.sheet.cells)
    if not tables and files:
        raise InputError(
            f"{files[0]}: a photo is a record only if the camera wrote down where it was taken. "
            "Hand in the originals, or a table of records."
        )
    if not tables:
        raise InputError("no file of records was handed in. Name at least one.")
    return tables, pd.concat(told, ignore_index=True)


def _sheets(file: Path) -> list[Sheet]:
    ending = file.suffix.lower()
    if ending not in READERS and ending not in PACKED:
        known = ", ".join([*READERS, *PACKED, *PHOTO_ENDINGS])
        raise InputError(f"{file}: cannot read '{file.suffix}' files. Known endings: {known}.")
    if file.is_dir():
        raise InputError(f"{file}: this is a folder and not a table. Give the tables in it.")
    if not file.is_file():
        raise InputError(f"{file}: there is no such file. Check the spelling.")
    try:
        return read_zip(file, READERS) if ending in PACKED else READERS[ending](file)
    except PermissionError as error:
        raise InputError(f"{file}: may not be opened. Ask its owner to let you read it.") from error


def _named(values: pd.DataFrame) -> pd.DataFrame:
    """Where only a common name was given, it is the species as far as anyone knows."""
    species = values["species"]
    return values.assign(species=species.where(species != "", values["local_name"]))


def _with_cells(found: pd.DataFrame, cells: pd.DataFrame, files: pd.Series) -> pd.DataFrame:
    """Problems found after reading, with the cell each is about."""
    parts = []
    for name, group in found.groupby("column"):
        records = group.index
        texts = cells.loc[records, str(name)]
        parts.append(group.assign(record=records, file=files[records], value=texts))
    return pd.concat([pd.DataFrame(columns=PROBLEM_COLUMNS), *parts])[PROBLEM_COLUMNS]
