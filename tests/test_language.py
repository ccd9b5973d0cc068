"""The site in another language: a whole catalogue, no text left out, numbers as it writes them."""

import ast
import datetime
import re
import string
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import write_po

from mapper import catalogue, language
from mapper.errors import InputError
from mapper.language import figure, listed, say, say_count, speaking
from mapper.line import survey_results
from mapper.reference.licences import licence_of
from mapper.render import build_site
from mapper.render.pages import template_environment
from mapper.starter import put_demo
from mapper.summarise import Results
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
    assert files == {".py", ".html", ".json", ".csv"}


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
    wrong = 'say(f"{n} trees")\nsay("{n}".format(n=1))\nsay("a")\nf"{say(\'b\')} and {say(c)}"'
    assert list(filled_too_early(wrong)) == [1, 2, 4]
    for path in Path(language.__file__).parent.rglob("*.py"):
        assert list(filled_too_early(path.read_text("utf-8"))) == [], path


def filled_too_early(source: str) -> Iterator[int]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            said = node.func.id in {"say", "later", "say_count"}
            if said and any(is_filled(one) for one in node.args[:1]):
                yield node.lineno
        if isinstance(node, ast.JoinedStr):  # the catalogue does not look inside these
            calls = (one for one in ast.walk(node) if isinstance(one, ast.Call))
            for call in calls:
                named = isinstance(call.func, ast.Name) and call.func.id == "say"
                if named and isinstance(call.args[0], ast.Constant):
                    yield node.lineno


def is_filled(node: ast.expr) -> bool:
    if isinstance(node, ast.JoinedStr):
        return True
    return isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "format"


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


# Not words: units, functions inside a formula, codes of licences, programs and file endings.
SIGNS = {
    *("cm", "mm", "km", "ha", "kg", "in", "ft", "mi", "sin", "cos", "tan", "arctan", "exp", "ln"),
    *("CC-BY-4.0", "WGS", "csv", "CSV", "kaj"),
}
SPOKEN = ("aria-label", "title", "alt", "placeholder", "content")
SILENT = ("script", "style")


class Words(HTMLParser):
    """What a page shows or says in the language of the survey."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[bool] = []  # of each open element whether it is in another language
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        foreign = tag in SILENT or tag == "i" or (tag != "html" and "lang" in given)
        self.open.append(foreign)
        if tag in VOID:
            self.open.pop()
        machine = tag == "meta" and given.get("name") != "description"
        if not machine and not any(self.open):
            self.found += [str(given[name]) for name in SPOKEN if given.get(name)]

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            self.open.pop()

    def handle_data(self, data: str) -> None:
        if not any(self.open):
            self.found.append(data)


VOID = {"meta", "link", "br", "input", "img", "hr", "source", "col"}


def outside_brackets(text: str) -> str:
    """What is left of a text when everything that was said is taken away."""
    depth, left = 0, []
    for part in re.split("([⟦⟧])", text):
        depth += (part == "⟦") - (part == "⟧")
        if not depth and part != "⟧":
            left.append(part)
    return "".join(left)


def pattern_of(names: set[str]) -> re.Pattern[str]:
    longest = sorted(names, key=len, reverse=True)
    return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, longest))})(?!\w)", re.IGNORECASE)


def unsaid(text: str, names: re.Pattern[str]) -> list[str]:
    """Words of a text that went round the catalogue; names of the survey's own are none."""
    left = names.sub(" ", outside_brackets(text))
    words = re.findall(r"[A-Za-zÀ-ɏ]{2,}[\w.-]*", left)
    return [word for word in words if word.rstrip(".²") not in SIGNS]


def test_what_went_round_the_catalogue_is_seen() -> None:
    assert unsaid("⟦Map of ⟦3 trees⟧⟧ Old Grove, 3 cm", pattern_of({"Old Grove"})) == []
    assert unsaid("⟦Map⟧ of Old Grove", pattern_of({"Old Grove"})) == ["of"]


@pytest.fixture(scope="module")
def bracketed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, Results]]:
    """The demo in a language in which every text of the catalogue is put in brackets."""
    folder = tmp_path_factory.mktemp("bracketed")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(language, "CATALOGUES", folder / "locale")
        known = Catalog("eo")
        for message in catalogue.template():
            if message.id:
                forms = [message.id] if isinstance(message.id, str) else list(message.id)
                said = tuple(f"⟦{form}⟧" for form in forms)
                known.add(message.id, said[0] if len(said) == 1 else said)
        file = folder / "locale" / "eo" / language.FILE
        file.parent.mkdir(parents=True)
        with file.open("wb") as lines:
            write_po(lines, known)
        put_demo(folder / "demo")
        settings = folder / "demo" / "survey.toml"
        settings.write_text(f'language = "eo"\n{settings.read_text("utf-8")}', "utf-8")
        results = survey_results(read_survey([folder / "demo"]))
        build_site(results, folder / "site")
    yield folder / "site", results


@pytest.fixture(scope="module")
def own_names(bracketed: tuple[Path, Results]) -> re.Pattern[str]:
    """Words that the survey brings along: its title, names of trees, stands, species, files."""
    site, results = bracketed
    survey, trees = results.survey, results.trees
    names = {survey.title, survey.place, survey.publisher, survey.contact, "Leaflet"}
    for column in ("tree", "stand", "species", "common_name", "size_class", "diameter_class"):
        names |= set(trees[column].astype(str))
    names |= {licence_of(survey.publish.licence).name}
    names |= {path.name for path in site.rglob("*") if path.is_file()}
    return pattern_of({name for name in names if name})


def test_no_page_shows_a_text_that_is_not_in_the_catalogue(
    bracketed: tuple[Path, Results], own_names: re.Pattern[str]
) -> None:
    site, _ = bracketed
    pages = [path for path in site.rglob("*.html") if path.parent.name != "tree"]
    pages += sorted((site / "tree").glob("*.html"))[::20]
    offenders: dict[str, list[str]] = {}
    for path in pages:
        words = Words()
        words.feed(outside_brackets(path.read_text("utf-8")))
        for text in words.found:
            if left := unsaid(text, own_names):
                offenders.setdefault(" ".join(left), []).append(f"{path.name}: {text.strip()}")
    assert len(pages) > 10
    listed_ = [f"{words} | {places[0]}" for words, places in offenders.items()]
    assert not listed_, "\n".join(listed_)


def test_no_script_shows_a_text_that_is_not_in_the_catalogue(
    bracketed: tuple[Path, Results], own_names: re.Pattern[str]
) -> None:
    _, results = bracketed
    steps = [step for steps in results.workings.values() for step in steps]
    parts = ("title", "inputs", "formula", "result", "note")
    told = {str(getattr(step, part)) for step in steps for part in parts}
    assert len(told) > 100
    assert {text: left for text in sorted(told) if (left := unsaid(text, own_names))} == {}
    reasons = set(results.reasons["reason"]) | set(results.comparison["sentence"])
    assert {text: left for text in sorted(reasons) if (left := unsaid(text, own_names))} == {}
