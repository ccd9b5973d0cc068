"""`python -m mapper` is the same as `groveplat`."""

from mapper.cli import main

main()
