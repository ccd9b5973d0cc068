"""When a survey does not fit into one html file."""

from pathlib import Path

import pytest

from mapper.errors import InputError
from mapper.render import build_file
from mapper.render.single_file import refuse_many
from mapper.summarise import Results


def test_a_survey_in_pieces_is_refused():
    refuse_many(20_000)
    with pytest.raises(InputError, match="20,001 trees: one file holds up to 20,000"):
        refuse_many(20_001)


def test_a_folder_is_no_file(longleaf: Results, tmp_path: Path):
    with pytest.raises(InputError, match="this is a folder"):
        build_file(longleaf, tmp_path)
