"""The commands. Each one is thin: it reads options, runs the stages and says what happened."""

import json
import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from mapper.errors import MapperError, NoRecordsError

if TYPE_CHECKING:
    from mapper.summarise import Line
    from mapper.survey import Survey

app = typer.Typer(
    name="groveplat",
    help="From tree measurements of many hands to numbers one can trust and a map one can publish.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

Paths = Annotated[
    list[Path],
    typer.Argument(help="A survey folder, a survey.toml, or tables of trees.", metavar="PATH…"),
]
Boundaries = Annotated[
    Path | None, typer.Option(help="Outlines of the stands (GeoJSON, GeoPackage).", metavar="FILE")
]
CompleteCount = Annotated[
    bool, typer.Option("--complete-count", help="Every tree of every stand was counted.")
]
Title = Annotated[str, typer.Option(help="Title of the sheet.", metavar="TEXT")]


class Units(StrEnum):
    """What a number without a unit means."""

    METRIC = "metric"
    US = "us"


class Paper(StrEnum):
    """Paper that printers take."""

    A4 = "a4"
    LETTER = "letter"


Json = Annotated[bool, typer.Option("--json", help="Answer in JSON, for scripts.")]
FOUND_ERRORS, UNUSABLE = 1, 2


@app.command()
def build(  # noqa: PLR0913 - each parameter is an option of the command
    paths: Paths,
    out: Annotated[
        Path | None, typer.Option(help="Folder (or file) for the site.", metavar="PATH")
    ] = None,
    boundaries: Boundaries = None,
    complete_count: CompleteCount = False,
    title: Title = "",
    single_file: Annotated[
        bool, typer.Option("--single-file", help="One html file to send, not a folder.")
    ] = False,
    as_json: Json = False,
) -> None:
    """Build the site of a survey, or of several: map, stands, trees, methods, data."""
    from mapper.line import published
    from mapper.render import build_file, build_site
    from mapper.screen import attention_line, left_out_line, published_line
    from mapper.survey_group import read_surveys
    from mapper.together import run_together

    surveys = read_surveys(paths, boundaries, complete_count, title)
    own_folder = paths[0].is_dir() or paths[0].name == "survey.toml"
    one = own_folder and len(surveys) == 1
    name = "site.html" if single_file else "site"
    site = out or (surveys[0].folder / name if one else Path(name))
    line = run_together(surveys, title, _tell)
    _tell("Summarising")
    results = published(line)
    _tell("Drawing the sheets")
    left_out: tuple[str, ...] = ()
    if single_file:
        left_out = build_file(results, site)
    else:
        build_site(results, site)
    _tell("")
    page = site if single_file else site / "index.html"
    if as_json:
        counts = {"trees": len(results.trees), "stands": len(results.stands)}
        typer.echo(json.dumps({"site": str(page), **counts, "left_out": left_out}))
    else:
        told = [attention_line(line), published_line(results, page), left_out_line(left_out)]
        typer.echo("\n".join(filter(None, told)))


@app.command()
def check(
    paths: Paths,
    boundaries: Boundaries = None,
    as_json: Json = False,
) -> None:
    """Read and check only; findings on screen and in a workbook."""
    from mapper.line import run_checks
    from mapper.repair import write_findings
    from mapper.screen import findings_json, findings_text, repairs_text

    line = run_checks(_survey(paths, boundaries, False, ""), _tell)
    _tell("")
    if as_json:
        typer.echo(findings_json(line))
    else:
        written = write_findings(line)
        typer.echo(findings_text(line))
        typer.echo(repairs_text(line, written.to_decide))
        typer.echo(f"All findings: {written.path}")
    if (line.findings["severity"] == "error").any():
        raise typer.Exit(FOUND_ERRORS)


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="Folder for the demo.", metavar="DIR")] = Path(
        "groveplat-demo"
    ),
) -> None:
    """Put the demo survey in DIR and build its site."""
    from mapper.starter import put_demo

    put_demo(folder)
    build([folder])


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(help="Folder to start the survey in.", metavar="DIR")],
    title: Annotated[str, typer.Option(help="Title of the survey.", metavar="TEXT")] = "",
    place: Annotated[str, typer.Option(help="Where the trees stand.", metavar="TEXT")] = "",
    units: Annotated[Units | None, typer.Option(help="Of numbers without a unit.")] = None,
) -> None:
    """Start a survey folder: settings, a record workbook, a read-me.

    A terminal is asked for what no option says, a script never.
    """
    from mapper.starter import refuse_full, start_survey

    refuse_full(folder)
    asked = sys.stdin.isatty() and sys.stdout.isatty()
    if asked and not title:
        title = typer.prompt("Title of the survey", default=folder.resolve().name)
    if asked and not place:
        place = typer.prompt("Where the trees stand", default="", show_default=False)
    if asked and units is None:
        units = typer.prompt("Units", type=Units, default=Units.METRIC)
    book = start_survey(folder, title, place, units or Units.METRIC)
    typer.echo(f"Started a survey in {folder}. Next: fill in {book}.")


