"""Ways to measure a height: they must agree on one tree, and each must say how far off it may be.

The formulas stand here a second time, as textbooks write them and in plain arithmetic, so that
general software can follow their slopes (`uncertainties`) and their spread (simulation).
"""

from inspect import signature
from math import atan2, cos, degrees, hypot, inf, radians, sin, tan

import numpy as np
import pytest
import uncertainties
from uncertainties import umath

from mapper import metrics

# One tree on a slope, straight and upright: the observer's feet, eye and stations in metres.
HEIGHT = 23.7
AWAY, EYE, RISE = 26.0, 1.6, -2.9  # level distance to the stem; the stem base is 2.9 m lower
BASE, TOP, MARK = RISE - EYE, RISE - EYE + HEIGHT, RISE - EYE + 1.3  # above the eye
FARTHER = 17.0


def seen(rise: float, away: float = AWAY) -> float:
    """Elevation of a point so much higher than the eye. [deg]"""
    return degrees(atan2(rise, away))


class TestOneTree:
    """Every method is given what it would read from this tree, and must find its height."""

    METHODS = {  # noqa: RUF012
        "two angles": lambda: metrics.height_from_angles(AWAY, seen(TOP), seen(BASE)),
        "percent scale": lambda: metrics.height_from_angles(
            AWAY,
            metrics.elevation_from_percent(100 * TOP / AWAY),
            metrics.elevation_from_percent(100 * BASE / AWAY),
        ),
        "topographic scale": lambda: metrics.height_from_angles(
            AWAY,
            metrics.elevation_from_per_66(66 * TOP / AWAY),
            metrics.elevation_from_per_66(66 * BASE / AWAY),
        ),
        "protractor and string": lambda: metrics.height_from_angles(
            AWAY,
            metrics.elevation_from_vertical(degrees(atan2(AWAY, TOP))),
            metrics.elevation_from_vertical(degrees(atan2(AWAY, BASE))),
        ),
        "one angle, level ground": lambda: metrics.height_from_top_angle(
            AWAY, seen(HEIGHT - EYE), EYE
        ),
        "straight to the foot": lambda: metrics.height_from_slope(
            hypot(AWAY, BASE), seen(TOP), seen(BASE)
        ),
        "straight to the foot, in two steps": lambda: metrics.height_from_angles(
            metrics.distance_from_slope(hypot(AWAY, BASE), seen(BASE)), seen(TOP), seen(BASE)
        ),
        "straight to a mark": lambda: (
            metrics.height_from_slope(hypot(AWAY, MARK), seen(TOP), seen(MARK)) + 1.3
        ),
        "tape along the ground": lambda: metrics.height_along_ground(
            hypot(AWAY, RISE), seen(TOP), seen(BASE), EYE
        ),
        "sine": lambda: metrics.height_from_slants(
            hypot(AWAY, TOP), seen(TOP), hypot(AWAY, BASE), seen(BASE)
        ),
        "mark": lambda: metrics.height_from_mark(AWAY, seen(TOP), seen(MARK), 1.3),
        "two stations, level ground": lambda: metrics.height_from_two_stations(
            FARTHER, seen(HEIGHT - EYE), seen(HEIGHT - EYE, AWAY + FARTHER), EYE
        ),
        "two stations and the foot": lambda: metrics.height_from_two_stations_and_base(
            FARTHER, seen(TOP), seen(TOP, AWAY + FARTHER), seen(BASE)
        ),
        # A stick at 60 cm, as long as what it covers there.
        "stick": lambda: metrics.height_from_stick(AWAY, 60 * HEIGHT / AWAY, 60),
        "shadow": lambda: metrics.height_from_shadow(HEIGHT / tan(0.7), 100, 1 / tan(0.7)),
        "lean": lambda: metrics.height_from_lean(hypot(HEIGHT, 4), 4),
        "fallen": lambda: metrics.height_of_fallen_tree(HEIGHT - 0.4, 0.4),
    }

    @pytest.mark.parametrize("method", METHODS)
    def test_every_method_finds_the_height(self, method):
        assert self.METHODS[method]() == pytest.approx(HEIGHT, rel=0, abs=1e-9)

    def test_lean_there_and_back(self):
        length = metrics.stem_length_from_lean(HEIGHT, 4)

        assert metrics.height_from_lean(length, 4) == pytest.approx(HEIGHT, abs=1e-12)
        assert length == pytest.approx(HEIGHT / cos(atan2(4, HEIGHT)))

    def test_a_top_that_hangs_over_fools_the_tangent_and_not_the_sine(self):
        # 3 m towards the observer and 20 m above the eye, from 20 m: the tangent is 17.6 % high.
        top = seen(20, 20 - 3)

        assert metrics.height_from_angles(20, top, 0) == pytest.approx(20 * 20 / 17)
        assert metrics.height_from_slants(hypot(17, 20), top, 20, 0) == pytest.approx(20)

    def test_the_cosine_alone_is_wrong_for_a_tape_on_the_ground(self):
        tape = hypot(AWAY, RISE)

        assert metrics.distance_along_ground(tape, seen(BASE), EYE) == pytest.approx(AWAY)
        assert metrics.distance_from_slope(tape, seen(BASE)) < AWAY - 0.2

    def test_a_tape_on_level_ground_is_the_distance(self):
        assert metrics.distance_along_ground(25, seen(-1.6, 25), 1.6) == pytest.approx(25)

    def test_an_eye_on_the_ground_makes_the_tape_a_line_of_sight(self):
        assert metrics.distance_along_ground(25, -10, 0) == pytest.approx(
            metrics.distance_from_slope(25, -10)
        )


