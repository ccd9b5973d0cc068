"""Each way to a height: the formula, its uncertainty, and what goes in where."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from mapper import metrics
from mapper.load.names import value_name
from mapper.measure.inputs import ASSUMED, Floats, input_sds
from mapper.reference.height_methods import METHODS

# What an instrument's name says, the first that fits: a phone's clinometer is a phone.
INSTRUMENTS = {
    "phone|app|smartphone": "phone",
    "protractor|straw|home": "protractor",
    "clinometer|hypsometer": "clinometer",
}


@dataclass(frozen=True)
class HeightFormula:
    """Functions and the names of what they are given, in their order."""

    height: Callable[..., Floats]
    inputs: tuple[str, ...]
    sd: Callable[..., Floats]
    sd_inputs: tuple[str, ...]


def _typed(amount: Floats) -> Floats:
    return amount


def _fallen(length_m: Floats) -> Floats:
    """The length counts from the ground line: no heading asks for a stump."""
    return metrics.height_of_fallen_tree(length_m, 0.0)


def _mark_on_slope(slope: Floats, top: Floats, mark: Floats, mark_height: Floats) -> Floats:
    """Above the mark as above a foot, with the mark's own height below it."""
    return np.asarray(metrics.height_from_slope(slope, top, mark) + mark_height)


def _mark_on_slope_sd(*given: Floats) -> Floats:
    *slope, mark_height_sd = given
    return metrics.combined_sd(metrics.height_from_slope_sd(*slope), mark_height_sd)


def _along_ground_sd(*given: Floats) -> Floats:
    tape, top, base, eye, tape_sd, eye_sd, angle_sd = given
    distance_sd = metrics.distance_along_ground_sd(tape, base, eye, tape_sd, eye_sd, 0.0)
    return metrics.height_along_ground_sd(tape, top, base, eye, distance_sd, angle_sd)


TWO = ("baseline_m", "angle_top_deg", "angle_base_deg")
GROUND = (*TWO, "eye_height_m")
ONE = ("baseline_m", "angle_top_deg")
SLANTS = ("slant_top_m", "angle_top_deg", "slant_base_m", "angle_base_deg")
MARK = ("baseline_m", "angle_top_deg", "angle_mark_deg")
STATIONS = ("station_gap_m", "near_deg", "far_deg")
STICK = ("baseline_m", "stick_length_cm", "arm_length_cm")
SHADOW = ("tree_shadow_m", "stick_length_cm", "stick_shadow_m")

FORMULAS: Mapping[tuple[str, str], HeightFormula] = {
    ("fallen taped", "height_of_fallen_tree"): HeightFormula(
        _fallen, ("length_m",), _typed, ("length_sd",)
    ),
    ("sine", "height_from_slants"): HeightFormula(
        metrics.height_from_slants,
        SLANTS,
        metrics.height_from_slants_sd,
        (*SLANTS, "slant_sd", "angle_sd"),
    ),
    ("two angles", "height_from_angles"): HeightFormula(
        metrics.height_from_angles,
        TWO,
        metrics.height_from_angles_sd,
        (*TWO, "baseline_sd", "angle_sd"),
    ),
    ("two angles", "height_from_slope"): HeightFormula(
        metrics.height_from_slope,
        TWO,
        metrics.height_from_slope_sd,
        (*TWO, "baseline_sd", "angle_sd"),
    ),
    ("two angles", "height_along_ground"): HeightFormula(
        metrics.height_along_ground,
        GROUND,
        _along_ground_sd,
        (*GROUND, "baseline_sd", "eye_height_sd", "angle_sd"),
    ),
    ("mark", "height_from_mark"): HeightFormula(
        metrics.height_from_mark,
        (*MARK, "mark_height_m"),
        metrics.height_from_mark_sd,
        (*MARK, "baseline_sd", "angle_sd", "mark_height_sd"),
    ),
    ("mark", "height_from_slope"): HeightFormula(
        _mark_on_slope,
        (*MARK, "mark_height_m"),
        _mark_on_slope_sd,
        (*MARK, "baseline_sd", "angle_sd", "mark_height_sd"),
    ),
    ("two stations", "height_from_two_stations_and_base"): HeightFormula(
        metrics.height_from_two_stations_and_base,
        (*STATIONS, "angle_base_deg"),
        metrics.height_from_two_stations_and_base_sd,
        (*STATIONS, "angle_base_deg", "station_gap_sd", "angle_sd"),
    ),
    ("one angle", "height_from_top_angle"): HeightFormula(
        metrics.height_from_top_angle,
        (*ONE, "eye_height_m"),
        metrics.height_from_top_angle_sd,
        (*ONE, "eye_height_sd", "baseline_sd", "angle_sd"),
    ),
    ("two stations", "height_from_two_stations"): HeightFormula(
        metrics.height_from_two_stations,
        (*STATIONS, "eye_height_m"),
        metrics.height_from_two_stations_sd,
        (*STATIONS, "station_gap_sd", "angle_sd", "eye_height_sd"),
    ),
    ("stick", "height_from_stick"): HeightFormula(
        metrics.height_from_stick,
        STICK,
        metrics.height_from_stick_sd,
        (*STICK, "baseline_sd", "stick_length_sd", "arm_length_sd"),
    ),
    ("shadow", "height_from_shadow"): HeightFormula(
        metrics.height_from_shadow,
        SHADOW,
        metrics.height_from_shadow_sd,
        (*SHADOW, "tree_shadow_sd", "stick_length_sd", "stick_shadow_sd"),
    ),
    ("reported", ""): HeightFormula(_typed, ("height_m",), _typed, ("height_sd",)),
    ("by eye", ""): HeightFormula(_typed, ("height_m",), _typed, ("height_sd",)),
}


