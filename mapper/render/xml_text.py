"""XML files that the site writes; it reads none."""

from xml.etree import ElementTree


def xml_text(root: ElementTree.Element) -> str:
    """An XML file, indented so that people can read it."""
    ElementTree.indent(root)
    body = ElementTree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'
