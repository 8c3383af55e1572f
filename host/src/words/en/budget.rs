//! Budgets of uncertainty in words.

use rillmark_metrology::uncertainty::conductivity::Cause as OfConductivity;
use rillmark_metrology::uncertainty::ph::Cause as OfPh;

/// Headings over the contributions to a pH; `true` leans right.
pub const HEADINGS: [(&str, bool); 4] = [
    ("cause", false),
    ("its standard uncertainty", true),
    ("pH for a change of one", true),
    ("u(pH)", true),
];
/// Headings over the contributions to a conductivity.
pub const CONDUCTIVITY_HEADINGS: [(&str, bool); 4] = [
    ("cause", false),
    ("its standard uncertainty", true),
    ("% for a change of one", true),
    ("u in %", true),
];

/// Conductivity at the water's temperature.
pub const CONDUCTIVITY: &str = "conductivity";
/// Referred to 25 °C.
pub const SPECIFIC: &str = "specific conductance at 25 °C";

/// What `--budget` takes.
pub const PH_FORM: &str =
    "give a potential in mV and a temperature in °C with a comma between, as in -25.3,18.2";
/// What `--budget-conductivity` takes.
pub const CONDUCTIVITY_FORM: &str =
    "give a conductance in µS and a temperature in °C with a comma between, as in 412.5,18.2";
/// What `--water` takes.
pub const WATER_FORM: &str =
    "give the water's conductivity at 25 °C in µS/cm, 0 to 300 000, as in 380";
/// What `--isopotential` takes.
pub const ISOPOTENTIAL_FORM: &str =
    "give the isopotential pH and its standard uncertainty with a comma between, as in 6.9,0.15";
/// What `--slope` takes.
pub const SLOPE_FORM: &str = "give the slope in percent of Nernst and its standard uncertainty with a comma between, as in \
     98.5,1";

/// Nothing to show a budget of.
pub fn not_calibrated(what: &str, command: &str) -> String {
    format!(
        "the probe has no {what} calibration in force, so there is nothing to show the uncertainty \
         of; calibrate first with `rillmark calibrate {command}`."
    )
}

/// A signal outside what can be computed.
pub fn no_value(signal: f64, unit: &str, celsius: f64) -> String {
    format!(
        "{signal} {unit} at {celsius} °C gives no value under the calibration in force; choose a \
         signal and a temperature that the probe can have in water."
    )
}

/// The name that machine-readable output gives a cause.
pub const fn ph_code(cause: OfPh) -> &'static str {
    match cause {
        OfPh::Calibration => "calibration",
        OfPh::Potential => "potential",
        OfPh::FrontEnd => "front-end",
        OfPh::Thermometer => "thermometer",
        OfPh::EarlierThermometer => "earlier-thermometer",
        OfPh::Gradient => "gradient",
        OfPh::Gain => "gain",
        OfPh::Isopotential => "isopotential",
        OfPh::Junction => "junction",
        OfPh::OffsetDrift => "offset-drift",
        OfPh::SlopeDrift => "slope-drift",
        OfPh::ThermometerDrift => "thermometer-drift",
        OfPh::Response => "response",
        OfPh::ThermometerResponse => "thermometer-response",
    }
}

/// A cause in words.
pub const fn ph_cause(cause: OfPh) -> &'static str {
    match cause {
        OfPh::Calibration => "buffers and potentials of the calibration",
        OfPh::Potential => "potential of the reading",
        OfPh::FrontEnd => "front end since the calibration",
        OfPh::Thermometer => "thermometer, at calibration and reading",
        OfPh::EarlierThermometer => "thermometer as it was at the calibration",
        OfPh::Gradient => "glass not as warm as the thermometer",
        OfPh::Gain => "gain of the converter, at calibration and reading",
        OfPh::Isopotential => "isopotential pH",
        OfPh::Junction => "residual liquid-junction potential",
        OfPh::OffsetDrift => "drift of the offset since the calibration",
        OfPh::SlopeDrift => "drift of the slope since the calibration",
        OfPh::ThermometerDrift => "drift of the thermometer since its calibration",
        OfPh::Response => "lag of the glass",
        OfPh::ThermometerResponse => "lag of the thermometer",
    }
}

