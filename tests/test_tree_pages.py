"""A page a tree: its file, its place among others, its drawing, what stays home."""

import math
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mapper.reference import rows
from mapper.render import build_site
from mapper.render.height_drawing import height_drawing
from mapper.render.likeness import PHRASES, STOREY, likenesses
from mapper.render.tree_files import MOST_TREES, tree_files
from mapper.render.tree_ranks import rank_sentences
from mapper.render.visits_chart import Visit, visits_chart
from mapper.summarise import Results
from mapper.summarise.ranks import rank_limits
from mapper.summarise.results import Sight, Step

HEADING = "tree,stand,species,lat,lon,girth_cm,height_m,date,privacy\n"


@pytest.fixture
def site_of(results_of: Callable[..., Results], tmp_path: Path) -> Callable[..., Path]:
    def build(table: str, settings: str = "") -> Path:
        out = tmp_path / "site"
        build_site(results_of({"records/trees.csv": table, "survey.toml": settings}), out)
        return out

    return build


def words_of(page: Path) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.read_text("utf-8")))


# Files


def test_a_name_that_is_plain_is_the_file():
    assert tree_files(["12", "A7", "Old Oak"]) == {
        "12": "tree/12.html", "A7": "tree/a7.html", "Old Oak": "tree/old-oak.html",
    }  # fmt: skip


def test_names_that_read_alike_are_told_apart_and_never_take_one_anothers_file():
    both = tree_files(["A/1", "a 1", "7"])
    assert len(set(both.values())) == 3
    assert "tree/a-1.html" not in both.values()
    assert tree_files(["A/1"])["A/1"] == "tree/a-1.html"


@pytest.mark.parametrize("name", ["con", "LPT1", "桜", "../../etc", "x" * 300, "<b>", ".."])
def test_any_name_gives_a_file_that_every_system_takes(name: str):
    file = tree_files([name])[name]
    assert re.fullmatch(r"tree/[a-z0-9-]{1,60}\.html", file)
    assert file not in {"tree/con.html", "tree/lpt1.html"}
    assert tree_files([name, "other"])[name] == file


def test_beyond_the_limit_no_tree_has_a_page():
    assert len(tree_files([str(n) for n in range(MOST_TREES - 1)])) == MOST_TREES - 1
    assert tree_files([str(n) for n in range(MOST_TREES)]) == {}


# Places


def brute(values: list[float], halves: list[float]) -> list[tuple[int, int]]:
    """By the definition, pair by pair."""
    ends = [(v - h, v + h) for v, h in zip(values, halves, strict=True)]
    return [
        (
            1 + sum(low > mine[1] for low, _ in ends),
            len(ends) - sum(high < mine[0] for _, high in ends),
        )
        for mine in ends
    ]


def test_limits_are_those_of_the_definition():
    random = np.random.default_rng(7)
    values = random.normal(100, 20, 60).round(0).tolist()
    halves = random.uniform(0, 8, 60).round(1).tolist()
    best, worst = rank_limits(pd.Series(values), pd.Series(halves))
    assert list(zip(best, worst, strict=True)) == brute(values, halves)


def test_without_a_known_error_every_place_is_left_open():
    best, worst = rank_limits(pd.Series([30.0, 20.0, 10.0]), pd.Series([1.0, math.nan, 1.0]))
    assert best.tolist() == [1, 1, 2]
    assert worst.tolist() == [2, 3, 3]


def test_limits_hold_the_true_place_as_often_as_they_say():
    """Simulated: 200 surveys of 25 trees; 95 % of the true places at the least."""
    random = np.random.default_rng(11)
    held = total = 0
    for _ in range(200):
        true = random.normal(100, 5, 25)
        seen = pd.Series(true + random.normal(0, 2, 25))
        best, worst = rank_limits(seen, pd.Series(np.full(25, 4.0)))
        place = 1 + (true[:, None] < true[None, :]).sum(axis=1)
        held += int(((best <= place) & (place <= worst)).sum())
        total += 25
    assert held / total > 0.95
    assert np.mean(worst - best) < 20  # and they still say something


def trees(**columns: list[object]) -> pd.DataFrame:
    table = pd.DataFrame(columns)
    count = len(table)
    extra = {"status": "alive", "species": "Quercus alba", "common_name": "white oak"}
    extra |= {"stand": "Grove", "height_m": math.nan, "height_sd_m": math.nan}
    missing = {name: [value] * count for name, value in extra.items() if name not in table}
    return table.assign(**missing)


