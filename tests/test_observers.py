"""Who measured: hidden, coded or named; a code is stable and says nothing of the name."""

import csv
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from mapper.errors import InputError
from mapper.line import survey_results
from mapper.load.observers import observer_codes, split_names
from mapper.render import build_site
from mapper.render.darwin_core import measurements, occurrences
from mapper.summarise import Results
from mapper.survey import read_survey

TABLE = (
    "tree,date,girth_cm,observer,observer_consent\n"
    "1,2026-05-03,100,Ada Quill,yes\n"
    "1,2026-05-03,101,Ben Marsh; ada  quill,yes\n"
    "2,2026-05-03,90,Cleo Fenn,\n"
    "3,2026-05-04,80,Dan Weir,yes\n"
    "4,2026-05-04,80,Dan Weir,no\n"
    "5,2026-05-04,80,,yes\n"
)
NAMES = ("Ada", "Quill", "Ben", "Marsh", "Cleo", "Fenn", "Dan", "Weir")


def survey(folder: Path, observers: str) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "a.csv").write_text(TABLE, "utf-8")
    (folder / "survey.toml").write_text(
        f'[records]\nfiles = ["**/*.csv"]\n[publish]\nobservers = "{observers}"\n', "utf-8"
    )
    return folder


def run(folder: Path) -> Results:
    return survey_results(read_survey([folder]))


def codes(folder: Path) -> dict[str, str]:
    with (folder / "private" / "codes.csv").open(encoding="utf-8", newline="") as file:
        return {row["observer"]: row["code"] for row in csv.DictReader(file)}


def test_nobody_is_shown_unless_the_survey_says_so(tmp_path: Path) -> None:
    results = run(survey(tmp_path, "hidden"))
    assert "observer" not in results.observations
    assert results.visits["observers"].unique().tolist() == [""]
    assert not (tmp_path / "private").exists()


def test_codes_stand_for_names_everywhere(
    tmp_path: Path, opened: Callable[[Path], dict[str, str]]
) -> None:
    results = run(survey(tmp_path / "home", "codes"))
    drawn = codes(tmp_path / "home")
    ada, ben, cleo = drawn["Ada Quill"], drawn["Ben Marsh"], drawn["Cleo Fenn"]
    assert results.observations["observer"].tolist()[:3] == [ada, f"{ben}; {ada}", cleo]
    visits = results.visits.set_index("tree")["observers"]
    assert visits["1"] == "; ".join(sorted([ada, ben]))
    assert visits["5"] == ""
    build_site(results, tmp_path / "site")
    whole = "\n".join(opened(tmp_path / "site").values())
    assert ada in whole
    assert [name for name in NAMES if re.search(rf"\b{name}\b", whole, re.I)] == []


def test_a_code_stays_and_a_new_observer_gets_a_new_one(tmp_path: Path) -> None:
    first = run(survey(tmp_path, "codes"))
    before = codes(tmp_path)
    with (tmp_path / "a.csv").open("a", encoding="utf-8") as file:
        file.write("9,2026-05-05,70,Eve Rook,\n")
    second = run(tmp_path)
    after = codes(tmp_path)
    assert after.keys() - before.keys() == {"Eve Rook"}
    assert before.items() <= after.items()
    # The codes are no records, though `**/*.csv` would find them.
    assert len(second.observations) == len(first.observations) + 1
    assert second.observations["observer"].tolist()[:-1] == first.observations["observer"].tolist()


def test_a_code_is_drawn_by_chance(tmp_path: Path) -> None:
    """The same names in another folder get other codes: nothing of a name is in its code."""
    ours, theirs = (run(survey(tmp_path / name, "codes")) for name in ("a", "b"))
    assert ours is not theirs
    one, other = codes(tmp_path / "a"), codes(tmp_path / "b")
    assert one.keys() == other.keys()
    assert not set(one.values()) & set(other.values())
    assert len(set(one.values())) == 4
    assert all(re.fullmatch("[BCDFGHJKMNPQRSTVWXZ2-9]{4}", code) for code in one.values())


def test_a_leader_may_write_codes_of_her_own(tmp_path: Path) -> None:
    folder = survey(tmp_path, "codes")
    (folder / "private").mkdir()
    (folder / "private" / "codes.csv").write_text("observer,code\nADA  quill,5b-1\n\n", "utf-8")
    assert run(folder).observations["observer"].iloc[0] == "5b-1"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("name,code\nA,1\n", "first row is not 'observer,code'"),
        ("observer,code\nAda\n", "row 2: wants an observer and a code"),
        ("observer,code\nAda,1\nBen,ada\n", "the code of 'Ben' is 'ada', the name of an observer"),
        ("\xff\xfe", "cannot be read as csv"),
    ],
)
def test_a_broken_file_of_codes_is_refused(tmp_path: Path, text: str, reason: str) -> None:
    folder = survey(tmp_path, "codes")
    (folder / "private").mkdir()
    (folder / "private" / "codes.csv").write_bytes(text.encode("latin-1"))
    with pytest.raises(InputError, match=rf"codes\.csv.*{reason}"):
        run(folder)
    assert (folder / "private" / "codes.csv").read_bytes() == text.encode("latin-1")


def test_names_need_a_yes_and_one_no_counts_for_all(tmp_path: Path) -> None:
    results = run(survey(tmp_path, "names"))
    shown = results.observations.set_index("tree")["observer"]
    assert shown["1"].tolist() == ["Ada Quill", "Ben Marsh; ada quill"]
    assert shown[["2", "3", "4", "5"]].tolist() == ["", "", "", ""]
    assert not (tmp_path / "private").exists()


def test_who_did_not_agree_is_a_note(tmp_path: Path) -> None:
    findings = run(survey(tmp_path, "names")).findings.set_index("rule")
    assert findings.loc["no_consent_to_name", "count"] == 2
    assert "no_consent_to_name" not in run(survey(tmp_path, "codes")).findings["rule"].tolist()


def test_an_address_given_as_a_name_is_masked(tmp_path: Path) -> None:
    folder = survey(tmp_path, "names")
    (folder / "a.csv").write_text(TABLE.replace("Ada Quill", "ada@quill.example"), "utf-8")
    assert run(folder).observations["observer"].iloc[0] == "[e-mail]"


def test_observers_go_into_the_archive(tmp_path: Path) -> None:
    coded, named, hidden = (
        run(survey(tmp_path / how, how)) for how in ("codes", "names", "hidden")
    )
    rows = occurrences(named).set_index("organismName")
    assert rows.loc["1", "recordedBy"] == "Ada Quill | Ben Marsh"
    assert "Observer identities" not in rows.loc["1", "informationWithheld"]
    assert measurements(named)["measurementDeterminedBy"].iloc[0] == "Ada Quill | Ben Marsh"
    rows = occurrences(coded).set_index("organismName")
    assert rows.loc["2", "recordedBy"] == codes(tmp_path / "codes")["Cleo Fenn"]
    assert "Observer names withheld: codes stand for them." in rows.loc["2", "informationWithheld"]
    assert occurrences(hidden)["recordedBy"].unique().tolist() == [""]


def test_a_cell_may_hold_several_people() -> None:
    assert split_names(" Ada  Quill ;; Marsh, Ben | ") == ["Ada Quill", "Marsh, Ben"]


def test_many_observers_get_codes_of_their_own(tmp_path: Path) -> None:
    import pandas as pd

    names = pd.Series([f"Person {number}" for number in range(3000)])
    drawn = observer_codes(tmp_path, names)
    assert len(set(drawn.values())) == 3000
    assert observer_codes(tmp_path, names) == drawn
