"""Files that once ended in a traceback or lost a row; each is refused or read whole."""

import json
import re
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from mapper.errors import InputError
from mapper.line import run_checks, survey_results
from mapper.render import build_site
from mapper.repair import write_findings
from mapper.summarise import Line, Results
from mapper.survey import read_survey

FILES = '[records]\nfiles = ["*.csv"]\n'


def square(west: float) -> list[list[list[float]]]:
    east = west + 0.001
    return [[[west, 45.0], [east, 45.0], [east, 45.001], [west, 45.001], [west, 45.0]]]


def outlines(path: Path, **stands: list[list[list[float]]]) -> Path:
    features = [
        {
            "type": "Feature",
            "properties": {"stand": name},
            "geometry": {"type": "Polygon", "coordinates": rings},
        }
        for name, rings in stands.items()
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}), "utf-8")
    return path


def workbook(path: Path, **sheets: list[list[object]]) -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path


def rewritten(path: Path, part: str, change: Callable[[bytes], bytes]) -> Path:
    """The workbook with one of its parts changed."""
    copy = path.with_suffix(".tmp")
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(copy, "w") as new:
        for name in old.namelist():
            new.writestr(name, change(old.read(name)) if name == part else old.read(name))
    shutil.move(copy, path)
    return path


def line(*paths: Path, boundaries: Path | None = None) -> Line:
    return run_checks(read_survey(paths, boundaries, complete_count=boundaries is not None))


def test_two_sheets_without_numbers_stay_apart(tmp_path: Path) -> None:
    head = ["species", "girth_cm"]
    book = workbook(
        tmp_path / "t.xlsx",
        A=[head, ["oak", 100], ["oak", 110]],
        B=[head, ["pine", 200], ["pine", "x"]],
    )
    done = line(book)
    assert done.measured.trees["girth_cm"].fillna(0).tolist() == [100, 200, 110, 0]
    (row,) = done.findings.query("rule == 'not_a_number'").to_dict("records")
    assert (row["sheet"], row["row"]) == ("B", 3)


@pytest.mark.parametrize("size", [b"A1:B3", b"A1"])
def test_a_wrong_size_in_a_workbook_loses_no_row(tmp_path: Path, size: bytes) -> None:
    rows: list[list[object]] = [["tree", "girth_cm"], *[[n, 90 + n] for n in range(1, 6)]]
    book = workbook(tmp_path / "t.xlsx", A=rows)
    tag = b'<dimension ref="' + size + b'"/>'
    rewritten(book, "xl/worksheets/sheet1.xml", lambda xml: re.sub(rb"<dimension[^>]*/>", tag, xml))
    assert len(line(book).measured.trees) == 5


@pytest.mark.parametrize("part", ["xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/styles.xml"])
def test_a_damaged_workbook_is_refused(tmp_path: Path, part: str) -> None:
    book = workbook(tmp_path / "t.xlsx", A=[["tree", "girth_cm"], [1, 90]])
    rewritten(book, part, lambda xml: xml[: len(xml) // 2])
    with pytest.raises(InputError, match=r"t\.xlsx: cannot be read as a workbook"):
        line(book)


def test_a_stand_without_trees(tmp_path: Path) -> None:
    table = tmp_path / "a.csv"
    table.write_text("tree,girth_cm,lat,lon\n1,100,45.0005,7.0005\n", encoding="utf-8")
    stands = outlines(tmp_path / "s.geojson", A=square(7.0), B=square(7.01))
    results = survey_results(read_survey([table], stands, complete_count=True))
    assert results.stands["trees"].tolist() == [1, 0]
    assert results.stands["stems_per_ha"].tolist()[1] == 0
    (sentence,) = results.comparison["sentence"]
    assert sentence == "A has trees, B has none that counts."
    build_site(results, tmp_path / "site")


@pytest.mark.parametrize("tree", ["5²", "①", "9" * 5000, "٣", "a" * 400, "1/2", '"', "..", "🌳"])
def test_strange_tree_and_stand_names(tmp_path: Path, tree: str) -> None:
    import csv

    table = tmp_path / "a.csv"
    with table.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(
            [["tree", "stand", "girth_cm"], [tree, tree, 100], ["2", "B", 90]]
        )
    results = survey_results(read_survey([table]))
    assert set(results.trees["tree"]) == {tree, "2"}
    build_site(results, tmp_path / "site")
    assert len(list((tmp_path / "site").glob("stand-*.html"))) == 2


@pytest.mark.parametrize(
    "rings",
    [[[[8, 50], [8.1, 50], [8.1, 50.1]]], [[[8, 50], [8.1, 50]]], square(500.0)],
    ids=["not closed", "two points", "no longitude"],
)
def test_outlines_that_are_none(tmp_path: Path, rings: list[list[list[float]]]) -> None:
    table = tmp_path / "a.csv"
    table.write_text("tree,girth_cm,lat,lon\n1,100,45.0005,7.0005\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"s\.geojson"):
        line(table, boundaries=outlines(tmp_path / "s.geojson", A=rings))


@pytest.mark.parametrize(
    "text",
    [
        '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"tree":"a\\ud83d"},'
        '"geometry":null}]}',
        "[" * 200_000,
        '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"girth_cm":'
        + "9" * 5000
        + '},"geometry":null}]}',
    ],
    ids=["half a character", "deep", "long number"],
)
def test_geojson_that_cannot_be_read(tmp_path: Path, text: str) -> None:
    path = tmp_path / "t.geojson"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=r"t\.geojson.*not readable as GeoJSON"):
        line(path)


def test_the_id_of_a_feature_is_the_trees(tmp_path: Path) -> None:
    path = tmp_path / "t.geojson"
    feature = {"type": "Feature", "id": 17, "properties": {"girth_cm": 90}, "geometry": None}
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}), "utf-8")
    assert line(path).measured.trees.index.tolist() == ["17"]


