"""The formulas: numbers or arrays in, numbers or arrays out, NaN outside the domain."""

from mapper.metrics.age import (
    age_from_girth_rate,
    age_from_growth_factor,
    age_from_planting_year,
    age_from_rings,
)
from mapper.metrics.angles import (
    elevation_from_per_66,
    elevation_from_percent,
    elevation_from_vertical,
)
from mapper.metrics.biomass import (
    biomass_from_stems,
    biomass_from_stems_sd,
    carbon_dioxide_from_carbon,
    carbon_from_biomass,
)
from mapper.metrics.calibration import age_from_calibration, age_from_calibration_range
from mapper.metrics.calipers import (
    diameter_from_calipers,
    diameter_from_calipers_sd,
    tape_height_over_snow,
)
from mapper.metrics.chance import order_of_ranges, probability_older, student_t
from mapper.metrics.consensus import (
    consensus_sd,
    consensus_spread,
    consensus_value,
    is_slip,
    slip_score,
)
from mapper.metrics.distance import (
    distance_along_ground,
    distance_along_ground_sd,
    distance_from_slope,
    distance_from_slope_sd,
)
from mapper.metrics.growth import (
    basal_area_increment_per_ha,
    basal_area_increment_per_ha_sd,
    has_leapt,
    has_shrunk,
    increment_per_year,
    increment_per_year_sd,
)
from mapper.metrics.height import (
    height_along_ground,
    height_from_angles,
    height_from_mark,
    height_from_slants,
    height_from_slope,
    height_from_top_angle,
)
from mapper.metrics.height_uncertainty import (
    height_along_ground_sd,
    height_from_mark_sd,
    height_from_slants_sd,
    height_from_slope_sd,
)
from mapper.metrics.lean import (
    height_from_lean,
    height_from_lean_sd,
    height_of_fallen_tree,
    stem_length_from_lean,
    stem_length_from_lean_sd,
)
from mapper.metrics.place_accuracy import (
    averaged_place,
    averaged_radius,
    offset_sd,
    radius_from_sd,
    two_tapes_sd,
)
from mapper.metrics.positions import angle_from_two_tapes, distance_to_centre, true_bearing
from mapper.metrics.proportion import (
    height_from_shadow,
    height_from_shadow_sd,
    height_from_stick,
    height_from_stick_sd,
)
from mapper.metrics.repeatability import (
    diameter_tolerance,
    height_tolerance,
    pairs_within,
    repeatability,
    repeatability_sd,
)
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
from mapper.metrics.two_stations import (
    height_from_two_stations,
    height_from_two_stations_and_base,
    height_from_two_stations_and_base_sd,
    height_from_two_stations_sd,
)
from mapper.metrics.uncertainty import (
    basal_area_from_diameter_sd,
    combined_sd,
    diameter_from_girth_sd,
    diameter_from_stems_sd,
    height_from_angles_sd,
    height_from_top_angle_sd,
)
from mapper.metrics.urban import (
    urban_equation_rises,
    urban_prediction,
    urban_prediction_range,
)

# The page of methods shows them in this order.
__all__ = [  # noqa: RUF022
    "diameter_from_girth",
    "girth_from_diameter",
    "diameter_from_stems",
    "diameter_from_calipers",
    "tape_height_over_snow",
    "basal_area_from_diameter",
    "height_from_angles",
    "height_from_top_angle",
    "height_from_slope",
    "height_along_ground",
    "height_from_slants",
    "height_from_mark",
    "height_from_two_stations",
    "height_from_two_stations_and_base",
    "height_from_stick",
    "height_from_shadow",
    "stem_length_from_lean",
    "height_from_lean",
    "height_of_fallen_tree",
    "elevation_from_vertical",
    "elevation_from_percent",
    "elevation_from_per_66",
    "distance_from_slope",
    "distance_along_ground",
    "consensus_value",
    "consensus_spread",
    "slip_score",
    "is_slip",
    "consensus_sd",
    "repeatability",
    "repeatability_sd",
    "pairs_within",
    "diameter_tolerance",
    "height_tolerance",
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
    "diameter_from_calipers_sd",
    "basal_area_from_diameter_sd",
    "height_from_angles_sd",
    "height_from_top_angle_sd",
    "height_from_slope_sd",
    "height_along_ground_sd",
    "height_from_slants_sd",
    "height_from_mark_sd",
    "height_from_two_stations_sd",
    "height_from_two_stations_and_base_sd",
    "height_from_stick_sd",
    "height_from_shadow_sd",
    "stem_length_from_lean_sd",
    "height_from_lean_sd",
    "distance_from_slope_sd",
    "distance_along_ground_sd",
    "combined_sd",
    "mean_sd",
    "basal_area_total_sd",
    "quadratic_mean_diameter_sd",
    "lorey_height_sd",
    "age_from_planting_year",
    "age_from_rings",
    "age_from_calibration",
    "age_from_calibration_range",
    "urban_prediction",
    "urban_prediction_range",
    "urban_equation_rises",
    "age_from_growth_factor",
    "age_from_girth_rate",
    "probability_older",
    "order_of_ranges",
    "student_t",
    "increment_per_year",
    "increment_per_year_sd",
    "basal_area_increment_per_ha",
    "basal_area_increment_per_ha_sd",
    "has_shrunk",
    "has_leapt",
    "biomass_from_stems",
    "biomass_from_stems_sd",
    "carbon_from_biomass",
    "carbon_dioxide_from_carbon",
    "true_bearing",
    "distance_to_centre",
    "angle_from_two_tapes",
    "offset_sd",
    "two_tapes_sd",
    "radius_from_sd",
    "averaged_place",
    "averaged_radius",
    "mean_sampling_sd",
    "quadratic_mean_diameter_sampling_sd",
]
