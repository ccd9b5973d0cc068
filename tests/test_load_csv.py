"""Text tables: delimiters, encodings, ragged rows, and the row numbers a spreadsheet shows."""

import csv
import io
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from mapper.errors import InputError
from mapper.load import Records, load_records
from mapper.load.even_rows import even_rows


def load(tmp_path: Path, text: str, encoding: str = "utf-8", name: str = "trees.csv") -> Records:
    table = tmp_path / name
    table.write_bytes(text.encode(encoding))
    return load_records([table])


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_any_delimiter_and_line_ending(tmp_path: Path, delimiter: str, ending: str) -> None:
    lines = ["tree,species,girth_cm,note", "a,Quercus robur,90.5,x", "b,Fagus sylvatica,81,y", ""]
    records = load(tmp_path, ending.join(lines).replace(",", delimiter))
    assert records.values["girth_cm"].tolist() == [90.5, 81.0]
    assert records.values["species"].tolist() == ["Quercus robur", "Fagus sylvatica"]
    assert records.problems.empty


def test_a_delimiter_is_not_mistaken_for_a_decimal_comma(tmp_path: Path) -> None:
    records = load(tmp_path, "tree;girth_cm;height_m\na;90,5;12,25\nb;81,0;9,75\n")
    assert records.values["girth_cm"].tolist() == [90.5, 81.0]
    assert records.values["height_m"].tolist() == [12.25, 9.75]
    assert records.problems.empty


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    records = load(tmp_path, '"tree, if tagged","species"\n1,Hêtre “commun”\n', encoding)
    assert records.values["species"].tolist() == ["Hêtre “commun”"]
    assert records.columns["heading"].tolist() == ["tree, if tagged", "species"]


@pytest.mark.parametrize(
    ("name", "delimiter"), [("t.csv", ","), ("t.tsv", "\t"), ("t.txt", ";"), ("T.CSV", ",")]
)
def test_endings(tmp_path: Path, name: str, delimiter: str) -> None:
    records = load(tmp_path, f"tree{delimiter}girth_cm\n1{delimiter}2\n", name=name)
    assert records.values["girth_cm"].tolist() == [2.0]


def test_cells_with_line_breaks_quotes_and_primes(tmp_path: Path) -> None:
    text = 'tree,height,note\n1,7\' 6","two\nlines, and ""quotes"""\n2,"7\' 6""",x\n'
    records = load(tmp_path, text)
    assert records.values["row"].tolist() == [2, 3]
    assert records.cells["note"].tolist() == ['two\nlines, and "quotes"', "x"]
    assert records.values["height_m"].tolist() == [2.286, 2.286]


def test_blank_rows_are_skipped_and_counted(tmp_path: Path) -> None:
    records = load(tmp_path, "\ntree,girth_cm\n\n1,90\n,\n \u00a0,\u200b\n2,81\n\n")
    assert records.values["row"].tolist() == [4, 7]
    assert records.values["tree"].tolist() == ["1", "2"]
    assert records.values.index.tolist() == [0, 1]


def test_a_title_above_the_headings_is_named_in_a_note(tmp_path: Path) -> None:
    records = load(tmp_path, "Our park\nMay 2024\n\ntree,girth_cm\n1,90\n")
    assert records.values["row"].tolist() == [5]
    (note,) = records.problems.to_dict("records")
    assert (note["rule"], note["severity"]) == ("above_headings", "note")
    assert note["reason"].endswith("row 1, 2.")


def test_short_rows_have_empty_cells(tmp_path: Path) -> None:
    records = load(tmp_path, "tree,girth_cm,note\n1\n2,81\n")
    assert records.cells["girth"].tolist() == ["", "81"]
    assert records.values["girth_cm"].isna().tolist() == [True, False]


def test_empty_cells_beyond_the_headings_are_nothing(tmp_path: Path) -> None:
    wide = "tree,girth_cm\n" + "1,90\n" * 30 + "2,81,,, \n"
    assert load(tmp_path, wide).values["girth_cm"].iloc[-1] == 81
    assert load(tmp_path, "tree,girth_cm,,\n1,90,,\n").cells.columns.tolist() == ["tree", "girth"]


@pytest.mark.parametrize("before", [0, 30])
def test_a_row_with_too_many_cells_is_refused(tmp_path: Path, before: int) -> None:
    text = "tree,girth_cm\n" + "0,90\n" * before + "1,90,5\n"
    message = (
        rf"trees.csv, row {before + 2}: more cells than the 2 headings. "
        r"The first one too many is '5'. Put a cell that holds a delimiter in quotation marks"
    )
    with pytest.raises(InputError, match=message):
        load(tmp_path, text)


