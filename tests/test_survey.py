"""survey.toml: every mistake is named with its key, its line and what is allowed."""

from pathlib import Path

import pytest

from mapper.errors import InputError
from mapper.survey import read_survey
from mapper.survey_lines import line_of


def survey_folder(folder: Path, toml: str) -> Path:
    (folder / "records").mkdir()
    (folder / "records" / "a.csv").write_text("girth_cm\n100\n", encoding="utf-8")
    (folder / "survey.toml").write_text(toml, encoding="utf-8")
    return folder


def refused(folder: Path, toml: str) -> str:
    with pytest.raises(InputError) as caught:
        read_survey([survey_folder(folder, toml)])
    return str(caught.value)


def test_defaults_hold_without_a_settings_file(tmp_path: Path) -> None:
    (tmp_path / "records").mkdir()
    (tmp_path / "records" / "b.csv").write_text("girth_cm\n100\n", encoding="utf-8")
    survey = read_survey([tmp_path])
    assert survey.publish.observers == "hidden"
    assert survey.measure.breast_height == 1.30
    assert survey.stand_called("anything").design == "chosen trees"


def test_units_of_the_settings(tmp_path: Path) -> None:
    toml = '[measure]\nbreast_height = "4.5 ft"\ndiameter_class = "2 in"\n'
    toml += '[[stand]]\nname = "A"\narea = "3 acre"\n'
    survey = read_survey([survey_folder(tmp_path, toml)])
    assert survey.measure.breast_height == pytest.approx(1.3716)  # 4.5 ft, DESIGN of US inventory
    assert survey.measure.diameter_class_cm == pytest.approx(5.08)
    assert survey.stand[0].area == pytest.approx(1.2140569)  # 3 international acres


def test_misspelt_key_is_named_with_line_and_nearest(tmp_path: Path) -> None:
    message = refused(tmp_path, 'title = "x"\n\n[measure]\nbreast_hight = "1.30 m"\n')
    assert "survey.toml, line 4: unknown key 'measure.breast_hight'" in message
    assert "Did you mean 'breast_height'?" in message


def test_misspelt_section_and_stand_key(tmp_path: Path) -> None:
    assert "line 1: unknown key 'mesure'. Did you mean 'measure'?" in refused(
        tmp_path, "[mesure]\n"
    )


def test_second_stand_is_the_line_named(tmp_path: Path) -> None:
    toml = '[[stand]]\nname = "A"\n\n[[stand]]\nname = "B"\ndesing = "plots"\n'
    message = refused(tmp_path, toml)
    assert "line 6: unknown key 'stand.desing'. Did you mean 'design'?" in message


def test_wrong_value_says_what_is_allowed(tmp_path: Path) -> None:
    message = refused(tmp_path, '[publish]\npositions = "0.1 deg"\n')
    assert "line 2: publish.positions = '0.1 deg'" in message
    assert "'0.001 deg'" in message


@pytest.mark.parametrize(
    ("toml", "part"),
    [
        ('[measure]\nbreast_height = "1.3"\n', 'a number with its unit, as in "1.30 m"'),
        ('[[stand]]\nname = "A"\narea = "2 cm"\n', 'as in "1.2 ha"'),
        ('[[stand]]\ndesign = "complete count"\n', "the key 'name' is missing"),
        ("title = \n", "not a readable settings file"),
        ('folder = "x"\n', "unknown key 'folder'"),
    ],
)
def test_other_mistakes(tmp_path: Path, toml: str, part: str) -> None:
    assert part in refused(tmp_path, toml)


@pytest.mark.parametrize(
    "toml",
    [
        '[site]\ntiles = "https://tiles.example/{z}"\n',
    ],
)
def test_what_is_not_built_is_refused_not_ignored(tmp_path: Path, toml: str) -> None:
    message = refused(tmp_path, toml)
    assert "planned but not built yet" in message
    assert "line " in message


def test_paths_that_cannot_be_used(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="there is no such file or folder"):
        read_survey([tmp_path / "nothing.csv"])
    with pytest.raises(InputError, match="no record file found"):
        read_survey([tmp_path])
    picture = tmp_path / "tree.pdf"
    picture.write_bytes(b"")
    with pytest.raises(InputError, match=r"cannot read '.pdf' files as records"):
        read_survey([picture])


def test_line_of_keys() -> None:
    text = 'title = "x"\n[site]\ntiles = "none"\n[[stand]]\nname = "A"\n[[stand]]\nname = "B"\n'
    assert line_of(text, ("title",)) == 1
    assert line_of(text, ("site", "tiles")) == 3
    assert line_of(text, ("stand", 1, "name")) == 7
    assert line_of(text, ("stand", 1)) == 6
    assert line_of(text, ("site", "backdrop")) is None


@pytest.mark.parametrize(
    ("toml", "part"),
    [
        (
            '[measure]\ndiameter_class = "5"\n',
            "line 2: measure.diameter_class = '5': write a number",
        ),
        ('[measure]\ndiameter_class = "0 cm"\n', "a class has a width above 0"),
        ('[measure]\nbreast_height = "0 m"\n', "line 2: measure.breast_height"),
        ('[records]\nfiles = ["/tmp/*.csv"]\n', "records.files names '/tmp/*.csv'"),
        ('[records]\nfiles = [""]\n', "records.files names ''"),
        ('[records]\nfiles = "records/*.csv"\n', "write a list"),
        ('[records]\ncrs = "EPSG:banana"\n', 'as in "EPSG:32632"'),
        ('[stand]\nname = "A"\n', "for a stand write [[stand]]"),
        ("measure = 5\n", "as in [measure]"),
        ('[publish]\nnotes = "yes"\n', "write true or false"),
        ('[[stand]]\nname = "A"\n[[stand]]\nname = "A"\n', "line 4: a second [[stand]] named 'A'"),
    ],
)
def test_settings_of_the_wrong_kind(tmp_path: Path, toml: str, part: str) -> None:
    assert part in refused(tmp_path, toml)
