"""What several test files share."""

import io
import json
import sqlite3
import zipfile
from collections.abc import Callable
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

import geopandas as gpd
import pyarrow.parquet as pq
import pytest
from filelock import FileLock
from hypothesis import settings
from PIL import ExifTags, Image
from pillow_heif import register_heif_opener

from mapper.line import survey_results
from mapper.summarise import Results
from mapper.survey import read_survey

# No test has a clock: a busy machine is no mistake of the code.
settings.register_profile("patient", deadline=None)
settings.load_profile("patient")

OPEN_DATA = Path(__file__).parent / "open_data"
TEMPLATE = Path(__file__).parents[1] / "site_template"
PICTURES = (".jpg", ".jpeg", ".png", ".webp")


@pytest.fixture(scope="session")
def hook() -> ModuleType:
    """The build hook of the site's scripts, which knows where Node is."""
    spec = spec_from_file_location("build_hook", TEMPLATE / "build_hook.py")
    assert spec is not None and spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def packages(hook: ModuleType) -> Path:
    """node_modules with what the lock file names, checking tools included."""
    lock = json.loads((TEMPLATE / "package-lock.json").read_text(encoding="utf-8"))["packages"]
    wanted = lock[""]["dependencies"] | lock[""]["devDependencies"]
    with FileLock(TEMPLATE / ".packages.lock"):  # tests run in several processes
        if any(hook.installed_version(name) != version for name, version in wanted.items()):
            hook.run([*hook.npm(), "ci", "--ignore-scripts", "--no-audit", "--no-fund"])
    return TEMPLATE / "node_modules"


@pytest.fixture
def table(tmp_path: Path) -> Callable[[str], Path]:
    """Write a csv into an empty folder."""

    def write(text: str, name: str = "trees.csv") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


@pytest.fixture
def results_of(tmp_path: Path) -> Callable[..., Results]:
    """Published tables of a survey given as files of a folder (name → text)."""

    def run(files: dict[str, str], complete_count: bool = False) -> Results:
        for name, text in files.items():
            path = tmp_path / "survey" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return survey_results(read_survey([tmp_path / "survey"], complete_count=complete_count))

    return run


@pytest.fixture(scope="session")
def longleaf() -> Results:
    """584 longleaf pines as one completely counted stand."""
    return survey_results(
        read_survey(
            [OPEN_DATA / "longleaf_wgs84.csv"],
            boundaries=OPEN_DATA / "longleaf_window.geojson",
            complete_count=True,
        )
    )


@pytest.fixture(scope="session")
def lansing() -> Results:
    """2251 trees of six species groups, without sizes, as one completely counted stand."""
    return survey_results(
        read_survey(
            [OPEN_DATA / "lansing_wgs84.csv"],
            boundaries=OPEN_DATA / "lansing_window.geojson",
            complete_count=True,
        )
    )


def camera_tags(
    secret: str = "",
    taken: str = "2026:05:03 10:15:00",
    place: tuple[float, float] | None = None,
    orientation: int = 1,
) -> Image.Exif:
    """Exif as a phone writes it, with an owner, a comment and a maker's note."""
    tags = Image.Exif()
    tags[ExifTags.Base.Make] = secret or "Camera"
    tags[ExifTags.Base.Orientation] = orientation
    detail = tags.get_ifd(ExifTags.IFD.Exif)
    detail[ExifTags.Base.DateTimeOriginal] = taken
    detail[ExifTags.Base.MakerNote] = secret.encode() or b"note"
    detail[ExifTags.Base.CameraOwnerName] = secret or "owner"
    detail[ExifTags.Base.UserComment] = secret.encode() or b"comment"
    if place:
        gps = tags.get_ifd(ExifTags.IFD.GPSInfo)
        for side, name, degrees in (("NS", "Latitude", place[0]), ("EW", "Longitude", place[1])):
            gps[ExifTags.GPS[f"GPS{name}Ref"]] = side[degrees < 0]
            gps[ExifTags.GPS[f"GPS{name}"]] = (abs(degrees), 0.0, 0.0)
        gps[ExifTags.GPS.GPSHPositioningError] = 5.0
    return tags


@pytest.fixture
def put_photo() -> Callable[..., Path]:
    """Write a picture of four coloured quarters, in the format of its ending, with Exif tags."""

    def put(file: Path, size: tuple[int, int] = (640, 480), **tags: object) -> Path:
        file.parent.mkdir(parents=True, exist_ok=True)
        register_heif_opener()
        corner = Image.new("RGB", (2, 2))
        corner.putdata([(200, 40, 40), (40, 160, 60), (40, 60, 190), (245, 245, 245)])
        image = corner.resize(size, Image.Resampling.NEAREST)
        kind = {".png": "PNG", ".heic": "HEIF"}.get(file.suffix.lower(), "JPEG")
        image.save(file, kind, exif=camera_tags(**tags))  # type: ignore[arg-type]
        return file

    return put


@pytest.fixture(scope="session")
def opened() -> Callable[[Path], dict[str, str]]:
    """Every text of a published site, whatever the file it is packed in."""
    return every_text


def every_text(site: Path) -> dict[str, str]:
    """Path → text: members of archives, cells and shapes of map files, raw bytes of pictures."""
    found: dict[str, str] = {}
    for path in sorted(path for path in site.rglob("*") if path.is_file()):
        found |= _texts(path.relative_to(site).as_posix(), path)
    return found


def _texts(name: str, path: Path) -> dict[str, str]:
    if path.suffix == ".zip":
        return _members(name, path)
    if path.suffix == ".gpkg":
        return {name: _geopackage(path) + _raw(path.read_bytes())}
    if path.suffix == ".parquet":
        return {name: _parquet(path)}
    if path.suffix in PICTURES:
        return {name: _picture(path)}
    return {name: path.read_text("utf-8")}


def _members(name: str, path: Path) -> dict[str, str]:
    with zipfile.ZipFile(path) as archive:
        comment = {f"{name}!": archive.comment.decode("latin-1")}
        return comment | {
            f"{name}/{member}": archive.read(member).decode("utf-8")
            for member in archive.namelist()
        }


def _geopackage(path: Path) -> str:
    with sqlite3.connect(path) as database:
        # An index of shapes cannot be dumped without the extension it belongs to.
        tables = [
            row[0]
            for row in database.execute("select name from sqlite_master where type = 'table'")
            if "rtree" not in row[0]
        ]
        rows = [
            repr(row) for table in tables for row in database.execute(f'select * from "{table}"')
        ]
    layers = [gpd.read_file(path, layer=name) for name in gpd.list_layers(path)["name"]]
    return "\n".join(rows + [layer.to_csv() for layer in layers])


def _parquet(path: Path) -> str:
    metadata = pq.read_metadata(path).metadata or {}
    told = b"\n".join([*metadata.keys(), *metadata.values()]).decode("utf-8")
    return told + gpd.read_parquet(path).to_csv()


def _picture(path: Path) -> str:
    from PIL import Image

    data = path.read_bytes()
    with Image.open(io.BytesIO(data)) as picture:
        return repr(picture.info) + repr(dict(picture.getexif())) + _raw(data)


def _raw(data: bytes) -> str:
    """Bytes as letters of one byte and of two."""
    return data.decode("latin-1") + data.decode("utf-16-le", "ignore")
