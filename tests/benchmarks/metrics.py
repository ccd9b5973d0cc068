"""How long the formulas take on a million trees, beside the same arithmetic in bare numpy.

`python tests/benchmarks/metrics.py` prints a Markdown table. Nothing here is asserted: clocks of
shared machines are no test.
"""

import sys
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from mapper import metrics

Floats = NDArray[np.float64]
ROUNDS = 5


def tables(count: int) -> dict[str, Floats]:
    """Sound values for every input."""
    draw = np.random.default_rng(20261125).uniform
    ranges = {
        "girth": (20, 300), "diameter": (6, 95), "other": (6, 95), "height": (4, 40),
        "distance": (10, 40), "top": (20, 50), "base": (-12, -2), "mark": (-1, 1),
        "eye": (1.4, 1.8),
        "far": (12, 19), "gap": (5, 20), "stick": (20, 60), "arm": (50, 70), "shadow": (5, 40),
        "sd": (0.05, 0.3), "later": (100, 110), "days": (360, 1800),
    }  # fmt: skip
    return {name: draw(low, high, count) for name, (low, high) in ranges.items()}


def pairs(t: dict[str, Floats]) -> dict[str, tuple[Callable[[], object], Callable[[], object]]]:
    """Formula and bare arithmetic by name."""
    m, rad = metrics, np.radians
    return {
        "diameter_from_girth": (
            lambda: m.diameter_from_girth(t["girth"]), lambda: t["girth"] / np.pi),
        "basal_area_from_diameter": (
            lambda: m.basal_area_from_diameter(t["diameter"]),
            lambda: np.pi / 4 * (t["diameter"] / 100) ** 2),
        "slenderness": (
            lambda: m.slenderness(t["height"], t["diameter"]),
            lambda: t["height"] / (t["diameter"] / 100)),
        "diameter_from_calipers": (
            lambda: m.diameter_from_calipers(t["diameter"], t["other"]),
            lambda: np.sqrt(t["diameter"] * t["other"])),
        "height_from_angles": (
            lambda: m.height_from_angles(t["distance"], t["top"], t["base"]),
            lambda: t["distance"] * (np.tan(rad(t["top"])) - np.tan(rad(t["base"])))),
        "height_from_top_angle": (
            lambda: m.height_from_top_angle(t["distance"], t["top"], t["eye"]),
            lambda: t["distance"] * np.tan(rad(t["top"])) + t["eye"]),
        "height_from_slope": (
            lambda: m.height_from_slope(t["distance"], t["top"], t["base"]),
            lambda: t["distance"] * np.cos(rad(t["base"]))
            * (np.tan(rad(t["top"])) - np.tan(rad(t["base"])))),
        "height_from_slants": (
            lambda: m.height_from_slants(t["distance"], t["top"], t["distance"], t["base"]),
            lambda: t["distance"] * np.sin(rad(t["top"]))
            - t["distance"] * np.sin(rad(t["base"]))),
        "height_from_mark": (
            lambda: m.height_from_mark(t["distance"], t["top"], t["mark"], t["eye"]),
            lambda: t["distance"] * (np.tan(rad(t["top"])) - np.tan(rad(t["mark"]))) + t["eye"]),
        "height_from_two_stations": (
            lambda: m.height_from_two_stations(t["gap"], t["top"], t["far"], t["eye"]),
            lambda: t["gap"] * np.tan(rad(t["top"])) * np.tan(rad(t["far"]))
            / (np.tan(rad(t["top"])) - np.tan(rad(t["far"]))) + t["eye"]),
        "height_from_stick": (
            lambda: m.height_from_stick(t["distance"], t["stick"], t["arm"]),
            lambda: t["distance"] * t["stick"] / t["arm"]),
        "height_from_shadow": (
            lambda: m.height_from_shadow(t["shadow"], t["stick"], t["eye"]),
            lambda: t["shadow"] * t["stick"] / 100 / t["eye"]),
        "height_from_angles_sd": (
            lambda: m.height_from_angles_sd(t["distance"], t["top"], t["base"], t["sd"], 1.2),
            lambda: np.sqrt(
                ((np.tan(rad(t["top"])) - np.tan(rad(t["base"]))) * t["sd"]) ** 2
                + (t["distance"] / np.cos(rad(t["top"])) ** 2 * rad(1.2)) ** 2
                + (t["distance"] / np.cos(rad(t["base"])) ** 2 * rad(1.2)) ** 2)),
        "increment_per_year": (
            lambda: m.increment_per_year(t["girth"], t["later"], t["days"]),
            lambda: (t["later"] - t["girth"]) / (t["days"] / 365.25)),
        "rounded_half_up": (
            lambda: m.rounded_half_up(t["diameter"], 2),
            lambda: np.floor(t["diameter"] * 100 + 0.5) / 100),
        "quadratic_mean_diameter": (
            lambda: m.quadratic_mean_diameter(t["diameter"]),
            lambda: np.sqrt(np.mean(t["diameter"] ** 2))),
        "lorey_height": (
            lambda: m.lorey_height(t["diameter"], t["height"]),
            lambda: np.sum(t["diameter"] * t["height"]) / np.sum(t["diameter"])),
    }  # fmt: skip


def seconds(call: Callable[[], object]) -> float:
    """The median of some rounds, after one that is not counted."""
    call()
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def main(count: int) -> None:
    print(f"{count:,} trees, median of {ROUNDS} rounds, numpy {np.__version__}\n")
    print("| formula | ms | bare numpy ms | times |\n|---|---|---|---|")
    total = np.zeros(2)
    for name, calls in pairs(tables(count)).items():
        taken = np.array([seconds(call) * 1000 for call in calls])
        total += taken
        print(f"| {name} | {taken[0]:.1f} | {taken[1]:.1f} | {taken[0] / taken[1]:.1f} |")
    print(f"| all together | {total[0]:.0f} | {total[1]:.0f} | {total[0] / total[1]:.1f} |")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
