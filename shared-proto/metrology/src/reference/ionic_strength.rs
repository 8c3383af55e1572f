//! How much is dissolved in a water, from its specific conductance, and what that does to a pH.
//!
//! Buffers have an ionic strength of about 0.1 mol/kg. In a water far from that the potential at the
//! junction of the reference electrode is another one than in the buffers; what is left of it when
//! the calibration has taken its part away cannot be told from pH.

use rillmark_proto::reference::{OutOfRange, Sourced, Tag, quantity, sourced, within};
use rillmark_proto::units::MicrosiemensPerCm;

/// Specific conductances in µS/cm of waters, from air-free pure water to brine. Own choice.
pub const RANGE: (f64, f64) = (0.0, 300_000.0);

/// Below this specific conductance in µS/cm a water is dilute.
pub const DILUTE_BELOW_US_CM: f64 = 100.0;

/// Where [`DILUTE_BELOW_US_CM`] comes from.
pub const DILUTE_SOURCE: &str =
    sourced!(Seen, "abstract of ASTM D5464, pH of waters below 100 µS/cm");

/// Above this ionic strength in mol/kg a water is salty.
pub const SALTY_ABOVE_MOL_KG: f64 = 0.3;

/// The specific conductance in µS/cm that belongs to it (2000 mS/m).
pub const SALTY_ABOVE_US_CM: f64 = 20_000.0;

/// Where both come from (REFERENCES 19).
pub const SALTY_SOURCE: &str = sourced!(
    Seen,
    "abstract of ISO 10523:2008, ionic strength below 0.3 mol/kg, conductivity below 2000 mS/m"
);

/// Ionic strength in mol/kg per µS/cm: the pair of numbers of ISO 10523's scope. The factors of the
/// trade are 1.3e-5 (after Griffin and Jurinak 1973) and 1.6e-5 (after Russell 1976); recalled, not
/// checked.
const PER_US_CM: f64 = SALTY_ABOVE_MOL_KG / SALTY_ABOVE_US_CM;

/// Relative standard uncertainty of [`PER_US_CM`]. Computed: potassium chloride has 0.7e-5 (0.01
/// mol/kg conducts 1408 µS/cm), salts of double charges, partly bound to each other, as much more
/// than 1.5e-5 as that is less; rectangular.
const RELATIVE_UNCERTAINTY: f64 = 0.31;

/// Where the estimate comes from.
pub const SOURCE: &str = "1.5e-5 mol/kg per µS/cm at 25 °C, the pair of numbers of the scope of ISO 10523:2008; \
     factors of the trade are 1.3e-5 to 1.6e-5";

/// How it came to this project.
pub const TAG: Tag = Tag::Seen;

/// Which kind of water it is for a pH measurement.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Class {
    /// Below 100 µS/cm: rain, snow, soft streams, deionised water.
    Dilute,
    /// In between: most rivers, lakes, groundwaters and taps.
    Ordinary,
    /// Above 0.3 mol/kg (20 000 µS/cm): brackish water and the sea. A pH on the scale of the buffers
    /// is not one on the total scale there.
    Salty,
}

impl Class {
    /// Every class.
    pub const ALL: [Self; 3] = [Self::Dilute, Self::Ordinary, Self::Salty];

    /// The name that machine-readable output gives the class.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Dilute => "dilute",
            Self::Ordinary => "ordinary",
            Self::Salty => "salty",
        }
    }
}

/// The class of a water, from its conductivity at 25 °C.
///
/// # Errors
/// [`OutOfRange`] below 0 or above 300 000 µS/cm.
pub fn class(specific_conductance: MicrosiemensPerCm) -> Result<Class, OutOfRange> {
    let us_cm = within(quantity::CONDUCTIVITY, specific_conductance.get(), RANGE)?;
    Ok(if us_cm < DILUTE_BELOW_US_CM {
        Class::Dilute
    } else if us_cm <= SALTY_ABOVE_US_CM {
        Class::Ordinary
    } else {
        Class::Salty
    })
}

/// Estimates the ionic strength in mol/kg from the conductivity at 25 °C, within a factor of about
/// two: it depends on the ions.
///
/// # Errors
/// As [`class`].
pub fn estimate(specific_conductance: MicrosiemensPerCm) -> Result<Sourced, OutOfRange> {
    let us_cm = within(quantity::CONDUCTIVITY, specific_conductance.get(), RANGE)?;
    let value = PER_US_CM * us_cm;
    Ok(Sourced {
        value,
        standard_uncertainty: Some(RELATIVE_UNCERTAINTY * value),
        source: SOURCE,
        tag: TAG,
    })
}

/// Standard uncertainty in pH that the residual liquid-junction potential gives in waters like the
/// buffers: 1.8 mV. Laboratories differ by about 0.03 pH (standard deviation) in rain that is made up for
/// comparison (computed from a fragment of J. Res. NBS 91(1), 1986; REFERENCES 18). Taken for waters like the
/// buffers too, as the least: common practice, no source.
const JUNCTION_PH: f64 = 0.03;

