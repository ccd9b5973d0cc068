"""findings → the workbook in which a leader decides, and which the next run reads."""

from mapper.repair.workbook import write_findings

__all__ = ["write_findings"]
