"""Places hung on one another: from known points to trees, and from those trees to the next."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mapper import metrics
from mapper.load.norths import ELLIPSOID

Floats = NDArray[np.float64]
Numbers = NDArray[np.int64]
Flags = NDArray[np.bool_]

# So many links after one another; every link adds its own error.
MOST_LINKS = 1000
NO_ROOT = -1
# The tapes may miss each other by three standard deviations and still be two tapes to one tree.
MOST_MISS_SDS = 3.0
# The side tells nothing where it lies within 10 degrees of the line itself.
LEAST_ACROSS = np.sin(np.radians(10.0))

# Why a step gives no place, by number; PLACED for those that do.
PLACED, NO_PLACE, CIRCLE, TOO_LONG, APART, WHICH_SIDE, NO_NORTH = range(7)


@dataclass
class Spots:
    """Places of points or of records, grown link by link."""

    lon: Floats
    lat: Floats
    radius_m: Floats  # of the point it hangs on in the end, 95 %
    relative_m: Floats  # to that point, 95 %
    root: Numbers  # number of that point; NO_ROOT where two roots meet

    @property
    def placed(self) -> Flags:
        """Which have a place."""
        return ~np.isnan(self.lon)

    @property
    def accuracy_m(self) -> Floats:
        """Radius that holds the true place 19 times in 20."""
        return np.where(
            self.root == NO_ROOT, self.relative_m, np.hypot(self.radius_m, self.relative_m)
        )

    def take(self, numbers: Numbers) -> "Spots":
        """Those places, copied."""
        return Spots(*(getattr(self, name)[numbers] for name in SPOT))

    def put(self, numbers: Numbers, spots: "Spots") -> None:
        """Write places in."""
        for name in SPOT:
            getattr(self, name)[numbers] = getattr(spots, name)


SPOT = ("lon", "lat", "radius_m", "relative_m", "root")


def nowhere(count: int) -> Spots:
    """So many spots without a place."""
    lon, lat, radius_m, relative_m = np.full((4, count), np.nan)
    return Spots(lon, lat, radius_m, relative_m, np.full(count, NO_ROOT, dtype=np.int64))


@dataclass(frozen=True)
class Steps:
    """Ways from known points to trees, an entry a record that has one."""

    own: Numbers  # the point that the tree itself is
    defines: Flags  # whether that point takes its place from this step
    point: Numbers
    point_2: Numbers  # below 0 where a bearing is given
    distance_m: Floats
    distance_2_m: Floats
    bearing_deg: Floats
    hand: Floats  # -1 left, 1 right of the line from the first point to the second, else 0
    side_deg: Floats  # the side as a direction
    tape_sd_m: Floats
    bearing_sd_deg: Floats

    def __len__(self) -> int:
        return len(self.own)


# Direction of the norths that some steps count from, at places: numbers, lat, lon.
North = Callable[[Numbers, Floats, Floats], Floats]


def grow(points: Spots, anchors: Spots, steps: Steps, north: North) -> tuple[Spots, Numbers]:
    """The place of each step's tree and, where it has none, why; `points` are filled on the way.

    `points` hold the places to start from, `anchors` those of points whose place waits for a
    step: it is taken where that step leads nowhere.
    """
    spots, why = nowhere(len(steps)), np.full(len(steps), TOO_LONG)
    rest = np.arange(len(steps))
    for _ in range(MOST_LINKS):
        if not len(rest):
            break
        placed, second = points.placed, steps.point_2[rest]
        ready = placed[steps.point[rest]] & ((second < 0) | placed[second])
        now = rest[ready] if ready.any() else _stuck(points, anchors, steps, rest)
        if ready.any():
            found, why[now] = _step(points, steps, now, north)
            spots.put(now, found)
            defining = now[steps.defines[now] & (why[now] == PLACED)]
            points.put(steps.own[defining], spots.take(defining))
        else:
            why[now] = np.where(_waiting(points, steps, rest, now), CIRCLE, NO_PLACE)
        failed = now[steps.defines[now] & (why[now] != PLACED)]
        points.put(steps.own[failed], anchors.take(steps.own[failed]))
        rest = rest[~np.isin(rest, now)]
    return spots, why


def _awaited(steps: Steps, rest: Numbers, count: int) -> Flags:
    """By point, whether one of the steps left would give it a place."""
    awaited = np.zeros(count, dtype=bool)
    awaited[steps.own[rest[steps.defines[rest]]]] = True
    return awaited


def _waiting(points: Spots, steps: Steps, rest: Numbers, now: Numbers) -> Flags:
    """Which of the steps `now` wait for nothing but steps that are left."""
    coming = points.placed | _awaited(steps, rest, len(points.lon))
    second = steps.point_2[now]
    return coming[steps.point[now]] & ((second < 0) | coming[second])


def _stuck(points: Spots, anchors: Spots, steps: Steps, rest: Numbers) -> Numbers:
    """Where no step can be taken: those from points without any place, else those in a circle.

    Of a circle those go first whose points have coordinates of their own: the others start there.
    """
    lost = rest[~_waiting(points, steps, rest, rest)]
    if len(lost):
        return lost
    core = rest
    while True:  # a tree at the end of a chain is in no circle: nothing is measured from it
        needed = np.union1d(steps.point[core], steps.point_2[core])
        inner = core[np.isin(steps.own[core], needed) & steps.defines[core]]
        if len(inner) in (0, len(core)):
            break
        core = inner
    anchored = core[steps.defines[core] & anchors.placed[steps.own[core]]]
    return anchored if len(anchored) else core


def _step(points: Spots, steps: Steps, now: Numbers, north: North) -> tuple[Spots, Numbers]:
    """One link for some steps: places, and why not."""
    spots, why = nowhere(len(now)), np.full(len(now), PLACED)
    two = steps.point_2[now] >= 0
    for some, walk in ((~two, _by_bearing), (two, _by_tapes)):
        if some.any():
            found, why[some] = walk(points, steps, now[some], north)
            spots.put(np.flatnonzero(some), found)
    return spots, why


def _by_bearing(points: Spots, steps: Steps, now: Numbers, north: North) -> tuple[Spots, Numbers]:
    start = points.take(steps.point[now])
    turned = metrics.true_bearing(steps.bearing_deg[now], north(now, start.lat, start.lon))
    known, distance = ~np.isnan(turned), steps.distance_m[now]
    lon, lat, _ = ELLIPSOID.fwd(start.lon, start.lat, np.nan_to_num(turned), distance)
    sd = metrics.offset_sd(distance, steps.tape_sd_m[now], steps.bearing_sd_deg[now])
    relative = np.hypot(start.relative_m, metrics.radius_from_sd(sd))
    spots = Spots(
        np.where(known, lon, np.nan), np.where(known, lat, np.nan),
        start.radius_m, relative, start.root,
    )  # fmt: skip
    return spots, np.where(known, PLACED, NO_NORTH)


def _by_tapes(points: Spots, steps: Steps, now: Numbers, _: North) -> tuple[Spots, Numbers]:
    start, end = points.take(steps.point[now]), points.take(steps.point_2[now])
    along, _back, line = ELLIPSOID.inv(start.lon, start.lat, end.lon, end.lat)
    first, second = steps.distance_m[now], steps.distance_2_m[now]
    one_root = (start.root == end.root) & (start.root != NO_ROOT)
    # What both points share moves the tree with them; only the rest turns into a wrong distance.
    unsure = np.where(
        one_root,
        np.maximum(start.relative_m, end.relative_m),
        np.maximum(start.accuracy_m, end.accuracy_m),
    )
    sd = np.hypot(steps.tape_sd_m[now], unsure / metrics.radius_from_sd(1.0))
    angle = _angle(first, second, line, MOST_MISS_SDS * np.fmax(sd, steps.tape_sd_m[now]))
    hand = _hand(steps, now, along, first * np.sin(np.radians(angle)) <= 2 * steps.tape_sd_m[now])
    lon, lat, _back = ELLIPSOID.fwd(
        start.lon, start.lat, np.nan_to_num(along + hand * angle), first
    )
    relative = metrics.radius_from_sd(metrics.two_tapes_sd(first, second, line, sd))
    sound = ~np.isnan(angle) & (hand != 0)
    spots = Spots(
        np.where(sound, lon, np.nan), np.where(sound, lat, np.nan), start.radius_m, relative,
        np.where(one_root, start.root, NO_ROOT),
    )  # fmt: skip
    return spots, np.where(np.isnan(angle), APART, np.where(hand == 0, WHICH_SIDE, PLACED))


def _angle(first: Floats, second: Floats, line: Floats, miss: Floats) -> Floats:
    """Angle at the first point; on the line itself where the tapes miss each other by little."""
    angle = metrics.angle_from_two_tapes(first, second, line)
    short, past = line - first - second, first - second - line
    behind = second - first - line
    on_line = np.where(np.maximum(short, past) > 0, 0.0, 180.0)
    near = np.maximum(np.maximum(short, past), behind) <= miss
    return np.where(np.isnan(angle) & near & (line > 0), on_line, angle)


def _hand(steps: Steps, now: Numbers, along: Floats, on_line: Flags) -> Floats:
    """1 right, -1 left of the line, 0 where nobody says; on the line it makes no difference."""
    across = np.sin(np.radians(steps.side_deg[now] - along))
    told = np.where(abs(across) > LEAST_ACROSS, np.sign(across), 0.0)
    hand = np.where(np.isnan(across), steps.hand[now], told)
    return np.where((hand == 0) & on_line, 1.0, hand)
