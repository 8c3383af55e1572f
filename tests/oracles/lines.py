"""Straight lines: scipy's curve_fit with absolute sigma, and its orthogonal distance regression."""

import math

import numpy as np
from scipy import odr
from scipy.optimize import curve_fit

from tables import Table

# Nernst factor in mV/pH at a temperature in °C, from the exact constants of the SI.
GAS, FARADAY = 8.31446261815324, 96485.3321233100184


def nernst(celsius):
    return GAS * (celsius + 273.15) * math.log(10) / FARADAY * 1000


def ph_points(buffers):
    """x = (pH - 7) times the Nernst factor, y = potential, both in mV."""
    return [
        ((ph - 7) * nernst(t), mv, u_ph * nernst(t), u_mv) for ph, u_ph, t, mv, u_mv in buffers
    ]


# (x, weight of x, y, weight of y): Pearson's data with York's weights, York et al. (2004).
PEARSON = [
    (0.0, 1000, 5.9, 1), (0.9, 1000, 5.4, 1.8), (1.8, 500, 4.4, 4), (2.6, 800, 4.6, 8),
    (3.3, 200, 3.5, 20), (4.4, 80, 3.7, 20), (5.2, 60, 2.8, 70), (6.1, 20, 2.8, 70),
    (6.5, 1.8, 2.4, 100), (7.4, 1, 1.5, 500),
]

# Points (x, y, u_x, u_y). The pH and conductivity sets are invented, in sizes that occur.
SETS = {
    "pearson-york": [(x, y, wx**-0.5, wy**-0.5) for x, wx, y, wy in PEARSON],
    # pH of the buffer, its u, temperature in °C, potential in mV, its u.
    "ph-three-buffers": ph_points([
        (4.005, 0.01, 21.3, 172.4, 0.3), (7.02, 0.01, 21.1, -1.9, 0.3), (10.05, 0.02, 20.8, -175.2, 0.3),
    ]),
    "ph-five-buffers-aged-electrode": ph_points([
        (1.68, 0.005, 25.0, 291.0, 0.4), (4.006, 0.005, 25.0, 164.8, 0.2), (6.865, 0.005, 25.0, 9.9, 0.2),
        (9.18, 0.005, 25.0, -115.4, 0.3), (10.012, 0.01, 25.0, -160.2, 0.6),
    ]),
    "ph-one-bad-bottle": ph_points([
        (4.0, 0.01, 15.0, 166.2, 0.3), (7.04, 0.05, 15.0, -6.1, 0.3), (10.12, 0.01, 15.0, -178.8, 0.3),
        (9.28, 0.01, 15.0, -124.9, 0.3),
    ]),
    # Conductivity of the standard in µS/cm, conductance found in µS.
    "conductivity-three-standards": [
        (146.9, 148.1, 0.74, 0.15), (1413.0, 1421.9, 3.5, 1.4), (12880.0, 12931.0, 32.0, 13.0),
    ],
    "conductivity-air-and-standards": [
        (0.0, 0.021, 0.001, 0.004), (84.0, 83.1, 0.42, 0.05), (1413.0, 1395.2, 3.5, 0.9),
        (1408.2, 1391.0, 0.7, 0.9),
    ],
}


def straight(x, intercept, slope):
    return intercept + slope * x


def weighted(points):
    """x exact, y with its own uncertainty: the covariance is that of the uncertainties."""
    x, y, _, u_y = np.array(points).T
    start = np.polynomial.polynomial.polyfit(x, y, 1)
    # Started at the answer's neighbourhood; the exact derivative makes the rest one linear step.
    best, covariance = curve_fit(
        straight, x, y, p0=start, sigma=u_y, absolute_sigma=True,
        jac=lambda x, *_: np.column_stack([np.ones_like(x), x]),
        xtol=1e-15, ftol=1e-15, gtol=1e-15,
    )
    chi_squared = np.sum(((y - straight(x, *best)) / u_y) ** 2)
    return best, covariance, chi_squared


def both_axes(points):
    """x and y uncertain: the covariance is that of the uncertainties, at the adjusted points."""
    x, y, u_x, u_y = np.array(points).T
    start = np.polynomial.polynomial.polyfit(x, y, 1)
    model = odr.Model(
        lambda beta, x: straight(x, *beta),
        fjacb=lambda beta, x: np.vstack([np.ones_like(x), x]),
        fjacd=lambda beta, x: np.full_like(x, beta[1]),
    )
    data = odr.RealData(x, y, sx=u_x, sy=u_y)
    fit = odr.ODR(data, model, beta0=start, maxit=1000, sstol=1e-16, partol=1e-16)
    fit.set_job(fit_type=0, deriv=3)
    result = fit.run()
    # It stops where the sum of squares is flat, which is some 1e-9 early: go on from there.
    for _ in range(20):
        result = fit.restart(iter=100)
    return result.beta, result.cov_beta, result.sum_square


def rows():
    for name, points in SETS.items():
        for method, fit in (("weighted", weighted), ("both-axes", both_axes)):
            (intercept, slope), covariance, chi_squared = fit(points)
            yield [
                name, method, intercept, slope,
                covariance[0][0], covariance[1][1], covariance[0][1], chi_squared,
            ]


def tables():
    points = [[name, *point] for name, points in SETS.items() for point in points]
    columns = [
        "set", "method", "intercept", "slope",
        "variance_intercept", "variance_slope", "covariance", "chi_squared",
    ]
    return [
        Table("line-points.csv", ["set", "x", "y", "u_x", "u_y"], points),
        # Where an iteration stops hangs on the last digits more than its result does.
        Table("line-fits.csv", columns, list(rows()), relative=1e-9),
    ]
