"""One heading as it was understood."""

from typing import NamedTuple

from mapper.load.columns import Column
from mapper.load.records import Remark


class Heading(NamedTuple):
    """A heading as understood: no column where it is unknown."""

    text: str
    column: Column | None = None
    unit: str = ""
    remark: Remark | None = None

    @property
    def name(self) -> str:
        """The name of its cells: canonical, or as written."""
        return self.column.name if self.column else self.text
