"""Leaves and needles against the named tree."""

import numpy as np
import pandas as pd
import pytest

from mapper.check.evidence import contradicted, contradicting
from mapper.load.species import with_species_names
from mapper.reference import rows

NO = float("nan")
LEAVES = [
    # name, needles in a bundle, leaf, needles contradict, leaf contradicts
    ("Scots pine", 5, "", True, False),  # two: the Wisconsin flora's key
    ("Scots pine", 2, "needles in bundles", False, False),
    ("Pinus strobus", 5, "", False, False),  # five: the same key
    ("Pinus strobus", 3, "", True, False),
    ("Pinus taeda", 2, "", False, False),  # usually three, sometimes two
    ("Pinus monophylla", 1, "needles single", False, False),  # the one-needle pine
    ("Pinus", 7, "", True, False),  # no pine of the key to the genera has more than six
    ("Pinus", 4, "", False, False),
    ("Norway spruce", 1, "needles single", False, False),
    ("Norway spruce", NO, "needles in bundles", False, True),
    ("Norway spruce", 2, "", True, False),
    ("Larix decidua", 30, "needles in bundles", False, False),
    ("Thuja occidentalis", NO, "scales", False, False),
    ("Thuja occidentalis", NO, "needles single", False, True),
    ("Juniperus communis", NO, "needles single", False, False),
    ("Acer rubrum", NO, "alternate", False, True),  # M of MAD Cap Horse
    ("oak", NO, "opposite", False, True),
    ("Cornus florida", NO, "opposite", False, False),
    ("Cornus alternifolia", NO, "alternate", False, False),  # the exception among dogwoods
    ("Cornus alternifolia", NO, "opposite", False, True),
    ("Quercus robur", 2, "", True, False),  # an oak has no needles
    ("Magnolia grandiflora", NO, "scales", False, True),  # any broadleaf
    ("Magnolia grandiflora", NO, "whorled", False, False),  # of which no arrangement is listed
    ("Casuarina equisetifolia", NO, "scales", False, False),  # a broadleaf that looks otherwise
    ("Callitris columellaris", 3, "opposite", False, False),  # a conifer without a row
    ("cedar", 3, "opposite", False, False),  # not named: nothing to hold it against
    ("no such tree", 3, "scales", False, False),
    ("", 5, "opposite", False, False),
    ("Scots pine", NO, "", False, False),
]


def table(lines: list[tuple[str, float, str]]) -> pd.DataFrame:
    values = pd.DataFrame(lines, columns=["species", "needles_per_bundle", "leaf"])
    values["needles_per_bundle"] = values["needles_per_bundle"].astype(float)
    return with_species_names(values.assign(file=1, row=values.index + 2, tree="7", local_name=""))


@pytest.mark.parametrize(("name", "needles", "leaf", "by_needles", "by_leaf"), LEAVES)
def test_what_speaks_against_a_name(
    name: str, needles: float, leaf: str, by_needles: bool, by_leaf: bool
) -> None:
    (seen,) = contradicted(table([(name, needles, leaf)])).to_dict("records")
    assert (seen["needles"], seen["leaf"]) == (by_needles, by_leaf)


def test_all_at_once_is_the_same_as_one_by_one() -> None:
    seen = contradicted(table([line[:3] for line in LEAVES]))
    assert seen["needles"].tolist() == [line[3] for line in LEAVES]
    assert seen["leaf"].tolist() == [line[4] for line in LEAVES]


def test_a_finding_says_what_was_seen_and_what_the_tree_has() -> None:
    lines = [("Scots pine", 5, ""), ("Abies alba", 2, ""), ("Acer rubrum", NO, "alternate")]
    found = contradicting(table([*lines, ("Magnolia grandiflora", NO, "scales")]))
    assert found["message"].tolist() == [
        "Seen: 5 needles in a bundle. Pinus sylvestris has 2 needles in a bundle.",
        "Seen: 2 needles in a bundle. Abies has single needles.",
        "Seen: alternate leaves. Acer has opposite leaves.",
        "Seen: scales. Magnolia grandiflora is a broadleaf: no needles, no scales.",
    ]
    assert found["column"].tolist() == ["needles_per_bundle"] * 2 + ["leaf"] * 2
    assert found["value"].tolist() == ["5", "2", "alternate", "scales"]
    assert found["rule"].unique().tolist() == ["leaves_disagree"]
    assert not found["bars"].any()


def test_nothing_seen_is_no_finding() -> None:
    assert contradicting(table([("Scots pine", 2, ""), ("oak", NO, "")])).empty
    assert contradicting(table([])).empty


def test_rows_are_whole_and_in_the_words_of_the_record_sheet() -> None:
    (column,) = [row for row in rows("columns") if row["name"] == "leaf"]
    words = set(column["choices"].split("|"))
    names = [row["taxon"] for row in rows("leaves")]
    assert len(set(names)) == len(names)
    for row in rows("leaves"):
        assert set(row["leaf"].split("|")) <= words
        assert (row["needles_low"] == "") == (row["needles_high"] == "")
        if row["needles_low"]:
            assert 1 <= int(row["needles_low"]) <= int(row["needles_high"])


def test_a_million_records_are_quick() -> None:
    lines = table([line[:3] for line in LEAVES])
    many = lines.iloc[np.random.default_rng(1).integers(0, len(lines), 1_000_000)]
    assert contradicted(many.reset_index(drop=True))["needles"].sum() > 0
