"""The user's files → one table of records, every cell kept as handed in."""

from mapper.load.reader import READERS, load_records
from mapper.load.records import Records

__all__ = ["READERS", "Records", "load_records"]