def amounts(values: pd.DataFrame) -> dict[str, Floats]:
    """Everything a height may be computed from; of two stations the nearer one looks up more."""
    names = dict.fromkeys(value_name(name) for method in METHODS for name in method.needs)
    read = {name: values[name].to_numpy(dtype=float) for name in names}
    first, second = read["angle_top_deg"], read["angle_top_2_deg"]
    return {**read, "near_deg": np.maximum(first, second), "far_deg": np.minimum(first, second)}


def spreads_of(
    values: pd.DataFrame, known: Mapping[str, Floats]
) -> tuple[dict[str, Floats], dict[str, Floats]]:
    """How sure each input is, by name: the whole, and what trees have in common of it."""
    baseline = values["baseline_method"].replace("", ASSUMED["baseline"])
    unsaid = pd.Series("", index=values.index, dtype=str)
    methods = {
        "angle": ("angle_top_deg", _angle_methods(values["instrument"])),
        "baseline": ("baseline_m", baseline),
        "station_gap": ("station_gap_m", baseline),
        "slant": ("slant_top_m", values["baseline_method"].replace("paced", "")),
        "eye_height": ("eye_height_m", unsaid),
        "mark_height": ("mark_height_m", unsaid),
        "stick_length": ("stick_length_cm", unsaid),
        "arm_length": ("arm_length_cm", unsaid),
        "tree_shadow": ("tree_shadow_m", unsaid),
        "stick_shadow": ("stick_shadow_m", unsaid),
        "length": ("length_m", unsaid),
        "height": ("height_m", _height_methods(values["height_method"])),
    }
    both = {
        f"{quantity}_sd": input_sds(quantity, how, known[name])
        for quantity, (name, how) in methods.items()
    }
    return (
        {name: total for name, (total, _) in both.items()},
        {name: shared for name, (_, shared) in both.items()},
    )


def _angle_methods(instruments: "pd.Series[str]") -> "pd.Series[str]":
    """The kind of instrument that its name tells; "" where it tells none."""
    texts = instruments.drop_duplicates()
    words = texts.str.casefold()
    told = pd.Series("", index=texts.index, dtype=str)
    for pattern, kind in INSTRUMENTS.items():
        told = told.mask((told == "") & words.str.contains(pattern), kind)
    return instruments.map(dict(zip(texts, told, strict=True)))


def _height_methods(methods: "pd.Series[str]") -> "pd.Series[str]":
    """A typed height is a reading of whatever is named; by eye, or unsaid, nobody knows."""
    return methods.where(methods.isin(["", "by eye"]), "reported")
