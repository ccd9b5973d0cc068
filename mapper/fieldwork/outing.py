"""The page for phones: a folder of plain files that works without a network and sends nothing."""

import datetime
import hashlib
import json
import math
import shutil
from dataclasses import asdict, dataclass
from pathlib import Path

import pandas as pd

from mapper.errors import InputError
from mapper.fieldwork.sheets import breast_height
from mapper.language import later, say, speaking
from mapper.load.species_names import taxa
from mapper.reference import rows
from mapper.render.pages import template_environment
from mapper.render.site_files import BUILD_COMMAND, as_script, shipped, write_text
from mapper.summarise import Line
from mapper.survey import Survey

BUNDLED = ("outing.js", "outing.css")
AVERAGING_MS = 30_000
CHECKED = ("girth", "height", "slenderness")

WORDS = {
    "full": later(
        "This device is full: nothing more is kept. Hand over what you have, then go on."
    ),
    "not_lasting": later(
        "This browser keeps nothing: records are lost when the page closes. Hand over before."
    ),
    "no_number": later("no number yet"),
    "change": later("Change"),
    "remove": later("Remove"),
    "remove_sure": later("Remove {tree} for good?"),
    "count": later("Records on this device: {n}."),
    "none_yet": later("No tree measured yet."),
    "one_height": later("{height}, from one sighting"),
    "heights": later("{height}, the middle of {n} sightings that lie {apart} apart"),
    "warning": later("Please look again: {why}."),
    "not_a_number": later("the girth is not a number"),
    "shrank": later("it was thicker last time; trees do not shrink"),
    "leapt": later("it grew faster since last time than trees do"),
    "clock": later("Is this the right day? The clock of this device may be wrong."),
    "aim_tip": later("Aim at the tip and take the angle."),
    "aim_foot": later("Now aim at the foot and take the angle."),
    "no_sensor": later(
        "This device tells no tilt, or was not allowed to. Use the angle card and type the angles."
    ),
    "no_triangle": later(
        "No height from these: it takes the way to the stem, and a tip above the foot."
    ),
    "placing": later("Looking for satellites. Stand still beside the stem for half a minute."),
    "placed": later("{lat}, {lon}; this device says within {m} m"),
    "no_place": later("No place: not allowed, or no satellite in sight. The tree counts without."),
    "photo_kept": later("Photo kept, made smaller, without its place."),
    "photo_bad": later("This photo cannot be read. Try again, or go on without."),
    "nothing": later("Nothing to hand over yet: give each tree a number or a name."),
    "handed": later("Handed over: {n}. Keep them here until your leader has seen the file."),
    "not_handed": later("Not handed over. Try again."),
}
HOWS = {
    "slope": later("on a slope"),
    "lean": later("it leans"),
    "fork": later("it forks"),
    "swelling": later("a swelling"),
    "buttress": later("roots like buttresses"),
    "climber": later("ivy or another climber"),
    "debris": later("heaped earth or litter"),
}
LEAVES = {
    "needles in bundles": later("needles in bundles"),
    "needles single": later("single needles"),
    "scales": later("scales"),
    "opposite": later("leaves in pairs"),
    "alternate": later("leaves one by one, in turn"),
    "whorled": later("three or more leaves at one place"),
}


@dataclass(frozen=True)
class KnownTree:
    """A tree to measure again; the last girth is there for the warning and is never shown."""

    id: str
    name: str
    girth_cm: float | None
    years: float


def write_outing(survey: Survey, line: Line | None, out: Path, today: datetime.date) -> Path:
    """Write the outing page into the folder `out`; returns its index.html.

    Raises
    ------
    InputError
        When `out` is a file, or the page scripts are not built.
    """
    if out.exists() and not out.is_dir():
        raise InputError(f"{out}: is a file. Name a folder for the outing page.")
    bundle = shipped("site_template") / "bundle"
    for name in (*BUNDLED, "worker.js"):
        if not (bundle / name).is_file():
            raise InputError(f"{bundle / name}: is not built yet. Run: {BUILD_COMMAND}")
    trees = known_trees(line, today)
    with speaking(survey.language):
        page = _page(survey, trees, today)
    out.mkdir(parents=True, exist_ok=True)
    for name in BUNDLED:
        shutil.copyfile(bundle / name, out / name)
    write_text(out / "index.html", page)
    write_text(out / "manifest.webmanifest", _manifest(survey))
    write_text(out / "icon.svg", ICON)
    write_text(out / "worker.js", _worker(out, bundle))
    return out / "index.html"


