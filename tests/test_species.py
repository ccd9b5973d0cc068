"""Names of trees: the tables against the inventory table, and names as people write them."""

import doctest
import random
import string
import time
from collections import Counter

import numpy as np
import pandas as pd
import pytest

from mapper.load import species_names, species_reading
from mapper.load.records import PROBLEM_COLUMNS
from mapper.load.species import name_species, with_species_names
from mapper.load.species_names import known_names, taxa
from mapper.load.species_reading import UNCLEAR, UNREAD, read_exactly
from mapper.load.species_spelling import read_nearly
from mapper.reference import rows


def named(*spellings: str, **columns: object) -> pd.DataFrame:
    """The records of a table with these species."""
    values = pd.DataFrame({"species": list(spellings), "local_name": "", "file": 1})
    return with_species_names(values.assign(row=values.index + 2, **columns))


def problems(*spellings: str) -> pd.DataFrame:
    values = pd.DataFrame({"species": list(spellings), "local_name": "", "file": 1})
    return name_species(values).problems


def name_of(spelling: str) -> str:
    return str(named(spelling)["species_name"].iloc[0])


# ---- the tables, against FIAREFSPECIES: 2697 taxa, of which 271 are a genus (spp.) and 3 are
# "Tree broadleaf", "Tree evergreen" and "Tree unknown"; 28 are varieties or subspecies.


def test_every_taxon_of_the_inventory_is_there() -> None:
    with_symbol = [row for row in rows("species") if row["usda_symbol"]]
    genera = [row for row in rows("genera") if row["usda_symbol"]]
    varieties = [row for row in with_symbol if " var. " in row["species"]]
    subspecies = [row for row in with_symbol if " ssp. " in row["species"]]
    assert len(genera) == 271
    # One is a cultivar of Acer miyabei, which is listed as the species, without the symbol.
    assert len(with_symbol) == 2697 - 271 - 3 - 1
    assert len(varieties) + len(subspecies) == 28


# Lines of the inventory table, picked before this table was made: name, common name, symbol, S/H.
INVENTORY = [
    ("Abies balsamea", "balsam fir", "ABBA", "conifer"),
    ("Acer saccharum", "sugar maple", "ACSA3", "broadleaf"),
    ("Quercus robur", "English oak", "QURO2", "broadleaf"),
    ("Sequoia sempervirens", "redwood", "SESE3", "conifer"),
    ("Populus x canadensis", "Carolina poplar", "POCA19", "broadleaf"),
    ("Abies lasiocarpa var. arizonica", "corkbark fir", "ABLAA", "conifer"),
    ("Populus balsamifera ssp. trichocarpa", "black cottonwood", "POBAT", "broadleaf"),
    ("Araucaria araucana", "monkeypuzzle tree", "ARAR23", "conifer"),
    ("Pinus sylvestris", "Scotch pine", "PISY", "conifer"),
]


@pytest.mark.parametrize(("name", "common", "symbol", "kind"), INVENTORY)
def test_rows_are_those_of_the_inventory(name: str, common: str, symbol: str, kind: str) -> None:
    taxon = taxa()[name]
    assert (taxon.common_name, taxon.symbol, taxon.kind) == (common, symbol, kind)


def test_names_are_unique_and_genera_agree_with_their_species() -> None:
    names = [row["species"] for row in rows("species")]
    assert len(set(names)) == len(names)
    for row in rows("species"):
        genus = taxa()[row["species"].split()[0]]
        assert genus.kind == row["group"], row["species"]


def test_other_names_lead_to_a_tree_of_the_tables() -> None:
    for row in rows("species_names"):
        assert row["taxon"] in taxa(), row["name"]
        assert row["language"] in {"la", "en", "es"}
    for row in rows("leaves"):
        genus = row["taxon"].split()[0]
        assert row["taxon"] in taxa() or genus in taxa() or row["source"] != "FIAREFSPECIES"


# ---- what people write

