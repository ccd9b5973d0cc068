"""Trees with their age, their growth and, where the survey asks for it, their rough dry weight."""

import numpy as np
import pandas as pd

from mapper.load.membership import among
from mapper.measure.ages import tree_ages
from mapper.measure.biomass import tree_biomass
from mapper.measure.growth import tree_growth
from mapper.measure.trees import Measured
from mapper.survey import Survey


def with_ages(trees: pd.DataFrame, measured: Measured, survey: Survey) -> pd.DataFrame:
    """The trees, one row each with `tree_key`, and the columns of all three.

    Only these trees enter: one that is withheld must not be in the line of the others either.
    """
    keyed = trees.set_index("tree_key")
    visits = measured.visits[among(measured.visits["tree_key"], keyed.index)]
    tables = [
        tree_ages(keyed, measured.records, survey),
        tree_growth(visits, survey.publish.dates),
    ]
    if survey.measure.biomass:
        tables.append(tree_biomass(keyed))
    grown = trees.join(pd.concat(tables, axis=1), on="tree_key")
    return grown if survey.measure.biomass else grown.assign(biomass_kg=np.nan)