# One sound call of every formula of this file.
SOUND = {
    "diameter_from_calipers": (36, 30),
    "diameter_from_calipers_sd": (36, 30, 0.3),
    "tape_height_over_snow": (1.3, 40),
    "distance_from_slope": (25, -10),
    "distance_from_slope_sd": (25, -10, 0.12, 1),
    "distance_along_ground": (25, -10, 1.6),
    "distance_along_ground_sd": (25, -10, 1.6, 0.12, 0.05, 1),
    "height_from_slope": (25, 30, -10),
    "height_from_slope_sd": (25, 30, -10, 0.12, 1),
    "height_along_ground": (25, 30, -10, 1.6),
    "height_along_ground_sd": (25, 30, -10, 1.6, 0.12, 1),
    "height_from_slants": (30, 40, 24, -4),
    "height_from_slants_sd": (30, 40, 24, -4, 0.5, 1),
    "height_from_mark": (20, 42, -2, 1.3),
    "height_from_mark_sd": (20, 42, -2, 0.12, 1, 0.02),
    "height_from_two_stations": (15, 35, 25, 1.6),
    "height_from_two_stations_sd": (15, 35, 25, 0.12, 1, 0.05),
    "height_from_two_stations_and_base": (15, 35, 25, -3),
    "height_from_two_stations_and_base_sd": (15, 35, 25, -3, 0.12, 1),
    "height_from_stick": (32, 25, 50),
    "height_from_stick_sd": (32, 25, 50, 0.12, 0.5, 2),
    "height_from_shadow": (22, 100, 1.2),
    "height_from_shadow_sd": (22, 100, 1.2, 0.3, 0.5, 0.02),
    "stem_length_from_lean": (18, 3),
    "stem_length_from_lean_sd": (18, 3, 0.5, 0.3),
    "height_from_lean": (18, 3),
    "height_from_lean_sd": (18, 3, 0.2, 0.3),
    "height_of_fallen_tree": (21, 0.3),
}

# Lengths that may be 0, and angles that may be straight up or down.
MAY_BE_0 = {
    "eye_height_m", "mark_height_m", "lean_offset_m", "stump_height_m", "above_snow_m",
    "snow_depth_cm",
}  # fmt: skip
MAY_BE_UPRIGHT = {"height_from_slants", "height_from_slants_sd"}