@app.command()
def preview(
    paths: Paths,
    port: Annotated[int, typer.Option(help="Port on this machine.", metavar="NUMBER")] = 8000,
) -> None:
    """Show the site on this machine, built again at each change."""
    from mapper.preview import serve

    serve(lambda: _survey(paths, None, False, ""), port, typer.echo)


@app.command()
def tree(  # noqa: PLR0913 - each parameter is an option of the command
    girth: Annotated[str, typer.Option(help='Such as "157 cm" or "62 in".')] = "",
    diameter: Annotated[str, typer.Option(help='Such as "50 cm".')] = "",
    species: Annotated[str, typer.Option(help="Botanical or common name.")] = "",
    height: Annotated[str, typer.Option(help='A height read elsewhere, such as "18 m".')] = "",
    baseline: Annotated[str, typer.Option(help='Horizontal distance, such as "20 m".')] = "",
    angle_top: Annotated[str, typer.Option(help="To the top, in degrees.")] = "",
    angle_base: Annotated[str, typer.Option(help="To the base, negative below the eye.")] = "",
    eye_height: Annotated[str, typer.Option(help='Instead of the base: "1.6 m".')] = "",
    also: Annotated[
        list[str] | None,
        typer.Option(help='Any other heading, as in --also "rings=80". Again for more.'),
    ] = None,
    as_json: Json = False,
) -> None:
    """One tree's numbers with their working, in the terminal."""
    from mapper.single_tree import other_cells, tree_json, tree_results, tree_text

    cells = {
        "girth": girth,
        "diameter": diameter,
        "species": species,
        "height": height,
        "baseline": baseline,
        "angle_top": angle_top,
        "angle_base": angle_base,
        "eye_height": eye_height,
    }
    cells |= other_cells(also or [])
    results, warnings = tree_results({name: text for name, text in cells.items() if text})
    typer.echo(tree_json(results) if as_json else tree_text(results, warnings))


@app.command()
def sheets(  # noqa: PLR0913 - each parameter is an option of the command
    path: Annotated[Path, typer.Argument(help="A survey folder or a table.", metavar="PATH")],
    out: Annotated[Path | None, typer.Option(help="Folder for the sheets.", metavar="DIR")] = None,
    tree: Annotated[
        list[str] | None, typer.Option(help="A tree to visit. Again for more.", metavar="TREE")
    ] = None,
    stand: Annotated[str, typer.Option(help="Visit only this stand.", metavar="NAME")] = "",
    most: Annotated[int, typer.Option(help="Most stops of the walk.", min=1, max=200)] = 20,
    paper: Annotated[Paper, typer.Option(help="Size of the paper.")] = Paper.A4,
    show_last: Annotated[
        bool, typer.Option("--show-last", help="Print the last girth beside each tree.")
    ] = False,
) -> None:
    """Print sheets for an outing: records, walk, tags, angle card, tables, leader's page."""
    from mapper.fieldwork import Outing, write_sheets

    survey, line = _line_if_any(path)
    outing = Outing(tuple(tree or ()), stand, most, paper.value, show_last)
    folder = out or survey.folder / "sheets"
    written = write_sheets(survey, line, folder, outing)
    names = ", ".join(file.name for file in written)
    typer.echo(f"Wrote {names} in {folder}. Open and print them at 100 %, {written[0].name} first.")


