"""After the outing: what to measure again, how well the teams agreed, a page for those who came."""

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
import pandas as pd

from mapper.errors import InputError
from mapper.fieldwork.record_rows import CM_PER_INCH
from mapper.fieldwork.sheets import PAPERS, paper_templates
from mapper.fieldwork.stops import reasons_to_return
from mapper.render.index_page import TreeNote, tree_notes
from mapper.render.quantities import scales
from mapper.render.site_files import write_text
from mapper.summarise import Line, Results

VISIT = ["tree_key", "date"]
APART = ("slip_among_readings", "calipers_apart")
FEW = 3  # from fewer trees nothing is said about a team
GIRTH_NEAR_CM, HEIGHT_NEAR_SHARE = 2.0, 0.10  # common practice for classes, no source


@dataclass(frozen=True)
class Team:
    """How near a team's readings were to the other teams' of the same tree and day."""

    name: str
    trees: int
    girth: str
    height: str
    words: str


@dataclass(frozen=True)
class Again:
    """A tree to measure again, and why."""

    tree: str
    kind: str
    stand: str
    why: str


def write_report(
    line: Line, results: Results, out: Path, paper: Literal["a4", "letter"] = "a4"
) -> list[Path]:
    """Write report.html, for those who came, and again.html, for the leader, into `out`.

    The first shows what is published and names no team; the second stays with the leader.

    Raises
    ------
    InputError
        When `out` is a file.
    """
    if out.exists() and not out.is_dir():
        raise InputError(f"{out}: is a file. Name a folder for the report.")
    units = results.survey.units
    agreed = team_agreement(line.measured.records)
    again = trees_again(line)
    contents: dict[str, dict[str, object]] = {
        "report": {
            "notes": _notes(results),
            "trees": len(results.trees),
            "girths": int(results.trees["girth_cm"].notna().sum()),
            "heights": int(results.trees["height_m"].notna().sum()),
            "kinds": int(results.trees["species"].replace("", np.nan).nunique()),
            "agreement": overall(agreed, units),
            "notice": _to_notice(again),
        },
        "again": {"again": again, "teams": [_team(row, units) for row in agreed.itertuples()]},
    }
    for name, content in contents.items():
        text = (
            paper_templates()
            .get_template(f"{name}.html")
            .render(survey=results.survey, paper=PAPERS[paper], units=units, **content)
        )
        write_text(out / f"{name}.html", text)
    return [out / f"{name}.html" for name in contents]


def team_agreement(records: pd.DataFrame) -> pd.DataFrame:
    """A row a team: on how many trees others measured too, and how far it was from them.

    `records` are measured. girth_cm and height_share are middles (medians) over those trees of the
    distance between the team's reading and the middle of the other teams' readings of that tree on
    that day. A tree that only one team measured says nothing about agreement.
    """
    teams = records[records["observer"].fillna("").astype(str) != ""]
    girths = teams.assign(reading=teams["diameter_cm"] * math.pi)
    heights = teams.assign(reading=np.log(teams["height_m"].where(teams["height_m"] > 0)))
    girth, height = _apart(girths), _apart(heights)
    shared = pd.concat([girth, height])[[*VISIT, "observer"]].drop_duplicates()
    return pd.DataFrame(
        {
            "trees": shared.groupby("observer").size(),
            "girth_cm": girth.groupby("observer")["apart"].median(),
            "height_share": height.groupby("observer")["apart"].median(),
        }
    ).rename_axis("team").reset_index()  # fmt: skip


def _apart(readings: pd.DataFrame) -> pd.DataFrame:
    """For each team and shared tree, how far its reading is from the middle of the others'."""
    by_team = readings.groupby([*VISIT, "observer"], dropna=False)["reading"].median().dropna()
    own = by_team.rename("own").reset_index()
    pairs = own.merge(own.rename(columns={"observer": "other", "own": "theirs"}), on=VISIT)
    pairs = pairs[pairs["observer"] != pairs["other"]]
    middle = pairs.groupby([*VISIT, "observer"], dropna=False).agg(
        own=("own", "first"), theirs=("theirs", "median")
    )
    return middle.assign(apart=(middle["own"] - middle["theirs"]).abs()).reset_index()


