"""Damaged at random, a file is read or refused in words: no reader fails in any other way."""

import io
import json
import shutil
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.errors import InputError
from mapper.load import load_records
from tests.test_load_formats import WRITERS

MANY = settings(deadline=None, max_examples=40)
PACKED = {".xlsx", ".ods", ".zip", ".kmz"}
KINDS = ["cut", "write", "insert", "drop", "double"]
CHANGES = st.lists(
    st.tuples(
        st.sampled_from(KINDS),
        st.floats(0, 1, exclude_max=True),
        st.one_of(
            st.binary(min_size=1, max_size=8), st.sampled_from([b"\xff" * 4, b"\0", b"9" * 8])
        ),
    ),
    min_size=1,
    max_size=4,
)
Change = tuple[str, float, bytes]


def changed(content: bytes, changes: list[Change]) -> bytes:
    """Cut short, overwritten, with something put in, left out or doubled."""
    for kind, where, new in changes:
        at = int(where * len(content))
        before, after = content[:at], content[at:]
        content = {
            "cut": before,
            "write": before + new + after[len(new) :],
            "insert": before + new + after,
            "drop": before + after[len(new) :],
            "double": before + after[:200] + after,
        }[kind]
    return content


def changed_inside(content: bytes, changes: list[Change], which: int) -> bytes:
    """A packed file of which one part is changed, and packed again as if all were well."""
    packed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(packed, "w") as new:
        names = old.namelist()
        for name in names:
            part = old.read(name)
            hurt = name == names[which % len(names)]
            new.writestr(name, changed(part, changes) if hurt else part)
    return packed.getvalue()


def read_or_refused(path: Path) -> None:
    try:
        records = load_records([path])
    except InputError as error:
        assert str(path) in str(error)
        return
    assert len(records.values) == len(records.cells) > 0


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A sound file of each format, in a folder of its own."""
    folders = {write.__name__: tmp_path_factory.mktemp(write.__name__) for write in WRITERS}
    return {write.__name__: write(folders[write.__name__]) for write in WRITERS}


def read_damaged(sound: Path, part: Path, content: bytes) -> None:
    """Read the file with one of its parts (itself, or one beside it) in another state."""
    hurt = sound.parent / "hurt"
    shutil.rmtree(hurt, ignore_errors=True)
    hurt.mkdir()
    for beside in sound.parent.glob("t.*"):
        (hurt / beside.name).write_bytes(content if beside == part else beside.read_bytes())
    read_or_refused(hurt / sound.name)


@pytest.mark.parametrize("name", [write.__name__ for write in WRITERS])
@MANY
@given(changes=CHANGES, which=st.integers(0, 30), inside=st.booleans())
def test_damaged_files(
    whole: dict[str, Path], name: str, changes: list[Change], which: int, inside: bool
) -> None:
    sound = whole[name]
    beside = sorted(sound.parent.glob("t.*"))
    part = beside[which % len(beside)] if sound.suffix == ".shp" else sound
    content = part.read_bytes()
    if inside and sound.suffix in PACKED:
        read_damaged(sound, part, changed_inside(content, changes, which))
    else:
        read_damaged(sound, part, changed(content, changes))


LETTERS = st.text(
    st.one_of(st.sampled_from("tree,girth_cm;lat\t\"'\n\r 0159.-+#=°|"), st.characters())
)


@MANY
@given(text=LETTERS, ending=st.sampled_from(["csv", "tsv", "json", "kml", "gpx"]))
def test_any_text(tmp_path_factory: pytest.TempPathFactory, text: str, ending: str) -> None:
    path = tmp_path_factory.mktemp("text") / f"t.{ending}"
    path.write_text(text, encoding="utf-8", errors="surrogatepass")
    read_or_refused(path)


@MANY
@given(rows=st.lists(st.lists(LETTERS, max_size=5), max_size=8), end=st.sampled_from("\n\r"))
def test_any_cells(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[str]], end: str
) -> None:
    path = tmp_path_factory.mktemp("cells") / "t.csv"
    lines = ["tree,species,girth_cm,date,lat", *(",".join(row) for row in rows)]
    path.write_text(end.join(lines), encoding="utf-8", errors="replace", newline="")
    read_or_refused(path)


JSON = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=5)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(
            st.sampled_from(
                ["type", "features", "geometry", "coordinates", "properties", "crs", "id", "tree"]
            ),
            st.one_of(inner, st.sampled_from(["Feature", "FeatureCollection", "Point"])),
            max_size=5,
        ),
    ),
    max_leaves=20,
)


@MANY
@given(features=st.lists(JSON, max_size=4), crs=JSON)
def test_any_json(tmp_path_factory: pytest.TempPathFactory, features: object, crs: object) -> None:
    path = tmp_path_factory.mktemp("json") / "t.geojson"
    whole = {"type": "FeatureCollection", "features": features, "crs": crs}
    path.write_text(json.dumps(whole), encoding="utf-8")
    read_or_refused(path)