def inputs(kind):
    """Every input of every formula whose name says that it is of this kind."""
    for name, values in SOUND.items():
        for place, parameter in enumerate(signature(getattr(metrics, name)).parameters):
            is_sd, is_angle = "_sd_" in parameter, parameter.endswith("_deg")
            if kind == ("sd" if is_sd else "angle" if is_angle else "length"):
                yield pytest.param(name, values, place, parameter, id=f"{name}: {parameter}")


class TestEachInput:
    @staticmethod
    def called(name, values, place, value):
        return getattr(metrics, name)(*values[:place], value, *values[place + 1 :])

    @pytest.mark.parametrize(("name", "values", "place", "parameter"), [*inputs("sd")])
    def test_an_uncertainty_is_0_or_more(self, name, values, place, parameter):
        assert not np.isnan(self.called(name, values, place, 0)), parameter
        assert np.isnan(self.called(name, values, place, -0.01))

    @pytest.mark.parametrize(("name", "values", "place", "parameter"), [*inputs("length")])
    def test_a_length_is_above_0_and_ends_somewhere(self, name, values, place, parameter):
        assert np.isnan(self.called(name, values, place, 0)) != (parameter in MAY_BE_0)
        assert np.isnan(self.called(name, values, place, -0.01))
        assert np.isnan(self.called(name, values, place, inf))

    @pytest.mark.parametrize(("name", "values", "place", "parameter"), [*inputs("angle")])
    def test_an_angle_is_short_of_straight_up_and_down(self, name, values, place, parameter):
        for angle in (-90, 90):
            if name not in MAY_BE_UPRIGHT:
                assert np.isnan(self.called(name, values, place, angle)), parameter
            assert np.isnan(self.called(name, values, place, 1.01 * angle))


class TestDomain:
    @pytest.mark.parametrize(
        ("name", "values"),
        [
            ("height_from_slope", (25, -12, -10)),  # top below the foot
            ("height_from_slope", (25, -10, -10)),
            ("height_along_ground", (25, -12, -10, 1.6)),
            ("height_along_ground", (1.6, 30, -10, 1.6)),  # a tape no longer than the eye is high
            ("height_from_slants", (30, -40, 24, -4)),
            ("height_from_slants", (24, -4, 24, -4)),
            ("height_from_mark", (20, -3, -2, 1.3)),
            ("height_from_mark", (20, -2, -2, 1.3)),
            ("height_from_two_stations", (15, 25, 35, 1.6)),  # the stations mixed up
            ("height_from_two_stations", (15, 35, 35, 1.6)),
            ("height_from_two_stations", (15, 35, 0, 1.6)),
            ("height_from_two_stations_and_base", (15, 25, 35, -3)),
            ("height_from_two_stations_and_base", (15, 35, 35, -3)),
            ("height_from_two_stations_and_base", (15, 35, 0, -3)),
            ("height_from_two_stations_and_base", (15, 35, 25, 36)),
            ("height_from_two_stations_and_base", (15, 35, 25, 35)),
            ("height_from_stick", (-32, -25, 50)),
            ("height_from_stick", (-32, 25, -50)),
            ("height_from_stick", (32, -25, -50)),
            ("height_from_shadow", (-22, 100, -1.2)),
            ("height_from_shadow", (-22, -100, 1.2)),
            ("height_from_shadow", (22, -100, -1.2)),
            ("height_from_lean", (3, 3)),
            ("distance_along_ground", (1.6, -10, 1.6)),
            ("elevation_from_vertical", (-1,)),
            ("elevation_from_vertical", (181,)),
            ("elevation_from_percent", (inf,)),
            ("elevation_from_per_66", (-inf,)),
            ("diameter_from_calipers", (-30, -30)),
        ],
    )
    def test_what_cannot_be_gives_nan(self, name, values):
        assert np.isnan(getattr(metrics, name)(*values))

    def test_the_edges_that_can_be(self):
        assert metrics.elevation_from_vertical([0, 180]).tolist() == [90, -90]
        assert metrics.height_from_slants(20, 90, 1.6, -90) == pytest.approx(21.6)
        assert metrics.height_from_mark(20, 45, 0, 0) == pytest.approx(20)
        assert metrics.height_from_lean(18, 0) == 18
        assert metrics.stem_length_from_lean(18, 0) == 18
        assert metrics.height_of_fallen_tree(21, 0) == 21
        assert metrics.tape_height_over_snow(0, 0) == 0
        assert metrics.height_from_two_stations(15, 35, 25, 0) == pytest.approx(20.94, abs=0.005)


