"""The printed sheets: the walk, the angle card, the tables, and headings that read back."""

import itertools
import math
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mapper.errors import InputError
from mapper.fieldwork import Outing, write_sheets
from mapper.fieldwork.hand_tables import angle_table, shadow_table
from mapper.fieldwork.paper_drawings import HOLE_MM, protractor_ticks
from mapper.fieldwork.record_rows import heading_cells, last_girth
from mapper.fieldwork.stops import reasons_to_return, shortest_round
from mapper.line import run_checks
from mapper.survey import read_survey

DEMO = Path(__file__).parents[1] / "demo"


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> Path:
    survey = read_survey([DEMO])
    folder = tmp_path_factory.mktemp("sheets")
    write_sheets(survey, run_checks(survey), folder, Outing(most=6))
    return folder


def length(order: list[int], places: np.ndarray) -> float:
    legs = places[order] - places[np.roll(order, -1)]
    return float(np.hypot(*legs.T).sum())


@pytest.mark.parametrize("seed", range(5))
def test_the_round_is_the_shortest_of_all(seed: int) -> None:
    """Held against every order of eight stops."""
    places = np.random.default_rng(seed).uniform(0, 100, (8, 2))
    every = (length([0, *rest], places) for rest in itertools.permutations(range(1, 8)))
    assert length(shortest_round(places), places) == pytest.approx(min(every))


def test_the_round_of_a_circle_goes_round_it() -> None:
    turns = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    circle = np.column_stack([np.cos(turns), np.sin(turns)])
    mixed = np.random.default_rng(1).permutation(40)
    order = shortest_round(circle[mixed])
    steps = np.diff(mixed[order]) % 40
    assert set(steps) == {1} or set(steps) == {39}
    assert circle[mixed][order[0], 0] == circle[:, 0].min()


@pytest.mark.parametrize("count", [1, 2, 3])
def test_a_short_walk_needs_no_search(count: int) -> None:
    places = np.array([[5.0, 0], [1, 0], [3, 3]])[:count]
    assert sorted(shortest_round(places)) == list(range(count))


def test_trees_at_one_place_are_all_visited() -> None:
    assert sorted(shortest_round(np.zeros((6, 2)))) == list(range(6))


def test_the_thread_shows_the_elevation() -> None:
    """Each mark lies where a thread hangs when the card is turned by that angle about the hole."""
    for tick in protractor_ticks():
        right, down = tick.x1 - HOLE_MM[0], tick.y1 - HOLE_MM[1]
        turn = math.radians(-tick.elevation_deg)  # the far, right end of the edge rises
        hangs = (
            right * math.cos(turn) - down * math.sin(turn),
            right * math.sin(turn) + down * math.cos(turn),
        )
        assert hangs[0] == pytest.approx(0, abs=0.002)
        assert hangs[1] > 0


def test_the_tables_are_tangents_and_ratios() -> None:
    """tan 45° = 1, tan 30° = 0.57735 (any table of tangents); a shadow as long as its stick."""
    table = angle_table("metric")
    rows = {row[0]: row[1:] for row in table.rows}
    assert rows["45°"] == tuple(f"{d:.1f}" for d in (10, 15, 20, 25, 30))
    assert rows["30°"][table.columns.index("30 m")] == "17.3"
    shadows = shadow_table("us")
    stick = shadows.columns.index("3 ft") + 1
    assert all(row[0] == f"{float(row[stick]):g} ft" for row in shadows.rows)


@pytest.mark.parametrize("units", ["metric", "us"])
def test_what_is_typed_in_under_the_printed_headings_reads_back(tmp_path: Path, units: str) -> None:
    headings = [heading for heading, _ in heading_cells(units)]
    far = "66" if units == "us" else "20"
    cells = ["7", "Quercus robur", "60", "slope", far, "38", "-5", "", "second team"]
    (tmp_path / "survey.toml").write_text(f'units = "{units}"\n')
    (tmp_path / "records").mkdir()
    table = ",".join(headings) + "\n" + ",".join(cells) + "\n"
    (tmp_path / "records" / "typed.csv").write_text(table, encoding="utf-8")
    line = run_checks(read_survey([tmp_path]))
    assert (line.observations.records.columns["name"] != "").all()
    assert not line.findings["severity"].eq("error").any()
    tree = line.measured.trees.loc["7"]
    factor = 2.54 if units == "us" else 1.0
    assert tree["girth_cm"] == pytest.approx(60 * factor)
    metres = 66 * 0.3048 if units == "us" else 20
    rise = math.tan(math.radians(38)) + math.tan(math.radians(5))
    assert tree["height_m"] == pytest.approx(metres * rise)


