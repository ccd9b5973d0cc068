"""CSV made column by column is, to the byte, what pandas writes row by row."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mapper.render import tables_text
from mapper.render.tables_text import csv_text

NUMBERS = st.floats(allow_infinity=False) | st.sampled_from(
    [0.0, -0.0, 1e-4, 9.9e-5, 1e15, 1e16, 123456789012345680.0, 5e-324, 0.1, 47.746]
)
# No first letter that a spreadsheet would run, no carriage return: those are changed on purpose.
WORDS = st.text(alphabet='ab ",\nä;', max_size=6)


@given(st.lists(st.tuples(NUMBERS, WORDS, st.none() | st.integers(-9, 9)), max_size=8))
@settings(max_examples=300, deadline=None)
def test_as_pandas_writes_it(cells: list[tuple[float, str, int | None]]) -> None:
    numbers, words, whole = zip(*cells, strict=True) if cells else ((), (), ())
    table = pd.DataFrame(
        {
            "number": pd.Series(numbers, dtype=float),
            "word": pd.Series(words, dtype=str),
            "whole": pd.Series(whole, dtype="Int64"),
            "mixed": pd.Series([*whole], dtype=object),
        }
    )
    assert csv_text(table) == table.to_csv(index=False, lineterminator="\n")


def test_dates_truths_and_more_rows_than_are_written_at_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(tables_text, "ROWS_AT_ONCE", 2)
    days = pd.to_datetime(["2026-05-01", None, "1999-12-31"])
    table = pd.DataFrame({"day, or none": days, "sure": [True, False, True]})
    assert csv_text(table) == table.to_csv(index=False, lineterminator="\n", date_format="%Y-%m-%d")


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t"])
def test_no_cell_starts_a_formula(sign: str) -> None:
    table = pd.DataFrame({"word": pd.Series([f"{sign}1+1", "a\r\nb\rc"], dtype=str)})
    lines = csv_text(table).splitlines()
    assert lines == ["word", f"'{sign}1+1", '"a', "b", 'c"']


def test_endless_limits() -> None:
    assert csv_text(pd.DataFrame({"upper": [1.5, np.inf]})) == "upper\n1.5\nINF\n"


def test_one_column_keeps_its_empty_rows() -> None:
    table = pd.DataFrame({"word": pd.Series(["a", "", "b"], dtype=str)})
    assert csv_text(table) == table.to_csv(index=False, lineterminator="\n")