class TestCalipers:
    def test_a_round_stem_has_the_diameter_it_has(self):
        assert metrics.diameter_from_calipers(31, 31) == 31

    def test_an_oval_stem_keeps_its_area_and_a_tape_makes_it_larger(self):
        wide, narrow = 36.0, 30.0
        turn = np.linspace(0, 2 * np.pi, 200_001)
        outline = np.hypot(np.diff(wide / 2 * np.cos(turn)), np.diff(narrow / 2 * np.sin(turn)))
        area_m2 = np.pi / 4 * wide * narrow / 1e4

        by_calipers = metrics.diameter_from_calipers(wide, narrow)
        by_tape = metrics.diameter_from_girth(outline.sum())

        assert metrics.basal_area_from_diameter(by_calipers) == pytest.approx(area_m2)
        assert metrics.basal_area_from_diameter(by_tape) == pytest.approx(1.013 * area_m2, rel=1e-3)
        assert (wide + narrow) / 2 == pytest.approx(1.004 * by_calipers, rel=1e-3)


def ground(m, tape, base, eye):
    """The larger root of L² / cos² + 2 * eye * L * tan + eye² - tape² = 0."""
    a, b, c = 1 + m.tan(base) ** 2, 2 * eye * m.tan(base), eye**2 - tape**2
    return (-b + m.sqrt(b**2 - 4 * a * c)) / (2 * a)


# Formulas in plain arithmetic; `m` is numpy or uncertainties.umath, angles are in radians.
PLAIN = {
    "diameter_from_calipers": lambda m, a, b: m.sqrt(a * b),
    "distance_from_slope": lambda m, s, a: s * m.cos(a),
    "distance_along_ground": ground,
    "height_from_slope": lambda m, s, t, b: s * m.cos(b) * m.tan(t) - s * m.sin(b),
    "height_along_ground": lambda m, s, t, b, e: ground(m, s, b, e) * (m.tan(t) - m.tan(b)),
    "height_from_slants": lambda m, u, t, v, b: u * m.sin(t) - v * m.sin(b),
    "height_from_mark": lambda m, s, t, k, h: s * (m.tan(t) - m.tan(k)) + h,
    "height_from_two_stations": lambda m, g, n, f, e: (
        g * m.tan(n) * m.tan(f) / (m.tan(n) - m.tan(f)) + e
    ),
    "height_from_two_stations_and_base": lambda m, g, n, f, b: (
        g * m.tan(f) / (m.tan(n) - m.tan(f)) * (m.tan(n) - m.tan(b))
    ),
    "height_from_stick": lambda m, d, s, a: d * s / a,
    "height_from_shadow": lambda m, t, s, k: t * s / 100 / k,
    "stem_length_from_lean": lambda m, h, o: m.sqrt(h**2 + o**2),
    "height_from_lean": lambda m, s, o: m.sqrt(s**2 - o**2),
}  # fmt: skip


