"""Equations of the Urban Tree Database, all forms of them, and what they are good for.

A form says which terms an equation has; ``mapper.reference.growth`` reads the forms and the
coefficients from their tables and hands them over as weights of these terms.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mapper.metrics.chance import student_t

# Two sizes that the rising of an equation is tested between lie so far apart, in cm.
STEP_CM = 0.1


@np.errstate(divide="ignore", invalid="ignore", over="ignore")
def urban_prediction(
    size: ArrayLike,
    terms: ArrayLike,
    inner: ArrayLike,
    exponential: ArrayLike,
    lowest: ArrayLike,
    highest: ArrayLike,
) -> NDArray[np.float64]:
    """What an equation of the Urban Tree Database predicts, such as the age for a diameter.

    predicted = k or exp(k), where k = t0 + t1 * x + t2 * x² + t3 * x³ + t4 * x⁴ + t5 * sqrt(x)
    + t6 * ln(ln(x + 1) + inner)

    Parameters
    ----------
    size
        What it is predicted from, x, above 0: for an age the diameter. [cm]
    terms
        The seven weights t0 to t6 along the last axis. [-]
    inner
        Term inside the outer logarithm, 0 in most forms. [-]
    exponential
        1 for the forms that end in exp, 0 for the polynomials. [-]
    lowest, highest
        Limits within which the prediction is held to be good. [years, for an age]

    Returns
    -------
    predicted
        Years since planting, for an age. NaN outside the limits or where an input is missing.
        [years, for an age]

    Notes
    -----
    Source: UTD2016, table TS4 (forms) and table TS6 (coefficients, limits of application).
    For street and park trees of one region and species. The limits bound what is predicted,
    not what it is predicted from. The half variance of the forms with exp is part of their
    terms; the table keeps it in column c. For 11511 trees that the equations were made from,
    half of the ages came out within 14 % and one in ten was more than 48 % off; elsewhere
    expect worse.

    Examples
    --------
    >>> print(urban_prediction(30, [1.81099, 0.32363, 0.00337, 0, 0, 0, 0], 0, 0, 0, 66).round(2))
    14.55
    """
    x = np.asarray(size, dtype=float)
    weights = np.moveaxis(np.asarray(terms, dtype=float), -1, 0)

    powers = np.polynomial.polynomial.polyval(x, weights[:5], tensor=False)
    k = powers + weights[5] * np.sqrt(x) + weights[6] * np.log(np.log(x + 1) + inner)
    predicted = np.where(np.asarray(exponential, dtype=float) == 1, np.exp(k), k)

    kept = (x > 0) & (predicted >= lowest) & (predicted <= highest)
    return np.where(kept, predicted, np.nan)[()]


@np.errstate(invalid="ignore", over="ignore")
def urban_prediction_range(
    predicted: ArrayLike,
    size: ArrayLike,
    variance: ArrayLike,
    weight_power: ArrayLike,
    degrees_of_freedom: ArrayLike,
    exponential: ArrayLike,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Range that holds 95 % of the trees like those an urban equation was made from.

    low, high = predicted ± w or predicted * exp(± w), where w = t * sqrt(variance * x^power)

    Parameters
    ----------
    predicted
        What urban_prediction gave. [years, for an age]
    size
        What it was predicted from, x, above 0. [cm]
    variance
        Mean square that the equation leaves unexplained, at x = 1, 0 or more. [years² or -]
    weight_power
        The trees were weighted with 1 / x^power: 0, 0.5, 1 or 2. [-]
    degrees_of_freedom
        Trees less coefficients, 1 or more. [-]
    exponential
        1 for the forms that end in exp, 0 for the polynomials. [-]

    Returns
    -------
    low, high
        Low is not below 0. NaN where an input is missing. [years, for an age]

    Notes
    -----
    Source: UTD2016, table TS6 (sigma, model weight, degrees of freedom).
    t is that of student_t. The doubt about the coefficients is not published; it would widen
    the range by some 3 %. It is a range for street and park trees of the same city, and too
    narrow anywhere else. The table's sigma is the mean square itself in the polynomials: only
    then is the scatter of the data a quarter of their range, for every quantity predicted, and
    only then do the mean errors come out as measured.

    Examples
    --------
    >>> low, high = urban_prediction_range(18.09, 40, 0.42975, 1, 52, 0)
    >>> print(low.round(1), high.round(1))
    9.8 26.4
    """
    middle, x = np.asarray(predicted, dtype=float), np.asarray(size, dtype=float)
    mean_square = np.asarray(variance, dtype=float)

    width = student_t(degrees_of_freedom) * np.sqrt(mean_square * x ** np.asarray(weight_power))
    relative = np.asarray(exponential, dtype=float) == 1
    low = np.where(relative, middle * np.exp(-width), np.maximum(middle - width, 0))
    high = np.where(relative, middle * np.exp(width), middle + width)

    sound = (x > 0) & (mean_square >= 0) & (high < np.inf)
    return np.where(sound, low, np.nan)[()], np.where(sound, high, np.nan)[()]


def urban_equation_rises(
    terms: ArrayLike,
    inner: float,
    exponential: float,
    lowest_size: float,
    highest_size: float,
) -> bool:
    """Whether one urban equation gives more for every larger size, over the sizes of its data.

    rises = every predicted(x + 0.1 cm) > predicted(x), for x from the lowest to the highest

    Parameters
    ----------
    terms
        The seven weights as for urban_prediction. [-]
    inner
        Term inside the outer logarithm. [-]
    exponential
        1 for the forms that end in exp, 0 for the polynomials. [-]
    lowest_size, highest_size
        Smallest and largest size among the trees that the equation was made from. [cm]

    Returns
    -------
    rises
        Whether it rises all the way; False also where the sizes are missing or run backwards. [-]

    Notes
    -----
    Source: UTD2016, table TS6; data limits of the rows that predict the diameter.
    An equation that falls makes a thicker tree younger, and is not used at all. Of the 334 for
    age 76 fall somewhere among their own diameters.

    Examples
    --------
    >>> urban_equation_rises([0, 2, -0.01, 0, 0, 0, 0], 0, 0, 3, 90)
    True
    >>> urban_equation_rises([0, 2, -0.01, 0, 0, 0, 0], 0, 0, 3, 110)
    False
    """
    if not 0 < lowest_size < highest_size < np.inf:
        return False
    steps = max(2, round((highest_size - lowest_size) / STEP_CM) + 1)
    sizes = np.linspace(lowest_size, highest_size, steps)

    curve = urban_prediction(sizes, np.asarray(terms), inner, exponential, -np.inf, np.inf)

    return bool(np.all(np.diff(curve) > 0))
