"""Seconds to find the heights of a million records, and what is unfinished about them.

python tests/benchmarks/heights.py [records]
"""

import sys
import time
from collections.abc import Callable

import numpy as np
import pandas as pd

from mapper.check.heights import unfinished
from mapper.load.table import completed
from mapper.measure.heights import measure_heights


def records(count: int) -> pd.DataFrame:
    """Two angles, one angle, half of what a height needs, and typed heights; drawn by a seed."""
    draw = np.random.default_rng(1)
    kind = draw.integers(0, 5, count)
    sighted = kind < 4
    values = {
        "file": 1,
        "row": np.arange(count),
        "sheet": "",
        "baseline_m": np.where(sighted, draw.uniform(10, 30, count), np.nan),
        "angle_top_deg": np.where(sighted, draw.uniform(20, 50, count), np.nan),
        "angle_base_deg": np.where(kind < 2, draw.uniform(-10, 0, count), np.nan),
        "eye_height_m": np.where(kind == 2, 1.6, np.nan),
        "height_m": np.where(kind == 4, 20.0, np.nan),
        "height_method": np.where(kind == 4, "reported", ""),
        "instrument": np.where(kind < 2, "clinometer", ""),
    }
    return completed(pd.DataFrame(values))


def seconds(work: Callable[[pd.DataFrame], object], values: pd.DataFrame) -> float:
    """The best of three runs."""
    times = []
    for _ in range(3):
        start = time.perf_counter()
        work(values)
        times.append(time.perf_counter() - start)
    return min(times)


if __name__ == "__main__":
    most = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    for count in (most // 10, most):
        values = records(count)
        measured, looked = (seconds(work, values) for work in (measure_heights, unfinished))
        print(f"{count:>9,} records: measured in {measured:.2f} s, unfinished in {looked:.2f} s")
