//! How uncertain one conductivity is, and what makes it so.

use crate::front_end::{BoardLimits, conductance as front_end};
use crate::uncertainty::Since;
use rillmark_proto::calibration::conductivity::{
    Compensation, ConductivityCalibration, OHM_PER_PER_MICROSIEMENS, Range, without_series,
};
use rillmark_proto::reference::{Sourced, Tag, compensation};
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm};

/// Relative standard uncertainty of a conductance as the cell repeats it. What the front end adds is
/// [`front_end::conductance`](crate::front_end::conductance)'s.
pub const DEFAULT_CONDUCTANCE_UNCERTAINTY: Sourced = Sourced {
    value: 0.002,
    standard_uncertainty: None,
    source: "bubbles, filling, and what extrapolation leaves of polarisation: common practice, no source",
    tag: Tag::CommonPractice,
};

/// Standard uncertainty in K of cell and thermometer being equally warm, in a point or reading of its
/// own.
pub const DEFAULT_GRADIENT_K: Sourced = Sourced {
    value: 0.05,
    standard_uncertainty: None,
    source: "thermometer within the cell, in stirred water: common practice, no source",
    tag: Tag::CommonPractice,
};

/// What a reading was taken under, as standard uncertainties.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// Of the conductance as the cell repeats it, relative.
    pub conductance: f64,
    /// Of what the front end adds to it since the calibration, relative.
    pub front_end: f64,
    /// Of the thermometer's error, in K.
    pub thermometer_k: f64,
    /// Whether the cell was calibrated with that same error.
    pub since: Since,
    /// Of cell and thermometer being equally warm, in K.
    pub gradient_k: f64,
    /// Of a range that was not calibrated, relative.
    pub range: f64,
    /// Of what the cell constant has drifted since the calibration, relative.
    pub drift: f64,
    /// Of what the thermometer has since its own, in K.
    pub thermometer_drift_k: f64,
    /// Of what a lag of the cell still hides, relative.
    pub response: f64,
    /// Of what the lag of the thermometer does, in K.
    pub thermometer_response_k: f64,
}

impl Conditions {
    /// The defaults for this conductance on a range, with a thermometer of this standard uncertainty in
    /// K; just calibrated, and at rest. On the 1 kΩ range the resistance counts as extrapolated.
    pub fn new(conductance: Microsiemens, range: Range, thermometer_k: f64) -> Self {
        Self::on(&BoardLimits::ANY, conductance, range, thermometer_k)
    }

    /// The same on a board of which more is known; of a range that was not calibrated nobody knows here against
    /// which it stands ([`ConductivityCalibration::range_on`]).
    pub fn on(
        board: &BoardLimits,
        conductance: Microsiemens,
        range: Range,
        thermometer_k: f64,
    ) -> Self {
        let (resistor, ohm) = (range.resistor(), OHM_PER_PER_MICROSIEMENS / conductance.get());
        let budget = match range {
            Range::Ohm1k => {
                front_end::extrapolated_on(board, resistor, ohm, front_end::USUAL_RATIO)
            }
            Range::Ohm10k | Range::Ohm100k => front_end::budget_on(board, resistor, ohm),
        };
        Self {
            front_end: budget.calibrated(),
            conductance: DEFAULT_CONDUCTANCE_UNCERTAINTY.value,
            thermometer_k,
            since: Since::Same,
            gradient_k: DEFAULT_GRADIENT_K.value,
            range: front_end::between_ranges(),
            drift: 0.0,
            thermometer_drift_k: 0.0,
            response: 0.0,
            thermometer_response_k: 0.0,
        }
    }
}

/// What a contribution comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cause {
    /// The points of the calibration: their standards and conductances, and the series resistance.
    Calibration,
    /// The conductance of this reading as the cell repeats it.
    Conductance,
    /// What the front end adds to it since the calibration: drift, leakage, bending, noise.
    FrontEnd,
    /// The error of the thermometer: common to calibration and reading, or of the reading alone.
    Thermometer,
    /// The error that the thermometer had at the calibration, if it is another one today.
    EarlierThermometer,
    /// The cell warmer or colder than the thermometer in this reading.
    Gradient,
    /// The conductance with the cell in air.
    Zero,
    /// A range that was not calibrated.
    Range,
    /// How well the compensation describes this water.
    Compensation,
    /// Drift of the cell constant since the calibration.
    Drift,
    /// Drift of the thermometer since its calibration.
    ThermometerDrift,
    /// What a lag of the cell still hides in a reading that moves.
    Response,
    /// What the lag of the thermometer does.
    ThermometerResponse,
}

