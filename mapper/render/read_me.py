"""README.txt of the data folder: what it is, whose, how sure, and what was kept back."""

from collections.abc import Mapping

from mapper.language import later, say
from mapper.reference.licences import licence_of
from mapper.render import words
from mapper.render.withheld import what_stays_home
from mapper.summarise import Results

MEANING = later(
    """\
All numbers are metric, whatever the pages show: lengths of a stem in cm, heights and distances in
m, areas in ha. Places are latitude and longitude in degrees (WGS 84). An empty cell means that
nothing can be said; reasons.csv says why. A number reads back exactly as it was calculated.

A column that ends in _sd is the standard uncertainty of one measurement: the true value lies within
two of them 19 times in 20. _low and _high are the ends of such a range. Ages are ranges; those by
rings or growth factor are rules of thumb without a chance attached.

The tables are CSV in UTF-8 with a point as decimal sign. Beside each stands a file that ends in
-metadata.json with the unit and meaning of every column. A text that begins with = + - @ or a tab
has a ' in front, so that no spreadsheet takes it for a formula.
"""
)


def read_me_text(results: Results, files: Mapping[str, str]) -> str:
    """The read-me, in plain words."""
    survey = results.survey
    parts = [
        _heading(survey.title, survey.place),
        _whose(results),
        _files(files),
        _under(say("HOW TO READ THEM"), say(MEANING)),
        _under(say("WHAT STAYS HOME"), _list(what_stays_home(results))),
        say(words.SAFETY) + "\n",
    ]
    return "\n".join(parts)


def _heading(title: str, place: str) -> str:
    line = f"{title}\n{'=' * len(title)}\n"
    return f"{line}{place}\n" if place else line


def _whose(results: Results) -> str:
    survey = results.survey
    licence = licence_of(survey.publish.licence)
    period = words.period(results.trees["date"].fillna("").tolist())
    trees = words.trees(len(results.trees))
    lines = [
        _measured(trees, period),
        say("Published by: {name}").format(name=survey.publisher) if survey.publisher else "",
        say("Contact: {contact}").format(contact=survey.contact) if survey.contact else "",
        say("Where to find it: {link}").format(link=survey.address) if survey.address else "",
        "",
        say("Licence of every file here: {code}").format(code=licence.code)
        + (f" ({licence.name})" if licence.name != licence.code else ""),
        licence.link,
        licence.asks,
    ]
    shown = [line for number, line in enumerate(lines) if line or number == 4]
    return "\n".join(shown) + "\n"


def _measured(trees: str, period: str) -> str:
    if not period:
        return say("The measurements of {trees}.").format(trees=trees)
    return say("The measurements of {trees}, {period}.").format(trees=trees, period=period)


def _files(files: Mapping[str, str]) -> str:
    width = max(map(len, files)) + 2
    lines = (f"{name:<{width}}{about}\n" for name, about in files.items())
    return _under(say("FILES"), "".join(lines))


def _under(heading: str, text: str) -> str:
    return f"{heading}\n\n{text}"


def _list(lines: tuple[str, ...]) -> str:
    return "".join(f"- {line}\n" for line in lines)
