"""The site's scripts have tests and types of their own: node runs both."""

import json
import re
import subprocess
from pathlib import Path
from types import ModuleType

TEMPLATE = Path(__file__).parents[1] / "site_template"
SCRIPTS = TEMPLATE / "scripts"


def node(hook: ModuleType, *arguments: str | Path) -> subprocess.CompletedProcess[str]:
    command = [*hook.node(), *map(str, arguments)]
    return subprocess.run(command, cwd=TEMPLATE, capture_output=True, encoding="utf-8")


def test_scripts_pass_their_own_tests(hook):
    files = sorted((SCRIPTS / "tests").glob("*.test.js"))
    done = node(hook, "--test", "--test-reporter=tap", *files)
    assert done.returncode == 0, done.stdout + done.stderr
    passed = re.search(r"^# pass (\d+)$", done.stdout, re.MULTILINE)
    assert passed and int(passed[1]) >= len(files)


def test_types_of_the_scripts_fit(hook, packages):
    done = node(
        hook, packages / "typescript" / "bin" / "tsc", "--project", SCRIPTS / "jsconfig.json"
    )
    assert done.returncode == 0, done.stdout


def test_bundle_is_made_of_these_sources(hook):
    hook.ensure_bundle()
    assert not hook.is_stale()
    script = (hook.BUNDLE / "groveplat.js").read_text(encoding="utf-8")
    assert "receiveTrees" in script


def test_only_leaflet_is_shipped(hook):
    """A package that a script imports would reach the reader without its licence."""
    imports = [
        (path.name, found)
        for path in SCRIPTS.glob("*.js")
        for found in re.findall(r'^import .*?"([^"]+)"', path.read_text(encoding="utf-8"), re.M)
    ]
    assert len(imports) > 10
    assert [pair for pair in imports if not pair[1].startswith("./")] == []
    assert (hook.BUNDLE / "licences.txt").read_text(encoding="utf-8").startswith("leaflet ")


def test_style_sheets_ask_for_nothing(hook):
    for name in ("leaflet.css", "groveplat.css"):
        text = (hook.BUNDLE / name).read_text(encoding="utf-8")
        links = re.findall(r"url\(([^)]*)\)", text)
        assert [link for link in links if not link.strip("\"'").startswith(("data:", "#"))] == []


def test_every_label_is_used(hook):
    labels = json.loads((SCRIPTS / "labels.json").read_text(encoding="utf-8"))
    text = "".join(path.read_text(encoding="utf-8") for path in SCRIPTS.glob("*.js"))
    units = {"cm", "m", "km", "in", "ft", "mi"}  # looked up by a unit's name
    unused = [name for name in labels if name not in units and f"labels.{name}" not in text]
    assert unused == []
