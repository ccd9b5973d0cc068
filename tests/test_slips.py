"""How many planted blunders are found, and how many findings are false alarms.

`python tests/test_slips.py` measures again on the surveys named in MEASURED, writes
tests/slips_measured.csv and the table of the README. Limits were chosen on the seeds 0 to 39; the
published figures are of other seeds, which nobody looked at before.
"""

import csv
import sys
import tempfile
from collections import Counter
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mapper.line import run_checks
from mapper.survey import read_survey

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests"))
from slips import Slip, clean_survey, planted_survey  # noqa: E402

README = ROOT / "README.md"
TABLE = ROOT / "tests" / "slips_measured.csv"
START, END = "<!-- slips: written by tests/test_slips.py -->\n", "<!-- /slips -->"
MEASURED = range(1000, 1200)
AGAIN = range(2000, 2012)  # of the test; other surveys again
CLEAN = range(3000, 3012)
COLUMNS = ["kind", "planted", "found", "proposals", "right_proposals"]


def findings_of(table: pd.DataFrame, folder: Path) -> pd.DataFrame:
    table.to_csv(folder / "trees.csv", index=False)
    found = run_checks(read_survey([folder / "trees.csv"])).findings
    return found[found["record"] >= 0]


def proposes_the_truth(found: pd.DataFrame, slip: Slip) -> bool:
    """A proposal within 3 % of the cell before the blunder: what was rounded away stays away."""
    heading = slip.column.rsplit("_", 1)[0]
    told = found[(found["proposed_column"] == heading) & (found["proposed_value"] != "")]
    amounts = told["proposed_value"].str.split().str[0].astype(float)
    return bool((abs(amounts / slip.meant - 1) < 0.03).any())


def measure(seed: int, folder: Path) -> tuple[pd.DataFrame, int]:
    """What the checks make of one survey with planted blunders."""
    table, slips = planted_survey(np.random.default_rng(seed))
    return score(table, slips, findings_of(table, folder))


def score(table: pd.DataFrame, slips: list[Slip], found: pd.DataFrame) -> tuple[pd.DataFrame, int]:
    """A row for each planted blunder (found, proposed, right), and the number of false alarms.

    A finding is no false alarm where it concerns a tree that carries a blunder: a wrong first visit
    shows as a wrong second one too. `digits` speaks of a whole team, and counts only there.
    """
    of_team = found["rule"] == "digits"
    told = []
    for slip in slips:
        team = slip.kind == "rounded to fives"
        seen = found[found["record"].isin(slip.rows) & (of_team == team)]
        amount = not np.isnan(slip.meant)
        proposed = amount and bool((seen["proposed_value"] != "").any())
        right = amount and proposes_the_truth(seen, slip)
        told.append((slip.kind, 1, int(len(seen) > 0), int(proposed), int(right)))
    lone = [slip for slip in slips if slip.kind != "rounded to fives"]
    trees = table.loc[sorted({row for slip in lone for row in slip.rows}), "tree"]
    blundered = found["record"].isin(table.index[table["tree"].isin(trees)])
    rounded = any(slip.kind == "rounded to fives" for slip in slips)
    false = (~of_team & ~blundered) | (of_team & (not rounded))
    return pd.DataFrame(told, columns=COLUMNS), int(false.sum())


def measure_all(seeds: range) -> tuple[pd.DataFrame, int]:
    with tempfile.TemporaryDirectory() as folder:
        measured = [measure(seed, Path(folder)) for seed in seeds]
    table = pd.concat([told for told, _ in measured]).groupby("kind", sort=True).sum()
    return table.reset_index(), sum(false for _, false in measured)


def precision_and_recall(table: pd.DataFrame, false: int) -> tuple[float, float]:
    """A blunder found counts once, however many findings it has; a false alarm counts each time."""
    found = table["found"].sum()
    return found / (found + false), found / table["planted"].sum()


@pytest.fixture(scope="module")
def fresh() -> tuple[pd.DataFrame, int]:
    return measure_all(AGAIN)


def test_planted_blunders_are_found_and_hardly_anything_else(
    fresh: tuple[pd.DataFrame, int],
) -> None:
    table, false = fresh
    precision, recall = precision_and_recall(table, false)
    # Measured on 200 surveys: slips_measured.csv. On twelve surveys with some 140 blunders both
    # shares scatter by 2 in 100; two and a half times that is left as room.
    stated_precision, stated_recall = stated()
    assert table["planted"].sum() > 120
    assert recall > stated_recall - 0.05
    assert precision > stated_precision - 0.05


def test_the_score_can_be_bad(tmp_path: Path) -> None:
    """Without findings nothing is found; a finding on every tree is mostly false alarm."""
    table, slips = planted_survey(np.random.default_rng(1))
    found = findings_of(table, tmp_path)
    told, false = score(table, slips, found.iloc[:0])
    assert (told["found"].sum(), told["right_proposals"].sum(), false) == (0, 0, 0)
    everywhere = pd.DataFrame({"record": table.index}).assign(
        rule="unit_slip", proposed_column="girth", proposed_value="1 cm"
    )
    told, false = score(table, slips, everywhere)
    assert told["right_proposals"].sum() == 0
    assert false > 150


def test_a_clean_survey_is_nearly_silent(tmp_path: Path) -> None:
    found = pd.concat(
        [findings_of(clean_survey(np.random.default_rng(seed)), tmp_path) for seed in CLEAN]
    )
    # Some 3000 records; on the 40 surveys that limits were chosen on there was one in 1500.
    assert len(found) <= 6, found["rule"].tolist()
    assert not found["bars"].any()


def stated() -> tuple[float, float]:
    table = pd.read_csv(TABLE)
    planted = table[table["kind"] != "false alarms"]
    false = int(table.loc[table["kind"] == "false alarms", "found"].sum())
    return precision_and_recall(planted, false)


def readme_table() -> str:
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    lines = ["| planted blunder | planted | found | right value proposed |", "|---|---|---|---|"]
    for row in rows:
        if row["kind"] == "false alarms":
            continue
        share = f"{100 * int(row['found']) / int(row['planted']):.0f} %"
        meant = int(row["right_proposals"]) / int(row["planted"])
        proposed = f"{100 * meant:.0f} %" if int(row["proposals"]) else ""
        lines.append(f"| {row['kind']} | {row['planted']} | {share} | {proposed} |")
    precision, recall = stated()
    lines += [
        "",
        f"Together: recall {100 * recall:.1f} % (of the blunders planted, so many were found), "
        f"precision {100 * precision:.1f} % (of what was reported, so much was a blunder).",
    ]
    return "\n".join(lines) + "\n"


def test_the_readme_states_what_was_measured() -> None:
    text = README.read_text("utf-8")
    shown = text[text.index(START) + len(START) : text.index(END)]
    assert shown == readme_table(), "run: python tests/test_slips.py"


def test_the_aim_is_met() -> None:
    precision, recall = stated()
    assert precision > 0.95
    assert recall > 0.95


if __name__ == "__main__":
    measured, alarms = measure_all(MEASURED)
    counts = Counter(kind="false alarms", found=alarms, planted=0, proposals=0, right_proposals=0)
    pd.concat([measured, pd.DataFrame([counts])])[COLUMNS].to_csv(TABLE, index=False)
    whole = README.read_text("utf-8")
    before, rest = whole.split(START)
    README.write_text(before + START + readme_table() + END + rest.split(END)[1], "utf-8")