def test_another_planet_and_odd_codes(tmp_path: Path) -> None:
    table = tmp_path / "a.csv"
    table.write_text("tree,girth_cm,x,y,crs\n1,90,1,1,IAU_2015:30100\n2,90,1,1,²\n", "utf-8")
    done = line(table)
    assert done.measured.trees["lat"].isna().all()
    assert len(done.findings) >= 2


def test_control_characters_in_a_finding(tmp_path: Path) -> None:
    table = tmp_path / "a.csv"
    table.write_text("tree,girth_cm\na\x01b,abc\n", encoding="utf-8")
    assert write_findings(line(table)).path.exists()


def test_equal_headings_of_one_letter(tmp_path: Path) -> None:
    table = tmp_path / "a.csv"
    table.write_text("tree,x,x,y\n1,1,2,3\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"both mean 'x'"):
        line(table)


@pytest.mark.parametrize(
    ("columns", "part"),
    [('["nothing"]', "no record file has"), ('["note"]', "never published so")],
)
def test_columns_that_cannot_be_published(
    results_of: Callable[..., Results], columns: str, part: str
) -> None:
    toml = f"{FILES}[publish]\ncolumns = {columns}\n"
    with pytest.raises(InputError, match=part):
        results_of({"survey.toml": toml, "a.csv": "tree,girth_cm,note,bark\n1,90,x,rough\n"})


def test_columns_published_already_are_not_doubled(results_of: Callable[..., Results]) -> None:
    toml = FILES + '[publish]\ncolumns = ["tree", "girth", "bark", "bark"]\n'
    results = results_of({"survey.toml": toml, "a.csv": "tree,girth_cm,bark\n1,90,rough\n"})
    assert list(results.observations.columns).count("bark") == 1


def test_a_nameless_tree_is_not_the_tree_of_that_name(results_of: Callable[..., Results]) -> None:
    text = "tree,species,girth_cm\n1-3,oak,100\n,oak,110\n"
    results = results_of({"survey.toml": FILES, "a.csv": text})
    assert sorted(results.trees["girth_cm"]) == [100, 110]


@pytest.mark.parametrize("word", ["-", "--", "?", "n/a", "none", "NA"])
def test_words_for_no_number_are_no_number(results_of: Callable[..., Results], word: str) -> None:
    text = f"tree,species,girth_cm\n{word},oak,100\n{word},oak,105\n{word},{word},110\n"
    results = results_of({"survey.toml": FILES, "a.csv": text})
    assert len(results.trees) == 3
    assert results.species.query("stand == ''")["trees"].sum() == 3
    assert (results.trees["species"] == "").sum() == 1


def test_one_number_for_two_kinds_on_two_days(results_of: Callable[..., Results]) -> None:
    head = "tree,species,date,girth_cm\n"
    results = results_of(
        {
            "survey.toml": FILES,
            "a.csv": head + "1,Quercus robur,2024-05-01,100\n2,Quercus robur,2024-05-01,100\n"
            "3,Quercus robur,2024-05-01,100\n",
            "b.csv": head + "1,Pinus sylvestris,2024-05-02,300\n2,Quercus robur,2024-05-02,140\n"
            "3,Quercus robur,2026-05-02,104\n",
        }
    )
    assert results.trees["tree"].tolist() == ["1", "1 (2)", "2", "2 (2)", "3"]
    assert results.trees["visits"].tolist() == [1, 1, 1, 1, 2]


def test_a_stand_is_one_stand_however_it_is_spelt(tmp_path: Path) -> None:
    table = tmp_path / "a.csv"
    table.write_text(
        "tree,girth_cm,stand,lat,lon\n1,100,old  grove,,\n2,90,,45.0005,7.0005\n"
        "3,80,x,,\n4,80,X,,\n",
        encoding="utf-8",
    )
    stands = outlines(tmp_path / "s.geojson", **{"Old  Grove": square(7.0)})
    results = survey_results(read_survey([table], stands, complete_count=True))
    assert results.stands.set_index("stand")["trees"].to_dict() == {"Old Grove": 2, "x": 2}


def test_numbers_as_names_of_outlines(tmp_path: Path) -> None:
    path = outlines(tmp_path / "s.geojson", A=square(7.0), B=square(7.01))
    text = path.read_text("utf-8").replace('"stand": "A"', '"stand": 1')
    path.write_text(text.replace('"stand": "B"', '"stand": null'), encoding="utf-8")
    table = tmp_path / "a.csv"
    table.write_text("tree,girth_cm,stand\n1,100,1\n", encoding="utf-8")
    results = survey_results(read_survey([table], path, complete_count=True))
    assert results.stands["stand"].tolist() == ["1", "Stand 2"]


def test_a_stand_on_both_sides_of_180_degrees(tmp_path: Path) -> None:
    table = tmp_path / "a.csv"
    rows = "1,100,0.0005,179.9995\n2,100,0.0005,-179.9995\n"
    table.write_text("tree,girth_cm,lat,lon\n" + rows, encoding="utf-8")
    halves = [
        [[[179.999, 0], [180, 0], [180, 0.001], [179.999, 0.001], [179.999, 0]]],
        [[[-180, 0], [-179.999, 0], [-179.999, 0.001], [-180, 0.001], [-180, 0]]],
    ]
    shape = {"type": "MultiPolygon", "coordinates": halves}
    feature = {"type": "Feature", "properties": {"stand": "A"}, "geometry": shape}
    path = tmp_path / "s.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}), "utf-8")
    (stand,) = survey_results(read_survey([table], path, True)).stands.to_dict("records")
    assert stand["trees"] == 2
    # Twice 0.001 degrees square at the equator: 2 x 111.32 m x 110.57 m (WGS 84, by hand)
    assert stand["area_ha"] == pytest.approx(2.4618, rel=1e-3)
    ring = [[[179.999, 0], [-179.999, 0], [-179.999, 0.001], [179.999, 0.001], [179.999, 0]]]
    with pytest.raises(InputError, match="half round the world"):
        line(table, boundaries=outlines(tmp_path / "r.geojson", A=ring))


def test_complete_count_holds_for_declared_stands(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("tree,girth_cm,stand\n1,100,A\n2,90,B\n", encoding="utf-8")
    toml = FILES + '[[stand]]\nname = "a"\narea = "1 ha"\n'
    toml += '[[stand]]\nname = "B"\narea = "1 ha"\ndesign = "chosen trees"\n'
    (tmp_path / "survey.toml").write_text(toml, encoding="utf-8")
    stands = survey_results(read_survey([tmp_path], complete_count=True)).stands
    assert stands["design"].tolist() == ["complete count", "chosen trees"]


def test_all_trees_withheld(results_of: Callable[..., Results], tmp_path: Path) -> None:
    text = "tree,stand,girth_cm,lat,lon,privacy\n1,A,100,45,7,withheld\n"
    results = results_of({"survey.toml": FILES, "a.csv": text})
    assert results.trees.empty
    build_site(results, tmp_path / "site")


def test_withheld_trees_are_in_no_small_total(results_of: Callable[..., Results]) -> None:
    head = "tree,stand,species,girth_cm,height_m,status,privacy\n"
    rows = "s,A,Sequoia sempervirens,700,60,,withheld\n"
    down = rows + "".join(f"f{n},A,oak,100,,fallen,\n" for n in range(4))
    short = rows + "".join(f"o{n},A,oak,100,,,\n" for n in range(4))
    for text in (down, short):
        results = results_of({"survey.toml": FILES, "a.csv": head + text})
        assert results.stands["mean_height_m"].isna().all()
        assert not (results.species["tallest_m"] == 60).any()
        assert "Sequoia sempervirens" not in set(results.species["species"])


def test_rows_do_not_tell_the_walk_where_places_are_kept(
    results_of: Callable[..., Results],
) -> None:
    rows = "".join(f"{100 - n},45.00{n},7.00{n}\n" for n in range(1, 9))
    toml = FILES + '[publish]\npositions = "0.01 deg"\n'
    results = results_of({"survey.toml": toml, "a.csv": "girth_cm,lat,lon\n" + rows})
    assert results.trees["tree"].tolist() == [f"unnumbered {n}" for n in range(1, 9)]
    assert results.trees["girth_cm"].is_monotonic_increasing  # and not the order of the rows
    assert results.observations["row"].isna().all()


def test_the_programs_own_files_are_no_records(tmp_path: Path) -> None:
    toml = '[records]\nfiles = ["**/*.csv", "*.xlsx"]\n'
    (tmp_path / "survey.toml").write_text(toml, encoding="utf-8")
    (tmp_path / "a.csv").write_text("tree,girth_cm\n1,x\n2,90\n", encoding="utf-8")
    for _ in range(2):
        done = run_checks(read_survey([tmp_path]))
        assert len(done.measured.trees) == 2
        assert write_findings(done).path.name == "findings.xlsx"
        build_site(survey_results(read_survey([tmp_path])), tmp_path / "site")


def test_a_leaders_own_findings_are_not_overwritten(tmp_path: Path) -> None:
    book = workbook(tmp_path / "findings.xlsx", A=[["tree", "girth_cm"], [1, "x"]])
    before = book.read_bytes()
    assert write_findings(line(book)).path.name == "findings-2.xlsx"
    assert book.read_bytes() == before


def test_a_file_given_twice(tmp_path: Path) -> None:
    table = tmp_path / "a.csv"
    table.write_text("girth_cm\n90\n", encoding="utf-8")
    with pytest.raises(InputError, match="given twice"):
        line(table, tmp_path / "." / "a.csv")


def test_workings_of_several_readings_give_their_results(
    results_of: Callable[..., Results],
) -> None:
    text = (
        "tree,date,girth_cm,baseline_m,angle_top,eye_height_m\n"
        "1,2026-05-01,100,20,38,1.6\n1,2026-05-01,104,22,40,1.6\n"
    )
    results = results_of({"survey.toml": FILES, "a.csv": text})
    steps = {step.title: step for step in results.workings["1"]}
    # 20 tan 38° + 1.6 = 17.23; 22 tan 40° + 1.6 = 20.06; halfway 18.64 (by hand)
    assert steps["Height"].formula == "20 × tan 38° + 1.6"
    assert steps["Height"].result == "17.2 m"
    day = steps["Height of that day"]
    assert day.inputs == "2 readings of one day: 17.2, 20.1 m"
    assert day.formula == "halfway between the two middle ones"
    assert day.result.startswith("18.6 ± ")
    assert steps["Diameter of that day"].result.startswith("32.5 ± ")


@pytest.mark.parametrize("out", ["site-link", ".", "full"])
def test_folders_a_site_must_not_replace(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, results_of: Callable[..., Results], out: str
) -> None:
    results = results_of({"survey.toml": FILES, "a.csv": "tree,girth_cm\n1,90\n"})
    monkeypatch.chdir(tmp_path)
    (tmp_path / "real").mkdir()
    (tmp_path / "site-link").symlink_to(tmp_path / "real")
    build_site(results, tmp_path / "full")
    (tmp_path / "full" / "empty").mkdir()
    if out == "site-link":
        build_site(results, tmp_path / out)
        assert (tmp_path / "real" / "index.html").exists()
        assert (tmp_path / "site-link").is_symlink()
    else:
        with pytest.raises(InputError):
            build_site(results, Path(out))
        assert (tmp_path / "full" / "empty").is_dir()


@pytest.mark.parametrize("sign", [" ", "^", ":"])
def test_cells_with_another_sign_between_them(tmp_path: Path, sign: str) -> None:
    table = tmp_path / "a.csv"
    table.write_text(f"tree{sign}girth_cm\n1{sign}100\n", encoding="utf-8")
    with pytest.raises(InputError, match="stand in one column"):
        line(table)


def test_sheets_beside_the_records_are_named(tmp_path: Path) -> None:
    head = ["tree", "girth_cm"]
    book = workbook(tmp_path / "t.xlsx", Records=[head, [1, 90]], More=[head, [2, 90]])
    (row,) = line(book).findings.query("rule == 'sheet_not_read'").to_dict("records")
    assert row["severity"] == "warning"
    assert "Only the sheet 'Records' was read. Not read: 'More'." in row["message"]