def test_a_place_is_said_no_surer_than_the_errors_allow():
    told = rank_sentences(
        trees(
            tree=["a", "b", "c", "d"],
            diameter_cm=[60.0, 50.0, 49.9, 30.0],
            diameter_sd_cm=[0.5, 0.5, 0.5, 0.5],
        )
    )
    kind = "4 trees of its kind (white oak) measured in Grove"
    assert told["a"][0] == f"The stoutest of the {kind}."
    assert told["b"][0] == f"Between place 2 and place 3 of the {kind}, the stoutest first."
    assert told["d"][0] == f"The fourth stoutest of the {kind}."


def test_dead_trees_have_no_place_and_take_none():
    table = trees(
        tree=["a", "b", "c", "d"],
        diameter_cm=[60.0, 50.0, 40.0, 30.0],
        diameter_sd_cm=[0.1] * 4,
        status=["dead", "alive", "alive", "alive"],
    )
    told = rank_sentences(table)
    assert "a" not in told
    assert told["b"][0].startswith("The stoutest of the 3 trees")


# What a tree is like


def test_every_thing_has_words_and_a_size():
    things = {row["name"]: float(row["metres"]) for row in rows("likenesses")}
    assert set(things) == {*PHRASES, STOREY}
    assert all(1 < metres < 60 for metres in things.values())


def test_things_that_games_are_played_with_have_the_size_of_their_rules():
    """78 ft, 22 yd, 8 ft and 8 yd, 12 yd, 10 ft: IFAB2006, ITF2019, MCC2000, FIBA2020."""
    things = {row["name"]: float(row["metres"]) for row in rows("likenesses")}
    foot, yard = 0.3048, 0.9144
    assert things["tennis court"] == pytest.approx(78 * foot, abs=0.01)
    assert things["cricket pitch"] == pytest.approx(22 * yard, abs=0.01)
    assert things["football goal"] == pytest.approx(8 * foot, abs=0.01)
    assert things["width of a goal"] == pytest.approx(8 * yard, abs=0.01)
    assert things["penalty"] == pytest.approx(12 * yard, abs=0.05)
    assert things["basketball ring"] == pytest.approx(10 * foot, abs=0.01)


def test_a_thing_outside_the_uncertainty_is_not_named():
    assert [like.words for like in likenesses(20.0, 1.0)] == [
        "About as tall as a cricket pitch is long.",
        "As high as a block of flats of 6 to 7 storeys.",
    ]
    assert [like.words for like in likenesses(21.7, 0.2)] == [
        "About as high as a block of flats of 7 storeys."
    ]
    assert likenesses(13.0, 0.1)[0].words == "About as high as a block of flats of 4 storeys."
    assert likenesses(math.nan, 1.0) == ()
    assert likenesses(1.0, 0.1) == ()


def test_a_height_without_a_known_error_is_roughly_like_something():
    assert likenesses(20.0, math.nan)[0].words == "Roughly as tall as a cricket pitch is long."


def test_what_nobody_published_says_from_memory():
    assert likenesses(4.4, 0.1)[0].source == "from memory"


# The drawing


def points(drawing: str, kind: str) -> list[tuple[float, float]]:
    line = re.search(rf'drawn-{kind}" d="([^"]+)"', drawing)
    assert line is not None
    pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", line.group(1))
    return [(float(x), float(y)) for x, y in pairs]


def step_of(sight: Sight | None) -> Step:
    return Step("Height", "in", "", "20.0 ± 0.5 m", "height_from_angles", sight=sight)


def test_the_drawing_has_the_angles_and_the_scale_of_the_measurement():
    up, down = 20 * math.tan(math.radians(40)), 20 * math.tan(math.radians(-5))
    drawing = height_drawing(step_of(Sight((20, up), (20, down), 40.0, -5.0)))
    top, eye, foot = points(drawing, "sight")
    assert math.degrees(math.atan2(eye[1] - top[1], top[0] - eye[0])) == pytest.approx(40, abs=0.1)
    assert math.degrees(math.atan2(eye[1] - foot[1], foot[0] - eye[0])) == pytest.approx(
        -5, abs=0.1
    )
    per_metre = (foot[0] - eye[0]) / 20
    assert (foot[1] - top[1]) / per_metre == pytest.approx(up - down, rel=0.005)


def test_nothing_sighted_nothing_drawn():
    assert height_drawing(step_of(None)) == ""


ANGLES = (
    "tree,species,girth_cm,baseline_m,height_method,angle_top_deg,angle_base_deg,eye_height_m,"
    "mark_height_m,angle_mark_deg,slant_top_m,slant_base_m\n"
)


