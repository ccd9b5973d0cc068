"""The site as files: whole for every kind of survey, escaped, and the same bytes each time."""

import dataclasses
import html.parser
import math
import posixpath
from collections.abc import Callable
from pathlib import Path
from urllib.parse import unquote

import pandas as pd
import pytest

from mapper.errors import MapperError
from mapper.render import build_site
from mapper.render.charts import Bars, Labels, histogram, shared_axes
from mapper.render.folium_map import SheetFigure
from mapper.render.index_page import key_of
from mapper.render.methods import method_from
from mapper.render.quantities import METRIC, measured, scales
from mapper.render.sheets import site_of as site_of_results
from mapper.render.sheets import stand_files
from mapper.render.signed import signed
from mapper.render.site_files import as_script
from mapper.render.words import day, period
from mapper.summarise import Results

HEADING = "tree,stand,species,lat,lon,girth_cm,height_m,date\n"
OAKS = "".join(
    f"{n},Old Grove,Quercus alba,45.30{n:02d},-71.4001,{60 + 7 * n},{12 + n},2026-05-0{n % 9 + 1}\n"
    for n in range(1, 9)
)
PINES = "".join(
    f"P{n},Pine Rows,Pinus resinosa,45.31{n:02d},-71.4102,{80 + 2 * n},{18 + n / 10},2026-06-1{n}\n"
    for n in range(1, 7)
)
LINKS = {"a": "href", "link": "href", "script": "src", "use": "href"}


