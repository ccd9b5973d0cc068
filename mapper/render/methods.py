"""The methods sheet, written by the formulas themselves: their docstrings and their sources."""

import inspect
import re
from dataclasses import dataclass, replace

from mapper import metrics
from mapper.language import later, say
from mapper.reference import Source, sources
from mapper.render.sheets import Page, Site, page_of
from mapper.render.stand_figures import KINDS

SECTION = re.compile(r"^(Parameters|Returns|Notes|Examples|Raises)\n-+\n", re.MULTILINE)
# The sentence `Source: KEY, where.`, which may run on over a line.
SOURCE_LINE = re.compile(r"Sources?:\s*(.*?\.)(?=\n|$)", re.DOTALL)
CHAPTERS = {
    "stem": later("The stem"),
    "calipers": later("Calipers and snow"),
    "angles": later("Angles and distances"),
    "distance": later("Angles and distances"),
    "height": later("The height"),
    "two_stations": later("The height from two stations"),
    "proportion": later("The height from a stick or a shadow"),
    "lean": later("Trees that lean or lie"),
    "consensus": later("Several readings of one tree"),
    "repeatability": later("How well measuring repeats"),
    "age": later("The age"),
    "calibration": later("The age by the survey's own trees"),
    "urban": later("The age of street and park trees"),
    "chance": later("Chances"),
    "growth": later("Growth"),
    "biomass": later("Rough dry weight"),
    "size_classes": later("Size classes"),
    "stand": later("The stand"),
    "sampling": later("From plots to a stand"),
    "structure": later("How crowded, how tall"),
    "diversity": later("How mixed"),
    "spacing": later("How the trees are spread"),
    "curve": later("Height by thickness"),
}
UNCERTAINTY = later("How sure: the formulas")
# Docstrings are written for programs; the page is for people.
UNIT_ENDINGS = re.compile(r"_(cm|m|m2|ha|kg|deg|m2_per_ha|per_ha)$")
MATHEMATICS = {" * ": " × ", " - ": " − ", "sqrt(": "√("}
LAST_SIGN = re.compile(r" \*$")
MINUS = re.compile(r"(?<= )-(?=\d)")
PI = re.compile(r"\bpi\b")
# What a formula is called in the list of contents, where its own name is no help.
PLAIN_NAMES = {
    "diameter_from_stems": "Diameter of several stems together",
    "basal_area_from_diameter": "Stem cross-section",
    "slenderness": "How slender a tree is",
    "height_from_angles": "Height from two angles",
    "height_from_top_angle": "Height from one angle",
    "rounded_half_up": "Rounding",
    "width_class_lower": "Classes of equal width",
    "interval_index": "Classes with names",
    "stems_per_ha": "How many trees on a hectare",
    "basal_area_per_ha": "Stem cross-section on a hectare",
    "combined_sd": "Several errors together",
    "height_along_ground": "Height over a tape along the ground",
    "height_from_slants": "Height from two straight distances",
    "height_from_slope": "Height over a sloping distance",
    "height_from_lean": "Height of a leaning tree",
    "height_of_fallen_tree": "Height of a fallen tree",
    "stem_length_from_lean": "Length of a leaning stem",
    "tape_height_over_snow": "A tape above the snow",
    "distance_along_ground": "Level distance by a tape along the ground",
    "distance_from_slope": "Level distance from a sloping one",
    "elevation_from_per_66": "Angle on the scale of 66",
    "elevation_from_percent": "Angle in per cent",
    "elevation_from_vertical": "Angle from straight up",
    "consensus_value": "What several readings agree on",
    "consensus_spread": "How far they lie apart",
    "consensus_sd": "What they agree on: how sure",
    "is_slip": "When a reading is a slip",
    "slip_score": "How far off a reading is",
    "pairs_within": "How many readings agree",
    "age_from_calibration": "Age on the line of known trees",
    "age_from_calibration_range": "Range of that age",
    "urban_prediction": "Age by a published equation",
    "urban_prediction_range": "Range of that age",
    "urban_equation_rises": "Equations that fall are refused",
    "order_of_ranges": "Which range is older",
    "probability_older": "How likely a tree is the older one",
    "student_t": "How wide a 95 % range is",
    "has_leapt": "Growth too fast to believe",
    "has_shrunk": "A tree that shrank",
    "basal_area_total_sd": "Cross-section of all stems",
    "mean_sd": "An average: errors of measuring",
    "mean_sampling_sd": "An average: trees not measured",
    "quadratic_mean_diameter_sampling_sd": "Average stem: trees not measured",
    **{kind.method: kind.label for kind in KINDS if kind.scale not in ("per_ha", "m2_per_ha")},
}
NO_NUMBER = re.compile(r"\bNaN\b")


@dataclass(frozen=True)
class Quantity:
    """An input or a result of a formula."""

    name: str
    meaning: str
    unit: str


@dataclass(frozen=True)
class Citation:
    """Where a formula was read."""

    source: Source
    where: str


