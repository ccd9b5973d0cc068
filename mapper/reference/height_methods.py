"""The ways to find a height, in the order in which they are trusted."""

from dataclasses import dataclass

HEIGHT_WORDS = (
    "", "reported", "one angle", "two angles", "sine", "mark", "two stations", "stick", "shadow",
    "fallen taped",
)  # fmt: skip


@dataclass(frozen=True)
class HeightMethod:
    """One way: what it is called, which headings it needs, and when it may be used."""

    name: str  # as in height_method
    formula: str  # function of mapper.metrics; "" for a height that was typed
    needs: tuple[str, ...]  # headings, the one that tells of the method first
    only: tuple[str, tuple[str, ...]] = ("", ())  # heading and the words it may hold
    without: str = ""  # where this heading is filled too, only if height_method names the method


LEVEL = ("baseline_kind", ("", "horizontal"))
SLOPE = ("baseline_kind", ("slope from the eye",))
GROUND = ("baseline_kind", ("along the ground",))
# On the level ground that one angle asks for, a tape along the ground is level too.
LEVEL_GROUND = ("baseline_kind", ("", "horizontal", "along the ground"))
LYING = ("status", ("stump", "fallen"))

BOTH = ("angle_top", "angle_base")
MARK = ("angle_mark", "mark_height", "angle_top", "baseline")
STATIONS = ("station_gap", "angle_top_2", "angle_top")

# The order of trust. A method that height_method names goes before all others.
METHODS = (
    HeightMethod("fallen taped", "height_of_fallen_tree", ("length",), LYING),
    HeightMethod("sine", "height_from_slants", ("slant_top", "slant_base", *BOTH)),
    HeightMethod("two angles", "height_from_angles", (*BOTH, "baseline"), LEVEL),
    HeightMethod("two angles", "height_from_slope", (*BOTH, "baseline"), SLOPE),
    HeightMethod("two angles", "height_along_ground", (*BOTH, "baseline", "eye_height"), GROUND),
    HeightMethod("mark", "height_from_mark", MARK, LEVEL),
    HeightMethod("mark", "height_from_slope", MARK, SLOPE),
    HeightMethod("two stations", "height_from_two_stations_and_base", (*STATIONS, "angle_base")),
    HeightMethod(
        "one angle",
        "height_from_top_angle",
        ("angle_top", "baseline", "eye_height"),
        LEVEL_GROUND,
        without="angle_base",
    ),
    HeightMethod(
        "two stations",
        "height_from_two_stations",
        (*STATIONS, "eye_height"),
        without="angle_base",
    ),
    HeightMethod("stick", "height_from_stick", ("arm_length", "stick_length", "baseline")),
    HeightMethod("shadow", "height_from_shadow", ("tree_shadow", "stick_shadow", "stick_length")),
    HeightMethod("reported", "", ("height",), ("height_method", HEIGHT_WORDS)),
    HeightMethod("by eye", "", ("height",), ("height_method", ("by eye",))),
)

# Headings that nobody fills who is not measuring a height; a baseline may stand in every row.
TELLING = (
    "angle_top", "angle_base", "angle_mark", "angle_top_2", "slant_top", "slant_base",
    "station_gap", "mark_height", "arm_length", "tree_shadow", "stick_shadow", "stick_length",
    "length",
)  # fmt: skip
