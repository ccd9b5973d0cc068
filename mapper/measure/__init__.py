"""observations → one row per tree and visit: chooses the method, says why a value is missing."""

from mapper.measure.ages import tree_ages, which_is_older
from mapper.measure.agreement import agreement
from mapper.measure.trees import Measured, measure_trees

__all__ = ["Measured", "agreement", "measure_trees", "tree_ages", "which_is_older"]
