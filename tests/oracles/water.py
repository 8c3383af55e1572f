"""Water: the full formulations of the IAPWS, not the short equations for 0.1 MPa."""

from iapws import IAPWS95

from tables import Table


def tables():
    rows = []
    for step in range(0, 101):
        celsius = step / 2
        # The viscosity of 2008 at the density of 1995.
        viscosity = IAPWS95(T=celsius + 273.15, P=0.1).mu * 1000
        rows.append([celsius, viscosity])
    return [Table("water-viscosity.csv", ["temperature_c", "viscosity_mpa_s"], rows)]
