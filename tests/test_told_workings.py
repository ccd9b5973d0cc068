"""Workings are made a block at a time, in whatever order somebody goes through them."""

import pandas as pd
import pytest

from mapper.summarise import told_workings
from mapper.summarise.told_workings import Workings
from mapper.survey import Survey


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many trees each block held that was put into words."""
    blocks: list[int] = []

    def counted(trees: pd.DataFrame) -> dict[str, tuple[()]]:
        blocks.append(len(trees))
        return {tree: () for tree in trees["tree_key"]}

    monkeypatch.setattr(told_workings, "TREES_AT_ONCE", 4)
    monkeypatch.setattr(told_workings, "tree_workings", counted)
    monkeypatch.setattr(told_workings, "with_age_steps", lambda workings, trees: workings)
    return blocks


def test_each_block_is_made_once_along_any_order(made: list[int]) -> None:
    names = [str(number) for number in range(10)]
    trees = pd.DataFrame({"tree_key": pd.Series(names, dtype=str)})
    workings = Workings(trees, trees["tree_key"], Survey(title="Ten trees"))
    mixed = [names[number * 7 % 10] for number in range(10)]
    along = workings.along(mixed)
    assert [along[tree] for tree in mixed] == [()] * 10
    assert made == [4, 4, 2]
    assert list(along) == mixed
    assert along.get("none such") is None
