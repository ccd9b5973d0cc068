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
from mapper.metrics.curve import naslund_fit, naslund_height
from mapper.metrics.distance import (
    distance_along_ground,
    distance_along_ground_sd,
    distance_from_slope,
    distance_from_slope_sd,
)
from mapper.metrics.diversity import (
    evenness,
    gini_basal_area,
    importance_value,
    shannon,
    simpson,
)
from mapper.metrics.edges import mirage_count, walkthrough_count
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
from mapper.metrics.hull import hull_margin, widened_area
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
from mapper.metrics.sampling import (
    area_of_slope,
    interval_factor,
    limiting_distance,
    ratio_of_totals,
    ratio_of_totals_sd,
    stratified_mean,
    stratified_sd,
    trees_per_ha_of_angle_count,
    trees_per_ha_of_plot,
)
from mapper.metrics.size_classes import interval_index, rounded_half_up, width_class_lower
from mapper.metrics.spacing import (
    clark_evans,
    clark_evans_donnelly,
    clark_evans_z,
    nearest_distance_edge,
    ripley_l,
)
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

# The page of methods shows them in this order.
from mapper.metrics.structure import (
    relative_spacing,
    stand_density_index,
    stand_density_index_summed,
    top_height,
)
from mapper.metrics.structure_uncertainty import (
    gini_basal_area_sd,
    relative_spacing_sd,
    stand_density_index_sd,
    stand_density_index_summed_sd,
    top_height_sd,
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

__all__ = [
    "age_from_calibration",
    "age_from_calibration_range",
    "age_from_girth_rate",
    "age_from_growth_factor",
    "age_from_planting_year",
    "age_from_rings",
    "angle_from_two_tapes",
    "area_of_slope",
    "averaged_place",
    "averaged_radius",
    "basal_area_from_diameter",
    "basal_area_from_diameter_sd",
    "basal_area_increment_per_ha",
    "basal_area_increment_per_ha_sd",
    "basal_area_per_ha",
    "basal_area_total_sd",
    "biomass_from_stems",
    "biomass_from_stems_sd",
    "carbon_dioxide_from_carbon",
    "carbon_from_biomass",
    "clark_evans",
    "clark_evans_donnelly",
    "clark_evans_z",
    "combined_sd",
    "consensus_sd",
    "consensus_spread",
    "consensus_value",
    "diameter_from_calipers",
    "diameter_from_calipers_sd",
    "diameter_from_girth",
    "diameter_from_girth_sd",
    "diameter_from_stems",
    "diameter_from_stems_sd",
    "diameter_tolerance",
    "distance_along_ground",
    "distance_along_ground_sd",
    "distance_from_slope",
    "distance_from_slope_sd",
    "distance_to_centre",
    "elevation_from_per_66",
    "elevation_from_percent",
    "elevation_from_vertical",
    "evenness",
    "gini_basal_area",
    "gini_basal_area_sd",
    "girth_from_diameter",
    "has_leapt",
    "has_shrunk",
    "height_along_ground",
    "height_along_ground_sd",
    "height_from_angles",
    "height_from_angles_sd",
    "height_from_lean",
    "height_from_lean_sd",
    "height_from_mark",
    "height_from_mark_sd",
    "height_from_shadow",
    "height_from_shadow_sd",
    "height_from_slants",
    "height_from_slants_sd",
    "height_from_slope",
    "height_from_slope_sd",
    "height_from_stick",
    "height_from_stick_sd",
    "height_from_top_angle",
    "height_from_top_angle_sd",
    "height_from_two_stations",
    "height_from_two_stations_and_base",
    "height_from_two_stations_and_base_sd",
    "height_from_two_stations_sd",
    "height_of_fallen_tree",
    "height_tolerance",
    "hull_margin",
    "importance_value",
    "increment_per_year",
    "increment_per_year_sd",
    "interval_factor",
    "interval_index",
    "is_slip",
    "limiting_distance",
    "lorey_height",
    "lorey_height_sd",
    "mean_diameter",
    "mean_height",
    "mean_sampling_sd",
    "mean_sd",
    "mirage_count",
    "naslund_fit",
    "naslund_height",
    "nearest_distance_edge",
    "offset_sd",
    "order_of_ranges",
    "pairs_within",
    "probability_older",
    "quadratic_mean_diameter",
    "quadratic_mean_diameter_sampling_sd",
    "quadratic_mean_diameter_sd",
    "radius_from_sd",
    "ratio_of_totals",
    "ratio_of_totals_sd",
    "relative_spacing",
    "relative_spacing_sd",
    "repeatability",
    "repeatability_sd",
    "ripley_l",
    "rounded_half_up",
    "shannon",
    "simpson",
    "slenderness",
    "slip_score",
    "stand_density_index",
    "stand_density_index_sd",
    "stand_density_index_summed",
    "stand_density_index_summed_sd",
    "stem_length_from_lean",
    "stem_length_from_lean_sd",
    "stems_per_ha",
    "stratified_mean",
    "stratified_sd",
    "student_t",
    "tape_height_over_snow",
    "top_height",
    "top_height_sd",
    "trees_per_ha_of_angle_count",
    "trees_per_ha_of_plot",
    "true_bearing",
    "two_tapes_sd",
    "urban_equation_rises",
    "urban_prediction",
    "urban_prediction_range",
    "walkthrough_count",
    "widened_area",
    "width_class_lower",
]
