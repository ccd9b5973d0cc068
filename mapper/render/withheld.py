"""What was kept back or made coarser, said in plain words on pages and in the read-me."""

from mapper.language import figure, later, say
from mapper.render import words
from mapper.settings import Publish
from mapper.summarise import Results
from mapper.summarise.generalised import is_cut, is_hidden
from mapper.summarise.places import DECIMALS

OBSERVERS = {
    "hidden": later("Who measured each tree."),
    "codes": later(
        "The names of those who measured: each has a code that was drawn by chance, and nobody can "
        "work the name out of it."
    ),
    "names": later("The names of those who measured and did not agree to be named."),
}


DAYS = {
    "month": later("The days: only the month is given."),
    "year": later("The days: only the year is given."),
}


def what_stays_home(results: Results) -> tuple[str, ...]:
    """A sentence for each thing that never entered the files."""
    publish = results.survey.publish
    return (
        say("Trees whose record says that they are to be kept back."),
        say(OBSERVERS[publish.observers]),
        *_written(publish),
        *_of_photos(publish),
        say("The names of the record files: a file is called by its number."),
        say("Columns of the records that we do not know, unless the survey names them."),
        *_places(results),
        *_outlines(publish),
        *([say(DAYS[publish.dates])] if publish.dates in DAYS else []),
    )


def _written(publish: Publish) -> list[str]:
    if not publish.notes:
        return [say("The notes that volunteers wrote.")]
    return [say("E-mail addresses, phone numbers, links and names of observers in the notes.")]


def _places(results: Results) -> list[str]:
    """What is kept back of all places, then of single trees that asked for more."""
    publish, trees = results.survey.publish, results.trees
    if publish.positions == "hidden":
        return [say("The places of the trees.")]
    lines = []
    if publish.positions != "exact":
        degrees = figure(float(publish.positions.removesuffix(" deg")))
        lines.append(
            say("The exact places: they are cut to {degrees} degree.").format(degrees=degrees)
        )
    cut = sum(int(is_cut(trees, level).sum()) for level in DECIMALS)
    hidden = int(is_hidden(trees).sum())
    if publish.positions == "exact" and cut:
        lines.append(say("The exact place of {trees}: it is cut.").format(trees=words.trees(cut)))
    if hidden:
        lines.append(say("The place of {trees}.").format(trees=words.trees(hidden)))
    return lines


def _outlines(publish: Publish) -> list[str]:
    if publish.boundaries is False:
        return [say("The outlines of the stands.")]
    if publish.boundaries == "cut" and publish.positions != "exact":
        return [say("The outlines of the stands, finer than the places of the trees.")]
    return []


def _of_photos(publish: Publish) -> tuple[str, ...]:
    if publish.photos == "none":
        return (say("Photographs."),)
    if publish.positions != "exact":
        return (say("Photographs: a picture can show where a tree stands."),)
    return (
        say("Photographs that nobody agreed to show, and those of trees whose place is kept back."),
        say("What a camera writes beside a picture: place, hour, device, names."),
    )
