"""Probabilities: normal between two limits, and quantiles of Student's t."""

from scipy.stats import norm, t

from tables import Table

# (lower limit, upper limit, measured, standard uncertainty); None is no limit. The first two are the
# examples of JCGM 106:2012 as recalled.
CASES = [
    (12.5, 16.3, 13.6, 1.8),
    (None, -5.4, -5.47, 0.05),
    (-0.05, 0.05, 0.012, 0.011),
    (-0.05, 0.05, 0.06, 0.011),
    (-0.05, 0.05, -0.2, 0.011),
    (6.965, 7.065, 7.031, 0.03),
    (1370.6, 1455.4, 1398.0, 14.0),
    (None, 0.02, 0.019, 0.004),
    (95.0, 102.0, 94.0, 0.8),
    (0.0, None, -8.0, 1.0),
    (0.0, None, -30.0, 1.0),
    (0.0, None, 8.0, 1.0),
    (-1.0, 1.0, 0.0, 0.25),
    (-1.0, 1.0, 0.0, 100.0),
]


def between(lower, upper, measured, u):
    """Each tail as a tail, so that a small probability keeps its digits."""
    low = float("-inf") if lower is None else (lower - measured) / u
    high = float("inf") if upper is None else (upper - measured) / u
    if low > 0:
        return norm.sf(low) - norm.sf(high)
    return norm.cdf(high) - norm.cdf(low)


def tables():
    conformance = [[*case, between(*case)] for case in CASES]
    student = [[degrees, t.ppf(0.975, degrees)] for degrees in [*range(3, 31), 50, 100, 1000]]
    return [
        Table("conformance.csv", ["lower", "upper", "measured", "u", "probability"], conformance),
        Table("student-95.csv", ["degrees_of_freedom", "factor"], student),
    ]