@pytest.mark.parametrize(
    ("row", "height"),
    [
        ("1,oak,90,20,two angles,45,-5,,,,,", 20 * (1 + math.tan(math.radians(5)))),
        ("1,oak,90,20,one angle,45,,1.6,,,,", 21.6),
        ("1,oak,90,20,mark,45,,,2,0,,", 22.0),
        ("1,oak,90,,sine,40,-5,,,,30,20", None),
    ],
)
def test_a_drawn_tree_is_as_high_as_its_formula_says(
    results_of: Callable[..., Results], row: str, height: float | None
):
    results = results_of({"records/trees.csv": ANGLES + row + "\n"})
    sight = next(step.sight for step in results.workings["1"] if step.sight)
    expected = results.trees["height_m"].iloc[0]
    assert sight.top[1] - sight.foot[1] == pytest.approx(expected, abs=1e-6)
    if height:
        assert expected == pytest.approx(height, abs=1e-6)


# The page


OAKS = "".join(
    f"{n},Old Grove,Quercus alba,45.30{n:02d},-71.4001,{60 + 7 * n},{12 + n},2026-05-0{n},\n"
    for n in range(1, 9)
)


def test_a_page_tells_the_published_numbers_and_the_whole_working(site_of: Callable[..., Path]):
    site = site_of(HEADING + OAKS, 'title = "Grove"\naddress = "https://trees.example/map/"\n')
    page = words_of(site / "tree" / "3.html")
    for part in ("81 .0", "25 .8", "15 .0", "81 / π", "How we got these numbers"):
        assert part in page, part
    assert "Tree 3 (white oak), measured 3 May 2026. Grove." in page
    assert "https://trees.example/map/tree/3.html" in page
    assert "not a safety assessment" in page
    assert "tree/3.html" in (site / "trees.html").read_text("utf-8")


def test_every_link_of_a_page_leads_somewhere(site_of: Callable[..., Path]):
    site = site_of(HEADING + OAKS)
    checked = 0
    for page in (site / "tree").glob("*.html"):
        for link in re.findall(r'(?:href|src)="([^"#]*)(?:#[^"]*)?"', page.read_text("utf-8")):
            if link:
                assert (page.parent / link).resolve().is_file(), f"{page.name}: {link}"
                checked += 1
    assert checked > 50


def test_visits_are_a_table_and_a_chart(site_of: Callable[..., Path]):
    again = "3,Old Grove,Quercus alba,45.3003,-71.4001,84,,2028-05-03,\n"
    site = site_of(HEADING + OAKS + again)
    page = words_of(site / "tree" / "3.html")
    assert "3 May 2026" in page and "3 May 2028" in page
    assert "visits-chart" in (site / "tree" / "3.html").read_text("utf-8")
    assert "visits-chart" not in (site / "tree" / "4.html").read_text("utf-8")


def test_a_chart_runs_with_time_and_size():
    def visit(date: str, size: float) -> Visit:
        return Visit(date, date, None, None, size, 1.0)

    chart = visits_chart((visit("2024", 80), visit("2026-07-02", 90), visit("2025-01", 85)), "cm")
    dots = [(float(x), float(y)) for x, y in re.findall(r'cx="([\d.]+)" cy="([\d.]+)"', chart)]
    assert [x for x, _ in dots] == sorted(x for x, _ in dots)
    assert [y for _, y in dots] == sorted((y for _, y in dots), reverse=True)
    assert visits_chart((visit("2024", 80),), "cm") == ""


def test_a_tree_kept_back_leaves_no_page_no_name_and_no_place(site_of: Callable[..., Path]):
    secret = "SECRET9,Old Grove,Quercus alba,45.3050,-71.4009,300,40,2026-05-01,withheld\n"
    hidden = "H10,Old Grove,Quercus alba,45.3050,-71.4009,50,10,2026-05-01,hidden\n"
    site = site_of(HEADING + OAKS + secret + hidden)
    assert not [path for path in site.rglob("*") if "secret" in path.name.lower()]
    pages = "".join(page.read_text("utf-8") for page in (site / "tree").glob("*.html"))
    assert "SECRET9" not in pages
    assert "See it on the map" not in (site / "tree" / "h10.html").read_text("utf-8")
    # It is stouter than all: nobody's place may tell so.
    assert "The stoutest of the 9 trees" in words_of(site / "tree" / "8.html")


def test_words_of_the_records_are_escaped(site_of: Callable[..., Path]):
    evil = "<script>alert(1)</script>"
    site = site_of(HEADING + OAKS.replace("Quercus alba", evil).replace("Old Grove", "{{7*7}}<b>"))
    for page in (site / "tree").glob("*.html"):
        assert evil not in page.read_text("utf-8")
        assert "{{7*7}}<b>" not in page.read_text("utf-8")


def test_a_page_is_light(site_of: Callable[..., Path]):
    site = site_of(HEADING + OAKS)
    assert max(page.stat().st_size for page in (site / "tree").glob("*.html")) < 15_000
