"""Water: viscosity by the full formulations of the IAPWS, and how natural waters conduct by their ions."""

from iapws import IAPWS95

from tables import Table

# McCleskey, Nordstrom, Ryan & Ball, Geochim. Cosmochim. Acta 77, 369 (2012): a conductivity in µS/cm is the
# sum of m (L - A sqrt(I) / (1 + B sqrt(I))), m in mmol/kg, I in mol/kg, L and A quadratic in °C. Seen at one
# remove: two public programs give the same digits, one of them without the minus signs, which belong to HCO3
# (REFERENCES 10). Ion: charge, L (square, linear, constant), A likewise, B.
IONS = {
    "K": (1, (0.003046, 1.261, 40.70), (0.00535, 0.9316, 22.59), 1.5),
    "Na": (1, (0.003763, 0.8770, 26.23), (0.00027, 1.141, 32.07), 1.7),
    "Ca": (2, (0.009645, 1.984, 62.28), (0.03174, 2.334, 132.3), 2.8),
    "Mg": (2, (0.01068, 1.695, 57.16), (0.02453, 1.915, 80.50), 2.1),
    "Cl": (1, (0.003817, 1.337, 40.99), (0.00613, 0.9469, 22.01), 1.5),
    "HCO3": (1, (0.000614, 0.9048, 21.14), (-0.00503, 0.8957, 10.97), 0.1),
    "SO4": (2, (0.01037, 2.838, 82.37), (0.03324, 5.889, 193.5), 2.6),
}

# Waters of natural composition in mmol/kg; the river is invented, of usual proportions.
WATERS = {
    "sodium-chloride-1": {"Na": 1, "Cl": 1},
    "sodium-chloride-10": {"Na": 10, "Cl": 10},
    "calcium-hydrogencarbonate-1": {"Ca": 1, "HCO3": 2},
    "calcium-hydrogencarbonate-2.5": {"Ca": 2.5, "HCO3": 5},
    "sodium-hydrogencarbonate-2": {"Na": 2, "HCO3": 2},
    "calcium-sulfate-2": {"Ca": 2, "SO4": 2},
    "river": {"Ca": 1, "Mg": 0.4, "Na": 0.6, "K": 0.05, "HCO3": 2.4, "SO4": 0.3, "Cl": 0.45},
}


def conductivity(water, celsius):
    strength = sum(m * IONS[ion][0] ** 2 for ion, m in water.items()) / 2000
    root = strength**0.5
    total = 0
    for ion, m in water.items():
        _, limiting, slowing, b = IONS[ion]
        at = [(p * celsius + q) * celsius + r for p, q, r in (limiting, slowing)]
        total += m * (at[0] - at[1] * root / (1 + b * root))
    return total


def tables():
    viscosities = []
    for step in range(0, 101):
        celsius = step / 2
        # The viscosity of 2008 at the density of 1995.
        viscosity = IAPWS95(T=celsius + 273.15, P=0.1).mu * 1000
        viscosities.append([celsius, viscosity])
    factors = [
        [name, t, conductivity(water, 25) / conductivity(water, t)]
        for name, water in WATERS.items()
        for t in range(0, 36)
    ]
    return [
        Table("water-viscosity.csv", ["temperature_c", "viscosity_mpa_s"], viscosities),
        Table("natural-waters.csv", ["water", "temperature_c", "factor_to_25"], factors),
    ]
