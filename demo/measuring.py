"""What volunteers write down about a tree: rounded as they round, wrong as honest work is wrong."""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from growing import Tree, normal
from site_plan import SCHOOL_NAME, to_degrees

Cell = str | float | dt.date | None
Record = dict[str, Cell]

CM_PER_INCH, M_PER_FOOT = 2.54, 0.3048


@dataclass(frozen=True)
class Team:
    """A group with its eye height, the marks on its instrument, and how it finds the distance."""

    name: str
    eye_height_m: float
    angle_step_deg: float
    baseline_method: str = "taped"

    @property
    def baseline_sd(self) -> float:
        return 0.03 if self.baseline_method == "paced" else 0.004


WREN = Team("Team Wren", 1.52, 0.5)
NUTHATCH = Team("Team Nuthatch", 1.61, 1.0)
HERON = Team("Team Heron", 1.48, 1.0, "paced")
OTTER = Team("Team Otter", 1.66, 0.5)
FINCH = Team("Team Finch", 61 * CM_PER_INCH / 100, 1.0)
SWIFT = Team("Team Swift", 57 * CM_PER_INCH / 100, 1.0, "paced")

# One name, as other hands write it.
SPELLINGS = {
    "Acer saccharum": ("acer saccharum", "Sugar maple", "Acer saccharum "),
    "Fagus grandifolia": ("American beech", "FAGUS GRANDIFOLIA"),
    "Tsuga canadensis": ("eastern hemlock", "Tsuga Canadensis"),
    "Quercus rubra": ("Northern red oak", " Quercus rubra"),
    "Pinus resinosa": ("red pine", "Pinus Resinosa", "pinus resinosa "),
    "Tilia americana": ("American basswood",),
}
NOTES = (
    "woodpecker holes", "leans over the path", "bark very rough, tape sags", "moss round the foot",
    "two tries, second one kept", "nest box on the north side", "trunk still wet",
    "vine pulled away first", "top hard to see from here", "fungus at the foot",
)  # fmt: skip


def to_step(value: float, step: float) -> float:
    return round(value / step) * step


def girth_cm(rng: Random, diameter_cm: float) -> float:
    """A tape round the stem: bark and slack give 0.6 % and 4 mm either way."""
    return math.pi * diameter_cm * math.exp(normal(rng, 0, 0.006)) + normal(rng, 0, 0.4)


def girth_in(rng: Random, diameter_cm: float) -> float:
    return to_step(girth_cm(rng, diameter_cm) / CM_PER_INCH, 0.5)


def angles(
    rng: Random, team: Team, height_m: float, baseline_m: float, slope_sd_m: float
) -> tuple[float, float]:
    """Elevation of top and base from the distance that the team believes in. [deg]

    `slope_sd_m`: how far the base typically lies above or below the feet of the observer.
    """
    distance = baseline_m * (1 + normal(rng, 0, team.baseline_sd))
    base_m = normal(rng, 0, slope_sd_m) - team.eye_height_m
    seen = (math.atan2(base_m + height_m, distance), math.atan2(base_m, distance))
    top, base = (to_step(math.degrees(a) + normal(rng, 0, 0.4), team.angle_step_deg) for a in seen)
    return top, base


def standing_off(height_m: float, marks_m: Sequence[float]) -> float:
    """About one tree height away, at a round mark of the tape."""
    return min(marks_m, key=lambda mark: abs(mark - height_m))


def where(rng: Random, tree: Tree, sd_m: float, names: tuple[str, str]) -> Record:
    place = (tree.place[0] + normal(rng, 0, sd_m), tree.place[1] + normal(rng, 0, sd_m))
    lon, lat = to_degrees(place)
    return {names[0]: round(lat, 6), names[1]: round(lon, 6)}


def written_species(rng: Random, species: str) -> str:
    others = SPELLINGS.get(species, ())
    return others[int(rng.random() * len(others))] if others and rng.random() < 0.045 else species


def remark(rng: Random) -> Cell:
    return NOTES[int(rng.random() * len(NOTES))] if rng.random() < 0.1 else None


