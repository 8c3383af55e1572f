//! What the glass itself gets wrong in strong alkali and acid: one-sided, and never part of a symmetric
//! uncertainty.
//!
//! Model (Nikolsky): the glass answers to a(H) + K·a(Na) in place of a(H), so a true pH lies above the
//! one that is read: pH = read − log₁₀(1 − K·a(Na)·10^read). Model and constant are recalled, not
//! checked (REFERENCES 20); no public table of the error was to be found.

use crate::reference::ionic_strength;
use rillmark_proto::units::MicrosiemensPerCm;

/// Above this pH sodium interferes with glass: EPA method 150.1 (REFERENCES 17; seen). It then reads low
/// (recalled, not checked).
pub const ALKALINE_ABOVE_PH: f64 = 10.0;
/// Below this pH glass reads high (recalled, not checked: below 0.5 to 1).
pub const ACID_BELOW_PH: f64 = 1.0;
/// How much a glass prefers hydrogen to sodium: the K of a general-purpose glass at its worst; glass
/// made for alkali has a hundredth (REFERENCES 20; recalled, not checked).
pub const SELECTIVITY: f64 = 1e-12;
/// Sodium in mol/kg where nothing is known of the water's salt (own choice).
pub const USUAL_SODIUM_MOL_KG: f64 = 0.1;
/// An error below this is not spoken of, in pH (own choice: it does not show beside any uncertainty).
const LEAST_PH: f64 = 0.01;

/// The alkaline error of a glass of which nothing is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Alkaline {
    /// By how much the true pH may be higher; `None` where the glass may see nothing but sodium, so that
    /// there is no end to it.
    pub up_to_ph: Option<f64>,
    /// The sodium that was assumed, in mol/kg.
    pub sodium_mol_kg: f64,
}

/// The most sodium in mol/kg that a water of this conductivity at 25 °C may hold: all of its ions, with
/// twice the uncertainty of their estimate.
fn sodium_mol_kg(specific_conductance: Option<MicrosiemensPerCm>) -> f64 {
    // Above the estimate's range there is at least as much.
    let most = MicrosiemensPerCm::new(ionic_strength::RANGE.1);
    let within = specific_conductance.map(|it| if it.get() > most.get() { most } else { it });
    let estimate = within.and_then(|it| ionic_strength::estimate(it).ok());
    estimate.map_or(USUAL_SODIUM_MOL_KG, |ions| {
        ions.value + 2.0 * ions.standard_uncertainty.unwrap_or(0.0)
    })
}

/// The alkaline error at a pH that was read, in a water of this conductivity at 25 °C as far as it is
/// known; `None` up to pH 10 and where it is too small to matter.
#[must_use]
pub fn alkaline(read_ph: f64, specific_conductance: Option<MicrosiemensPerCm>) -> Option<Alkaline> {
    if read_ph <= ALKALINE_ABOVE_PH || read_ph.is_nan() {
        return None;
    }
    let sodium_mol_kg = sodium_mol_kg(specific_conductance);
    let hydrogen_left = 1.0 - SELECTIVITY * sodium_mol_kg * libm::pow(10.0, read_ph);
    let up_to_ph = (hydrogen_left > 0.0).then(|| -libm::log10(hydrogen_left));
    up_to_ph.is_none_or(|up_to| up_to >= LEAST_PH).then_some(Alkaline { up_to_ph, sodium_mol_kg })
}

/// True where glass reads too high, by an amount that nobody can tell.
#[must_use]
pub fn is_acid(read_ph: f64) -> bool {
    read_ph < ACID_BELOW_PH
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The model the other way round, as it is usually tabulated (computed: for K·a(Na) = 1e-13 glass
    /// reads 0.041 low at pH 12 and 0.301 low at pH 13).
    #[test]
    fn the_error_is_the_one_that_the_model_gives() {
        for (true_ph, low_by) in [(12.0, 0.0414), (13.0, 0.301)] {
            let found = alkaline(true_ph - low_by, None).expect("it matters there");
            assert!(libm::fabs(found.up_to_ph.expect("bounded") - low_by) < 1e-3, "{found:?}");
        }
        // Where sodium counts for more than all hydrogen that is read there is no end.
        assert_eq!(alkaline(13.1, None).map(|found| found.up_to_ph), Some(None));
    }

    #[test]
    fn a_water_with_little_salt_has_little_sodium() {
        let at = |us_cm| alkaline(12.0, Some(MicrosiemensPerCm::new(us_cm)));
        // 10 mS/cm: 0.15 mol/kg and 62 % more.
        let strong = at(10_000.0).expect("it matters");
        assert!(libm::fabs(strong.sodium_mol_kg - 0.243) < 1e-3, "{strong:?}");
        assert!(at(400.0).is_none());
        // A brine beyond the estimate's range holds no less than one within it, which has no end.
        assert_eq!(at(310_000.0), at(300_000.0));
        assert_eq!(at(310_000.0).map(|found| found.up_to_ph), Some(None));
        assert!(alkaline(10.0, None).is_none() && alkaline(f64::NAN, None).is_none());
        assert!(is_acid(0.9) && !is_acid(1.0) && !is_acid(f64::NAN));
    }
}
