"""What was kept back or made coarser, said in plain words on pages and in the read-me."""

from mapper.render import words
from mapper.settings import Publish
from mapper.summarise import Results

OBSERVERS = {
    "hidden": "Who measured each tree.",
    "codes": "The names of those who measured: each has a code that was drawn by chance, "
    "and nobody can work the name out of it.",
    "names": "The names of those who measured and did not agree to be named.",
}


def what_stays_home(results: Results) -> tuple[str, ...]:
    """A sentence for each thing that never entered the files."""
    publish = results.survey.publish
    return (
        "Trees whose record says that they are to be kept back.",
        OBSERVERS[publish.observers],
        *_written(publish),
        *_of_photos(publish),
        "The names of the record files: a file is called by its number.",
        "Columns of the records that we do not know, unless the survey names them.",
        *_places(results),
        *_outlines(publish),
        *([] if publish.dates == "day" else [f"The days: only the {publish.dates} is given."]),
    )


def _written(publish: Publish) -> list[str]:
    if not publish.notes:
        return ["The notes that volunteers wrote."]
    return ["E-mail addresses, phone numbers, links and names of observers in the notes."]


def _places(results: Results) -> list[str]:
    """What is kept back of all places, then of single trees that asked for more."""
    publish, trees = results.survey.publish, results.trees
    if publish.positions == "hidden":
        return ["The places of the trees."]
    lines = []
    if publish.positions != "exact":
        lines.append(
            f"The exact places: they are cut to {publish.positions.removesuffix(' deg')} degree."
        )
    cut = int(trees["data_generalizations"].str.contains("Coordinates").sum())
    hidden = int(trees["information_withheld"].str.contains("Place").sum())
    if publish.positions == "exact" and cut:
        lines.append(f"The exact place of {words.counted(cut, 'tree')}: it is cut.")
    if hidden:
        lines.append(f"The place of {words.counted(hidden, 'tree')}.")
    return lines


def _outlines(publish: Publish) -> list[str]:
    if publish.boundaries is False:
        return ["The outlines of the stands."]
    if publish.boundaries == "cut" and publish.positions != "exact":
        return ["The outlines of the stands, finer than the places of the trees."]
    return []


def _of_photos(publish: Publish) -> tuple[str, ...]:
    if publish.photos == "none":
        return ("Photographs.",)
    if publish.positions != "exact":
        return ("Photographs: a picture can show where a tree stands.",)
    return (
        "Photographs that nobody agreed to show, and those of trees whose place is kept back.",
        "What a camera writes beside a picture: place, hour, device, names.",
    )
