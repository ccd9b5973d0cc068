"""The working of every tree, put into words only when somebody asks for it."""

from collections.abc import Iterator, Mapping, Sequence

import pandas as pd

from mapper.language import speaking
from mapper.summarise.results import Step
from mapper.summarise.workings import tree_workings
from mapper.summarise.workings_age import with_age_steps
from mapper.summarise.workings_us import in_both_units
from mapper.summarise.workings_words import US, with_local_numbers
from mapper.survey import Survey

TREES_AT_ONCE = 500
Told = dict[str, tuple[Step, ...]]


class Workings(Mapping[str, tuple[Step, ...]]):
    """Steps by tree. Those of a few hundred neighbours are made together and then forgotten:

    words of a million trees would fill the memory. Ask in the order of the published trees, or
    in another one of a copy that is ordered `along` it.
    """

    def __init__(self, trees: pd.DataFrame, order: pd.Series, survey: Survey) -> None:
        names = order.astype(str)
        self._at = dict(zip(names, range(len(names)), strict=True))
        self._trees = trees
        self._rows = pd.Index(trees["tree_key"].astype(str)).get_indexer(pd.Index(names))
        self._survey = survey
        self._block, self._told = -1, Told()

    def __getitem__(self, tree: str) -> tuple[Step, ...]:
        block = self._at[tree] // TREES_AT_ONCE
        if block != self._block:
            self._block, self._told = block, self._words(block * TREES_AT_ONCE)
        return self._told[tree]

    def along(self, order: Sequence[str]) -> "Workings":
        """The same, to be asked in another order."""
        return Workings(self._trees, pd.Series(order, dtype=str), self._survey)

    def __iter__(self) -> Iterator[str]:
        return iter(self._at)

    def __len__(self) -> int:
        return len(self._at)

    def _words(self, start: int) -> Told:
        """The workings of one block, in the survey's language and units."""
        trees = self._trees.take(self._rows[start : start + TREES_AT_ONCE])
        table = trees.assign(**{US: self._survey.units == "us"})
        with speaking(self._survey.language):
            workings = with_age_steps(tree_workings(table), table)
            if self._survey.units == "us":
                workings = {
                    tree: tuple(map(in_both_units, told)) for tree, told in workings.items()
                }
            return {tree: tuple(map(with_local_numbers, told)) for tree, told in workings.items()}
