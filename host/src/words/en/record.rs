//! What `show --record` says of a calibration's result.

use rillmark_proto::record::{Incident, Quantity, Vessel, Water};

use super::probe::computed;

/// Conductance with the cell in air.
pub const ZERO: &str = "in air";
/// How readings are referred to 25 °C.
pub const REFERRED: &str = "to 25 °C by";

/// A zero with its standard uncertainty.
pub fn zero(us: f64, uncertainty: f64) -> String {
    format!("{} µS (standard uncertainty {} µS)", computed(us, 3), computed(uncertainty, 3))
}

/// A straight line.
pub fn linear(percent_per_kelvin: f64) -> String {
    format!("{percent_per_kelvin:.2} % per kelvin, linear")
}

/// The viscosity of water.
pub fn natural_water(exponent: f64) -> String {
    format!("viscosity-type natural-water compensation, exponent {exponent}")
}

/// A platinum thermometer by its resistance at 0 °C.
pub fn platinum(r0_ohm: f64) -> String {
    format!("Pt{r0_ohm}")
}

/// A thermistor by its resistance at 25 °C and its beta.
pub fn thermistor(r25_ohm: f64, beta_k: f64) -> String {
    format!("thermistor {r25_ohm} Ω, {beta_k} K")
}

/// A thermistor by the three coefficients of its equation.
pub fn steinhart_hart(a: f64, b: f64, c: f64) -> String {
    format!("thermistor, Steinhart-Hart {a:e}, {b:e}, {c:e}")
}

/// The correction of a thermometer of this kind, with its standard uncertainties.
pub fn thermometer_result(kind: &str, offset_k: (f64, f64), at_c: f64, gain: (f64, f64)) -> String {
    let ((offset_k, u_k), (gain, u_gain)) = (offset_k, gain);
    let sign = if (100.0 * gain).is_finite() && !gain.is_sign_negative() { "+" } else { "" };
    format!(
        "{kind}, {offset_k:+.3} ± {} K at {at_c:.1} °C, gain {sign}{} ± {} % (k = 1)",
        computed(u_k, 3),
        computed(100.0 * gain, 2),
        computed(100.0 * u_gain, 2)
    )
}

/// What happened since the record before.
pub const SINCE: &str = "since before";
/// How the sensor drifts.
pub const DRIFT: &str = "drift";
/// Of an electrode or a thermometer.
pub const OFFSET: &str = "offset";
/// Of an electrode.
pub const SLOPE: &str = "slope";
/// Of a cell.
pub const CONSTANT: &str = "cell constant";

/// What happened to the sensor, and how long it was stored.
pub fn since(incident: Option<Incident>, stored_days: Option<u16>) -> String {
    let incident = incident.map(|incident| match incident {
        Incident::Cleaned => "cleaned".to_owned(),
        Incident::Refilled => "filled again".to_owned(),
        Incident::Dried => "dried out".to_owned(),
        Incident::Knocked => "knocked".to_owned(),
    });
    let stored = stored_days.map(|days| format!("stored for {days} d"));
    incident.into_iter().chain(stored).collect::<Vec<_>>().join(", ")
}

/// Drift of one coefficient: rate with its standard uncertainty, walk, and what they rest on.
pub fn drift(
    coefficient: &str,
    (rate, u): (f64, f64),
    walk: f64,
    unit: &str,
    differences: u16,
) -> String {
    let basis = match differences {
        0 => "default of its kind".to_owned(),
        1 => "1 difference".to_owned(),
        many => format!("{many} differences"),
    };
    format!("{coefficient} {rate:+.3} ± {u:.3} {unit}/d, walk {walk:.2} {unit}/√d ({basis})")
}

/// Which standard the check after a calibration was made in.
pub fn as_left_in(standard: &str, lot: &str) -> String {
    if lot.is_empty() { format!("in {standard}") } else { format!("in {standard} ({lot})") }
}

/// How a sachet became a standard, and on which day.
pub fn dissolved(water: Water, vessel: Vessel, day: &str) -> String {
    let water = match water {
        Water::Deionised => "deionised water",
        Water::Boiled => "boiled water",
        Water::Tap => "tap water",
    };
    let vessel = match vessel {
        Vessel::Flask => "a volumetric flask",
        Vessel::Cylinder => "a measuring cylinder",
        Vessel::ByEye => "a cup, by eye",
    };
    format!("dissolved {day} in {water}, measured with {vessel}")
}

/// Why a standard was taken with another value than its label's: carbon dioxide takes pH off, and adds to a
/// conductivity, as does the water that a sachet was dissolved in.
pub fn shifted(label: &str, by: &str, lower: bool, dissolved: bool, since: Option<&str>) -> String {
    let direction = if lower { "lower" } else { "higher" };
    let why = match (dissolved, lower, since) {
        (true, false, _) => "for the water that it was dissolved in, and air since then".to_owned(),
        (true, true, _) => "for the air that it was open to since then".to_owned(),
        (false, _, Some(day)) => format!("for the air that it was open to since {day}"),
        (false, _, None) => "for air: nobody said since when it was open (opened=)".to_owned(),
    };
    format!("label {label}, taken {by} {direction} {why}")
}

/// Number of a certificate.
pub fn certificate(number: &str) -> String {
    format!("certificate {number}")
}

/// How fast a signal came to rest.
pub fn time_constant(seconds: f32) -> String {
    format!("came to rest with a time constant of {seconds:.0} s")
}

/// What few points cannot tell; `None` where some are left over.
pub const fn left_over(quantity: Quantity, points: usize) -> Option<&'static str> {
    match (quantity, points) {
        (Quantity::Ph, 1) => {
            Some("one buffer: the slope was not measured, and nothing shows an error")
        }
        (Quantity::Ph, 2) => Some("two buffers: nothing is left over that could show an error"),
        (Quantity::Conductivity, 1) => {
            Some("one standard: nothing is left over that could show an error")
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::super::probe::ph_result;
    use super::*;

    #[test]
    fn what_leads_beyond_all_numbers_is_not_known() {
        let thermometer = thermometer_result("Pt1000", (0.1, 0.05), 25.0, (1e308, f64::INFINITY));
        assert!(thermometer.ends_with("gain not known ± not known % (k = 1)"), "{thermometer}");
        let ph = ph_result(98.0, 0.5, -2.0, f64::INFINITY);
        assert_eq!(ph, "slope 98.00 ± 0.50 %, offset -2.00 ± not known mV (k = 1)");
    }
}
