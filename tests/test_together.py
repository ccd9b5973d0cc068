"""Several surveys in one site: which stands and trees are one, and what must be told alike."""

import json
from pathlib import Path

import pytest

from mapper.errors import InputError
from mapper.line import published
from mapper.summarise import Results
from mapper.survey_group import read_surveys
from mapper.together import run_together

SQUARE = [[10, 50], [10.001, 50], [10.001, 50.001], [10, 50.001], [10, 50]]
ELSEWHERE = [[10.01, 50], [10.011, 50], [10.011, 50.001], [10.01, 50.001], [10.01, 50]]
HEAD = "tree,species,lat,lon,girth_cm,date\n"


def survey(folder: Path, year: int, girths: list[float], **more: object) -> Path:
    """A folder with one stand, a row of trees through its middle, and an outline of it."""
    ring, settings = more.get("ring", SQUARE), str(more.get("settings", ""))
    folder.mkdir(parents=True)
    west = float(str(ring[0][0]))  # type: ignore[index]
    rows = [
        f"{n},Fagus sylvatica,50.0005,{west + n / 10_000:.4f},{girth},{year}-05-0{n}\n"
        for n, girth in enumerate(girths, start=1)
    ]
    (folder / "trees.csv").write_text(HEAD + "".join(rows), encoding="utf-8")
    outline = {"type": "Polygon", "coordinates": [ring]}
    feature = {"type": "Feature", "properties": {"stand": "Wood"}, "geometry": outline}
    shapes = json.dumps({"type": "FeatureCollection", "features": [feature]})
    (folder / "stands.geojson").write_text(shapes, encoding="utf-8")
    (folder / "survey.toml").write_text(
        f'title = "{folder.name}"\n{settings}\n[records]\nfiles = ["trees.csv"]\n[site]\n'
        'boundaries = "stands.geojson"\n[[stand]]\nname = "Wood"\ndesign = "complete count"\n',
        encoding="utf-8",
    )
    return folder


def results_of(*folders: Path, title: str = "") -> Results:
    return published(run_together(read_surveys(folders), title, lambda _: None))


def test_two_years_of_one_outline_are_one_stand(tmp_path: Path) -> None:
    """What the two folders say together is what one folder with both files would say."""
    old = survey(tmp_path / "Old", 2020, [100, 120, 140])
    new = survey(tmp_path / "New", 2025, [110, 130, 150])
    both = results_of(old, new)
    assert both.trees["tree"].tolist() == ["1", "2", "3"]
    assert both.trees["girth_cm"].tolist() == [110, 130, 150]
    assert both.trees["visits"].tolist() == [2, 2, 2]
    assert both.stands_by_year[["stand", "period"]].to_numpy().tolist() == [
        ["Wood", "2020"], ["Wood", "2025"],
    ]  # fmt: skip
    years = both.comparison[both.comparison["kind"] == "years"].set_index("quantity")
    assert years.loc["stems_per_ha", "difference"] == 0
    assert years.loc["mean_diameter_cm", "difference"] == pytest.approx(10 / 3.14159265, 1e-6)
    assert both.survey.title == "Old; New"

    together = tmp_path / "one"
    survey(together, 2020, [100, 120, 140])
    rows = (new / "trees.csv").read_text(encoding="utf-8").splitlines()[1:]
    with (together / "trees.csv").open("a", encoding="utf-8") as file:
        file.write("\n".join(rows) + "\n")
    alone = results_of(together)
    assert alone.stands_by_year.equals(both.stands_by_year)
    assert alone.visits.equals(both.visits)


def test_a_name_on_other_ground_is_another_stand(tmp_path: Path) -> None:
    old = survey(tmp_path / "North", 2020, [100, 120, 140])
    new = survey(tmp_path / "South", 2025, [110, 130], ring=ELSEWHERE)
    both = results_of(old, new, title="Both woods")
    assert both.stands["stand"].tolist() == ["Wood (North)", "Wood (South)"]
    assert both.stands["trees"].tolist() == [3, 2]
    assert sorted(both.trees["tree"]) == ["3", "A-1", "A-2", "B-1", "B-2"]
    assert both.boundaries["stand"].tolist() == ["Wood (North)", "Wood (South)"]
    assert len(both.comparison[both.comparison["kind"] == "stands"]) > 0
    assert both.survey.title == "Both woods"


def test_an_unlike_tree_of_the_number_is_another_tree(tmp_path: Path) -> None:
    """The third tree lost 80 cm of girth: no tree does."""
    old = survey(tmp_path / "Old", 2020, [100, 120, 140])
    new = survey(tmp_path / "New", 2025, [110, 130, 60])
    text = (new / "trees.csv").read_text(encoding="utf-8").replace("50.0005,10.0003", "50.0009,")
    (new / "trees.csv").write_text(text, encoding="utf-8")
    both = results_of(old, new)
    assert both.trees.set_index("tree")["visits"].to_dict() == {"1": 2, "2": 2, "3": 1, "3 (2)": 1}


def test_findings_name_the_files_in_their_order(tmp_path: Path) -> None:
    old = survey(tmp_path / "Old", 2020, [100, 120])
    new = survey(tmp_path / "New", 2025, [110, -1], ring=ELSEWHERE)
    line = run_together(read_surveys([old, new]), "", lambda _: None)
    errors = line.findings[line.findings["severity"] == "error"]
    assert errors[["file", "row", "record"]].to_numpy().tolist() == [[2, 3, 3]]
    assert line.measured.trees["diameter_cm"].notna().sum() == 3


@pytest.mark.parametrize(
    ("settings", "told"),
    [
        ('units = "us"', "units is 'us', and 'metric'"),
        ("[publish]\ndates = 'year'", "publish.date"),
    ],
)
def test_what_a_site_says_once_must_be_told_alike(tmp_path: Path, settings: str, told: str) -> None:
    old = survey(tmp_path / "Old", 2020, [100])
    new = survey(tmp_path / "New", 2025, [110], settings=settings)
    with pytest.raises(InputError, match=told):
        read_surveys([old, new])


def test_a_survey_given_twice_is_refused(tmp_path: Path) -> None:
    old = survey(tmp_path / "Old", 2020, [100])
    with pytest.raises(InputError, match="given twice"):
        read_surveys([old, old / "survey.toml"])
    with pytest.raises(InputError, match="cannot be shared"):
        read_surveys([old, tmp_path], boundaries=tmp_path / "x.geojson")


def test_tables_beside_a_folder_are_one_more_survey(tmp_path: Path) -> None:
    old = survey(tmp_path / "Old", 2020, [100, 120])
    table = tmp_path / "street.csv"
    table.write_text(HEAD + "1,Tilia cordata,50.1,10.1,90,2021-06-01\n", encoding="utf-8")
    both = results_of(old, table)
    assert sorted(both.trees["tree"]) == ["2", "A-1", "B-1"]
    assert both.stands["stand"].tolist() == ["Wood"]
