"""Builds that are killed at random moments: is the published site always a whole one?

`python tests/benchmarks/kill.py [ROUNDS]` publishes two surveys to one folder in turns, kills the
build after a random time, and holds every file against what either survey's site must be. POSIX
only, for it forks. The number of kills that met each site is printed; a broken site ends it.
"""

import hashlib
import os
import random
import signal
import sys
import tempfile
import time
from pathlib import Path

from mapper.line import survey_results
from mapper.render import build_site
from mapper.summarise import Results
from mapper.survey import Survey

ROUNDS, SEED = 50, 20261128
BUILDS = 3  # at most so many are done before the kill, as long as one takes here and now


def digests(site: Path) -> dict[str, str]:
    """What each file holds."""
    return {
        str(path.relative_to(site)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(site.rglob("*"))
        if path.is_file()
    }


def made_up(folder: Path, trees: int) -> Results:
    """A survey of a few trees."""
    table = folder / f"{trees}.csv"
    rows = [f"{n},Fagus sylvatica,2026-05-0{n},{90 + n},48.{n},16.1" for n in range(1, trees + 1)]
    table.write_text("\n".join(["tree,species,date,girth_cm,lat,lon", *rows]), encoding="utf-8")
    return survey_results(Survey(title=f"{trees} trees", record_files=(table,)))


def build_until_killed(sites: list[Results], out: Path) -> None:
    """One site over the other, without end."""
    while True:
        for results in reversed(sites):
            build_site(results, out)


def main(rounds: int) -> None:
    draw = random.Random(SEED)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sites = [made_up(folder, trees) for trees in (3, 5)]
        for number, results in enumerate(sites):
            build_site(results, folder / f"whole-{number}")
        whole = [digests(folder / f"whole-{number}") for number in range(len(sites))]
        out = folder / "site"
        start = time.perf_counter()
        build_site(sites[0], out)
        longest_s = BUILDS * (time.perf_counter() - start)
        met = [0, 0]
        for _ in range(rounds):
            child = os.fork()
            if child == 0:
                build_until_killed(sites, out)
            time.sleep(draw.uniform(0, longest_s))
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            found = digests(out)
            if found not in whole:
                sys.exit(f"A kill left a broken site: {len(found)} files.")
            met[whole.index(found)] += 1
    print(f"{rounds} kills, no broken site: {met[0]} times the one, {met[1]} times the other")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else ROUNDS)