@pytest.mark.parametrize("length", [10, 200_000])
def test_a_quotation_mark_that_is_never_closed(tmp_path: Path, length: int) -> None:
    text = 'tree,note\n1,x\n2,"' + "never closed\n" * (length // 10)
    with pytest.raises(InputError, match=r"trees.csv, row 3: a quotation mark is opened and never"):
        load(tmp_path, text)


def test_a_heading_line_meant_for_spreadsheets_is_no_row(tmp_path: Path) -> None:
    assert load(tmp_path, "sep=;\r\ntree;girth_cm\r\n1;90\r\n").values["row"].tolist() == [2]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "trees.csv: the file is empty. It needs a row of headings"),
        ("\n \n", "trees.csv: the file is empty"),
        (",,\n,,\n", "trees.csv: the table is empty"),
        ("tree,girth\n", "trees.csv: there is no record below the headings in row 1"),
        ("tree,girth\n,\n", "there is no record below the headings in row 1"),
        ("foo,bar\n1,2\n", "trees.csv, row 1: none of the headings 'foo', 'bar' is known here"),
        ("tree,girth\n1,a\0b\n", "trees.csv: cannot be read as text in UTF-8, UTF-16 or cp1252"),
    ],
)
def test_a_table_that_cannot_be_used(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        load(tmp_path, text)


def test_bytes_of_no_known_encoding(tmp_path: Path) -> None:
    table = tmp_path / "trees.csv"
    table.write_bytes(b"tree,note\n1,\x81\n")
    with pytest.raises(InputError, match=r"cannot be read as text.*Save it again as CSV UTF-8"):
        load_records([table])


def test_two_encodings_in_one_file(tmp_path: Path) -> None:
    table = tmp_path / "trees.csv"
    rows = ["tree,species", "1,Hêtre", "2,Weißbuche", "3,oak"]
    old, new = ("\n".join(rows[:2]).encode("cp1252"), "\n".join(rows[2:]).encode("utf-8"))
    table.write_bytes(old + b"\n" + new)
    records = load_records([table])
    assert records.values["species"].tolist() == ["Hêtre", "Weißbuche", "oak"]
    (said,) = records.problems.query("rule == 'mixed_encodings'").to_dict("records")
    assert said["severity"] == "warning"
    assert "line 3 in UTF-8, others in cp1252" in said["reason"]
    table.write_bytes("\n".join(rows).encode("cp1252"))
    assert load_records([table]).problems.empty


def test_files_that_are_not_there_or_not_known(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"missing.csv: there is no such file. Check the spelling"):
        load_records([tmp_path / "missing.csv"])
    (tmp_path / "folder.csv").mkdir()
    with pytest.raises(InputError, match=r"folder.csv: this is a folder"):
        load_records([tmp_path / "folder.csv"])
    with pytest.raises(
        InputError, match=r"trees.doc: cannot read '.doc' files. Known endings: .csv"
    ):
        load_records([tmp_path / "trees.doc"])
    with pytest.raises(InputError, match="no file of records was handed in"):
        load_records([])


def filled(rows: list[list[str]]) -> list[list[str]]:
    """Without the blank rows at the end."""
    last = max((number for number, row in enumerate(rows, start=1) if any(row)), default=0)
    return rows[:last]


@given(text=st.text(st.sampled_from('ab,"\n\r é'), min_size=1), width=st.integers(1, 3))
@example(text='a,""', width=2)
@example(text='a,"', width=2)
@example(text='a,""""', width=2)
def test_the_quick_way_reads_the_same_cells(text: str, width: int) -> None:
    """Held against the standard library's own reader."""
    quickly = even_rows(text.encode(), ",", width)
    if quickly is None:
        return
    rows = [row + [""] * (width - len(row)) for row in csv.reader(io.StringIO(text, newline=""))]
    assert filled(quickly.to_numpy().tolist()) == filled(rows)


@pytest.mark.parametrize("size", [8, 64, 300])
def test_lines_in_a_cell_where_blocks_are_cut(monkeypatch: pytest.MonkeyPatch, size: int) -> None:
    monkeypatch.setattr("mapper.load.even_rows.BLOCK_BYTES", size)
    text = "tree,note\n" + "".join(f'{n},"a\n{n},b\n""c"""\n' for n in range(50))
    quickly = even_rows(text.encode(), ",", 2)
    rows = list(csv.reader(io.StringIO(text, newline="")))
    assert quickly is None or quickly.to_numpy().tolist() == rows
    assert quickly is not None or size == 8  # smaller than a row: read the slow way


@pytest.mark.parametrize("last", ['""', '"two\nlines"', '"a ""word"""', "7' 6\""])
def test_a_last_cell_in_quotes_is_closed(tmp_path: Path, last: str) -> None:
    for above in ("", "Our park\n\n"):  # with and without a row of another width
        cells = load(tmp_path, f"{above}tree,note\n1,{last}").cells["note"]
        assert cells.tolist() == [next(csv.reader(io.StringIO(last, newline="")))[0]]
