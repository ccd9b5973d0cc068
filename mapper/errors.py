"""The errors a caller can meet. Each says where, what was found, what is allowed, what to do."""


class MapperError(Exception):
    """Anything this package refuses to do."""


class InputError(MapperError, ValueError):
    """A file, folder or setting handed in cannot be used."""


class NoRecordsError(InputError):
    """A table has its headings and no record yet: nothing is wrong where others have some."""


class TableError(MapperError, ValueError):
    """A reference table shipped with the package is not whole."""
