"""Any table at all is either built or refused with a message: seeded random surveys."""

import csv
import random
from pathlib import Path

import pytest

from mapper.errors import MapperError
from mapper.line import survey_results
from mapper.render import build_site
from mapper.survey import read_survey

ROOT = Path(__file__).parents[1]
SLIPS = ["x", "?", "-1", "0", "1e9", "nan", "inf", "12,5", "1.234", "about 5", "=1+1", "<b>", '"q"']
WORDS = {
    "species": ["Quercus robur", "oak", "Pinus sylvestris", "cedar", "silver birch", "zzz", "?"],
    "tree": ["1", "2", "3", "4", "A1", ""],
    "stand": ["A", "B", ""],
    "crs": ["EPSG:32632", "EPSG:4326", "foo"],
    "date": ["2020-05-01", "2024-06-02", "01/02/2023", "31/12/2022"],
    "lat": ["45.0005", "45.0002", "46"],
    "lon": ["7.0005", "7.0002", "8"],
}


def cell(column: dict[str, str], draw: random.Random) -> str:
    if draw.random() < 0.25:
        return ""
    if draw.random() < 0.1:
        return draw.choice(SLIPS)
    if column["name"] in WORDS:
        return draw.choice(WORDS[column["name"]])
    if column["kind"] in ("choice", "flag"):
        return draw.choice((column["choices"] or "yes|no").split("|"))
    low, high = draw.choice([(0, 3), (1, 60), (10, 300), (-30, 80)])
    return (
        "text" if column["kind"] == "text" else f"{draw.uniform(low, high):.{draw.randint(0, 3)}f}"
    )


def random_survey(folder: Path, draw: random.Random) -> None:
    with (ROOT / "mapper" / "reference" / "columns.csv").open(encoding="utf-8") as file:
        columns = list(csv.DictReader(file))
    used = draw.sample(columns, draw.randint(3, 30))
    with (folder / "a.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow([column["name"].replace("stem_N", "stem_1") for column in used])
        for _ in range(draw.choice([1, 3, 20])):
            writer.writerow([cell(column, draw) for column in used])
    settings = ['[records]\nfiles = ["*.csv"]\n[publish]']
    settings.append(f'positions = "{draw.choice(["exact", "0.01 deg", "hidden"])}"')
    settings.append(f'dates = "{draw.choice(["day", "year"])}"')
    settings.append(f'findings = "{draw.choice(["full", "counts"])}"')
    if draw.random() < 0.5:
        settings.append('[measure]\nsetting = "open-grown"\ngrowth_region = "MidWst"')
    (folder / "survey.toml").write_text("\n".join(settings) + "\n", encoding="utf-8")


@pytest.mark.parametrize("seed", range(40))
def test_any_table_is_built_or_refused(tmp_path: Path, seed: int) -> None:
    draw = random.Random(seed)
    random_survey(tmp_path, draw)
    try:
        results = survey_results(read_survey([tmp_path], complete_count=draw.random() < 0.5))
    except MapperError as error:
        assert "survey.toml" in str(error) or "a.csv" in str(error)
        return
    build_site(results, tmp_path / "site")
    with (tmp_path / "a.csv").open(encoding="utf-8") as file:
        handed_in = [row for row in csv.reader(file) if any(text.strip() for text in row)]
    shown = len(results.observations) + results.withheld
    assert shown >= min(len(handed_in) - 1, 1)  # rows of withheld trees are fewer trees than rows
    if not results.withheld:
        assert len(results.observations) == len(handed_in) - 1
