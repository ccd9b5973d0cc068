"""What a user installs: the wheel, the sdist, and what must not be in them."""

import os
import subprocess
import sys
import tarfile
import zipfile
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
BUNDLED = ("groveplat.css", "groveplat.js", "leaflet.css", "leaflet.js", "licences.txt")
NO_NETWORK = """
import socket

def refuse(*args, **kwargs):
    raise OSError("a test without a network asked for it")

socket.socket.connect = refuse
socket.getaddrinfo = refuse
"""


@dataclass(frozen=True)
class Packages:
    sdist: Path
    unpacked: Path  # the sdist, in which the wheel was built
    wheel: Path

    def in_wheel(self) -> set[str]:
        with zipfile.ZipFile(self.wheel) as archive:
            return set(archive.namelist())

    def in_sdist(self) -> set[str]:
        with tarfile.open(self.sdist) as archive:
            return {name.partition("/")[2] for name in archive.getnames()}


@pytest.fixture(scope="module")
def packages(tmp_path_factory: pytest.TempPathFactory) -> Packages:
    out = tmp_path_factory.mktemp("packages")
    build("--sdist", ROOT, out)
    (sdist,) = out.glob("*.tar.gz")
    with tarfile.open(sdist) as archive:
        archive.extractall(out, filter="data")
    unpacked = out / sdist.name.removesuffix(".tar.gz")
    build("--wheel", unpacked, out)
    (wheel,) = out.glob("*.whl")
    return Packages(sdist, unpacked, wheel)


def build(kind: str, source: Path, out: Path) -> None:
    command = [sys.executable, "-m", "build", kind, "--no-isolation", "--outdir", out, source]
    done = subprocess.run(command, capture_output=True, encoding="utf-8")
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.slow
def test_wheel_carries_all_that_a_site_needs(packages):
    names = packages.in_wheel()
    for name in BUNDLED:
        assert f"mapper/site_template/bundle/{name}" in names
    for folder, into in (("site_template/pages", "site_template/pages"), ("demo", "demo")):
        files = tracked(folder)
        assert files
        assert {f"mapper/{into}{name.removeprefix(folder)}" for name in files} <= names
    assert {name for name in tracked("mapper")} <= names


@pytest.mark.slow
def test_wheel_carries_nothing_else(packages):
    tops = {name.split("/")[0] for name in packages.in_wheel()}
    assert tops == {"mapper", "groveplat-0.1.0.dist-info"}
    unwanted = ("tests", "open_data", "node_modules", "scripts", "styles", "site", "private")
    stray = [name for name in packages.in_wheel() if set(Path(name).parts) & set(unwanted)]
    assert stray == []


@pytest.mark.slow
def test_sdist_carries_sources_lock_file_and_bundle(packages):
    names = packages.in_sdist()
    assert {"pyproject.toml", "LICENSE", "README.md", "site_template/package-lock.json"} <= names
    assert {f"site_template/bundle/{name}" for name in BUNDLED} <= names
    assert set(tracked("site_template")) <= names
    assert not any("node_modules" in name for name in names)


@pytest.mark.slow
def test_wheel_from_the_sdist_needs_no_node(packages):
    """Bundling would have left the packages that it installs."""
    assert (packages.unpacked / "site_template" / "bundle").is_dir()
    assert not (packages.unpacked / "site_template" / "node_modules").exists()


@pytest.mark.slow
def test_wheel_builds_the_demo_without_a_network(packages, tmp_path):
    with zipfile.ZipFile(packages.wheel) as archive:
        archive.extractall(tmp_path / "installed")
    (tmp_path / "cut").mkdir()
    (tmp_path / "cut" / "sitecustomize.py").write_text(NO_NETWORK)
    places = os.pathsep.join([str(tmp_path / "cut"), str(tmp_path / "installed")])

    command = [sys.executable, "-m", "mapper", "demo", "survey"]
    environment = os.environ | {"PYTHONPATH": places}
    done = subprocess.run(
        command, cwd=tmp_path, env=environment, capture_output=True, encoding="utf-8"
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "survey" / "site" / "index.html").is_file()


def test_no_third_party_code_is_committed():
    files = tracked(".")
    assert "site_template/package-lock.json" in files
    signs = ("node_modules/", "bundle/", "vendor", ".min.js", "leaflet.js", "leaflet.css")
    assert [name for name in files if any(sign in name for sign in signs)] == []


def tracked(folder: str) -> list[str]:
    """Files of the repository under a folder, as git knows them."""
    if not (ROOT / ".git").exists():
        pytest.skip("not a checkout")
    command = ["git", "-c", f"safe.directory={ROOT}", "ls-files", "-z", folder]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, encoding="utf-8", check=True)
    return [name for name in done.stdout.split("\0") if name]
