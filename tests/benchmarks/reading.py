"""How long a million rows of csv take to read, beside pandas' own pyarrow reader of the same file.

`python tests/benchmarks/reading.py` prints a Markdown table: time on the wall, and of all
processors together, which a busy machine disturbs less. Nothing here is asserted: clocks of shared
machines are no test.
"""

import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from mapper.load import load_records

ROWS = 1_000_000
ROUNDS = 7
ODD = 0.002  # share of cells that someone wrote in another way
SPECIES = ("Quercus robur", "Fagus sylvatica", "Pinus sylvestris", "silver birch", "oak")


def table(clean: bool) -> pd.DataFrame:
    """A believable survey; unless clean, with units, commas, gaps and slips in some cells."""
    draw = np.random.default_rng(20261125)
    days = pd.Timestamp("2020-01-01") + pd.to_timedelta(draw.integers(0, 2000, ROWS), "D")
    columns: dict[str, object] = {
        "tree": np.arange(1, ROWS + 1),
        "stand": draw.choice(["Old Grove", "Pine Rows", "School"], ROWS),
        "species": draw.choice(SPECIES, ROWS),
        "date": days.strftime("%Y-%m-%d"),
        "observer": draw.choice(["A", "B", "C"], ROWS),
        "girth_cm": draw.uniform(20, 300, ROWS).round(1),
        "height_m": draw.uniform(4, 40, ROWS).round(1),
        "lat": draw.uniform(48, 48.1, ROWS).round(6),
        "lon": draw.uniform(16, 16.1, ROWS).round(6),
        "status": draw.choice(["alive", "dead", ""], ROWS),
        "note": draw.choice(["", "ivy", "fork, at 2 m"], ROWS),
    }
    whole = pd.DataFrame(columns)
    if not clean:
        for name, odd in (
            ("girth_cm", "2 m 30"),
            ("height_m", "12,5"),
            ("lat", ""),
            ("tree", " 7"),
        ):
            at = draw.random(ROWS) < ODD
            whole[name] = whole[name].astype(str).mask(at, odd)
    return whole


def best(works: Sequence[Callable[[], object]]) -> list[tuple[float, float]]:
    """The shortest of several runs of each, taken in turns: on the wall, of all processors. [s]"""
    times: list[list[tuple[float, float]]] = [[] for _ in works]
    for _ in range(ROUNDS):
        for work, told in zip(works, times, strict=True):
            wall, processors = time.perf_counter(), time.process_time()
            work()
            told.append((time.perf_counter() - wall, time.process_time() - processors))
    return [(min(wall for wall, _ in told), min(spent for _, spent in told)) for told in times]


def main() -> None:
    print(f"{ROWS:,} rows of 11 columns, best of {ROUNDS}\n")
    print("| table | pandas (pyarrow) | groveplat | ratio | processor time, ratio |")
    print("|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "trees.csv"
        for name in ("clean", "with odd cells"):
            table(name == "clean").to_csv(file, index=False)
            theirs, ours = best(
                [lambda: pd.read_csv(file, engine="pyarrow"), lambda: load_records([file])]
            )
            ratio, spent = (one / other for one, other in zip(ours, theirs, strict=True))
            print(f"| {name} | {theirs[0]:.2f} s | {ours[0]:.2f} s | {ratio:.1f} | {spent:.1f} |")


if __name__ == "__main__":
    main()
