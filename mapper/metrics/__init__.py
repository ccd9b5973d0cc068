"""The formulas: numbers or arrays in, numbers or arrays out, NaN outside the domain."""

from mapper.metrics.height import height_from_angles, height_from_top_angle
from mapper.metrics.size_classes import interval_index, rounded_half_up, width_class_lower
from mapper.metrics.stand import (
    basal_area_per_ha,
    lorey_height,
    mean_diameter,
    mean_height,
    quadratic_mean_diameter,
    stems_per_ha,
)
from mapper.metrics.stand_uncertainty import (
    basal_area_total_sd,
    lorey_height_sd,
    mean_sampling_sd,
    mean_sd,
    quadratic_mean_diameter_sampling_sd,
    quadratic_mean_diameter_sd,
)
from mapper.metrics.stem import (
    basal_area_from_diameter,
    diameter_from_girth,
    diameter_from_stems,
    girth_from_diameter,
    slenderness,
)
from mapper.metrics.uncertainty import (
    basal_area_from_diameter_sd,
    combined_sd,
    diameter_from_girth_sd,
    diameter_from_stems_sd,
    height_from_angles_sd,
    height_from_top_angle_sd,
)

# The page of methods shows them in this order.
__all__ = [  # noqa: RUF022
    "diameter_from_girth",
    "girth_from_diameter",
    "diameter_from_stems",
    "basal_area_from_diameter",
    "height_from_angles",
    "height_from_top_angle",
    "slenderness",
    "rounded_half_up",
    "width_class_lower",
    "interval_index",
    "stems_per_ha",
    "basal_area_per_ha",
    "mean_diameter",
    "quadratic_mean_diameter",
    "mean_height",
    "lorey_height",
    "diameter_from_girth_sd",
    "diameter_from_stems_sd",
    "basal_area_from_diameter_sd",
    "height_from_angles_sd",
    "height_from_top_angle_sd",
    "combined_sd",
    "mean_sd",
    "basal_area_total_sd",
    "quadratic_mean_diameter_sd",
    "lorey_height_sd",
    "mean_sampling_sd",
    "quadratic_mean_diameter_sampling_sd",
]