# Each formula's inputs with their uncertainties, which of them are angles, and what it says.
DEGREE = 1.0
SAID = {
    "diameter_from_calipers": (
        [(36, 0.5), (30, 0.5)], (), lambda: metrics.diameter_from_calipers_sd(36, 30, 0.5)
    ),
    "distance_from_slope": (
        [(25, 0.5), (-20, 2)], (1,), lambda: metrics.distance_from_slope_sd(25, -20, 0.5, 2)
    ),
    "distance_along_ground": (
        [(20, 0.4), (12, DEGREE), (1.6, 0.3)], (1,),
        lambda: metrics.distance_along_ground_sd(20, 12, 1.6, 0.4, 0.3, DEGREE),
    ),
    "height_from_slope": (
        [(25, 0.5), (38, DEGREE), (-15, DEGREE)], (1, 2),
        lambda: metrics.height_from_slope_sd(25, 38, -15, 0.5, DEGREE),
    ),
    "height_along_ground": (
        [(20, 0.4), (38, DEGREE), (12, DEGREE), (1.6, 0.3)], (1, 2),
        lambda: metrics.height_along_ground_sd(
            20, 38, 12, 1.6, metrics.distance_along_ground_sd(20, 12, 1.6, 0.4, 0.3, 0), DEGREE
        ),
    ),
    "height_from_slants": (
        [(30, 0.5), (50, DEGREE), (24, 0.5), (-20, DEGREE)], (1, 3),
        lambda: metrics.height_from_slants_sd(30, 50, 24, -20, 0.5, DEGREE),
    ),
    "height_from_mark": (
        [(20, 0.4), (42, DEGREE), (-8, DEGREE), (1.3, 0.3)], (1, 2),
        lambda: metrics.height_from_mark_sd(20, 42, -8, 0.4, DEGREE, 0.3),
    ),
    "height_from_two_stations": (
        [(25, 0.5), (50, 0.5), (28, 0.5), (1.6, 0.3)], (1, 2),
        lambda: metrics.height_from_two_stations_sd(25, 50, 28, 0.5, 0.5, 0.3),
    ),
    "height_from_two_stations_and_base": (
        [(25, 0.5), (50, 0.5), (28, 0.5), (-12, 0.5)], (1, 2, 3),
        lambda: metrics.height_from_two_stations_and_base_sd(25, 50, 28, -12, 0.5, 0.5),
    ),
    "height_from_stick": (
        [(32, 0.8), (25, 0.6), (50, 1.2)], (),
        lambda: metrics.height_from_stick_sd(32, 25, 50, 0.8, 0.6, 1.2),
    ),
    "height_from_shadow": (
        [(22, 0.5), (100, 2), (1.2, 0.03)], (),
        lambda: metrics.height_from_shadow_sd(22, 100, 1.2, 0.5, 2, 0.03),
    ),
    "stem_length_from_lean": (
        [(12, 0.4), (9, 0.6)], (), lambda: metrics.stem_length_from_lean_sd(12, 9, 0.4, 0.6)
    ),
    "height_from_lean": (
        [(15, 0.3), (8, 0.4)], (), lambda: metrics.height_from_lean_sd(15, 8, 0.3, 0.4)
    ),
}  # fmt: skip