class Tags(html.parser.HTMLParser):
    """Ids, links, and every attribute of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.ids: set[str] = set()
        self.links: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.tags.append((tag, found))
        if found.get("id"):
            self.ids.add(str(found["id"]))
        if tag in LINKS and found.get(LINKS[tag]):
            self.links.append(str(found[LINKS[tag]]))


def tags_of(page: Path) -> Tags:
    parser = Tags()
    parser.feed(page.read_text(encoding="utf-8"))
    return parser


def broken_links(site: Path) -> list[str]:
    """Links of all pages that lead to no file or to no anchor.

    `#tree=` and the trees of two-trees.html are read by the script.
    """
    pages = {page.relative_to(site).as_posix(): tags_of(page) for page in site.rglob("*.html")}
    broken = []
    for name, page in pages.items():
        for link in page.links:
            path, _, anchor = link.partition("#")
            target = posixpath.normpath(posixpath.join(posixpath.dirname(name), unquote(path)))
            target = target if path else name
            by_script = anchor.startswith("tree=") or target.endswith("two-trees.html")
            inside = target in pages and anchor and not by_script
            missing = not (site / target).is_file()
            if not link.startswith(("https:", "http:")) and (
                missing or (inside and anchor not in pages[target].ids)
            ):
                broken.append(f"{name}: {link}")
    return broken


@pytest.fixture
def site_of(results_of: Callable[..., Results], tmp_path: Path) -> Callable[..., Path]:
    """Build the site of a table and say where it is."""

    def build(table: str, settings: str = "", complete_count: bool = False) -> Path:
        files = {"records/trees.csv": table, "survey.toml": settings}
        out = tmp_path / "site"
        build_site(results_of(files, complete_count=complete_count), out)
        return out

    return build


def pages_of(site: Path) -> set[str]:
    return {page.name for page in site.glob("*.html")}


FIXED_PAGES = {
    *("index.html", "two-trees.html", "trees.html", "poster.html"),
    *("methods.html", "data.html"),
}


def test_two_stands_have_a_page_each_and_a_comparison(site_of: Callable[..., Path]) -> None:
    site = site_of(HEADING + OAKS + PINES)
    own = {"stand-old-grove.html", "stand-pine-rows.html", "compare.html"}
    assert pages_of(site) == FIXED_PAGES | own
    assert broken_links(site) == []
    assert "Sheet <b>4</b> of 8" in (site / "compare.html").read_text("utf-8")


def test_one_stand_is_compared_with_nothing(site_of: Callable[..., Path]) -> None:
    site = site_of(HEADING + OAKS)
    assert pages_of(site) == FIXED_PAGES | {"stand-old-grove.html"}
    assert broken_links(site) == []
    assert "compare" not in (site / "index.html").read_text("utf-8")


def test_without_stands_no_frame_stays_empty(site_of: Callable[..., Path]) -> None:
    site = site_of((HEADING + OAKS).replace("Old Grove", ""))
    assert pages_of(site) == FIXED_PAGES
    assert broken_links(site) == []
    index = (site / "index.html").read_text("utf-8")
    assert "no figures per hectare" in index
    assert 'name="stand"' not in index


def test_without_places_the_sheet_says_what_to_do(site_of: Callable[..., Path]) -> None:
    table = "tree,species,girth_cm\n1,Quercus alba,80\n2,Quercus alba,95\n"
    site = site_of(table)
    index = (site / "index.html").read_text("utf-8")
    assert "Add the columns lat and lon" in index
    assert 'class="map"' not in index
    assert not (site / "maps").exists()
    assert broken_links(site) == []


def test_chosen_trees_say_how_to_declare_a_complete_count(site_of: Callable[..., Path]) -> None:
    site = site_of(HEADING + OAKS)
    stand = (site / "stand-old-grove.html").read_text("utf-8")
    assert "design = &#34;complete count&#34;" in stand
    assert "stem density" not in stand


def test_the_key_counts_the_trees_of_its_own_map(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    oak = "X1,Pine Rows,Quercus alba,45.3108,-71.4102,90,19,2026-06-11\n"
    results = results_of({"records/trees.csv": HEADING + OAKS + PINES + oak})
    site = site_of_results(results)
    pines = results.trees[results.trees["stand"] == "Pine Rows"]
    whole, part = key_of(results.trees, site), key_of(pines, site)
    assert {row.name: row.trees for row in whole.rows} == {"Quercus alba": 9, "Pinus resinosa": 6}
    assert {row.name: row.trees for row in part.rows} == {"Quercus alba": 1, "Pinus resinosa": 6}
    assert [row.index for row in whole.rows] == [0, 1]


def test_complete_count_shows_figures_per_hectare(longleaf: Results, tmp_path: Path) -> None:
    build_site(longleaf, tmp_path / "site")
    stand = (tmp_path / "site" / "stand-longleaf.html").read_text("utf-8")
    # 584 trees on 4 ha: 146 a hectare (Platt, Evans and Rathbun 1988, as printed in the data).
    assert '<span class="num">146<span class="frac"></span></span>' in stand
    assert "584 living trees ÷ 4.00\u00a0ha = 146" in stand


def test_same_input_gives_the_same_bytes(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    results = results_of({"records/trees.csv": HEADING + OAKS + PINES})
    build_site(results, tmp_path / "a")
    build_site(results, tmp_path / "b")
    first, second = (
        {path.relative_to(site).as_posix(): path.read_bytes() for path in site.rglob("*.*")}
        for site in (tmp_path / "a", tmp_path / "b")
    )
    assert len(first) > 20
    assert first == second


EVIL = "<script>alert(1)</script>"


def test_a_name_with_markup_stays_text(site_of: Callable[..., Path]) -> None:
    table = (
        (HEADING + OAKS + PINES).replace("Quercus alba", EVIL).replace("Pine Rows", "{{7*7}}<b>")
    )
    site = site_of(table)
    scripts = [*site.rglob("data/*.js"), *site.glob("maps/*.js")]
    assert len(scripts) >= 5
    for path in scripts:
        assert "<" not in path.read_text("utf-8").replace("\\u003c", ""), path
    for page in site.rglob("*.html"):
        assert EVIL not in page.read_text("utf-8"), page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in (site / "trees.html").read_text("utf-8")
    # folium runs what it is given through a template: nothing of the survey may be computed there.
    assert "49" not in (site / "maps" / "index.js").read_text("utf-8").split("treeLayer")[1]


def test_pages_hold_no_inline_script_or_style(site_of: Callable[..., Path]) -> None:
    site = site_of(HEADING + OAKS + PINES)
    for page in site.rglob("*.html"):
        tags = tags_of(page).tags
        assert not [found for _, found in tags if any(key.startswith("on") for key in found)]
        assert not [found for tag, found in tags if tag == "style" or "style" in found]
        inline = [found for tag, found in tags if tag == "script" and "src" not in found]
        assert all(found.get("type") == "application/json" for found in inline), page
        policy = [found for _, found in tags if found.get("http-equiv")]
        assert "default-src 'none'" in str(policy[0]["content"])


def test_nothing_is_loaded_from_elsewhere(site_of: Callable[..., Path]) -> None:
    site = site_of(HEADING + OAKS + PINES)
    for page in site.rglob("*.html"):
        loaded = [
            str(found.get("src") or found.get("href"))
            for tag, found in tags_of(page).tags
            if tag in ("script", "link", "img", "iframe")
            and (found.get("src") or found.get("href"))
        ]
        assert loaded
        assert not [link for link in loaded if "//" in link], page


def test_a_map_library_without_a_local_copy_is_refused() -> None:
    import folium
    from folium.plugins import MiniMap

    figure = SheetFigure()
    sheet = folium.Map(tiles=None)
    figure.add_child(sheet)
    sheet.add_child(MiniMap())
    with pytest.raises(MapperError, match=r"'\w*MiniMap\w*' from https://.*bundle it"):
        figure.render()


def test_large_surveys_split_their_table(longleaf: Results, tmp_path: Path) -> None:
    copies = [longleaf.trees.assign(tree=longleaf.trees["tree"] + f"-{n}") for n in range(2)]
    results = dataclasses.replace(
        longleaf, trees=pd.concat(copies, ignore_index=True), other_units=None
    )
    build_site(results, tmp_path / "site")
    rows = [
        (tmp_path / "site" / name).read_text("utf-8").count("<tr data-tree=")
        for name in ("trees.html", "trees-2.html")
    ]
    assert rows == [1000, 168]
    assert len(list((tmp_path / "site" / "data").glob("workings-*.js"))) == 3
    assert broken_links(tmp_path / "site") == []


@pytest.mark.parametrize(
    ("value", "half", "text"),
    [
        (18.44, 0.61, "18.4\u00a0±\u00a00.6\u00a0m"),
        (18.44, 0.04, "18.44\u00a0±\u00a00.04\u00a0m"),
        (18.44, 0.0001, "18.44\u00a0±\u00a00.01\u00a0m"),
        (18.44, math.nan, "18.4\u00a0m"),
        (-0.26, math.nan, "−0.3\u00a0m"),
    ],
)
def test_numbers_keep_the_decimals_of_their_uncertainty(
    value: float, half: float, text: str
) -> None:
    shown = measured(value, half, METRIC["m"])
    assert shown is not None
    assert shown.text == text


def test_a_missing_number_is_none() -> None:
    assert measured(math.nan, 1.0, METRIC["m"]) is None


def test_us_units_follow_from_their_definitions() -> None:
    # An acre is 43,560 square feet: 1 m²/ha is 43560 ft² × 0.0001 of an acre's area.
    us = scales("us")
    assert us["m2_per_ha"].factor == pytest.approx(4.356, abs=1e-6)
    assert us["per_ha"].factor * us["ha"].factor == pytest.approx(1)
    assert us["cm"].factor * 2.54 == pytest.approx(1)


def test_differences_carry_their_sign() -> None:
    assert signed(2.04, 1) == "+2.0"
    assert signed(-2.06, 1) == "−2.1"
    assert signed(-0.01, 1) == "0.0"


def test_stand_files_never_collide() -> None:
    files = stand_files(["Old Grove", "old grove!", "Été", "???", "Old-Grove-2"])
    assert files["Old Grove"] == "stand-old-grove.html"
    assert files["Été"] == "stand-ete.html"
    assert len(set(files.values())) == 5


def test_dates_read_as_people_write_them() -> None:
    assert day("2026-05-12") == "12 May 2026"
    assert day("2026-05") == "May 2026"
    assert day("soon") == "soon"
    assert period(["2026-06-03", "", "2026-05-12"]) == "12 May to 3 June 2026"
    assert period(["2025", "2026"]) == "2025 to 2026"


def test_two_charts_share_their_axes() -> None:
    low = Bars((0.0, 5.0), (5.0, 10.0), (1.0, 2.0))
    high = Bars((20.0,), (25.0,), (8.0,))
    axes = shared_axes([low, high])
    assert (axes.left, axes.right, axes.top) == (0.0, 25.0, 8.0)
    charts = [str(histogram(bars, axes, Labels("summary", "cm"))) for bars in (low, high)]
    assert all(">25</text>" in chart for chart in charts)
    assert "style=" not in "".join(charts)


def test_scripts_cannot_be_ended_by_a_text() -> None:
    text = as_script({"name": "</script>\u2028{{7*7}}{%x%}{#"})
    assert text == ('{"name":"\\u003c/script\\u003e\\u2028{\\u007b7*7}}{\\u0025x%}{\\u0023"}')


def test_a_docstring_becomes_a_method() -> None:
    method = method_from(
        "height_from_wall",
        """Height of a wall.

        height = a * b

        Parameters
        ----------
        a_m, b_m
            Two lengths,
            both above 0. [m]

        Returns
        -------
        height_m
            NaN elsewhere. [m]

        Notes
        -----
        Source: GUM2008, eq. 10.
        Reads high on a slope.
        """.replace("\n        ", "\n"),
    )
    assert method.title == "Height of a wall"
    assert method.equation == ("height = a × b",)
    assert (method.inputs[0].name, method.inputs[0].unit) == ("a, b", "m")
    assert method.inputs[0].meaning == "Two lengths, both above 0."
    assert method.notes == ("Reads high on a slope.",)
    assert [(cited.source.key, cited.where) for cited in method.citations] == [
        ("GUM2008", "eq. 10")
    ]


def test_the_structure_of_a_stand_is_told_with_what_is_missing(
    longleaf: Results, tmp_path: Path
) -> None:
    build_site(longleaf, tmp_path / "site")
    stand = (tmp_path / "site" / "stand-longleaf.html").read_text("utf-8")
    (row,) = longleaf.stands.to_dict("records")
    density = f"{row['stand_density_index']:.1f}".split(".")
    assert f'<span class="num">{density[0]}<span class="frac">.{density[1]}<' in stand
    assert f'<span class="num">{int(row["clark_evans"])}<span class="frac">.83' in stand
    assert "584 have a thickness that can be used and 0 a height" in stand
    # No height, so no top height: the reader is told which figures that costs.
    gaps = stand[stand.index('class="gaps"') :]
    assert "Height of the thickest trees" in gaps
    assert ">nan" not in stand.lower()