/// How many causes there are.
pub const CAUSES: usize = 13;

/// One contribution to the uncertainty of a conductivity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contribution {
    /// Where it comes from.
    pub cause: Cause,
    /// Standard uncertainty of the cause in its own unit (1, K, µS); `None` for the calibration's
    /// points, which are several.
    pub input: Option<f64>,
    /// Relative change of the conductivity for a change of one in that unit; correlated parts of
    /// the calibration are in it.
    pub sensitivity: Option<f64>,
    /// Its relative standard uncertainty.
    pub relative: f64,
}

/// A conductivity with everything that makes it uncertain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Budget {
    /// The conductivity.
    pub value: MicrosiemensPerCm,
    /// What contributes, in the order of [`Cause`].
    pub contributions: [Contribution; CAUSES],
    /// Combined relative standard uncertainty (k = 1): the causes are independent of each other.
    pub relative: f64,
}

fn combined(contributions: &[Contribution]) -> f64 {
    libm::sqrt(contributions.iter().map(|each| each.relative * each.relative).sum())
}

impl Budget {
    /// The contribution of a cause.
    pub const fn of(&self, cause: Cause) -> &Contribution {
        &self.contributions[cause as usize]
    }

    /// Takes other standard uncertainties of causes that have a single one each.
    pub fn set(&mut self, inputs: &[(Cause, f64)]) {
        for (cause, input) in inputs {
            let contribution = &mut self.contributions[*cause as usize];
            if let Some(sensitivity) = contribution.sensitivity {
                contribution.input = Some(*input);
                contribution.relative = libm::fabs(input * sensitivity);
            }
        }
        self.relative = combined(&self.contributions);
    }

    /// Combined standard uncertainty in µS/cm (k = 1).
    pub fn combined_us_cm(&self) -> f64 {
        libm::fabs(self.value.get()) * self.relative
    }
}

/// How uncertain a calibrated cell is.
pub trait ConductivityUncertainty {
    /// Standard uncertainty, relative, of a range against those that were calibrated, on a board of which more
    /// is known: against whichever it is worst.
    fn range_on(&self, board: &BoardLimits, range: Range) -> f64;

    /// The uncertainty of the conductivity at the water's own temperature, by the law of propagation
    /// of uncertainty (JCGM 100:2008, 5.1.2; REFERENCES 21).
    ///
    /// `None` where [`ConductivityCalibration::conductivity`] is, or where nothing conducts.
    fn budget(
        &self,
        conductance: Microsiemens,
        range: Range,
        conditions: &Conditions,
    ) -> Option<Budget>;

    /// The same of the conductivity referred to 25 °C. The error of a thermometer that was there at
    /// the calibration, and is known as it was, nearly cancels, since standard and water change alike with temperature.
    ///
    /// `None` where [`ConductivityCalibration::specific`] is, or where nothing conducts.
    fn specific_budget(
        &self,
        conductance: Microsiemens,
        range: Range,
        temperature: Celsius,
        conditions: &Conditions,
    ) -> Option<Budget>;
}

impl ConductivityUncertainty for ConductivityCalibration {
    fn range_on(&self, board: &BoardLimits, range: Range) -> f64 {
        let calibrated =
            Range::ALL.into_iter().filter(|it| self.range_factor[*it as usize].is_some());
        let against =
            |it: Range| front_end::between_ranges_on(board, range.resistor(), it.resistor());
        match calibrated.map(against).fold(0.0, libm::fmax) {
            0.0 => front_end::between_ranges(),
            worst => worst,
        }
    }

    fn budget(
        &self,
        conductance: Microsiemens,
        range: Range,
        conditions: &Conditions,
    ) -> Option<Budget> {
        let value = self.conductivity(conductance, range)?;
        let none = Referred { per_kelvin: 0.0, unknown: 0.0 };
        contributions(self, value, conductance, range, conditions, &none)
    }

    fn specific_budget(
        &self,
        conductance: Microsiemens,
        range: Range,
        temperature: Celsius,
        conditions: &Conditions,
    ) -> Option<Budget> {
        let value = self.specific(conductance, range, temperature)?;
        let referred = referred(self.compensation, temperature)?;
        contributions(self, value, conductance, range, conditions, &referred)
    }
}

