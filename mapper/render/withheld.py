"""What was kept back or made coarser, said in plain words on pages and in the read-me."""

from mapper.settings import Publish
from mapper.summarise import Results


def what_stays_home(results: Results) -> tuple[str, ...]:
    """A sentence for each thing that never entered the files."""
    publish = results.survey.publish
    lines = ["Trees whose record says that they are to be kept back."]
    if publish.observers == "hidden":
        lines.append("Who measured each tree.")
    if not publish.notes:
        lines.append("The notes that volunteers wrote.")
    lines += _of_photos(publish)
    lines.append("The names of the record files: a file is called by its number.")
    lines.append("Columns of the records that we do not know, unless the survey names them.")
    if publish.positions == "hidden":
        lines.append("The places of the trees.")
    elif publish.positions != "exact":
        lines.append(f"The exact places: they are cut to {publish.positions}.")
    if publish.dates != "day":
        lines.append(f"The exact dates: only the {publish.dates} is given.")
    if not publish.boundaries:
        lines.append("The outlines of the stands.")
    return tuple(lines)


def _of_photos(publish: Publish) -> tuple[str, ...]:
    if publish.photos == "none":
        return ("Photographs.",)
    if publish.positions != "exact":
        return ("Photographs: a picture can show where a tree stands.",)
    return (
        "Photographs that nobody agreed to show, and those of trees whose place is kept back.",
        "What a camera writes beside a picture: place, hour, device, names.",
    )