class TestUncertainty:
    # As in test_physics.py: 40,000 draws know a standard deviation to 0.35 %.
    DRAWS, BAND = 40_000, 0.02

    def test_every_uncertainty_of_a_height_is_held_to_something(self):
        of_heights = {name for name in metrics.__all__ if name.startswith(("height_", "distance_"))}
        elsewhere = {"height_from_angles_sd", "height_from_top_angle_sd"}  # test_physics.py
        formulas = {f"{name}_sd" for name in SAID}

        assert {name for name in of_heights if name.endswith("_sd")} - elsewhere <= formulas

    @pytest.mark.parametrize("name", SAID)
    def test_the_formula_is_what_the_textbook_says(self, name):
        inputs, angles, _ = SAID[name]
        values = [value for value, _ in inputs]
        plain = [radians(v) if i in angles else v for i, v in enumerate(values)]

        assert getattr(metrics, name)(*values) == pytest.approx(PLAIN[name](np, *plain), rel=1e-12)

    @pytest.mark.parametrize("name", SAID)
    def test_the_slopes_are_those_of_automatic_differentiation(self, name):
        inputs, angles, said = SAID[name]
        real = [
            uncertainties.ufloat(radians(v), radians(s)) if i in angles
            else uncertainties.ufloat(v, s)
            for i, (v, s) in enumerate(inputs)
        ]  # fmt: skip

        assert said() == pytest.approx(PLAIN[name](umath, *real).s)

    @pytest.mark.parametrize("name", SAID)
    def test_it_spreads_as_said(self, name):
        random = np.random.default_rng(31)
        inputs, _, said = SAID[name]

        drawn = getattr(metrics, name)(*(random.normal(v, s, self.DRAWS) for v, s in inputs))

        assert said() == pytest.approx(drawn.std(), rel=self.BAND)

    @pytest.mark.parametrize(
        ("name", "values"),
        [
            ("height_from_slope_sd", (25, -20, -15, 0.5, 1)),
            ("height_from_slope_sd", (25, -15, -15, 0.5, 1)),
            ("height_along_ground_sd", (20, 10, 12, 1.6, 0.4, 1)),
            ("height_along_ground_sd", (20, 12, 12, 1.6, 0.4, 1)),
            ("height_along_ground_sd", (1.6, 38, 12, 1.6, 0.4, 1)),
            ("height_from_slants_sd", (30, -50, 24, -20, 0.5, 1)),
            ("height_from_slants_sd", (24, -20, 24, -20, 0.5, 1)),
            ("height_from_mark_sd", (20, -9, -8, 0.4, 1, 0.3)),
            ("height_from_mark_sd", (20, -8, -8, 0.4, 1, 0.3)),
            ("height_from_two_stations_sd", (25, 28, 50, 0.5, 0.5, 0.3)),
            ("height_from_two_stations_sd", (25, 28, 28, 0.5, 0.5, 0.3)),
            ("height_from_two_stations_sd", (25, 50, 0, 0.5, 0.5, 0.3)),
            ("height_from_two_stations_and_base_sd", (25, 50, 28, 51, 0.5, 0.5)),
            ("height_from_two_stations_and_base_sd", (25, 50, 28, 50, 0.5, 0.5)),
            ("distance_along_ground_sd", (1.6, 12, 1.6, 0.4, 0.3, 1)),
            ("height_from_lean_sd", (15, 15, 0.3, 0.4)),
            ("diameter_from_calipers_sd", (-36, -30, 0.5)),
        ],
    )
    def test_no_uncertainty_of_what_cannot_be(self, name, values):
        assert np.isnan(getattr(metrics, name)(*values))

    def test_the_base_angle_is_counted_through_distance_and_height_at_once(self):
        # In two steps, as if the level distance and the angle had nothing in common.
        distance = metrics.distance_from_slope(25, -30)
        distance_sd = metrics.distance_from_slope_sd(25, -30, 0, 1)
        apart = metrics.height_from_angles_sd(distance, 40, -30, distance_sd, 1)

        assert metrics.height_from_slope_sd(25, 40, -30, 0, 1) < 0.95 * apart

    def test_first_order_fails_where_the_stations_are_too_near(self):
        random = np.random.default_rng(32)
        near, far = random.normal([[35], [33]], 0.5, (2, self.DRAWS))
        drawn = metrics.height_from_two_stations(2, near, far, 1.6)
        middle = np.subtract(*np.nanpercentile(drawn, [84.13, 15.87])) / 2

        assert metrics.height_from_two_stations_sd(2, 35, 33, 0, 0.5, 0) < 0.95 * middle

    def test_two_calipers_readings_are_better_than_one(self):
        assert metrics.diameter_from_calipers_sd(30, 30, 0.3) == pytest.approx(0.3 / 2**0.5)

    def test_slants_near_the_vertical_hang_on_the_distance_alone(self):
        assert metrics.height_from_slants_sd(20, 90, 1.6, -90, 0.3, 5) == pytest.approx(
            0.3 * 2**0.5
        )
        assert sin(radians(90)) == 1
