"""Completely counted stands that nobody drew: their ground is guessed, and said to be."""

import math
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mapper.line import run_checks
from mapper.render import build_site
from mapper.summarise import Results
from mapper.survey import read_survey

ResultsOf = Callable[..., Results]
COUNTED = '[[stand]]\nname = "Grove"\ndesign = "complete count"\n'
M_PER_DEG = 111_194.9  # of a sphere of 6371 km


def lattice(side: int = 10, step_m: float = 5.0, accuracy_m: float = 0.1, privacy: str = "") -> str:
    """Trees in rows `step_m` apart; a square tree's ground is step² each."""
    rows = [
        f"{i}-{j},Grove,100,{46 + i * step_m / M_PER_DEG:.9f},"
        f"{7 + j * step_m / M_PER_DEG / math.cos(math.radians(46)):.9f},{accuracy_m},{privacy}"
        for i in range(side)
        for j in range(side)
    ]
    return "tree,stand,girth_cm,lat,lon,position_accuracy (m),privacy\n" + "\n".join(rows) + "\n"


def grove(results_of: ResultsOf, records: str, settings: str = COUNTED) -> dict[str, object]:
    results = results_of({"survey.toml": settings, "records/t.csv": records})
    return results.stands.set_index("stand").loc["Grove"].to_dict()


def test_a_lattice_gets_back_its_own_ground(results_of: ResultsOf) -> None:
    # Worked by hand: 100 trees of 5 × 5 m are 0.25 ha; the hull alone is 45 × 45 m, with twice
    # the margin 55 × 55 m less its round corners. The sphere is some 0.3 % off the ellipsoid.
    stand = grove(results_of, lattice())

    assert stand["area_from"] == "trees"
    assert stand["area_ha"] == pytest.approx(0.25, rel=0.008)
    assert stand["stems_per_ha"] == pytest.approx(400, rel=0.008)
    assert stand["area_without_margin_ha"] == pytest.approx(0.2025, rel=0.005)
    corners = (4 - math.pi) * 5**2 / 10_000
    assert stand["area_with_twice_margin_ha"] == pytest.approx(0.3025 - corners, rel=0.008)
    assert np.isnan(stand["stems_per_ha_low"])
    assert np.isnan(stand["basal_area_m2_per_ha_high"])
    assert np.isfinite(stand["mean_diameter_cm_low"])


def test_longleaf_without_its_outline_is_near(tmp_path: Path) -> None:
    # An outside check: the mapped plot is 4 ha (200 × 200 m) with 584 trees.
    table = pd.read_csv(Path(__file__).parent / "open_data" / "longleaf_wgs84.csv")
    file = tmp_path / "trees.csv"
    table.assign(stand="Longleaf").to_csv(file, index=False)

    line = run_checks(read_survey([file], complete_count=True))

    told = line.findings[line.findings["rule"] == "area_guessed"]["message"].tolist()
    assert len(told) == 1
    assert float(told[0].split(" m), ")[1].split(" ha")[0]) == pytest.approx(4, rel=0.05)


@pytest.mark.parametrize(
    ("records", "settings"),
    [
        pytest.param(lattice(), "", id="chosen trees"),
        pytest.param(lattice(accuracy_m=4), COUNTED, id="places coarser than the margin"),
        pytest.param(lattice(side=3), COUNTED, id="too few trees"),
        pytest.param(lattice() + "x,Grove,90,,,,\n", COUNTED, id="a tree without a place"),
        pytest.param(lattice(privacy="0.01 deg"), COUNTED, id="places kept back"),
        pytest.param(lattice(), '[publish]\npositions = "0.01 deg"\n' + COUNTED, id="places cut"),
    ],
)
def test_nothing_is_guessed(results_of: ResultsOf, records: str, settings: str) -> None:
    stand = grove(results_of, records, settings)

    assert np.isnan(float(str(stand["area_ha"])))
    assert np.isnan(float(str(stand["stems_per_ha"])))


def test_an_area_in_words_wins(results_of: ResultsOf) -> None:
    stand = grove(results_of, lattice(), COUNTED + 'area = "0.3 ha"\n')

    assert (stand["area_from"], stand["area_ha"]) == ("survey", 0.3)
    assert np.isnan(float(str(stand["area_without_margin_ha"])))


def test_the_page_says_that_it_is_a_guess(results_of: ResultsOf, tmp_path: Path) -> None:
    results = results_of({"survey.toml": COUNTED, "records/t.csv": lattice()})
    build_site(results, tmp_path / "site")
    page = " ".join((tmp_path / "site" / "stand-grove.html").read_text("utf-8").split())

    assert "Nobody drew the edge of this stand" in page
    found = re.search(r"number of trees is (\d+) per ha, with twice as much (\d+) per ha", page)
    assert found
    # 100 trees on 45 × 45 m and on 55 × 55 m less its round corners, as above.
    assert float(found[1]) == pytest.approx(494, rel=0.008)
    assert float(found[2]) == pytest.approx(333, rel=0.008)
    total = results.totals.set_index("quantity").loc["area_ha"]
    assert total["stands_left_out"] == 1
    reasons = results.reasons.query("id == 'Grove' and column == 'stems_per_ha_low'")["reason"]
    assert reasons.tolist() == ["its area is only guessed from where its trees stand"]