def test_doubtful_and_unmeasured_trees_come_first() -> None:
    trees = pd.DataFrame(
        {"girth_cm": [100, np.nan, 50, 80], "height_m": [9, 9, np.nan, 9]}, index=list("abcd")
    )
    found = pd.DataFrame({"severity": ["warning"], "column": ["girth"], "tree": ["a"]})
    assert dict(reasons_to_return(trees, found)) == {
        "a": "the girth was in doubt",
        "b": "no girth yet",
        "c": "no height yet",
        "d": "",
    }


def test_the_last_girth_is_hidden_unless_asked(sheets: Path) -> None:
    hidden = (sheets / "record-again.html").read_text("utf-8")
    assert "left out on purpose" in hidden
    assert not re.search(r"last \d", hidden)
    assert last_girth(157.08, "metric") == "157 cm"
    assert last_girth(157.08, "us") == "61.8 in"
    assert last_girth(math.nan, "us") == ""


def test_every_stop_is_on_map_list_sheet_and_tag(sheets: Path) -> None:
    walk = (sheets / "walk.html").read_text("utf-8")
    stops = re.findall(r"<tr><td>(\d+)</td><td>([^<]+)</td>", walk)
    assert [int(number) for number, _ in stops] == [1, 2, 3, 4, 5, 6]
    assert walk.count("<circle") == 6
    for _, tree in stops:
        assert f"<b>{tree}</b>" in (sheets / "record-again.html").read_text("utf-8")
        assert f"<b>{tree}</b>" in (sheets / "tags.html").read_text("utf-8")


def test_unknown_trees_and_stands_are_refused(tmp_path: Path) -> None:
    survey = read_survey([DEMO])
    line = run_checks(survey)
    with pytest.raises(InputError, match="no tree 'G999'"):
        write_sheets(survey, line, tmp_path, Outing(trees=("G999",)))
    with pytest.raises(InputError, match=r"no stand 'Moor'.*Old Grove"):
        write_sheets(survey, line, tmp_path, Outing(stand="Moor"))
    assert list(tmp_path.iterdir()) == []


def test_titles_cannot_break_out_of_the_page(tmp_path: Path) -> None:
    table = tmp_path / "trees.csv"
    table.write_text("tree,girth_cm,lat,lon\n<script>alert(1)</script>,90,48.1,11.2\n")
    survey = read_survey([table], title="<script>alert(2)</script>")
    for file in write_sheets(survey, run_checks(survey), tmp_path / "out", Outing()):
        assert "<script" not in file.read_text("utf-8"), file.name


def test_a_survey_without_a_record_gets_its_blank_sheets(tmp_path: Path) -> None:
    survey = read_survey([DEMO])
    names = [file.stem for file in write_sheets(survey, None, tmp_path, Outing())]
    assert names == ["leader", "record-new", "angles", "shadows"]


def test_a_second_height_asks_for_no_second_girth(tmp_path: Path) -> None:
    """As on the printed sheet: the same tree in the next row, the height alone."""
    table = tmp_path / "typed.csv"
    table.write_text(
        "tree,species,date,girth (cm),baseline (m),angle top (°),angle base (°),lat,lon\n"
        "7,Quercus robur,2026-05-01,160,20,38,-5,48.1,11.2\n"
        "7,,2026-05-01,,25,32,-4,,\n"
        "8,Quercus robur,2026-05-01,,20,38,-5,48.1,11.201\n",
        encoding="utf-8",
    )
    line = run_checks(read_survey([table]))
    missing = line.findings[line.findings["rule"] == "missing"]
    assert missing[["tree", "column"]].to_numpy().tolist() == [["8", "girth"]]
    assert line.measured.trees.loc["7", "height_readings"] == 2