/// Where dilution adds as much again, in µS/cm: the beginning of the dilute waters. At 10 µS/cm the whole
/// is then 0.1, and twice of it the 0.2 pH within which routine laboratories measure poorly buffered
/// waters (Davison and Gardner 1986, REFERENCES 18; the abstract is seen).
const JUNCTION_DILUTE_US_CM: f64 = DILUTE_BELOW_US_CM;

/// Where salt adds as much again, in µS/cm: seawater then has 0.05, common practice, no source.
const JUNCTION_SALTY_US_CM: f64 = 40_000.0;

/// Below this conductivity in µS/cm the width stays as it is: pure water, in which air alone makes 1 µS/cm.
const JUNCTION_LEAST_US_CM: f64 = 1.0;

/// A water whose conductivity nobody measured counts as one of this many µS/cm: most rivers have some
/// hundred. Common practice, no source.
pub const UNKNOWN_US_CM: f64 = 500.0;

/// The standard uncertainty in pH that the residual liquid-junction potential gives the pH of a water of
/// this conductivity at 25 °C, or of an ordinary one where that is not known; the number itself is the
/// standard uncertainty, and no correction belongs to it.
///
/// 0.03 · √(1 + 100/κ + (κ/40 000)²), with κ in µS/cm: 0.03 where the water is like the buffers, 0.042 at
/// 100 µS/cm, 0.1 at 10, 0.05 in seawater; it has no step. A comparison of the stirred with the still
/// water tells more about one junction in one dilute water.
pub fn residual_junction(specific_conductance: Option<MicrosiemensPerCm>) -> Sourced {
    let us_cm = specific_conductance.map_or(UNKNOWN_US_CM, MicrosiemensPerCm::get);
    let us_cm = us_cm.clamp(JUNCTION_LEAST_US_CM, RANGE.1);
    let salty = us_cm / JUNCTION_SALTY_US_CM;
    Sourced {
        value: JUNCTION_PH * libm::sqrt(1.0 + JUNCTION_DILUTE_US_CM / us_cm + salty * salty),
        standard_uncertainty: None,
        source: "residual liquid-junction potential by conductivity: 0.03 pH as between laboratories, 0.1 at \
                 10 µS/cm after Davison and Gardner 1986; the rest common practice, no source",
        tag: Tag::CommonPractice,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn classes_end_where_the_standards_do() {
        for (us_cm, expected) in [
            (0.0, Class::Dilute),
            (99.99, Class::Dilute),
            (100.0, Class::Ordinary),
            (1413.0, Class::Ordinary),
            (20_000.0, Class::Ordinary),
            (20_001.0, Class::Salty),
            (53_087.0, Class::Salty),
        ] {
            assert_eq!(class(MicrosiemensPerCm::new(us_cm)), Ok(expected), "{us_cm}");
        }
        for us_cm in [-0.1, 300_001.0, f64::NAN] {
            assert!(class(MicrosiemensPerCm::new(us_cm)).is_err(), "{us_cm}");
            assert!(estimate(MicrosiemensPerCm::new(us_cm)).is_err(), "{us_cm}");
        }
    }

    /// A class and its ionic strength agree about what is salty.
    #[test]
    fn salty_begins_at_its_ionic_strength() {
        let at = estimate(MicrosiemensPerCm::new(SALTY_ABOVE_US_CM)).unwrap().value;
        assert!(libm::fabs(at - SALTY_ABOVE_MOL_KG) < 1e-15);
    }

    /// Known ionic strengths in mol/kg: potassium chloride 0.01 and 0.1 mol/kg (CRC Handbook p. 5-73,
    /// seen), and seawater of practical salinity 35, 0.7226 (TEOS-10, recalled, not checked) at
    /// 53.087 mS/cm (computed, `gsw`).
    #[test]
    fn known_solutions_lie_within_the_expanded_uncertainty() {
        for (us_cm, known) in [(1408.23, 0.01), (12_824.6, 0.1), (53_087.0, 0.7226)] {
            let estimate = estimate(MicrosiemensPerCm::new(us_cm)).unwrap();
            let allowed = 2.0 * estimate.standard_uncertainty.unwrap();
            assert!(libm::fabs(estimate.value - known) <= allowed, "{us_cm}: {}", estimate.value);
        }
    }

    /// Values by hand from the formula that the documentation gives.
    #[test]
    fn the_junction_widens_away_from_the_buffers_without_a_step() {
        let u = |us_cm| residual_junction(Some(MicrosiemensPerCm::new(us_cm))).value;
        for (us_cm, expected) in
            [(1000.0, 0.031_47), (100.0, 0.042_43), (10.0, 0.0995), (53_087.0, 0.0499)]
        {
            assert!(libm::fabs(u(us_cm) - expected) < 1e-4, "{us_cm}: {}", u(us_cm));
        }
        // A thousandth more or less of salt moves it by less than a thousandth.
        let mut us_cm = 1.0;
        while us_cm < 300_000.0 {
            assert!(libm::fabs(u(1.001 * us_cm) / u(us_cm) - 1.0) < 1e-3, "{us_cm}");
            us_cm *= 1.001;
        }
        assert_eq!((u(0.0), u(-0.2)), (u(1.0), u(1.0)));
        assert_eq!(residual_junction(None).value, u(UNKNOWN_US_CM));
    }
}
