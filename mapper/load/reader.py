"""Several files of any known format → one table of records."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pandas as pd

from mapper.errors import InputError
from mapper.load.angle_units import read_scales
from mapper.load.csv_file import read_csv
from mapper.load.geojson_file import read_geojson
from mapper.load.places import place, survey_crs
from mapper.load.records import PROBLEM_COLUMNS, Records, Sheet, remark_problems
from mapper.load.table import Table, completed, read_sheet
from mapper.load.xlsx_file import read_xlsx

READERS: Mapping[str, Callable[[Path], list[Sheet]]] = {
    ".csv": read_csv,
    ".tsv": read_csv,
    ".txt": read_csv,
    ".xlsx": read_xlsx,
    ".geojson": read_geojson,
    ".json": read_geojson,
}


def load_records(files: Sequence[Path], units: str = "metric", crs: str = "EPSG:4326") -> Records:
    """Read tables of tree records into one, in the order handed in.

    Parameters
    ----------
    files
        csv, tsv, txt, xlsx, geojson or json.
    units
        What numbers without any unit are in: metric (cm, m) or us (in, ft).
    crs
        Coordinate system of records that name none.

    Raises
    ------
    InputError
        When a file cannot be used as a table of records.
    """
    system = survey_crs(crs)
    tables = _read_all(files, units)
    cells = pd.concat([table.cells for table in tables]).fillna("")
    values = completed(pd.concat([table.values for table in tables]))
    unit_m = pd.concat([table.unit_m for table in tables])
    angles, refused = read_scales(values, cells)
    placed = place(values, system, unit_m)
    remarks = [remark_problems(notes, file) for file, notes in placed.remarks.items()]
    found = _with_cells(pd.concat([refused, placed.problems]), cells, values["file"])
    problems = pd.concat([*(table.problems for table in tables), *remarks, found])
    problems = problems.astype({"record": int, "file": int})
    return Records(
        cells=cells,
        values=_named(angles).assign(lat=placed.lat, lon=placed.lon, place_from=placed.place_from),
        columns=pd.concat([table.columns for table in tables], ignore_index=True),
        problems=problems.sort_values(["file", "record"], kind="stable", ignore_index=True),
        files=tuple(files),
    )


def _read_all(files: Sequence[Path], units: str) -> list[Table]:
    tables: list[Table] = []
    first = 0
    for number, file in enumerate(files, start=1):
        for sheet in _sheets(file):
            tables.append(read_sheet(sheet, number, first, units))
            first += len(sheet.cells)
    if not tables:
        raise InputError("no file of records was handed in. Name at least one.")
    return tables


def _sheets(file: Path) -> list[Sheet]:
    reader = READERS.get(file.suffix.lower())
    if reader is None:
        raise InputError(
            f"{file}: cannot read '{file.suffix}' files. Known endings: {', '.join(READERS)}."
        )
    if file.is_dir():
        raise InputError(f"{file}: this is a folder and not a table. Give the tables in it.")
    if not file.is_file():
        raise InputError(f"{file}: there is no such file. Check the spelling.")
    try:
        return reader(file)
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
