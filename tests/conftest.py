"""What several test files share."""

from collections.abc import Callable
from pathlib import Path

import pytest

from mapper.line import survey_results
from mapper.summarise import Results
from mapper.survey import read_survey

OPEN_DATA = Path(__file__).parent / "open_data"


@pytest.fixture
def table(tmp_path: Path) -> Callable[[str], Path]:
    """Write a csv into an empty folder."""

    def write(text: str, name: str = "trees.csv") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


@pytest.fixture
def results_of(tmp_path: Path) -> Callable[..., Results]:
    """Published tables of a survey given as files of a folder (name → text)."""

    def run(files: dict[str, str], complete_count: bool = False) -> Results:
        for name, text in files.items():
            path = tmp_path / "survey" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return survey_results(read_survey([tmp_path / "survey"], complete_count=complete_count))

    return run


@pytest.fixture(scope="session")
def longleaf() -> Results:
    """584 longleaf pines as one completely counted stand."""
    return survey_results(
        read_survey(
            [OPEN_DATA / "longleaf_wgs84.csv"],
            boundaries=OPEN_DATA / "longleaf_window.geojson",
            complete_count=True,
        )
    )


@pytest.fixture(scope="session")
def lansing() -> Results:
    """2251 trees of six species groups, without sizes, as one completely counted stand."""
    return survey_results(
        read_survey(
            [OPEN_DATA / "lansing_wgs84.csv"],
            boundaries=OPEN_DATA / "lansing_window.geojson",
            complete_count=True,
        )
    )