def grove_record(rng: Random, tree: Tree, number: int) -> Record:
    """Two angles over a tape: the ground of the grove is not level."""
    team = (WREN, NUTHATCH)[number // 11 % 2]
    low_stump = tree.status == "stump"
    swollen = rng.random() < 0.03 and not low_stump
    record: Record = {
        "tree": f"G{number:03d}",
        "species": written_species(rng, tree.species),
        "date": dt.date(2026, 4, 21 + number // 46),
        "observer": team.name,
        **where(rng, tree, 0.15, ("lat", "lon")),
        "position_accuracy_m": 0.5,
        "girth_cm": round(girth_cm(rng, tree.diameter_cm)),
        "measured_at_m": 0.3 if low_stump else 1.6 if swollen else 1.3,
        "measured_how": "swelling" if swollen else None,
        **dict.fromkeys(("baseline_m", "baseline_method", "angle_top_deg", "angle_base_deg")),
        "status": tree.status,
        "note": remark(rng),
    }
    if rng.random() < 0.55 and tree.status in ("alive", "dead"):
        record |= _two_angles(rng, tree, team)
    return record


def _two_angles(rng: Random, tree: Tree, team: Team) -> Record:
    baseline = standing_off(tree.height_m, (10, 15, 20, 25, 30))
    top, base = angles(rng, team, tree.height_m, baseline, 0.5)
    return {
        "baseline_m": baseline,
        "baseline_method": team.baseline_method,
        "angle_top_deg": top,
        "angle_base_deg": base,
    }


def plantation_record(rng: Random, tree: Tree, number: int) -> Record:
    """One angle and the eye height: the plantation is level. One team tapes, the other paces."""
    team = HERON if number > 84 else OTTER
    record: Record = {
        "Tree No": f"P{number:03d}",
        "Species": written_species(rng, tree.species),
        "Date": dt.date(2026, 4, 27 + number // 60),
        "Team": team.name,
        **where(rng, tree, 0.1, ("Latitude", "Longitude")),
        "Position accuracy (m)": 0.5,
        "Circumference (cm)": to_step(girth_cm(rng, tree.diameter_cm), 0.5),
        **dict.fromkeys(("Baseline (m)", "Baseline method", "Top angle (deg)", "Eye height (m)")),
        "Status": tree.status,
        "Remarks": remark(rng),
    }
    if rng.random() < 0.55 and tree.status == "alive":
        record |= _one_angle(rng, tree, team)
    return record


def _one_angle(rng: Random, tree: Tree, team: Team) -> Record:
    baseline = standing_off(tree.height_m, (12.5, 15, 17.5, 20, 22.5))
    top, _ = angles(rng, team, tree.height_m, baseline, 0.1)
    return {
        "Baseline (m)": baseline,
        "Baseline method": team.baseline_method,
        "Top angle (deg)": top,
        "Eye height (m)": team.eye_height_m,
    }


def school_record(rng: Random, tree: Tree, number: int) -> Record:
    """Inches and feet, as on the school's tapes; clumps stem by stem; places read from a plan."""
    team = (FINCH, SWIFT)[number % 2]
    record: Record = {
        "Tree": f"S{number:02d}",
        "Stand": SCHOOL_NAME,
        "Species": written_species(rng, tree.species),
        "Date": dt.date(2026, 5, 14 + number // 28),
        "Team": team.name,
        **where(rng, tree, 0.3, ("Latitude", "Longitude")),
        "Position accuracy (m)": 2,
        "Girth (in)": None if tree.stems_cm else girth_in(rng, tree.diameter_cm),
        **dict.fromkeys(
            ("Stem 1 (in)", "Stem 2 (in)", "Stem 3 (in)", "Height (ft)", "Height method")
        ),
        **dict.fromkeys(("Baseline (ft)", "Baseline method", "Angle top (deg)")),
        **dict.fromkeys(("Angle base (deg)", "Eye height (in)")),
        "Note": remark(rng),
    }
    stems = {f"Stem {n} (in)": girth_in(rng, stem) for n, stem in enumerate(tree.stems_cm, start=1)}
    return record | stems | _school_height(rng, tree, team)


def _school_height(rng: Random, tree: Tree, team: Team) -> Record:
    """A third from the gardener's old list, a third by angle, the rest not yet."""
    lot = rng.random()
    if lot < 0.3:
        feet = round(tree.height_m * math.exp(normal(rng, 0, 0.06)) / M_PER_FOOT)
        return {"Height (ft)": feet, "Height method": "reported"}
    if lot > 0.68:
        return {}
    baseline_ft = standing_off(tree.height_m / M_PER_FOOT, (30, 40, 50, 60))
    two = lot > 0.52
    top, base = angles(rng, team, tree.height_m, baseline_ft * M_PER_FOOT, 0.4 if two else 0.1)
    return {
        "Height method": "two angles" if two else "one angle",
        "Baseline (ft)": baseline_ft,
        "Baseline method": team.baseline_method,
        "Angle top (deg)": top,
        "Angle base (deg)": base if two else None,
        "Eye height (in)": None if two else round(team.eye_height_m * 100 / CM_PER_INCH),
    }
