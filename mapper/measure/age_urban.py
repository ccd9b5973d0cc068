"""Age of trees in the open by the urban equations of the survey's region, and its refusals."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.language import say
from mapper.measure.age_methods import PLANTING, Way, Words, way
from mapper.measure.inputs import Floats
from mapper.reference import growth

TERMS = [f"term_{number}" for number in range(len(growth.TERMS))]
NUMBERS = [
    *TERMS, "inner", "exponential", "lowest_years", "highest_years", "lowest_cm", "highest_cm",
    "variance", "weight_power", "degrees_of_freedom", "rises",
]  # fmt: skip


def by_urban_equation(known: pd.DataFrame, region: str) -> Way:
    """The equation of the species in the region, once for all trees."""
    row = _equations(region, list(known["species_name"].unique())).reindex(known["species_name"])
    size = known["diameter_cm"].to_numpy(dtype=float)
    within = row["lowest_cm"].le(size).to_numpy() & row["highest_cm"].ge(size).to_numpy()
    rises = row["rises"].eq(1).to_numpy()
    open_grown = (known["setting"] == "open-grown").to_numpy() & ~known["gone"].to_numpy()

    def column(name: str) -> Floats:
        return row[name].to_numpy(dtype=float)

    age = metrics.urban_prediction(
        np.where(open_grown & rises & within, size, np.nan),
        row[TERMS].to_numpy(dtype=float),
        *map(column, ("inner", "exponential", "lowest_years", "highest_years")),
    )
    spread = map(column, ("variance", "weight_power", "degrees_of_freedom", "exponential"))
    low, high = metrics.urban_prediction_range(age, size, *spread)
    later = known["years_since_size"].to_numpy(dtype=float)
    reason = _reasons(region, row, rises, within)
    shown = {name: column(name) for name in (*TERMS, "inner", "exponential")}
    ends = low + later, high + later
    return way("urban equation", age + later, ends, PLANTING, reason, shown)


def _equations(region: str, species: list[str]) -> pd.DataFrame:
    """One row a species that has an equation: its numbers, and whether it rises."""
    found = {name: growth.urban_equation(region, name) for name in species} if region else {}
    rows = {name: _numbers(equation) for name, equation in found.items() if equation}
    return pd.DataFrame.from_dict(rows, orient="index", columns=NUMBERS, dtype=float)


def _numbers(equation: growth.UrbanEquation) -> list[float]:
    rises = metrics.urban_equation_rises(
        equation.terms, equation.inner, equation.exponential,
        equation.lowest_cm, equation.highest_cm,
    )  # fmt: skip
    plain = NUMBERS[len(TERMS) : -1]
    return [*equation.terms, *(float(getattr(equation, name)) for name in plain), float(rises)]


def _reasons(
    region: str, row: pd.DataFrame, rises: NDArray[np.bool_], within: NDArray[np.bool_]
) -> Words:
    """Why the equation says nothing, for each tree; read only where it does not."""
    if not region:
        ask = say("a tree in the open needs its year of planting, or growth_region in survey.toml")
        return np.full(len(row), ask, dtype=object)
    spans = row[["lowest_cm", "highest_cm"]].drop_duplicates()
    words = spans.assign(
        words=[
            say("{low:g} to {high:g} cm").format(low=low, high=high)
            for low, high in zip(*spans.T.to_numpy(), strict=True)
        ]
    )
    span = row[["lowest_cm", "highest_cm"]].merge(words, how="left")["words"].to_numpy(dtype=object)
    return np.select(
        [row["rises"].isna().to_numpy(), ~rises, ~within],
        [
            say("no urban equation for the species in the region {region}").format(region=region),
            say(
                "the urban equation of the species makes some thicker trees younger: it is not used"
            ),
            say("its diameter is outside those that the urban equation was made from:")
            + " "
            + span,
        ],
        str(say("the urban equation gives an age outside those that it was made from")),
    ).astype(object)
