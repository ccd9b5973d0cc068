"""How near a place is to the true one: radii that hold it 19 times in 20."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

# sqrt(-2 ln 0.05): so many standard deviations of one coordinate hold 95 % in the plane.
RADIUS_95 = 2.4477


@np.errstate(invalid="ignore")
def radius_from_sd(sd_m: ArrayLike) -> NDArray[np.float64]:
    """Radius round a place that holds the true one 19 times in 20.

    radius = 2.4477 * sd

    Parameters
    ----------
    sd_m
        Standard uncertainty in the least sure direction, 0 or more. [m]

    Returns
    -------
    radius_m
        Radius that holds the true place 19 times in 20; NaN where the uncertainty is not known.
        [m]

    Notes
    -----
    Source: NSSDA1998, appendix 3-A.
    Exact where all directions are alike. Where one is surer the circle holds more than 95 %.

    Examples
    --------
    >>> print(radius_from_sd(0.5).round(2))
    1.22
    """
    sd = np.asarray(sd_m, dtype=float)

    radius = RADIUS_95 * sd

    return np.where(sd >= 0, radius, np.nan)[()]


@np.errstate(invalid="ignore")
def offset_sd(
    distance_m: ArrayLike, distance_sd_m: ArrayLike, bearing_sd_deg: ArrayLike
) -> NDArray[np.float64]:
    """Uncertainty of a place by bearing and distance, in its least sure direction.

    sd = max(distance sd, distance * bearing sd)

    Parameters
    ----------
    distance_m
        Level distance from the known point, 0 or more. [m]
    distance_sd_m
        Standard uncertainty of the distance, 0 or more. [m]
    bearing_sd_deg
        Standard uncertainty of the bearing, 0 or more. [deg]

    Returns
    -------
    sd_m
        Along the tape or across it, whichever is larger; NaN where an input is missing. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, with the bearing's uncertainty in radians. Without that of the known point.

    Examples
    --------
    >>> print(offset_sd([2, 10], 0.12, 3).round(3))
    [0.12  0.524]
    """
    distance = np.asarray(distance_m, dtype=float)
    along, turned = np.asarray(distance_sd_m, dtype=float), np.radians(bearing_sd_deg)

    sd = np.maximum(along, distance * turned)

    return np.where((distance >= 0) & (along >= 0) & (turned >= 0), sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def two_tapes_sd(
    distance_m: ArrayLike, distance_2_m: ArrayLike, line_m: ArrayLike, tape_sd_m: ArrayLike
) -> NDArray[np.float64]:
    """Uncertainty of a place by two tapes, in its least sure direction.

    sd = tape sd / sqrt(1 - |cos(angle at the tree)|), cos(angle) = (distance² + distance 2² -
    line²) / (2 * distance * distance 2)

    Parameters
    ----------
    distance_m, distance_2_m
        Level distances from the two known points to the tree, above 0. [m]
    line_m
        Distance between the two points, above 0. [m]
    tape_sd_m
        Standard uncertainty of a distance, 0 or more. [m]

    Returns
    -------
    sd_m
        Standard uncertainty of the place; NaN where the tapes do not meet; without end where they
        lie along each other. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order: a distance tells the place along its own tape only, so two tapes that cross at a
    right angle are best, and two that lie almost along each other tell nothing across.

    Examples
    --------
    >>> print(two_tapes_sd([6, 10], [8, 10], 10, 0.12).round(3))
    [0.12 0.17]
    """
    first, second = np.asarray(distance_m, dtype=float), np.asarray(distance_2_m, dtype=float)
    line, tape_sd = np.asarray(line_m, dtype=float), np.asarray(tape_sd_m, dtype=float)

    cosine = (first**2 + second**2 - line**2) / (2 * first * second)
    sd = tape_sd / np.sqrt(1 - abs(cosine))

    sound = (first > 0) & (second > 0) & (line > 0) & (tape_sd >= 0)
    return np.where(sound & (abs(cosine) <= 1), sd, np.nan)[()]


@np.errstate(invalid="ignore")
def averaged_place(
    coordinates: ArrayLike, radii_m: ArrayLike, trees: ArrayLike
) -> NDArray[np.float64]:
    """One coordinate of each tree, averaged over its fixes; the surer ones count for more.

    place = sum(weight * coordinate) / sum(weight), weight = 1 / radius²

    Parameters
    ----------
    coordinates
        A coordinate of every fix, NaN where missing. [any]
    radii_m
        Radius of each fix, above 0; a tree with a fix that has none is averaged plainly. [m]
    trees
        Number of the tree that each fix belongs to, from 0; below 0 for none. [-]

    Returns
    -------
    place
        One value a tree, in the order of their numbers; NaN without a fix. [as coordinates]

    Notes
    -----
    Source: MAHUN, chapter G, eq. G-1.
    An error that all fixes share, as under one crown, stays in it.

    Examples
    --------
    >>> print(averaged_place([4.0, 10.0], [1.0, 2.0], [0, 0]))
    [5.2]
    """
    places = np.asarray(coordinates, dtype=float)
    weights, numbers = _weights(places, radii_m, trees)
    counted = numbers >= 0

    total = np.bincount(numbers[counted], weights[counted])
    summed = np.bincount(numbers[counted], weights[counted] * places[counted])
    place = summed / total

    return place


def averaged_radius(
    radii_m: ArrayLike, trees: ArrayLike, sessions: ArrayLike
) -> NDArray[np.float64]:
    """Radius round the averaged place of each tree that holds the true one 19 times in 20.

    radius = sqrt(sum over days((sum of the day(weight * radius))²)) / sum(weight),
    weight = 1 / radius²

    Parameters
    ----------
    radii_m
        Radius of each fix, above 0. [m]
    trees
        Number of the tree that each fix belongs to, from 0; below 0 for none. [-]
    sessions
        Number of the tree's day on which it was taken, from 0, no two trees sharing one. [-]

    Returns
    -------
    radius_m
        One value a tree, in the order of their numbers; NaN where a fix has none. [m]

    Notes
    -----
    Source: GUM2008, eq. 16, with correlation 1 within a day and 0 between days.
    Fixes of one day are off the same way, so their number does not make the place surer; another
    day has other satellites and does.

    Examples
    --------
    >>> print(averaged_radius([10.0, 10.0, 10.0], [0, 0, 1], [0, 1, 2]).round(2))
    [ 7.07 10.  ]
    """
    radii = np.asarray(radii_m, dtype=float)
    weights, numbers = _weights(np.zeros(len(radii)), radii, trees)
    days, counted = np.asarray(sessions, dtype=int), numbers >= 0

    by_day = np.bincount(days[counted], weights[counted] * radii[counted])
    tree_of_day = np.zeros(len(by_day), dtype=int)
    tree_of_day[days[counted]] = numbers[counted]
    squares = np.bincount(tree_of_day, by_day**2, minlength=numbers.max(initial=-1) + 1)
    total = np.bincount(numbers[counted], weights[counted])

    known = np.bincount(numbers[counted], ~(radii[counted] > 0)) == 0
    return np.where(known & (total > 0), np.sqrt(squares) / np.maximum(total, 1e-300), np.nan)


def _weights(
    places: NDArray[np.float64], radii_m: ArrayLike, trees: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Weight of each fix, 1 where its tree has a fix of unknown radius; the trees' numbers."""
    radii, numbers = np.asarray(radii_m, dtype=float), np.asarray(trees, dtype=int)
    numbers = np.where(np.isnan(places), -1, numbers)
    known = (radii > 0) & (radii < np.inf)
    unsure = np.unique(numbers[~known & (numbers >= 0)])
    weighted = known & ~np.isin(numbers, unsure)
    squares = np.where(weighted, radii, 1.0) ** 2
    return 1 / squares, numbers
