"""Show a survey's site on this machine, and build it again when one of its files changes."""

import tempfile
import threading
from collections.abc import Callable
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from mapper.errors import MapperError
from mapper.line import survey_results
from mapper.render import build_site
from mapper.survey import Survey
from mapper.survey_files import repair_files

LOOK_EVERY_S = 1.0


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the library's name
        """Requests are nobody's business here."""

    def end_headers(self) -> None:
        self.send_header("Cache-Control", "no-store")
        super().end_headers()


def serve(read: Callable[[], Survey], port: int, tell: Callable[[str], None]) -> None:
    """Serve until interrupted, from a folder of its own: the survey's own site stays as it is."""
    with tempfile.TemporaryDirectory() as folder:
        site = Path(folder) / "site"
        survey = read()
        build_site(survey_results(survey), site)
        server = ThreadingHTTPServer(("127.0.0.1", port), partial(_Quiet, directory=str(site)))
        threading.Thread(target=server.serve_forever, daemon=True).start()
        tell(f"http://127.0.0.1:{server.server_port}/ shows the survey. Stop with Ctrl+C.")
        try:
            _watch(read, survey, site, tell)
        except KeyboardInterrupt:
            tell("Stopped.")
        finally:
            server.shutdown()


def _watch(
    read: Callable[[], Survey], survey: Survey, site: Path, tell: Callable[[str], None]
) -> None:
    seen = state(survey)
    while True:
        threading.Event().wait(LOOK_EVERY_S)
        now = state(survey)
        if now == seen:
            continue
        seen = now
        try:
            survey = read()
            build_site(survey_results(survey), site)
            tell("Built again.")
        except MapperError as error:
            tell(f"Not built: {error}")
        seen = state(survey)


def state(survey: Survey) -> tuple[tuple[str, float], ...]:
    """Names and times of the files a survey depends on."""
    backdrop = [survey.folder / name for name in survey.site.backdrop]
    patterns = [path for name in survey.records.files for path in survey.folder.glob(name)]
    others = [
        survey.folder / "survey.toml",
        *([survey.boundary_file] if survey.boundary_file else []),
    ]
    repairs = (*survey.repair_files, *repair_files(survey.folder))
    photos = (survey.folder / survey.records.photos).rglob("*")
    files = {*survey.record_files, *backdrop, *patterns, *repairs, *photos, *others}
    return tuple(sorted((str(file), file.stat().st_mtime) for file in files if file.exists()))