def trees_again(line: Line) -> list[Again]:
    """The trees to measure again next time: readings far apart first, then doubts, then gaps."""
    trees = line.measured.trees
    living = trees[trees["status"].isin(["", "alive"])]
    reasons = reasons_to_return(living, line.findings)
    apart = line.findings.loc[line.findings["rule"].isin(APART), "tree"]
    reasons[living.index.isin(list(apart))] = "two readings were far apart"
    order = ["two readings were far apart", "the girth was in doubt", "the height was in doubt",
             "no girth yet", "no height yet"]  # fmt: skip
    wanted = reasons[reasons != ""].sort_values(key=lambda why: why.map(order.index), kind="stable")
    return [
        Again(
            str(tree),
            str(living.at[tree, "common_name"] or living.at[tree, "species_name"] or ""),
            str(living.at[tree, "stand"] or ""),
            str(why),
        )
        for tree, why in wanted.items()
    ]


def _notes(results: Results) -> tuple[TreeNote, ...]:
    return tuple(tree_notes(results.trees, scales(results.survey.units)))


def girth_text(girth_cm: float, units: str) -> str:
    """`1.2 cm` or `0.5 in`; empty where nothing was measured twice."""
    if math.isnan(girth_cm):
        return ""
    return f"{girth_cm / CM_PER_INCH:.1f} in" if units == "us" else f"{girth_cm:.1f} cm"


def share_text(share: float) -> str:
    """`4 %`; empty where nothing was measured twice."""
    return "" if math.isnan(share) else f"{share * 100:.0f} %"


def _team(row: object, units: str) -> Team:
    trees, girth_cm = int(row.trees), float(row.girth_cm)  # type: ignore[attr-defined]
    height_share = float(row.height_share)  # type: ignore[attr-defined]
    return Team(
        str(row.team),  # type: ignore[attr-defined]
        trees,
        girth_text(girth_cm, units),
        share_text(height_share),
        kind_words(trees, girth_cm, height_share),
    )


def kind_words(trees: int, girth_cm: float, height_share: float) -> str:
    """What to tell a team: what went well first, then one thing to try."""
    if trees < FEW:
        return "Too few trees that others measured too: swap with another team next time."
    far_girth, far_height = girth_cm > GIRTH_NEAR_CM, height_share > HEIGHT_NEAR_SHARE
    if far_girth and far_height:
        return "Good that you measured so much. Next time do one tree together with another team."
    if far_girth:
        return "Your heights fit well. Look at the tape together: level, not twisted, same height?"
    if far_height:
        return "Your tape work fits well. Sight the same twig as the tip, and tape the way again."
    return "Your numbers fit those of the others well."


def overall(agreed: pd.DataFrame, units: str) -> str:
    """One sentence for everybody, without a team's name."""
    parts = []
    if agreed["girth_cm"].notna().any():
        parts.append(f"girths lay about {girth_text(agreed['girth_cm'].median(), units)} apart")
    if agreed["height_share"].notna().any():
        parts.append(f"heights about {share_text(agreed['height_share'].median())}")
    if not parts:
        return (
            "No tree was measured by two teams on one day, so we cannot say how well we agree. "
            "Next time let a second team measure every third tree."
        )
    return f"Where two teams measured the same tree, {' and '.join(parts)}."


def _to_notice(again: list[Again]) -> list[str]:
    """What to notice next time, from what was most often missing or in doubt."""
    counts = pd.Series([one.why for one in again], dtype=object).value_counts()
    advice = {
        "two readings were far apart": "Say each number back before writing it down.",
        "the girth was in doubt": "Look at the unit on the tape, and write it beside the number.",
        "the height was in doubt": "Up is plus, below the eye is minus: write the sign.",
        "no girth yet": "Some trees have no girth yet: begin with those.",
        "no height yet": "Some trees have no height yet: begin with those.",
    }
    return [advice[str(why)] for why in counts.index[:3]]