@dataclass(frozen=True)
class Method:
    """One formula as the page shows it; `name` is the function and the anchor."""

    name: str
    title: str
    equation: tuple[str, ...]
    inputs: tuple[Quantity, ...]
    results: tuple[Quantity, ...]
    notes: tuple[str, ...]
    citations: tuple[Citation, ...]
    how_sure: "Method | None" = None  # the formula of its uncertainty, folded in beneath it

    @property
    def plain_name(self) -> str:
        """A name for the list of contents; failing a better one, the function's as words."""
        if self.name in PLAIN_NAMES:
            return PLAIN_NAMES[self.name]
        name = self.name.removesuffix("_sd")
        words = PLAIN_NAMES.get(name, name.replace("_", " ").capitalize())
        return words + (": how sure" if name != self.name else "")


@dataclass(frozen=True)
class Chapter:
    """The formulas about one thing."""

    title: str
    methods: tuple[Method, ...]


@dataclass(frozen=True)
class MethodsPage:
    """What methods.html shows."""

    page: Page
    chapters: tuple[Chapter, ...]


def methods_page(site: Site) -> MethodsPage:
    """Every public formula, in chapters; its uncertainty's formula lies folded beneath it."""
    grouped: dict[str, list[Method]] = {}
    for name in metrics.__all__:
        if name.endswith("_sd") and name.removesuffix("_sd") in metrics.__all__:
            continue
        module = getattr(metrics, name).__module__.rsplit(".", 1)[-1]
        sure = _method(f"{name}_sd") if f"{name}_sd" in metrics.__all__ else None
        method = replace(_method(name), how_sure=sure)
        grouped.setdefault(CHAPTERS.get(module, UNCERTAINTY), []).append(method)
    order = dict.fromkeys([*CHAPTERS.values(), UNCERTAINTY])
    chapters = tuple(
        Chapter(say(title), tuple(grouped[title])) for title in order if title in grouped
    )
    about = say("{title}: how every number was made.").format(title=site.title)
    page = page_of(site, "methods.html", about)
    return MethodsPage(page, chapters)


def _method(name: str) -> Method:
    return method_from(name, inspect.getdoc(getattr(metrics, name)) or "")


def method_from(name: str, docstring: str) -> Method:
    """Take a docstring apart: summary, equation, parameters, results, notes, sources."""
    head, parts = _sections(docstring)
    summary, _, rest = head.partition("\n\n")
    notes = parts.get("Notes", "")
    return Method(
        name=name,
        title=" ".join(summary.split()).rstrip("."),
        equation=tuple(_typeset(line.strip()) for line in rest.splitlines() if line.strip()),
        inputs=_quantities(parts.get("Parameters", "")),
        results=_quantities(parts.get("Returns", "")),
        notes=_paragraphs(notes),
        citations=_citations(notes),
    )


def _typeset(equation: str) -> str:
    for written, sign in MATHEMATICS.items():
        equation = equation.replace(written, sign)
    return PI.sub("π", LAST_SIGN.sub(" ×", equation))


def _plain(meaning: str) -> str:
    """Words for a reader who never met NaN."""
    text = NO_NUMBER.sub("no number", " ".join(meaning.split()))
    text = MINUS.sub("−", text.replace(". no number", ". No number"))
    return text[:1].upper() + text[1:]


def _sections(docstring: str) -> tuple[str, dict[str, str]]:
    pieces = SECTION.split(docstring)
    return pieces[0].strip(), dict(zip(pieces[1::2], pieces[2::2], strict=True))


def _quantities(section: str) -> tuple[Quantity, ...]:
    """A line at the margin names, the indented lines below it explain."""
    found: list[Quantity] = []
    names, meaning = "", ""
    for line in [*section.splitlines(), "end"]:
        if line.startswith(" ") or not line.strip():
            meaning += f" {line.strip()}"
            continue
        if names:
            found.append(_quantity(names, meaning))
        names, meaning = line.strip(), ""
    return tuple(found)


def _quantity(names: str, text: str) -> Quantity:
    unit = re.search(r"\[([^\]]*)\]\s*$", text.strip())
    meaning = text.strip()[: unit.start()] if unit else text
    plain_names = (UNIT_ENDINGS.sub("", name).replace("_", " ") for name in names.split(", "))
    return Quantity(", ".join(plain_names), _plain(meaning), unit[1] if unit else "")


def _paragraphs(notes: str) -> tuple[str, ...]:
    """The limits in plain words; the source is printed as a citation instead."""
    blocks = (_plain(block) for block in SOURCE_LINE.sub("", notes).split("\n\n"))
    return tuple(block for block in blocks if block)


def _citations(notes: str) -> tuple[Citation, ...]:
    known = sources()
    found = []
    for sentence in SOURCE_LINE.findall(notes):
        for part in " ".join(sentence.split()).rstrip(".").split(";"):
            key, _, where = part.strip().partition(", ")
            if key in known:
                found.append(Citation(known[key], where))
    return tuple(found)
