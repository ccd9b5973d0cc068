"""One way through: a stage imports only from itself and from the stages before it."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import mapper

PACKAGE = Path(mapper.__file__).parent
ORDER = [
    "errors", "language", "reference", "survey_lines", "survey_files", "settings", "survey",
    "survey_group", "metrics", "load", "check", "measure", "summarise", "render", "line",
    "together", "repair", "fieldwork", "record_book", "starter", "screen", "preview",
    "single_tree", "cli", "__main__", "catalogue",
]  # fmt: skip
MODULES = sorted(PACKAGE.rglob("*.py"))


def imported(source: str) -> Iterator[str]:
    """Names of the modules imported anywhere in a file, late imports included."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, "write imports in full"
            yield from (f"{node.module}.{name.name}" for name in node.names)


def backward(source: str, own: str) -> list[str]:
    used = [name for name in imported(source) if name.split(".")[0] == "mapper"]
    parts = [name.split(".")[1] if "." in name else "" for name in used]
    return [part for part in parts if part not in ORDER or ORDER.index(part) > ORDER.index(own)]


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_backwards(path: Path) -> None:
    own = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
    if own == "__init__":
        assert not list(name for name in imported(path.read_text("utf-8")) if "mapper" in name)
    else:
        assert backward(path.read_text("utf-8"), own) == []


def test_a_planted_backward_import_is_seen() -> None:
    assert backward("from mapper.render import build_site", "measure") == ["render"]
    assert backward("def f():\n    import mapper.cli", "load") == ["cli"]


def test_metrics_know_numpy_only() -> None:
    for path in (PACKAGE / "metrics").glob("*.py"):
        roots = {name.split(".")[0] for name in imported(path.read_text("utf-8"))}
        assert roots <= {"numpy", "mapper"}, path.name