@app.command()
def outing(
    path: Annotated[Path, typer.Argument(help="A survey folder or a table.", metavar="PATH")],
    out: Annotated[Path | None, typer.Option(help="Folder for the page.", metavar="DIR")] = None,
) -> None:
    """Write a page for phones that measures trees without a network and hands over one file."""
    import datetime

    from mapper.fieldwork import write_outing

    survey, line = _line_if_any(path)
    page = write_outing(survey, line, out or survey.folder / "outing", datetime.date.today())
    typer.echo(
        f"Wrote {page}. Put its folder on a host with https and open it once on each phone, "
        "or copy it to the phones. What a phone hands over goes into the folder records."
    )


@app.command()
def report(
    path: Annotated[Path, typer.Argument(help="A survey folder or a table.", metavar="PATH")],
    out: Annotated[Path | None, typer.Option(help="Folder for the pages.", metavar="DIR")] = None,
    paper: Annotated[Paper, typer.Option(help="Size of the paper.")] = Paper.A4,
) -> None:
    """After the outing: a page for those who came; for the leader, trees to measure again."""
    from mapper.fieldwork import write_report
    from mapper.line import published, run_checks

    line = run_checks(_survey([path], None, False, ""), _tell)
    results = published(line)
    _tell("")
    folder = out or line.survey.folder / "report"
    page, again = write_report(line, results, folder, paper.value)
    typer.echo(f"Wrote {page} for those who came, and {again} for the leader alone.")


@app.command()
def older(
    path: Annotated[Path, typer.Argument(help="A survey folder or a table.", metavar="PATH")],
    one: Annotated[str, typer.Argument(help="Name or number of a tree.", metavar="TREE")],
    other: Annotated[str, typer.Argument(help="Of another tree.", metavar="OTHER")],
) -> None:
    """Which of two trees is older, or that it cannot be told."""
    from mapper.line import run_checks
    from mapper.measure import tree_ages, which_is_older

    line = run_checks(_survey([path], None, False, ""), _tell)
    _tell("")
    ages = tree_ages(line.measured.trees, line.measured.records, line.survey)
    typer.echo(which_is_older(ages, one, other))


def _survey(
    paths: list[Path], boundaries: Path | None, complete_count: bool, title: str
) -> "Survey":
    from mapper.survey import read_survey

    return read_survey(paths, boundaries, complete_count, title)


def _line_if_any(path: Path) -> "tuple[Survey, Line | None]":
    """A survey and what is in it; None where it was only just started and has no record yet."""
    from mapper.line import run_checks

    survey = _survey([path], None, False, "")
    try:
        line = run_checks(survey, _tell)
    except NoRecordsError:
        line = None
    _tell("")
    return survey, line


def _tell(stage: str) -> None:
    """Progress for a person at a terminal, nothing in a pipe."""
    if sys.stderr.isatty():
        sys.stderr.write(f"\r\033[K{stage}" + ("…" if stage else ""))
        sys.stderr.flush()


def main() -> None:
    """Run the command; what cannot be used ends with one message and code 2."""
    try:
        app()
    except MapperError as error:
        _tell("")
        typer.echo(f"groveplat: {error}", err=True)
        raise SystemExit(UNUSABLE) from None
    except MemoryError:
        _tell("")
        typer.echo(
            "groveplat: this computer has too little memory free for so many records. Close other "
            "programs, or build the stands in several surveys. Nothing was published.",
            err=True,
        )
        raise SystemExit(UNUSABLE) from None
    except OSError as error:
        _tell("")
        where = f"{error.filename}: " if error.filename else ""
        typer.echo(f"groveplat: {where}{error.strerror or error}. Nothing was published.", err=True)
        raise SystemExit(UNUSABLE) from None