WRITTEN = [
    # the botanical name, however it is typed: nothing to guess
    ("quercus ROBUR", "Quercus robur"),
    ("Quercus  robur", "Quercus robur"),
    ("Quercus_robur", "Quercus robur"),
    ("Quercus robur L.", "Quercus robur"),
    ("Quercus petraea (Matt.) Liebl.", "Quercus petraea"),
    ("Pinus nigra J.F. Arnold", "Pinus nigra"),
    ("Crataegus crus galli", "Crataegus crus-galli"),
    # three signs are in use for a hybrid, or none
    ("Platanus x hispanica", "Platanus x hispanica"),
    ("Platanus × hispanica", "Platanus x hispanica"),
    ("Platanus ×hispanica Mill.", "Platanus x hispanica"),
    ("Populus canadensis", "Populus x canadensis"),
    # old names: USDA PLANTS lists these as synonyms
    ("Betula verrucosa", "Betula pendula"),
    ("Picea excelsa", "Picea abies"),
    ("Quercus nuttallii", "Quercus texana"),
    # only one oak is robur; nigra is a pine, a poplar and a plum, so that one asks
    ("Q. robur", "Quercus robur"),
    ("P. nigra", "P. nigra"),
    # below the species: the species is what the table knows
    ("Fagus sylvatica f. purpurea", "Fagus sylvatica"),
    ("Acer platanoides 'Crimson King'", "Acer platanoides"),
    # English, American, and with the kind in front or behind
    ("white oak", "Quercus alba"),
    ("Oak, white", "Quercus alba"),
    ("Oak (English)", "Quercus robur"),
    ("English oak (Quercus robur)", "Quercus robur"),
    ("Scots pine", "Pinus sylvestris"),
    ("London plane tree", "Platanus x hispanica"),
    ("douglas fir", "Pseudotsuga menziesii"),
    ("honey locust", "Gleditsia triacanthos"),
    ("whiteoak", "Quercus alba"),
    # Spanish, with and without the tilde; haya is also a Puerto Rican Oxandra, so it asks
    ("Castaño de Indias", "Aesculus hippocastanum"),
    ("castano de indias", "Aesculus hippocastanum"),
    ("pino piñonero", "Pinus pinea"),
    ("haya", "haya"),
    # a larch in Spain, Fitzroya in Chile
    ("alerce", "alerce"),
    # symbols
    ("QURO2", "Quercus robur"),
    ("ULAM", "Ulmus americana"),
    # no more than the genus is said
    ("Oak", "Quercus"),
    ("maples", "Acer"),
    ("Quercus sp.", "Quercus"),
    ("Quercus cf. robur", "Quercus"),
    # one slip, nothing else near
    ("Qercus robur", "Quercus robur"),
    ("norway mapel", "Acer platanoides"),
    ("Gingko biloba", "Ginkgo biloba"),
    # cedar is five genera, red cedar two trees, sycamore an American plane or a British maple
    ("cedar", "cedar"),
    ("red cedar", "red cedar"),
    ("Sycamore", "Sycamore"),
    # as near to saccharum as to saccharinum
    ("Acer saccharrum", "Acer saccharrum"),
    # a real tree that no table of ours has, spelt like none of them
    ("Quercus ithaburensis", "Quercus ithaburensis"),
    ("unknown", ""),
    ("", ""),
]


@pytest.mark.parametrize(("written", "expected"), WRITTEN)
def test_names_as_people_write_them(written: str, expected: str) -> None:
    assert name_of(written) == expected


def test_common_names_and_the_kind_come_along() -> None:
    table = named("Quercus alba", "castano", "cedar", "Quercus ithaburensis", "no such thing")
    assert table["common_name"].tolist() == ["white oak", "European chestnut", "", "", ""]
    assert table["common_name_es"].tolist() == ["encino blanco", "castaño", "", "", ""]
    kinds = ["broadleaf", "broadleaf", "conifer", "broadleaf", ""]
    assert table["leaf_kind"].tolist() == kinds


def test_records_keep_their_index_and_their_other_columns() -> None:
    values = pd.DataFrame({"species": ["oak", "beech"], "file": 1, "girth_cm": [10.0, 20.0]})
    told = with_species_names(values.set_axis([7, 3]))
    assert told.index.tolist() == [7, 3]
    assert told["girth_cm"].tolist() == [10.0, 20.0]
    assert told["species_name"].tolist() == ["Quercus", "Fagus"]
    assert "species_name" not in values


# ---- what is said about it


def test_a_name_in_use_is_read_without_a_word() -> None:
    assert problems("Quercus robur", "quercus robur L.", "white oak", "Oak", "maples", "").empty


def test_one_problem_a_spelling_at_its_first_record() -> None:
    found = problems("Quercus alba", "Betula verrucosa", "cedar", "Betula verrucosa", "cedar ")
    assert found.columns.tolist() == PROBLEM_COLUMNS
    assert found["record"].tolist() == [1, 2]
    assert found["rule"].tolist() == ["species_read_as", "species_unclear"]
    assert found["severity"].tolist() == ["note", "warning"]
    assert found["reason"].tolist() == [
        "Read as Betula pendula, from an older name. If that is wrong, write the botanical name. "
        "2 records.",
        "This name can mean several trees: Cedrus, Thuja, Juniperus virginiana, Calocedrus "
        "decurrens. It is kept as written. Write which one is meant. 2 records.",
    ]


