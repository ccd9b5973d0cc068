"""The commands as a user runs them: exit codes, one clear message, nothing half-written."""

import json
import os
import subprocess
import sys
from pathlib import Path

import openpyxl
import pytest

ROOT = Path(__file__).parents[1]
OPEN_DATA = Path(__file__).parent / "open_data"


def run(*arguments: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "mapper", *map(str, arguments)],
        cwd=cwd,
        capture_output=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", "COLUMNS": "100"},
        check=False,
    )


def files_in(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*")}


def test_longleaf_from_the_command_line(tmp_path: Path) -> None:
    done = run(
        "build", OPEN_DATA / "longleaf_wgs84.csv",
        "--boundaries", OPEN_DATA / "longleaf_window.geojson", "--complete-count",
        cwd=tmp_path,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    head, row = (tmp_path / "site" / "data" / "stands.csv").read_text("utf-8").splitlines()
    stand = dict(zip(head.split(","), row.split(","), strict=True))
    assert stand["trees"] == "584"
    assert f"{float(stand['stems_per_ha']):.2f}" == "146.00"
    assert f"{float(stand['basal_area_m2_per_ha']):.3f}" == "12.109"
    assert f"{float(stand['quadratic_mean_diameter_cm']):.2f}" == "32.50"
    assert done.stderr == ""  # no progress in a pipe
    assert len(done.stdout.strip().splitlines()) == 1
    assert "Public:" in done.stdout


def bad_inputs(folder: Path) -> dict[str, tuple[list[str], str]]:
    (folder / "empty.csv").write_text("", encoding="utf-8")
    (folder / "headings_only.csv").write_text("tree,girth_cm\n", encoding="utf-8")
    (folder / "strange.csv").write_text("foo,bar\n1,2\n", encoding="utf-8")
    (folder / "broken.xlsx").write_bytes(b"not a workbook")
    (folder / "good.csv").write_text("tree,girth_cm,lat,lon\n1,100,45,7\n", encoding="utf-8")
    (folder / "points.geojson").write_text(
        '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},'
        '"geometry":{"type":"Point","coordinates":[7,45]}}]}',
        encoding="utf-8",
    )
    (folder / "broken.geojson").write_text('{"type":', encoding="utf-8")
    (folder / "toml").mkdir()
    (folder / "toml" / "survey.toml").write_text("[publish]\nposition = 'exact'\n", "utf-8")
    (folder / "other").mkdir()
    (folder / "other" / "thesis.txt").write_text("years of work", encoding="utf-8")
    good = ["build", "good.csv"]
    return {
        "a missing file": (["build", "nowhere.csv"], "nowhere.csv: there is no such file"),
        "an empty table": (["build", "empty.csv"], "empty.csv"),
        "a table without rows": (["build", "headings_only.csv"], "headings_only.csv"),
        "no known heading": (["build", "strange.csv"], "strange.csv"),
        "an unreadable workbook": (["build", "broken.xlsx"], "broken.xlsx"),
        "a misspelt key": (["build", "toml"], "Did you mean 'positions'?"),
        "outlines without polygon": (
            [*good, "--boundaries", "points.geojson"],
            "points.geojson: holds no polygon",
        ),
        "an unreadable outline": ([*good, "--boundaries", "broken.geojson"], "broken.geojson"),
        "a missing outline": ([*good, "--boundaries", "gone.geojson"], "gone.geojson"),
        "a folder of other things": ([*good, "--out", "other"], "other"),
        "a file where the folder goes": ([*good, "--out", "strange.csv"], "strange.csv"),
        "a folder inside a file": ([*good, "--out", "strange.csv/site"], "strange.csv"),
    }


NAMES = [
    "a missing file", "an empty table", "a table without rows", "no known heading",
    "an unreadable workbook", "a misspelt key", "outlines without polygon", "an unreadable outline",
    "a missing outline", "a folder of other things", "a file where the folder goes",
    "a folder inside a file",
]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_bad_input_ends_with_one_message_and_nothing_written(tmp_path: Path, name: str) -> None:
    arguments, part = bad_inputs(tmp_path)[name]
    before = files_in(tmp_path)
    done = run(*arguments, cwd=tmp_path)
    assert done.returncode == 2, done.stdout
    assert part in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert done.stderr.startswith("groveplat: ")
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    assert files_in(tmp_path) == before
    assert (tmp_path / "other" / "thesis.txt").read_text("utf-8") == "years of work"


def test_check_finds_errors_and_changes_nothing(tmp_path: Path) -> None:
    table = tmp_path / "trees.csv"
    table.write_text("tree,girth_cm,note,bark\n1,-5,=1+1,\n2,100,,rough\n", encoding="utf-8")
    before = table.read_bytes()
    done = run("check", "trees.csv", cwd=tmp_path)
    assert done.returncode == 1
    assert "girth_cm → girth in cm" in done.stdout
    assert "bark → not known: kept, not published" in done.stdout
    assert "error: file 1, row 2, tree 1, girth '-5'" in done.stdout
    assert table.read_bytes() == before
    sheet = openpyxl.load_workbook(tmp_path / "findings.xlsx")["findings"]
    assert [cell.value for cell in sheet[2]][:7] == [
        "error", "impossible", "trees.csv", 1, None, 2, "1",
    ]  # fmt: skip


def test_check_of_clean_records_ends_with_0(tmp_path: Path) -> None:
    (tmp_path / "trees.csv").write_text("tree,girth_cm\n1,100\n", encoding="utf-8")
    done = run("check", "trees.csv", "--json", cwd=tmp_path)
    assert done.returncode == 0
    assert json.loads(done.stdout) == []
    assert not (tmp_path / "findings.xlsx").exists()


def test_demo_then_new_then_build(tmp_path: Path) -> None:
    done = run("demo", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    site = tmp_path / "groveplat-demo" / "site"
    assert (site / "index.html").exists()
    assert run("demo", cwd=tmp_path).returncode == 0  # again, over its own copy
    assert run("new", "mine", cwd=tmp_path).returncode == 0
    refused = run("new", "mine", cwd=tmp_path)
    assert refused.returncode == 2
    assert "holds something already" in refused.stderr
    book = openpyxl.load_workbook(tmp_path / "mine" / "records" / "records.xlsx")
    headings = [cell.value for cell in book["records"][1]]
    row = {"tree": "1", "girth_cm": "157", "species": "Quercus robur"}
    book["records"].append([row.get(str(name), "") for name in headings])
    book.save(tmp_path / "mine" / "records" / "records.xlsx")
    assert run("build", "mine", cwd=tmp_path).returncode == 0
    trees = (tmp_path / "mine" / "site" / "data" / "trees.csv").read_text("utf-8")
    assert "Quercus robur" in trees


def test_demo_does_not_overwrite_another_folder(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "survey.toml").write_text("title = 'Mine'\n", encoding="utf-8")
    assert run("demo", "mine", cwd=tmp_path).returncode == 2
    assert (tmp_path / "mine" / "survey.toml").read_text("utf-8") == "title = 'Mine'\n"


def test_one_tree_in_the_terminal(tmp_path: Path) -> None:
    done = run(
        "tree", "--girth", "157 cm", "--species", "Quercus robur", "--baseline", "20 m",
        "--angle-top", "38", "--angle-base", "-5", cwd=tmp_path,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "157 / π = 50.0 ± 0.4 cm" in done.stdout
    assert "20 × (tan 38° − tan (−5°)) = 17.4 ±" in done.stdout
    assert "not a safety assessment" in done.stdout
    wrong = run("tree", "--girth", "157 foot-ish", cwd=tmp_path)
    assert wrong.returncode == 2
    assert "--girth" in wrong.stderr
    nothing = run("tree", cwd=tmp_path)
    assert nothing.returncode == 2
    data = json.loads(run("tree", "--girth", "157 cm", "--json", cwd=tmp_path).stdout)
    assert data["diameter_cm"] == pytest.approx(49.9747, abs=1e-4)
    assert data["height_m"] is None


def test_help_names_every_command(tmp_path: Path) -> None:
    done = run("--help", cwd=tmp_path)
    assert done.returncode == 0
    for name in ("build", "check", "demo", "new", "preview", "tree", "older"):
        assert name in done.stdout
    assert run("bild", cwd=tmp_path).returncode == 2


def test_help_loads_no_map_library(tmp_path: Path) -> None:
    """What keeps `groveplat --help` quick."""
    heavy = "('pandas', 'folium', 'pydantic', 'geopandas')"
    code = f"import sys, mapper.cli; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, encoding="utf-8", check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)}, cwd=tmp_path,
    )  # fmt: skip
    assert done.stdout.strip() == "[]"


def test_a_changed_demo_is_not_overwritten(tmp_path: Path) -> None:
    assert run("demo", "mine", cwd=tmp_path).returncode == 0
    settings = tmp_path / "mine" / "survey.toml"
    settings.write_text('title = "Mine"\n' + settings.read_text("utf-8").split("\n", 3)[3], "utf-8")
    again = run("demo", "mine", cwd=tmp_path)
    assert again.returncode == 2
    assert "was changed" in again.stderr
    assert "Mine" in settings.read_text("utf-8")


def test_a_survey_toml_means_its_folder(tmp_path: Path) -> None:
    (tmp_path / "s").mkdir()
    (tmp_path / "s" / "a.csv").write_text("tree,girth_cm\n1,90\n", encoding="utf-8")
    (tmp_path / "s" / "survey.toml").write_text('[records]\nfiles = ["*.csv"]\n', "utf-8")
    assert run("build", "s/survey.toml", cwd=tmp_path).returncode == 0
    assert (tmp_path / "s" / "site" / "index.html").exists()


@pytest.mark.parametrize(
    ("options", "part"),
    [
        (["--baseline", "20 m", "--angle-top", "38"], "are needed together"),
        (["--species", "Quercus robur"], "Give at least a size"),
    ],
)
def test_one_tree_without_enough_to_go_by(tmp_path: Path, options: list[str], part: str) -> None:
    done = run("tree", *options, cwd=tmp_path)
    assert done.returncode == 2
    assert part in done.stderr
    assert done.stdout == ""


def test_one_tree_of_two_minds(tmp_path: Path) -> None:
    done = run("tree", "--girth", "157 cm", "--diameter", "90 cm", cwd=tmp_path)
    assert done.returncode == 0
    assert "Doubtful: Girth divided by diameter is 1.74" in done.stdout


def test_a_build_says_what_it_left_out(tmp_path: Path) -> None:
    text = "No,Tree,Girth,Bark,Distance (m),Angle (°),Eye height (m),How height\n"
    rows = "1,Oak,2.45 m,rough,20,38,1.6,\n2,Ash,62 and 48,x,20,38,1.6,phone app\n"
    (tmp_path / "maya.csv").write_text(text + rows, encoding="utf-8")
    done = run("build", "maya.csv", cwd=tmp_path)
    doubts, public = done.stdout.strip().splitlines()
    assert doubts.startswith("To look at: 1 error; columns not used: Bark.")
    assert "the file's name as title" in public
    assert "CC-BY-4.0" in public
    trees = (tmp_path / "site" / "data" / "trees.csv").read_text("utf-8")
    assert trees.count("one angle") == 2
    named = run("build", "maya.csv", "--title", "Our park", "--out", "named", cwd=tmp_path)
    assert "as title" not in named.stdout
    assert "maya" not in (tmp_path / "named" / "index.html").read_text("utf-8").lower()


def test_two_numbers_in_a_girth_point_to_the_stems(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("tree,girth_cm\n1,62 and 48\n", encoding="utf-8")
    assert "stem_1, stem_2" in run("check", "a.csv", cwd=tmp_path).stdout


def test_one_tree_by_any_other_heading(tmp_path: Path) -> None:
    done = run(
        "tree", "--girth", "351 cm", "--species", "Quercus alba", "--also", "rings=80",
        "--also", "ring height=0.3 m", cwd=tmp_path,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "Age" in done.stdout
    assert "80" in done.stdout
    wrong = run("tree", "--also", "rings", cwd=tmp_path)
    assert wrong.returncode == 2
    assert "as in rings=80" in wrong.stderr


def test_which_of_two_trees_is_older(tmp_path: Path) -> None:
    rows = "1,Quercus robur,2026-05-01,200,1900\n2,Quercus robur,2026-05-01,100,1980\n3,,,100,\n"
    (tmp_path / "a.csv").write_text("tree,species,date,girth_cm,planted\n" + rows, "utf-8")
    done = run("older", "a.csv", "1", "2", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "ree 1 is older" in done.stdout
    assert "cannot tell" in run("older", "a.csv", "1", "3", cwd=tmp_path).stdout
    assert run("older", "a.csv", "1", "99", cwd=tmp_path).returncode == 2