def known_trees(line: Line | None, today: datetime.date) -> list[KnownTree]:
    """The living trees of a survey, with their last girths."""
    if line is None:
        return []
    trees = line.measured.trees
    living = trees[trees["status"].isin(["", "alive"])]
    years = ((pd.Timestamp(today) - living["date"]).dt.days / 365.25).fillna(math.inf)
    names = living["common_name"].where(living["common_name"] != "", living["species_name"])
    girths = living["girth_cm"].astype(float)
    return [
        KnownTree(
            str(tree), str(name or ""), None if math.isnan(girth) else round(girth, 1),
            round(min(year, 100.0), 2),
        )
        for tree, name, girth, year in zip(living.index, names, girths, years, strict=True)
    ]  # fmt: skip


def checked_limits() -> list[dict[str, object]]:
    """The limits of the checks, as the page asks them while a number is typed."""
    return [
        {
            "column": row["column"],
            "lower": float(row["lower"]),
            "upper": float(row["upper"]),
            "included": row["included"],
            "severity": row["severity"],
            "why": say(row["why"]),
        }
        for row in rows("limits")
        if row["column"] in CHECKED
    ]


def leaf_groups() -> list[dict[str, object]]:
    """Groups of trees by leaf and needles, from the table of the checks."""
    known = taxa()
    return [
        {
            "taxon": row["taxon"],
            "common": known[row["taxon"]].common_name if row["taxon"] in known else "",
            "leaf": row["leaf"].split("|"),
            "low": int(row["needles_low"]) if row["needles_low"] else None,
            "high": int(row["needles_high"]) if row["needles_high"] else None,
        }
        for row in rows("leaves")
    ]


def _page(survey: Survey, trees: list[KnownTree], today: datetime.date) -> str:
    spanish = survey.language == "es"
    kinds = [
        {"name": kind.name, "common": (kind.common_name_es if spanish else "") or kind.common_name}
        for kind in taxa().values()
    ]
    (growth,) = [row for row in rows("growth_limits") if row["quantity"] == "girth"]
    data = {
        "key": hashlib.sha256(survey.title.encode()).hexdigest()[:12],
        "units": survey.units,
        "built": today.isoformat(),
        "too_late": (today + datetime.timedelta(days=730)).isoformat(),
        "averaging_ms": AVERAGING_MS,
        "growth_cm": float(growth["limit_per_year"]),
        "words": {name: str(say(text)) for name, text in WORDS.items()},
        "trees": [asdict(tree) for tree in trees],
        "kinds": kinds,
        "limits": checked_limits(),
        "leaves": leaf_groups(),
    }
    return (
        template_environment()
        .get_template("outing/index.html")
        .render(
            survey=survey,
            language=survey.language,
            trees=trees,
            breast_height=breast_height(survey),
            hows=[(how, say(text)) for how, text in HOWS.items()],
            leaf_kinds=[(leaf, say(text)) for leaf, text in LEAVES.items()],
            data=as_script(data),
        )
    )


def _manifest(survey: Survey) -> str:
    about = {
        "name": survey.title,
        "short_name": survey.title[:24],
        "start_url": "./index.html",
        "scope": "./",
        "display": "standalone",
        "background_color": "#ffffff",
        "theme_color": "#101714",
        "icons": [{"src": "icon.svg", "sizes": "any", "type": "image/svg+xml"}],
    }
    return json.dumps(about, ensure_ascii=False, indent=1) + "\n"


def _worker(out: Path, bundle: Path) -> str:
    """The script that keeps the files on the device; a changed file makes a new version."""
    names = ("index.html", *BUNDLED, "manifest.webmanifest", "icon.svg")
    digest = hashlib.sha256(b"".join((out / name).read_bytes() for name in names)).hexdigest()
    files = json.dumps(["./", *names])
    code = (bundle / "worker.js").read_text(encoding="utf-8")
    return f'self.FILES={files};self.VERSION="outing-{digest[:16]}";\n{code}'


ICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64">'
    '<rect width="64" height="64" fill="#101714"/>'
    '<path d="M12 48h40M44 48V14M12 48L44 14" fill="none" stroke="#fff" stroke-width="4"/></svg>\n'
)
