"""What a group takes along: record sheets, the walk, tags, templates and the leader's page."""

from mapper.fieldwork.sheets import Outing, write_sheets

__all__ = ["Outing", "write_sheets"]
