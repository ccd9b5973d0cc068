"""trees → stands, classes, species, comparison, and the white list of what is published."""

from mapper.summarise.publish import Line, publish
from mapper.summarise.results import Results, Step

__all__ = ["Line", "Results", "Step", "publish"]
