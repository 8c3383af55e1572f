//! How a standard came about, and how well that makes its value known where nothing is stated.

use super::Source;
use crate::routine::limits;
use rillmark_metrology::fit::conductivity::DEFAULT_STANDARD_UNCERTAINTY;
use rillmark_metrology::fit::ph::DEFAULT_BUFFER_UNCERTAINTY;
use rillmark_proto::record::{Dissolved, Quantity, Vessel};

/// How a standard came about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Made {
    /// Bought ready to use.
    #[default]
    Bought,
    /// Dissolved from a sachet.
    Sachet(Dissolved),
    /// Weighed in from dried salt and water that was checked.
    Weighed,
}

/// Standard uncertainty in pH of a bottle with values of its own of which nothing else is stated: half of
/// 0.05. Common practice, no source.
pub const UNSTATED_PH: f64 = 0.025;
/// The same of a conductivity, as a fraction of it: half of 3 %. Common practice, no source.
pub const UNSTATED_RELATIVE: f64 = 0.015;
/// What salt, balance and flask of a laboratory add to the published standard uncertainty, in pH. Common
/// practice, no source.
const WEIGHED_PH: f64 = 0.005;
/// The same of a conductivity, as a fraction of it.
const WEIGHED_RELATIVE: f64 = 0.002;
/// What twice the water changes a buffer by, in pH: the dilution value of phosphate 1:1, the largest
/// between [`limits::CAUSTIC_PH`] (REFERENCES 26; recalled, not checked).
const DILUTION_PH: f64 = 0.08;
/// The same outside of them: that of calcium hydroxide; tetroxalate has 0.19 (as above).
const CAUSTIC_DILUTION_PH: f64 = 0.28;
/// How far in pH hard tap water may move a buffer, either way: its 3 to 5 mmol/L of hydrogencarbonate
/// (recalled, not checked) over buffer values of 0.016 to 0.029 (REFERENCES 26; seen).
pub const TAP_PH: f64 = 0.2;
/// Conductivities in µS/cm of waters from the tap. Common practice, no source.
pub const TAP_US_CM: (f64, f64) = (100.0, 1000.0);

/// Relative standard uncertainty of the water that was measured for a sachet. Flask and cylinder are
/// made to a limit, taken as a rectangle (JCGM 100:2008, 4.3.7); an eye keeps to none, so its 5 % is
/// taken as the standard uncertainty itself. Limits: common practice, no source.
pub fn volume(vessel: Vessel) -> f64 {
    match vessel {
        Vessel::Flask => rectangle(0.002),
        Vessel::Cylinder => rectangle(0.01),
        Vessel::ByEye => 0.05,
    }
}

/// Standard uncertainty of what lies within a limit to either side: a rectangle (JCGM 100:2008, 4.3.7).
pub fn rectangle(half_width: f64) -> f64 {
    half_width / libm::sqrt(3.0)
}

/// Standard uncertainty of the content of a bottle, sachet or flask of which nothing is stated, in the
/// unit of its value.
pub(super) fn unstated(made: Made, source: &Source, value: f64, published: Option<f64>) -> f64 {
    let published = published.unwrap_or(0.0);
    let (bought, weighed, own) = match source.quantity() {
        Quantity::Ph => (DEFAULT_BUFFER_UNCERTAINTY.value, WEIGHED_PH, UNSTATED_PH),
        Quantity::Conductivity => (
            DEFAULT_STANDARD_UNCERTAINTY.value * value,
            WEIGHED_RELATIVE * value,
            UNSTATED_RELATIVE * value,
        ),
        // A reference states its own, or has its own default.
        Quantity::Temperature => return published,
    };
    match (source, made) {
        (Source::Printed(_), _) => own,
        // A recipe that nobody knows is known no better for that.
        (_, Made::Bought | Made::Sachet(_)) => libm::fmax(published, bought),
        (_, Made::Weighed) => libm::hypot(published, weighed),
    }
}

/// Standard uncertainty that too much or too little water leaves, in the unit of the value.
pub(super) fn watered(vessel: Vessel, quantity: Quantity, label: Option<f64>, value: f64) -> f64 {
    let relative = volume(vessel);
    match quantity {
        Quantity::Conductivity => relative * value,
        Quantity::Ph => {
            let (acid, alkali) = limits::CAUSTIC_PH.value;
            let gentle = label.is_some_and(|ph| (acid..=alkali).contains(&ph));
            let dilution = if gentle { DILUTION_PH } else { CAUSTIC_DILUTION_PH };
            dilution * libm::log2(1.0 + relative)
        }
        Quantity::Temperature => 0.0,
    }
}
