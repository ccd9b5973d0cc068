"""Files that come with the package, and how texts are written into the site."""

import json
import shutil
from pathlib import Path

from mapper.errors import InputError

PACKAGE = Path(__file__).parents[1]

ASSETS = ("leaflet.css", "leaflet.js", "groveplat.css", "groveplat.js", "licences.txt")
BUILD_COMMAND = "python site_template/build_hook.py"


def shipped(name: str) -> Path:
    """A folder of the package: beside the modules in a wheel, at the top level in a checkout."""
    inside = PACKAGE / name
    return inside if inside.exists() else PACKAGE.parent / name


def bundled_assets() -> tuple[Path, ...]:
    """The scripts and styles every page needs.

    Raises
    ------
    InputError
        When they were not built: only possible in a checkout that was never installed.
    """
    bundle = shipped("site_template") / "bundle"
    paths = tuple(bundle / name for name in ASSETS)
    for path in paths:
        if not path.is_file():
            raise InputError(f"{path}: the page scripts are not built yet. Run: {BUILD_COMMAND}")
    return paths


def copy_assets(assets: tuple[Path, ...], folder: Path) -> None:
    """Put the scripts and styles into the site."""
    folder.mkdir()
    for path in assets:
        shutil.copyfile(path, folder / path.name)


def write_text(path: Path, text: str) -> None:
    """UTF-8 and `\\n` on every system, so that a site is the same bytes wherever it was built."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8", newline="\n")


def as_parsed(value: object) -> str:
    """A value as a call of JSON.parse: a browser reads many numbers far faster so."""
    text = as_script(value).replace("\\", "\\\\").replace("'", "\\'")
    return f"JSON.parse('{text}')"


def as_script(value: object) -> str:
    """A value as JSON that is harmless in a script file and in a template engine.

    No text can end a script or open a tag; `{{`, `{%` and `{#` are broken up because folium runs
    what it is given through a template a second time.
    """
    text = json.dumps(
        value, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
    )
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    for sign in "{%#":
        text = text.replace("{" + sign, f"{{\\u{ord(sign):04x}")
    return text
