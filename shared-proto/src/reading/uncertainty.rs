//! How uncertain the values of one reading are.

use super::{Coefficients, Raw};
use crate::calibration::{conductivity, ph};
use crate::reference::ionic_strength::{self, Class};
use crate::units::MicrosiemensPerCm;

/// Standard uncertainties (k = 1) of what [`super::evaluate`] computes; `None` where there is no
/// value.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Uncertainty {
    /// Of the temperature in K.
    pub temperature_k: Option<f64>,
    /// Of the pH.
    pub ph: Option<f64>,
    /// Of the conductivity in µS/cm.
    pub conductivity_us_cm: Option<f64>,
    /// Of the specific conductance in µS/cm.
    pub specific_conductance_us_cm: Option<f64>,
    /// The class of the water, which the pH's uncertainty depends on; `None` without a specific
    /// conductance, when the water is taken as an ordinary one.
    pub water: Option<Class>,
}

/// The uncertainty of every value of a reading under the coefficients in force, from their budgets
/// ([`ph::budget`], [`conductivity::budget`]) with the default conditions.
pub fn uncertainty(raw: &Raw, coefficients: &Coefficients) -> Uncertainty {
    let temperature = raw.temperature(coefficients);
    let thermometer_k = temperature.map(|at| coefficients.thermometer_uncertainty(at));
    // Without a temperature nothing is known of the thermometer's part in the cell constant either.
    let cell = || {
        let (cell, conductance) = (coefficients.conductivity?, raw.conductance()?);
        let range = raw.conductance?.range;
        let conditions = conductivity::budget::Conditions {
            since: coefficients.since(cell.thermometer_k),
            ..conductivity::budget::Conditions::new(conductance, range, thermometer_k?)
        };
        Some((cell, conductance, range, conditions))
    };
    let conductivity = cell().and_then(|(cell, conductance, range, conditions)| {
        cell.budget(conductance, range, &conditions)
    });
    let specific = cell().and_then(|(cell, conductance, range, conditions)| {
        cell.specific_budget(conductance, range, temperature?, &conditions)
    });
    let water = specific.and_then(|found| {
        // A cell in air conducts a little less than nothing.
        let us_cm = libm::fmax(found.value.get(), 0.0);
        ionic_strength::class(MicrosiemensPerCm::new(us_cm)).ok()
    });
    let of_ph = || {
        let (electrode, potential) = (coefficients.ph?, raw.potential()?);
        let water = water.unwrap_or(Class::Ordinary);
        let conditions = ph::budget::Conditions {
            since: coefficients.since(electrode.shared.thermometer_k),
            ..ph::budget::Conditions::new(potential, thermometer_k?, water)
        };
        electrode.budget(potential, temperature?, &conditions)
    };
    Uncertainty {
        temperature_k: thermometer_k,
        ph: of_ph().map(|budget| budget.combined),
        conductivity_us_cm: conductivity.map(|budget| budget.combined_us_cm()),
        specific_conductance_us_cm: specific.map(|budget| budget.combined_us_cm()),
        water,
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Range, RawConductance};
    use super::*;
    use crate::calibration::conductivity::{Compensation, ConductivityCalibration};
    use crate::calibration::ph::PhCalibration;
    use crate::reference::ionic_strength::residual_junction;

    fn raw(conductance_ps: i64) -> Raw {
        let conductance = RawConductance { conductance_ps, range: Range::Ohm1k };
        Raw {
            potential_nv: Some(20_000_000),
            conductance: Some(conductance),
            // 25 °C by IEC 60751.
            thermometer_milliohm: Some(1_097_347),
        }
    }

    const COEFFICIENTS: Coefficients = Coefficients {
        ph: Some(PhCalibration::exact(0.98, 2.0)),
        conductivity: Some(ConductivityCalibration::exact(
            1.0,
            Compensation::Linear { per_kelvin: 0.0191 },
        )),
        temperature: None,
    };

    #[test]
    fn a_water_far_from_the_buffers_makes_its_ph_less_certain() {
        for (ps, class) in [
            (40_000_000, Class::Dilute),
            (400_000_000, Class::Ordinary),
            (40_000_000_000, Class::Salty),
        ] {
            let found = uncertainty(&raw(ps), &COEFFICIENTS);
            assert_eq!(found.water, Some(class));
            let junction = residual_junction(class).value;
            assert!((junction..junction + 0.006).contains(&found.ph.unwrap()), "{found:?}");
        }
    }

    #[test]
    fn what_has_no_value_has_no_uncertainty() {
        let none = uncertainty(&Raw::default(), &COEFFICIENTS);
        assert_eq!(none, Uncertainty::default());
        let bare = uncertainty(&raw(400_000_000), &Coefficients::default());
        assert_eq!(bare, Uncertainty { temperature_k: bare.temperature_k, ..none });
        let cold = Raw { thermometer_milliohm: None, ..raw(400_000_000) };
        assert_eq!(uncertainty(&cold, &COEFFICIENTS), none);
        // Without a cell the water counts as an ordinary one.
        let dry = uncertainty(&Raw { conductance: None, ..raw(0) }, &COEFFICIENTS);
        assert!(dry.water.is_none() && dry.ph.unwrap() < 0.02);
    }
}
