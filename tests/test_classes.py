"""Size classes that differ by kind of tree, and the classes of a survey in inches and feet."""

from collections.abc import Callable
from pathlib import Path

import pytest

from mapper.errors import InputError
from mapper.render.tree_data import groups
from mapper.summarise import Results

FILES = '[records]\nfiles = ["*.csv"]\n'
FIA = FILES + '[measure]\nsize_classes = "fia"\n'
US = 'units = "us"\n' + FIA
HEAD = "tree,species,diameter\n"
# FIACLASS: softwoods 5.0-8.9 in pole and 9.0 up saw; hardwoods 5.0-10.9 in pole and 11.0 up saw.
LIMITS = {
    "s1": ("Pinus strobus", "4.9 in", "seedling or sapling"),
    "s2": ("Pinus strobus", "5.0 in", "poletimber"),
    "s3": ("Pinus strobus", "8.9 in", "poletimber"),
    "s4": ("Pinus strobus", "9.0 in", "sawtimber"),
    "h1": ("Quercus rubra", "4.9 in", "seedling or sapling"),
    "h2": ("Quercus rubra", "5.0 in", "poletimber"),
    "h3": ("Quercus rubra", "9.0 in", "poletimber"),
    "h4": ("Quercus rubra", "10.9 in", "poletimber"),
    "h5": ("Quercus rubra", "11.0 in", "sawtimber"),
    "u1": ("", "11.0 in", ""),
}


def by_kind(results_of: Callable[..., Results], toml: str = FIA) -> Results:
    lines = [f"{tree},{species},{size}" for tree, (species, size, _) in LIMITS.items()]
    return results_of({"survey.toml": toml, "a.csv": HEAD + "\n".join(lines) + "\n"})


def test_softwoods_and_hardwoods_have_their_own_limits(results_of: Callable[..., Results]) -> None:
    results = by_kind(results_of)

    assert results.trees.set_index("tree")["size_class"].to_dict() == {
        tree: name for tree, (_, _, name) in LIMITS.items()
    }
    counts = results.classes.query("stand == '' and quantity == 'size'")
    assert counts.set_index(["group", "name"])["trees"].to_dict() == {
        ("softwood", "seedling or sapling"): 1,
        ("softwood", "poletimber"): 2,
        ("softwood", "sawtimber"): 1,
        ("hardwood", "seedling or sapling"): 1,
        ("hardwood", "poletimber"): 3,
        ("hardwood", "sawtimber"): 1,
    }


def test_a_tree_of_no_known_kind_is_in_no_class_and_a_reason_says_so(
    results_of: Callable[..., Results],
) -> None:
    reasons = by_kind(results_of).reasons.query("column == 'size_class'")

    assert reasons[["id", "reason"]].to_numpy().tolist() == [
        ["u1", "its kind is not known, and the scheme differs for softwoods and hardwoods"]
    ]


def test_a_tree_too_thin_for_a_scheme_without_groups_needs_no_kind(
    results_of: Callable[..., Results],
) -> None:
    results = results_of({"survey.toml": FILES, "a.csv": HEAD + "1,,4 cm\n2,,11 cm\n"})

    (reason,) = results.reasons.query("column == 'size_class'")["reason"]
    assert reason == "thinner than the thinnest class of the scheme"
    assert results.trees["size_class"].tolist() == ["", "small"]


@pytest.mark.parametrize(
    ("toml", "pole"),
    [
        (FIA, "softwood 12.7 to 22.9 cm; hardwood 12.7 to 27.9 cm"),
        (US, "softwood 5 to 9 in; hardwood 5 to 11 in"),
    ],
)
def test_the_filter_prints_the_limits_of_either_kind(
    results_of: Callable[..., Results], toml: str, pole: str
) -> None:
    ranges = {size["name"]: size["range"] for size in groups(by_kind(results_of, toml)).sizes}

    assert ranges["poletimber"] == pole
    assert ranges["seedling or sapling"] == ("0 to 5 in" if toml == US else "0 to 12.7 cm")


def test_a_scheme_nobody_knows_is_refused_with_those_that_are_known(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    with pytest.raises(InputError, match="Known: fia, schnabel2017"):
        by_kind(results_of, FIA.replace("fia", "usda"))


SIZES = "tree,diameter,height\n1,12 in,41 ft\n2,6.9 in,39 ft\n3,7 in,40 ft\n"


def test_a_survey_in_us_units_has_classes_of_whole_inches_and_feet(
    results_of: Callable[..., Results],
) -> None:
    results = results_of({"survey.toml": 'units = "us"\n' + FILES, "a.csv": SIZES})

    classes = results.classes.query("stand == ''").set_index("quantity")
    diameter, height = classes.loc["diameter"], classes.loc["height"]
    assert (diameter["lower"] / 2.54).round(9).tolist() == [5, 7, 9, 11]
    assert diameter["trees"].tolist() == [1, 1, 0, 1]  # 6.9, 7 and 12 in
    assert (height["lower"] / 0.3048).round(4).tolist() == [30, 40]
    assert height["trees"].tolist() == [1, 2]  # 40 ft belongs to 40-50


def test_a_width_that_was_set_wins_over_whole_inches(results_of: Callable[..., Results]) -> None:
    toml = 'units = "us"\n' + FILES + '[measure]\ndiameter_class = "5 cm"\n'
    results = results_of({"survey.toml": toml, "a.csv": SIZES})

    diameter = results.classes.query("stand == '' and quantity == 'diameter'")
    assert diameter["lower"].tolist() == [15, 20, 25, 30]


def test_kinds_by_class_add_up_to_all_kinds_but_for_withheld_trees(
    results_of: Callable[..., Results],
) -> None:
    head = "tree,stand,diameter_cm,species,privacy\n"
    kinds = ["Quercus robur", "Fagus sylvatica", ""]
    rows = "".join(f"{n},P,{5 + n * 1.7},{kinds[n % 3]},\n" for n in range(40))
    hidden = "h,P,61,Taxus baccata,withheld\n"
    stand = '[[stand]]\nname = "P"\ndesign = "complete count"\narea = "0.5 ha"\n'
    results = results_of({"survey.toml": FILES + stand, "a.csv": head + rows + hidden})
    both = results.species_classes
    assert "Taxus baccata" not in set(both["species"])
    mixed, all_stands = both[both["stand"] == "P"], both[both["stand"] == ""]
    assert all_stands["trees"].tolist() == mixed["trees"].tolist()  # the only stand there is
    assert mixed["trees"].sum() == 40
    assert mixed["trees"].min() > 0
    by_class = mixed.groupby("lower")["trees"].sum()
    whole = results.classes.query("stand == 'P' and quantity == 'diameter' and trees > 0")
    below = whole.set_index("lower")["trees"].loc[:59]
    assert by_class.loc[:59].to_dict() == below.to_dict()
    dense = mixed["per_ha"] * 0.5
    assert dense.tolist() == pytest.approx(mixed["trees"].tolist())
