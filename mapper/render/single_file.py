"""A whole site as one html file: to send by e-mail, to keep on a stick, to open without a host."""

import base64
import hashlib
import mimetypes
import re
from dataclasses import dataclass
from pathlib import Path

from markupsafe import escape

from mapper.errors import InputError, MapperError
from mapper.render.site_files import bundled_assets, shipped, write_text
from mapper.render.tree_blocks import MANY_TREES

MARK = '<meta name="generator" content="Groveplat, one file">'
SMALL_BYTES = 150_000  # larger downloads stay out: mail servers refuse some 10 MB in all
FOLDERS = ("assets", "data", "maps")  # not those of the sheets in the other units
RUN_AT_ONCE = ("assets/leaflet.js", "assets/groveplat.js")


@dataclass(frozen=True)
class Sheet:
    """One page of the site, taken apart."""

    file: str
    language: str
    title: str
    style: str
    scripts: tuple[str, ...]
    body: str


def refuse_other_file(out: Path) -> None:
    """Raise when writing would destroy something that is not ours.

    Raises
    ------
    InputError
        When `out` is a folder or a file that no earlier build wrote.
    """
    if out.is_dir():
        raise InputError(f"{out}: this is a folder. Give a file name, as in --out site.html.")
    if out.exists() and MARK.encode() not in out.read_bytes()[:2000]:
        raise InputError(f"{out}: this is not a site that Groveplat wrote. Give another name.")


def refuse_many(trees: int) -> None:
    """Raise for a survey whose trees a browser loads piece by piece: one file has no pieces.

    Raises
    ------
    InputError
        Above 20,000 trees.
    """
    if trees > MANY_TREES:
        raise InputError(
            f"{trees:,} trees: one file holds up to {MANY_TREES:,}. Build without --single-file."
        )


def write_single_file(site: Path, out: Path) -> tuple[str, ...]:
    """Write the site in the folder `site` to the file `out`.

    Returns
    -------
    tuple of str
        The downloads too large to go in, by name. The pages of single trees stay out as well:
        a tree's panel says the same.
    """
    refuse_other_file(out)
    sheets = [_sheet(site / name) for name in _sheet_files(site)]
    left_out = tuple(sorted(path.name for path in _downloads(site) if _is_large(path)))
    files = {sheet.file for sheet in sheets}
    bodies = [_template(sheet, site, files) for sheet in sheets]
    write_text(out, _page(sheets[0], _styles(), bodies, _scripts(site)))
    return left_out


def _sheet_files(site: Path) -> list[str]:
    names = sorted(path.name for path in site.glob("*.html"))
    return sorted(names, key=lambda name: name != "index.html")  # the first one is shown first


def _sheet(path: Path) -> Sheet:
    text = path.read_text(encoding="utf-8")
    head, body = text.split("<body", 1)
    style, body = body.split(">", 1)
    return Sheet(
        file=path.name,
        language=_found(r'<html lang="([^"]*)"', head),
        title=_found(r"<title>(.*?)</title>", head),
        style=_found(r'class="([^"]*)"', style),
        scripts=tuple(re.findall(r'<script defer src="([^"]+)"', head)),
        body=body.rsplit("</body>", 1)[0],
    )


def _found(pattern: str, text: str) -> str:
    found = re.search(pattern, text, re.DOTALL)
    return found[1] if found else ""


def _template(sheet: Sheet, site: Path, files: set[str]) -> str:
    """The page's body, inert until it is wanted. Title and class come escaped from the page."""

    def inside(link: re.Match[str]) -> str:
        target = link[2]
        if target.split("#")[0] in files:
            return f'{link[1]}"?{target}"'
        return _embedded(site / target, link) if _is_file(site, target) else link[0]

    body = re.sub(r'((?:href|src)=)"([^"#?][^"]*)"', inside, sheet.body)
    later = " ".join(name for name in sheet.scripts if name not in RUN_AT_ONCE)
    about = f'data-file="{sheet.file}" data-title="{sheet.title}" data-style="{sheet.style}"'
    return f'<template {about} data-scripts="{escape(later)}">{body}</template>'


def _is_file(site: Path, target: str) -> bool:
    return not re.match(r"[a-z]+:", target) and (site / target).is_file()


def _embedded(path: Path, link: re.Match[str]) -> str:
    if path.suffix == ".html" or _is_large(path):
        return 'data-left-out=""'
    return f'{link[1]}"{_data_uri(path)}" download="{escape(path.name)}"'


def _downloads(site: Path) -> list[Path]:
    return [path for path in sorted((site / "data").iterdir()) if path.suffix != ".js"]


def _is_large(path: Path) -> bool:
    return path.stat().st_size > SMALL_BYTES


def _data_uri(path: Path) -> str:
    kind = mimetypes.types_map.get(path.suffix, "application/octet-stream")
    return f"data:{kind};base64,{base64.b64encode(path.read_bytes()).decode('ascii')}"


def _styles() -> str:
    return "".join(p.read_text("utf-8") for p in bundled_assets() if p.suffix == ".css")


def _scripts(site: Path) -> list[str]:
    """In the order in which they run: the sheet first, Leaflet, ours, then the sheet's own."""
    router = shipped("site_template") / "bundle" / "single.js"
    if not router.is_file():
        raise InputError(f"{router}: the page scripts are not built yet.")
    first = [
        path.read_text(encoding="utf-8") for path in (router, *map(site.joinpath, RUN_AT_ONCE))
    ]
    found = sorted(path for folder in FOLDERS for path in site.glob(f"{folder}/*.js"))
    own = [path for path in found if _name(path, site) not in RUN_AT_ONCE]
    return [*first, *(_as_function(path, site) for path in own), "groveplatStart();"]


def _name(path: Path, site: Path) -> str:
    return path.relative_to(site).as_posix()


def _as_function(path: Path, site: Path) -> str:
    text = path.read_text(encoding="utf-8")
    if path.name == "map.js":
        text = re.sub(r'"page":\[[^\]]*\]', '"page":[]', text)
    pictures = set(re.findall(r'photos/[^"\\]+\.jpg', text)) if "workings" in path.name else set()
    for name in sorted(pictures):
        text = text.replace(f'"{name}"', f'"{_data_uri(site / name)}"')
    return f'groveplatFiles["{_name(path, site)}"] = function () {{\n{text}}};'


def _page(first: Sheet, styles: str, bodies: list[str], scripts: list[str]) -> str:
    scripts = [_safe(f"\n{script}\n") for script in scripts]
    style = f"\n{styles}\n"
    allowed = " ".join(map(_hash, scripts))
    policy = (
        f"default-src 'none'; script-src {allowed}; style-src {_hash(style)}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    return "\n".join(
        [
            "<!DOCTYPE html>",
            f'<html lang="{first.language}">',
            "<head>",
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
            MARK,
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            '<meta name="referrer" content="no-referrer">',
            '<meta name="color-scheme" content="light dark">',
            f"<title>{first.title}</title>",
            f"<style>{style}</style>",
            "</head>",
            "<body>",
            *bodies,
            *(f"<script>{script}</script>" for script in scripts),
            "</body>",
            "</html>\n",
        ]
    )


def _safe(script: str) -> str:
    if re.search(r"</script|<!--", script, re.IGNORECASE):
        raise MapperError("a script of the site would end too early inside one file")
    return script


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode('ascii')}'"
