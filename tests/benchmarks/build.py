"""How long a whole build takes and how much memory, stage by stage, beside what a machine needs.

`python tests/benchmarks/build.py [SIZE …]` makes a survey of each size (`surveys.py`: 200 stands
with outlines) and prints a Markdown table. Each build is a process of its own, so that its memory
is its own; processor time says more than the wall on a busy machine. The baselines are measured in
the same run: pandas reading the table, the bare formulas in numpy, pyarrow writing the table, and
folium's plain map at small sizes. Nothing here is asserted.
"""

import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.csv

sys.path.insert(0, str(Path(__file__).parent))
from surveys import write_survey

SIZES = (1_000, 10_000, 100_000)
MOST_FOR_FOLIUM = 10_000
STAGES = ("Reading the records", "Checking", "Measuring", "Summarising", "Drawing the sheets")
MEGABYTE = 1e6


def one_build(folder: Path) -> dict[str, list[float]]:
    """For each stage its wall time, processor time and the memory's peak so far. [s, s, MB]"""
    from mapper.line import published, run_checks
    from mapper.render import build_site
    from mapper.survey import read_survey

    told: dict[str, list[float]] = {}
    since = [time.perf_counter(), time.process_time()]
    running = "settings"

    def tell(stage: str) -> None:
        nonlocal running
        now = [time.perf_counter(), time.process_time()]
        told[running] = [now[0] - since[0], now[1] - since[1], _peak_mb()]
        since[:], running = now, stage

    survey = read_survey([folder / "trees.csv"], folder / "stands.geojson", True, "")
    line = run_checks(survey, tell)
    tell("Summarising")
    results = published(line)
    tell("Drawing the sheets")
    build_site(results, folder / "site")
    tell("done")
    return told


def _peak_mb() -> float:
    """The most memory that this process ever held; Linux tells kilobytes, macOS bytes."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (MEGABYTE if sys.platform == "darwin" else 1e3)


def timed(work: Callable[[], object]) -> float:
    """Processor time of one run. [s]"""
    start = time.process_time()
    work()
    return time.process_time() - start


def baselines(folder: Path) -> dict[str, float]:
    """What nothing can do without, and what a script with folium takes. [s of processors]"""
    file = folder / "trees.csv"
    table = pd.read_csv(file)
    arrow = pa.Table.from_pandas(table)
    found = {
        "pandas reads the table": timed(lambda: pd.read_csv(file)),
        "bare formulas": timed(lambda: _formulas(table)),
        "pyarrow writes the table": timed(
            lambda: pyarrow.csv.write_csv(arrow, folder / "copy.csv")
        ),
    }
    if len(table) <= MOST_FOR_FOLIUM:
        found["plain folium map"] = timed(lambda: _folium(table, folder / "plain.html"))
    return found


def _formulas(table: pd.DataFrame) -> list[object]:
    """Diameter, basal area, slenderness, and the sums of each stand."""
    girth, height = table["girth_cm"].to_numpy(), table["height_m"].to_numpy()
    diameter = girth / np.pi
    basal = np.pi / 4 * (diameter / 100) ** 2
    stand = pd.factorize(table["stand"])[0]
    return [np.bincount(stand, basal), np.bincount(stand, height), height / diameter]


def _folium(table: pd.DataFrame, file: Path) -> None:
    import folium

    sheet = folium.Map([table["lat"].mean(), table["lon"].mean()], tiles=None)
    columns = ["tree", "species", "girth_cm", "height_m", "lat", "lon"]
    for tree, species, girth, height, lat, lon in table[columns].itertuples(index=False):
        words = f"{tree}: {species}, {girth} cm, {height} m"
        folium.CircleMarker([lat, lon], radius=3, popup=words).add_to(sheet)
    sheet.save(str(file))


def megabytes(folder: Path, *patterns: str) -> float:
    """Size of the files that any of the patterns names. [MB]"""
    files = {file for pattern in patterns for file in folder.rglob(pattern) if file.is_file()}
    return sum(file.stat().st_size for file in files) / MEGABYTE


def in_a_process(folder: Path) -> dict[str, list[float]]:
    """One build in a process of its own."""
    done = subprocess.run(
        [sys.executable, __file__, "--one", str(folder)], capture_output=True, text=True, check=True
    )
    told: dict[str, list[float]] = json.loads(done.stdout)
    return told


def main(sizes: list[int]) -> None:
    heads = [*STAGES, "all, processor", "all, wall", "peak", "site", "downloads"]
    print("| trees | " + " | ".join(heads) + " |\n" + "|---" * (len(heads) + 1) + "|")
    beside = []
    for size in sizes:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            write_survey(folder, size)
            told = in_a_process(folder)
            times = [f"{told[stage][1]:.1f} s" for stage in STAGES]
            wall, spent = (sum(stage[n] for stage in told.values()) for n in (0, 1))
            peak = max(stage[2] for stage in told.values())
            data = folder / "site" / "data"
            files = megabytes(data, "*.csv", "*.geojson", "*.gpkg", "*.parquet", "*.zip")
            whole = megabytes(folder / "site", "*")
            cells = [*times, f"{spent:.1f} s", f"{wall:.1f} s", f"{peak:,.0f} MB"]
            cells += [f"{whole:,.0f} MB", f"{files:,.0f} MB"]
            print(f"| {size:,} | " + " | ".join(cells) + " |", flush=True)
            beside.append((size, baselines(folder)))
    print("\nBeside it, processor time in the same run:\n\n| trees | work | s |\n|---|---|---|")
    for size, found in beside:
        for work, spent in found.items():
            print(f"| {size:,} | {work} | {spent:.3f} |")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        print(json.dumps(one_build(Path(sys.argv[2]))))
    else:
        main([int(size) for size in sys.argv[1:]] or list(SIZES))
