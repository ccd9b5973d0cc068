"""Groveplat: tree measurements of many hands → numbers one can trust, a map one can publish."""

import lazy_loader

# Loaded when first used: the command's help must not wait for the map libraries.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