fn contributions(
    cell: &ConductivityCalibration,
    value: MicrosiemensPerCm,
    conductance: Microsiemens,
    range: Range,
    conditions: &Conditions,
    referred: &Referred,
) -> Option<Budget> {
    let measured = conductance.get();
    let bare = without_series(measured, cell.series_ohm.value);
    let of_water = bare - cell.zero_us.value;
    // Of the logarithm of the water's conductance.
    let by_conductance = bare * bare / (measured * of_water);
    let by_series = bare * bare / (of_water * OHM_PER_PER_MICROSIEMENS);
    let by_zero = cell.relative_per_zero_us - 1.0 / of_water;
    let cell_constant = cell.cell_constant_per_cm;
    let series = cell.series_ohm.standard_uncertainty;
    let of_calibration = cell.variance_per_cm2 / (cell_constant * cell_constant)
        + by_series
            * (2.0 * cell.cell_series_ohm_per_cm / cell_constant + by_series * series * series);
    let one = |cause, input: f64, sensitivity: f64| Contribution {
        cause,
        input: Some(input),
        sensitivity: Some(sensitivity),
        relative: libm::fabs(input * sensitivity),
    };
    let (thermometer, earlier) = match conditions.since {
        Since::Same => (cell.relative_per_kelvin + referred.per_kelvin, 0.0),
        Since::Other => (referred.per_kelvin, cell.relative_per_kelvin),
    };
    let strange = if cell.range_factor[range as usize].is_some() { 0.0 } else { 1.0 };
    let contributions = [
        Contribution {
            cause: Cause::Calibration,
            input: None,
            sensitivity: None,
            // Rounding may leave a variance of nothing just below zero.
            relative: libm::sqrt(libm::fmax(of_calibration, 0.0)),
        },
        one(Cause::Conductance, conditions.conductance, by_conductance),
        one(Cause::FrontEnd, conditions.front_end, by_conductance),
        one(Cause::Thermometer, conditions.thermometer_k, thermometer),
        one(Cause::EarlierThermometer, cell.thermometer_k, earlier),
        one(Cause::Gradient, conditions.gradient_k, referred.per_kelvin),
        one(Cause::Zero, cell.zero_us.standard_uncertainty, by_zero),
        one(Cause::Range, conditions.range, strange),
        one(Cause::Compensation, referred.unknown, 1.0),
        one(Cause::Drift, conditions.drift, 1.0),
        one(Cause::ThermometerDrift, conditions.thermometer_drift_k, referred.per_kelvin),
        one(Cause::Response, conditions.response, by_conductance),
        one(Cause::ThermometerResponse, conditions.thermometer_response_k, referred.per_kelvin),
    ];
    let relative = combined(&contributions);
    relative.is_finite().then_some(Budget { value, contributions, relative })
}

/// What referring to 25 °C does to a relative uncertainty.
struct Referred {
    /// Relative change of the referred conductivity for each kelvin that the temperature reads too
    /// high.
    per_kelvin: f64,
    /// Relative standard uncertainty of the compensation for this water.
    unknown: f64,
}

fn referred(compensation: Compensation, temperature: Celsius) -> Option<Referred> {
    /// Half the step in K of the slope; where it would leave the range, the step is one-sided.
    const HALF_K: f64 = 0.05;
    let (low, high) = compensation::RANGE;
    let (below, above) =
        (libm::fmax(temperature.get() - HALF_K, low), libm::fmin(temperature.get() + HALF_K, high));
    let log_of_factor = |celsius: f64| {
        let (one, at) = (MicrosiemensPerCm::new(1.0), Celsius::new(celsius));
        let factor = match compensation {
            Compensation::Linear { per_kelvin } => compensation::to_25_linear(one, at, per_kelvin),
            Compensation::NaturalWater { exponent } => {
                compensation::to_25_natural_water(one, at, exponent)
            }
        };
        factor.ok().map(|factor| libm::log(factor.get()))
    };
    let per_kelvin = (log_of_factor(above)? - log_of_factor(below)?) / (above - below);
    let unknown = match compensation {
        Compensation::Linear { per_kelvin } => {
            compensation::relative_uncertainty_linear(temperature, per_kelvin)
        }
        Compensation::NaturalWater { .. } => {
            compensation::relative_uncertainty_natural_water(temperature)
        }
    };
    Some(Referred { per_kelvin, unknown: unknown.ok()?.value })
}

#[cfg(test)]
#[path = "conductivity_tests.rs"]
mod tests;
