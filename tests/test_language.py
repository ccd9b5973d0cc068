"""The site in another language: a whole catalogue, no text left out, numbers as it writes them."""

import ast
import datetime
import string
from collections.abc import Iterator
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import write_po

from mapper import catalogue, language
from mapper.errors import InputError
from mapper.language import figure, listed, say, say_count, speaking
from mapper.render.pages import template_environment
from mapper.survey import read_survey

AT = "{height:.2f}\u00a0m above ground"
LANGUAGES = [tag for tag in language.languages() if tag != language.OWN]


def both(message: Message) -> tuple[tuple[str, ...], tuple[str, ...]]:
    ids = (message.id,) if isinstance(message.id, str) else tuple(message.id)
    return ids, catalogue.forms(message)


def gaps(text: str) -> set[str]:
    """Named gaps of both kinds: `{n:.1f}` and `%(n)s`."""
    found = {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}
    return found | {part.partition(")")[0] for part in text.split("%(")[1:]}


@pytest.fixture(scope="module")
def texts() -> Catalog:
    return catalogue.template()


def test_spanish_is_there() -> None:
    assert "es" in LANGUAGES


def test_texts_are_found_where_they_stand(texts: Catalog) -> None:
    files = {Path(file).suffix for message in texts for file, _ in message.locations}
    assert files == {".py", ".html", ".json"}


@pytest.mark.parametrize("tag", LANGUAGES)
def test_every_text_is_translated(tag: str, texts: Catalog) -> None:
    known = catalogue.catalogue(tag)

    wanted = {message.id for message in texts if message.id}
    assert sorted(map(str, wanted - {message.id for message in known})) == []
    assert sorted(map(str, {message.id for message in known if message.id} - wanted)) == []
    assert catalogue.missing(known) == []


@pytest.mark.parametrize("tag", LANGUAGES)
def test_gaps_are_the_same_on_both_sides(tag: str) -> None:
    for message in catalogue.catalogue(tag):
        ids, said = both(message)
        if message.id:
            wanted = gaps(ids[-1])
            assert gaps(said[-1]) == wanted, ids
            assert all(gaps(text) <= wanted for text in said), ids  # "un árbol" needs no number


def test_a_text_is_said_whole() -> None:
    """A gap filled before saying would look for a text that no catalogue holds."""
    assert list(filled_too_early('say(f"{n} trees")\nsay("{n}".format(n=1))\nsay("a")')) == [1, 2]
    for path in Path(language.__file__).parent.rglob("*.py"):
        assert list(filled_too_early(path.read_text("utf-8"))) == [], path


def filled_too_early(source: str) -> Iterator[int]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            said = node.func.id in {"say", "later", "say_count"}
            if said and any(isinstance(one, ast.JoinedStr | ast.Call) for one in node.args[:1]):
                yield node.lineno


def test_numbers_dates_and_lists_follow_the_language() -> None:
    day = datetime.date(2026, 5, 12)
    with speaking("es"):
        assert (
            say("{height:.2f}\u00a0m above ground").format(height=1.3)
            == "1,30\u00a0m sobre el suelo"
        )
        assert figure(1234.5, ",.1f") == "1.234,5"
        assert figure(0.5, ".0%") == "50\u00a0%"
        assert listed(["a", "b", "c"]) == "a, b y c"
        assert language.full_date(day) == "12 de mayo de 2026"
        assert language.part_of_date(day, "yMMMM") == "mayo de 2026"
    assert say(AT).format(height=1.3) == "1.30\u00a0m above ground"
    assert figure(1234.5, ",.1f") == "1,234.5"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert language.full_date(day) == "12 May 2026"


def test_a_region_writes_its_own_numbers_with_the_words_of_its_language() -> None:
    with speaking("es-MX"):
        assert say("Trees") == "Árboles"
        assert figure(1.5, ".1f") == "1.5"


def test_a_language_without_a_catalogue_is_refused_with_those_that_have_one(tmp_path: Path) -> None:
    (tmp_path / "trees.csv").write_text("tree,girth_cm\n1,100\n", encoding="utf-8")
    for tag in ("fr", "tree", ""):
        (tmp_path / "survey.toml").write_text(f'title = "A"\nlanguage = "{tag}"\n', "utf-8")
        with pytest.raises(InputError, match=r"line 2: language = .*write one of 'en', 'es'"):
            read_survey([tmp_path])


def test_a_third_language_is_one_more_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(language, "CATALOGUES", tmp_path)
    known = Catalog("pl")
    known.add("Trees", "Drzewa")
    known.add(("{n} tree", "{n} trees"), ("{n} drzewo", "{n} drzewa", "{n} drzew"))
    file = tmp_path / "pl" / language.FILE
    file.parent.mkdir(parents=True)
    with file.open("wb") as lines:
        write_po(lines, known)

    assert language.languages() == ("en", "pl")
    assert language.known_language("pl") == "pl"
    with speaking("pl"):
        assert say("Trees") == "Drzewa"
        counted = [say_count("{n} tree", "{n} trees", n).format(n=n) for n in (1, 2, 5)]
        template = template_environment().from_string('{{ _("Trees") }} {{ 1.5|figure(".1f") }}')
        assert template.render() == "Drzewa 1,5"
    assert counted == ["1 drzewo", "2 drzewa", "5 drzew"]
