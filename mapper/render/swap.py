"""Replace a published site in one step, or leave the old one alone."""

import glob
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from mapper.errors import InputError
from mapper.render.exchange import exchanged

MARKER = ".groveplat-site"
BUILDING = ".building"  # the end of the name of the folder in which a site is built
DAY_S = 86_400
# Desktop programs drop these into any folder they show; they are nobody's work.
DESKTOP_FILES = {".DS_Store", "Thumbs.db", "desktop.ini"}


@contextmanager
def replaced_site(out: Path) -> Iterator[Path]:
    """An empty folder to write a site into; it takes the place of `out` when the block ends well.

    Raises
    ------
    InputError
        When `out` is a file, or a folder holding anything that no earlier build wrote.
    """
    out = out.resolve()  # behind a link, the folder itself is what is served
    _refuse_place(out)
    _tidy_after_a_kill(out)
    refuse_foreign(out)
    out.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(
        prefix=f".{out.name}-", suffix=BUILDING, dir=out.parent, ignore_cleanup_errors=True
    ) as beside:
        fresh = Path(beside, "site")
        fresh.mkdir()
        yield fresh
        _leave_marker(fresh)
        _swap(fresh, out, Path(beside, "old"))


def _tidy_after_a_kill(out: Path) -> None:
    """Put back an old site that a killed build had moved aside; clear what it left, a day later.

    Before a day has passed the folder may be that of another build, still at work.
    """
    for left in sorted(out.parent.glob(f".{glob.escape(out.name)}-*{BUILDING}")):
        if not out.exists() and (left / "old" / MARKER).is_file():
            (left / "old").rename(out)
        if time.time() - left.stat().st_mtime > DAY_S:
            shutil.rmtree(left, ignore_errors=True)


def _refuse_place(out: Path) -> None:
    """Raise for folders that cannot be exchanged: the root, and the one somebody stands in."""
    if out == Path.cwd().resolve() or not out.name:
        raise InputError(f"{out}: name a folder inside it for the site, as in --out site.")
    above = next(path for path in out.parents if path.exists())
    if not os.access(above, os.W_OK) or not above.is_dir():
        raise InputError(f"{out}: nothing can be written in {above}. Give another place.")


def refuse_foreign(out: Path) -> None:
    """Raise when writing a site to `out` would destroy something that is not ours."""
    if not out.exists():
        return
    if not out.is_dir():
        raise InputError(f"{out}: this is a file. Give a folder for the site, or a new name.")
    foreign = sorted(_files_in(out) - _written_files(out))
    if foreign:
        raise InputError(
            f"{out}: holds '{foreign[0]}', which is not part of a Groveplat site. "
            "Give an empty folder or a new name."
        )


def _leave_marker(site: Path) -> None:
    """The list of files tells the next build what it may replace."""
    files = sorted(_files_in(site) | {MARKER})
    (site / MARKER).write_text("\n".join(files) + "\n", encoding="utf-8", newline="\n")


def _written_files(site: Path) -> set[str]:
    marker = site / MARKER
    return set(marker.read_text(encoding="utf-8").splitlines()) if marker.is_file() else set()


def _files_in(folder: Path) -> set[str]:
    return {
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.name not in DESKTOP_FILES and _is_content(path)
    }


def _is_content(path: Path) -> bool:
    """A file, a link, or a folder that somebody made and left empty."""
    return path.is_symlink() or not path.is_dir() or not any(path.iterdir())


def _swap(fresh: Path, out: Path, old: Path) -> None:
    if out.exists() and exchanged(fresh, out):
        return  # the old site lies where the fresh one was built, and goes with that folder
    if out.exists():
        out.rename(old)
    try:
        fresh.rename(out)
    except OSError:
        if old.exists():
            old.rename(out)
        raise
    # A folder that cannot be emptied (a file open elsewhere) must not fail a finished build.
    shutil.rmtree(old, ignore_errors=True)
