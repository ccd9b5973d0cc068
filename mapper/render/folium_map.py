"""The maps: folium builds Leaflet's script; nothing in it is random, remote or inline."""

from collections.abc import Sequence
from dataclasses import dataclass

import folium
import geopandas as gpd
import pandas as pd
from branca.element import CssLink, Figure, JavascriptLink, MacroElement
from folium.template import Template
from shapely.geometry import mapping

from mapper.errors import MapperError
from mapper.render.site_files import as_script

# folium's name of a library → our own copy.
LOCAL = {"leaflet": "assets/leaflet.js", "leaflet_css": "assets/leaflet.css"}
# Asked for by every folium map, needed by none of the layers used here.
UNUSED = {
    "jquery", "bootstrap", "awesome_markers", "bootstrap_css", "glyphicons_css",
    "awesome_markers_font_css", "awesome_markers_css", "awesome_rotate_css",
}  # fmt: skip
COORDINATE_DECIMALS = 7
BACKDROP_KINDS = ("water", "building", "path", "other")


@dataclass(frozen=True)
class MapSpec:
    """One map on a page."""

    element_id: str
    stand: str  # "" draws all trees
    bounds: tuple[tuple[float, float], tuple[float, float]]
    marks: tuple[tuple[str, str], ...] = ()  # tree, letter of its note


@dataclass(frozen=True)
class Ground:
    """What is drawn under the trees."""

    boundaries: gpd.GeoDataFrame
    backdrop: gpd.GeoDataFrame


class SheetFigure(Figure):
    """A folium figure that renders to the script alone and lets no foreign link pass."""

    def render(self, **kwargs: object) -> str:
        """The map's script, without any page around it."""
        for child in self._children.values():
            child.render(**kwargs)
        for name, link in self.header._children.items():
            self._check_link(name, link)
        return str(self.script.render(**kwargs))

    @staticmethod
    def _check_link(name: str, link: object) -> None:
        if isinstance(link, JavascriptLink | CssLink) and name not in LOCAL.keys() | UNUSED:
            raise MapperError(
                f"the map asks for '{name}' from {link.url}. Pages may load local files only: "
                "bundle it and add it to LOCAL in folium_map.py."
            )


class SheetMap(folium.Map):
    """A Leaflet map without folium's page head: no inline style, no zoom lock, a fixed name."""

    _template = Template(
        """
        {% macro script(this, kwargs) %}
            var {{ this.get_name() }} = L.map(
                {{ this.element_id|tojson }},
                {{ this.options|tojavascript }}
            );
        {% endmacro %}
        """
    )

    def __init__(self, element_id: str) -> None:
        super().__init__(
            tiles=None,
            zoom_start=16,
            zoom_snap=0,
            zoom_delta=0.5,
            wheel_px_per_zoom_level=120,
            attribution_control=False,
        )
        self.element_id = element_id
        self._id = element_id.replace("-", "_")


class TreeLayer(MacroElement):
    """Our own layer: the trees, and the frame with its ticks, scale bar and north arrow."""

    _template = Template(
        """
        {% macro script(this, kwargs) %}
            groveplat.treeLayer({{ this._parent.get_name() }}, {{ this.trees }});
            groveplat.frame({{ this._parent.get_name() }}, {{ this.frame }});
        {% endmacro %}
        """
    )

    def __init__(self, trees: dict[str, object], frame: dict[str, object]) -> None:
        super().__init__()  # type: ignore[no-untyped-call]
        self._name = "TreeLayer"
        self.trees = as_script(trees)
        self.frame = as_script(frame)


def map_script(maps: Sequence[MapSpec], ground: Ground) -> str:
    """The script file of one page."""
    figure = SheetFigure()
    for spec in maps:
        _add_map(figure, spec, ground)
    body = "\n".join(line.strip() for line in figure.render().splitlines() if line.strip())
    # One function, so that a map's name never meets the page's own.
    return f"(function () {{\n{body}\n}})();\n"


def _add_map(figure: SheetFigure, spec: MapSpec, ground: Ground) -> None:
    sheet = SheetMap(spec.element_id)
    figure.add_child(sheet)
    corners = [list(corner) for corner in spec.bounds]
    # Room above the outlines for the stands' names.
    fit = folium.FitBounds(corners, padding_top_left=(14, 36), padding_bottom_right=(14, 14))
    sheet.add_child(fit)
    for kind in BACKDROP_KINDS:
        shapes = ground.backdrop[ground.backdrop["kind"] == kind]
        _add_shapes(sheet, shapes, f"backdrop backdrop-{kind}", f"{sheet._id}_{kind}")
    _add_shapes(sheet, ground.boundaries, "stand-boundary", f"{sheet._id}_stands")
    marks = [{"tree": tree, "letter": letter} for tree, letter in spec.marks]
    frame: dict[str, object] = {"names": stand_names(ground.boundaries)}
    # The view is set above, with the boundaries in it: the layer must not move it.
    trees: dict[str, object] = {"stand": spec.stand, "marks": marks, "fit": False}
    sheet.add_child(TreeLayer(trees, frame))


def _add_shapes(sheet: SheetMap, shapes: gpd.GeoDataFrame, css_class: str, name: str) -> None:
    """Bare outlines: no text of the survey goes through folium, which would run it."""
    if shapes.empty:
        return
    layer = folium.GeoJson(outlines(shapes), class_name=css_class, interactive=False)
    layer._id = name
    sheet.add_child(layer)


def outlines(shapes: gpd.GeoDataFrame) -> dict[str, object]:
    """Geometries as GeoJSON, to a centimetre, without any property."""
    features = [
        {"type": "Feature", "properties": {}, "geometry": _to_centimetres(mapping(geometry))}
        for geometry in shapes.geometry
    ]
    return {"type": "FeatureCollection", "features": features}


def _to_centimetres(value: object) -> object:
    if isinstance(value, dict):
        return {key: _to_centimetres(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_to_centimetres(part) for part in value]
    return round(value, COORDINATE_DECIMALS) if isinstance(value, float) else value


def stand_names(boundaries: gpd.GeoDataFrame) -> list[dict[str, object]]:
    """Where each stand's name is lettered: the top middle of its outline."""
    names: list[dict[str, object]] = []
    for name, geometry in zip(boundaries["stand"], boundaries.geometry, strict=True):
        west, _, east, north = geometry.bounds
        lon = round((west + east) / 2, COORDINATE_DECIMALS)
        names.append({"name": str(name), "lat": round(north, COORDINATE_DECIMALS), "lon": lon})
    return names


def bounds_of(
    trees: pd.DataFrame, boundaries: gpd.GeoDataFrame
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """South-west and north-east corner of everything to show, None when nothing has a place."""
    placed = trees.dropna(subset=["lat", "lon"])
    lats, lons = placed["lat"].astype(float).tolist(), placed["lon"].astype(float).tolist()
    if not boundaries.empty:
        west, south, east, north = (float(side) for side in boundaries.total_bounds)
        lats, lons = [*lats, south, north], [*lons, west, east]
    if not lats:
        return None
    south_west = (round(min(lats), COORDINATE_DECIMALS), round(min(lons), COORDINATE_DECIMALS))
    north_east = (round(max(lats), COORDINATE_DECIMALS), round(max(lons), COORDINATE_DECIMALS))
    return south_west, north_east
