"""Which row of the growth tables belongs to a species: equations, factors, groups.

Pure lookup. A species without a row has None, and the caller says why it has no age.
"""

from dataclasses import dataclass
from functools import cache

from mapper.reference import rows

TERMS = ("constant", "x", "x2", "x3", "x4", "root", "loglog")


@dataclass(frozen=True)
class UrbanEquation:
    """Age from diameter for one species in one region; `terms` as metrics.urban takes them."""

    region: str
    species: str
    form: str
    terms: tuple[float, ...]
    inner: float
    exponential: bool
    lowest_years: float
    highest_years: float
    lowest_cm: float
    highest_cm: float
    variance: float
    weight_power: float
    degrees_of_freedom: float
    source: str


@dataclass(frozen=True)
class GrowthFactor:
    """Years a woodland tree of the species takes to thicken by an inch."""

    species: str
    years_per_inch: float
    note: str
    source: str


@dataclass(frozen=True)
class BiomassGroup:
    """Coefficients of the dry weight of a group of species; `largest_cm` None if not known."""

    group: str
    name: str
    intercept: float
    slope: float
    smallest_cm: float
    largest_cm: float | None
    log_sd: float
    source: str


def urban_equation(region: str, species: str) -> UrbanEquation | None:
    """Equation of the species in the region, if the database has one; it may still not rise."""
    return _urban_equations().get((region_code(region), _key(species)))


def growth_factor(species: str) -> GrowthFactor | None:
    """Growth factor of the species, if a list that was read has one."""
    return _growth_factors().get(_key(species))


def biomass_group(species: str) -> BiomassGroup | None:
    """Group whose equation gives the dry weight of the species, if it is clear."""
    group = _groups_by_species().get(_key(species))
    return None if group is None else _biomass_groups()[group]


def age_rule(rule: str) -> tuple[float, float]:
    """Low and high figure of a rule of thumb, such as "growth factor"."""
    rules = {row["rule"]: (float(row["low"]), float(row["high"])) for row in rows("age_rules")}
    return rules[rule]


def urban_regions() -> dict[str, str]:
    """Codes of the regions that have urban equations, with their names."""
    return {row["region"]: row["name"] for row in rows("urban_regions")}


def region_code(region: str) -> str:
    """Region as the equations spell it: the database itself writes both Cen Fla and CenFla."""
    words = region.replace(" ", "").casefold()
    return next((code for code in urban_regions() if code.casefold() == words), "")


def _key(species: str) -> str:
    return " ".join(species.replace("×", "x ").casefold().split())


@cache
def _urban_equations() -> dict[tuple[str, str], UrbanEquation]:
    forms = {row["form"]: row for row in rows("urban_forms")}
    return {
        (row["region"], _key(row["species"])): _urban_equation(row, forms[row["form"]])
        for row in rows("urban_equations")
    }


def _urban_equation(row: dict[str, str], form: dict[str, str]) -> UrbanEquation:
    exponential = form["exponential"] == "yes"
    # The mean square stands in column c of the forms with exp, elsewhere in column sigma.
    variance = float(row["c"] if exponential else row["sigma"])
    weights = dict.fromkeys((*TERMS, "inner"), 0.0)
    for letter in "abcde":
        if form[letter]:
            weights[form[letter]] += float(row[letter])
    if form["half_variance"]:
        weights[form["half_variance"]] += variance / 2
    return UrbanEquation(
        region=row["region"],
        species=row["species"],
        form=row["form"],
        terms=tuple(weights[term] for term in TERMS),
        inner=weights["inner"],
        exponential=exponential,
        lowest_years=float(row["lowest_years"]),
        highest_years=float(row["highest_years"]),
        lowest_cm=float(row["lowest_cm"]),
        highest_cm=float(row["highest_cm"]),
        variance=variance,
        weight_power=float(row["weight_power"]),
        degrees_of_freedom=float(row["degrees_of_freedom"]),
        source=row["source"],
    )


@cache
def _growth_factors() -> dict[str, GrowthFactor]:
    return {
        _key(row["species"]): GrowthFactor(
            row["species"], float(row["years_per_inch"]), row["note"], row["source"]
        )
        for row in rows("growth_factors")
    }


@cache
def _biomass_groups() -> dict[str, BiomassGroup]:
    return {
        row["group"]: BiomassGroup(
            group=row["group"],
            name=row["name"],
            intercept=float(row["intercept"]),
            slope=float(row["slope"]),
            smallest_cm=float(row["smallest_cm"]),
            largest_cm=float(row["largest_cm"]) if row["largest_cm"] else None,
            log_sd=float(row["log_sd"]),
            source=row["source"],
        )
        for row in rows("biomass_groups")
    }


@cache
def _groups_by_species() -> dict[str, str]:
    return {_key(row["species"]): row["group"] for row in rows("species_biomass")}