/// The unit of a cause.
pub const fn ph_unit(cause: OfPh) -> &'static str {
    match cause {
        OfPh::Calibration => "",
        OfPh::Potential | OfPh::FrontEnd | OfPh::OffsetDrift | OfPh::Response => "mV",
        OfPh::Thermometer
        | OfPh::EarlierThermometer
        | OfPh::Gradient
        | OfPh::ThermometerDrift
        | OfPh::ThermometerResponse => "K",
        OfPh::Gain | OfPh::SlopeDrift => "of the value",
        OfPh::Isopotential | OfPh::Junction => "pH",
    }
}

/// The name that machine-readable output gives a cause.
pub const fn conductivity_code(cause: OfConductivity) -> &'static str {
    match cause {
        OfConductivity::Calibration => "calibration",
        OfConductivity::Conductance => "conductance",
        OfConductivity::FrontEnd => "front-end",
        OfConductivity::Thermometer => "thermometer",
        OfConductivity::EarlierThermometer => "earlier-thermometer",
        OfConductivity::Gradient => "gradient",
        OfConductivity::Zero => "zero",
        OfConductivity::Range => "range",
        OfConductivity::Compensation => "compensation",
        OfConductivity::Drift => "drift",
        OfConductivity::ThermometerDrift => "thermometer-drift",
        OfConductivity::Response => "response",
        OfConductivity::ThermometerResponse => "thermometer-response",
    }
}

/// A cause in words.
pub const fn conductivity_cause(cause: OfConductivity) -> &'static str {
    match cause {
        OfConductivity::Calibration => "standards and conductances of the calibration",
        OfConductivity::Conductance => "conductance of the reading",
        OfConductivity::FrontEnd => "front end since the calibration",
        OfConductivity::Thermometer => "thermometer, at calibration and reading",
        OfConductivity::EarlierThermometer => "thermometer as it was at the calibration",
        OfConductivity::Gradient => "cell not as warm as the thermometer",
        OfConductivity::Zero => "conductance with the cell in air",
        OfConductivity::Range => "range that was not calibrated",
        OfConductivity::Compensation => "compensation for a water of unknown ions",
        OfConductivity::Drift => "drift of the cell constant since the calibration",
        OfConductivity::ThermometerDrift => "drift of the thermometer since its calibration",
        OfConductivity::Response => "lag of the cell",
        OfConductivity::ThermometerResponse => "lag of the thermometer",
    }
}

/// The unit of a cause.
pub const fn conductivity_unit(cause: OfConductivity) -> &'static str {
    match cause {
        OfConductivity::Calibration => "",
        OfConductivity::Thermometer
        | OfConductivity::EarlierThermometer
        | OfConductivity::Gradient
        | OfConductivity::ThermometerDrift
        | OfConductivity::ThermometerResponse => "K",
        OfConductivity::Zero => "µS",
        OfConductivity::Conductance
        | OfConductivity::FrontEnd
        | OfConductivity::Range
        | OfConductivity::Compensation
        | OfConductivity::Drift
        | OfConductivity::Response => "of the value",
    }
}

/// The standard uncertainty of a cause.
pub fn input(value: Option<f64>, unit: &str) -> String {
    match (value, unit) {
        (None, _) => "several".to_owned(),
        (Some(value), "of the value") => format!("{:.3} %", 100.0 * value),
        (Some(value), unit) => format!("{value:.3} {unit}"),
    }
}

/// A pH with its uncertainty.
pub fn ph(ph: f64, combined: f64) -> String {
    format!(
        "pH {ph:.3}, standard uncertainty {combined:.3}, expanded {:.3} (k = 2, about 95 %)",
        2.0 * combined
    )
}

/// How old the calibration is that the budget is of.
pub fn at_age(days: Option<f64>) -> String {
    match days {
        Some(days) => {
            format!("with the drift of a calibration {days:.1} days old; in water at rest")
        }
        None => "without drift: the calibration's age is not known; in water at rest".to_owned(),
    }
}

/// What a table of points leaves out.
pub const FRESH: &str = "without drift and lag: a table of points knows no age and no motion";

/// A conductivity with its uncertainty.
pub fn conductivity(name: &str, us_cm: f64, combined: f64) -> String {
    format!(
        "{name} {us_cm:.2} µS/cm, standard uncertainty {combined:.2} µS/cm, expanded {:.2} µS/cm \
         (k = 2, about 95 %)",
        2.0 * combined
    )
}

/// Change of the result for a change of one of the cause.
pub fn sensitivity(by: f64) -> String {
    // A sign before nothing but zeros says nothing.
    if by.abs() < 5e-5 { "0".to_owned() } else { format!("{by:+.4}") }
}