@pytest.mark.parametrize("secret", ["Qercus robur", "Mrs Smith's tree", "P. nigra", "ask Jane/oak"])
def test_the_written_words_are_in_value_only(secret: str) -> None:
    (problem,) = problems(secret).to_dict("records")
    assert problem["value"] == secret
    assert secret not in problem["reason"]
    assert "Jane" not in problem["reason"]
    assert "Smith" not in problem["reason"]


def test_a_problem_names_the_column_that_was_filled() -> None:
    values = pd.DataFrame(
        {"species": ["cedar", "P. nigra"], "local_name": ["cedar", "black thing"], "file": 1}
    )
    assert name_species(values).problems["column"].tolist() == ["local_name", "species"]


def test_an_empty_table_can_be_named() -> None:
    assert named().empty
    assert problems().empty


# ---- misspelt names: how often right, wrong, asked about


def slipped(name: str, rng: random.Random) -> str:
    """A letter left out, added or changed, or two neighbours swapped."""
    at, letter = rng.randrange(len(name)), rng.choice(string.ascii_lowercase)
    swap = min(at, len(name) - 2)
    return rng.choice(
        [
            name[:at] + name[at + 1 :],
            name[:at] + letter + name[at:],
            name[:at] + letter + name[at + 1 :],
            name[:swap] + name[swap + 1] + name[swap] + name[swap + 2 :],
        ]
    )


def outcomes(pairs: list[tuple[str, str]], slips: int) -> Counter[str]:
    rng, counts = random.Random(20251), Counter[str]()
    for name, taxon in rng.sample(pairs, 400):
        written = name.lower()
        for _ in range(slips):
            written = slipped(written, rng)
        reading = read_exactly(written)
        if reading == UNREAD:
            (reading,) = read_nearly([species_reading.binomial_key(written)])
        asked = "asks" if reading.how == UNCLEAR else "unread"
        counts["right" if reading.taxon == taxon else "wrong" if reading.taxon else asked] += 1
    return counts


SPECIES = [name for name in taxa() if len(name.split()) == 2]
COMMON = [(t.common_name, t.name) for t in taxa().values() if t.common_name and " " in t.name]


def test_misspelt_botanical_names_are_read_rightly_or_not_at_all() -> None:
    pairs = [(name, name) for name in SPECIES]
    one, two = outcomes(pairs, 1), outcomes(pairs, 2)
    assert one["right"] >= 390
    assert two["right"] >= 380
    assert one["wrong"] + two["wrong"] <= 2


def test_misspelt_common_names_are_seldom_another_tree() -> None:
    one = outcomes(COMMON, 1)
    assert one["right"] >= 300
    assert one["wrong"] <= 6


def test_the_real_name_of_a_tree_that_is_not_in_the_table_is_seldom_taken_for_another(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Each twelfth species is taken out of the table, and its real name read without it."""
    left_out = SPECIES[::12]
    gone = set(left_out)
    rest = {key: meant for key, meant in known_names().items() if not gone & set(meant)}
    spellings = tuple(rest)
    monkeypatch.setattr("mapper.load.species_spelling._spellings", lambda: spellings)

    readings = read_nearly([species_names.name_key(name) for name in left_out])

    assert len(left_out) > 190
    wrong = [(n, r.taxon) for n, r in zip(left_out, readings, strict=True) if r.taxon]
    assert len(wrong) <= 4, wrong


@pytest.mark.parametrize(
    "written",
    [
        "Prunus rigida",  # Prunus is a genus, so this is no misspelt Pinus rigida
        "rid mapel",  # two slips in nine letters: too many for a short name
        "B. robur",  # no genus with B has this epithet
    ],
)
def test_what_would_be_a_guess_is_kept_as_written(written: str) -> None:
    assert name_of(written) == written
    assert problems(written)["rule"].tolist() == ["species_unknown"]


def test_a_million_records_take_well_under_a_second() -> None:
    rng = random.Random(4)
    spellings = [slipped(name.lower(), rng) for name in rng.sample(SPECIES, 500)]
    many = np.random.default_rng(1).choice(spellings, 1_000_000)
    values = pd.DataFrame({"species": many, "local_name": "", "file": 1})
    with_species_names(values[:1])  # the tables are read once a process

    start = time.process_time()  # whoever else is at work on this machine does not count
    name_species(values)

    assert time.process_time() - start < 1.0


@pytest.mark.parametrize("module", [species_names, species_reading])
def test_examples_in_docstrings(module: object) -> None:
    result = doctest.testmod(module)  # type: ignore[arg-type]
    assert (result.failed, result.attempted > 0) == (0, True)
