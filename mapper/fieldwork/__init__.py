"""What a group takes along: record sheets, the walk, tags, templates, the page for phones."""

from mapper.fieldwork.after import write_report
from mapper.fieldwork.outing import write_outing
from mapper.fieldwork.sheets import Outing, write_sheets

__all__ = ["Outing", "write_outing", "write_report", "write_sheets"]
