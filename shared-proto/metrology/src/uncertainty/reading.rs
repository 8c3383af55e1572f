//! How uncertain the values of one reading are.

use super::conductivity::ConductivityUncertainty;
use super::ph::PhUncertainty;
use super::temperature::{TemperatureUncertainty, uncalibrated_on_k};
use super::{conductivity, ph};
use crate::drift::Drifting;
use crate::front_end::BoardLimits;
use crate::reference::ionic_strength::{self, Class};
use crate::uncertainty::Since;
use rillmark_proto::calibration::conductivity::Range;
use rillmark_proto::calibration::drift::{Drift, SensorDrift};
use rillmark_proto::reading::{Coefficients, Raw};
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm, Millivolts};

/// Standard uncertainties (k = 1) of what [`rillmark_proto::reading::evaluate`] computes; `None` where there is no
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
    /// The class of the water, by the specific conductance beside the pH; `None` without one.
    pub water: Option<Class>,
}

/// What makes a reading more doubtful than one right after its calibration, as standard uncertainties; 0
/// where nothing is known of it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Circumstances {
    /// Of what the electrode's offset has drifted since its calibration, in mV.
    pub offset_drift_mv: f64,
    /// Of what its slope fraction has.
    pub slope_drift: f64,
    /// Of what the cell constant has, relative.
    pub cell_drift: f64,
    /// Of what the thermometer has, in K.
    pub thermometer_drift_k: f64,
    /// Of the residual junction potential in this very water, in pH, where a stir check told it.
    pub junction_ph: Option<f64>,
    /// The electrode was calibrated beside another thermometer than the one that is fitted now.
    pub electrode_beside_another: bool,
    /// The cell was.
    pub cell_beside_another: bool,
    /// What is known of the board.
    pub board: BoardLimits,
}

impl Circumstances {
    /// What a sensor has drifted by in so many days without a check.
    #[must_use]
    pub fn drifted(drift: &SensorDrift, days: f64) -> Self {
        let by = |drift: &Drift| libm::sqrt(drift.growth(days));
        match drift {
            SensorDrift::Electrode { offset_mv, slope } => {
                Self { offset_drift_mv: by(offset_mv), slope_drift: by(slope), ..Self::default() }
            }
            SensorDrift::Cell { relative } => Self { cell_drift: by(relative), ..Self::default() },
            SensorDrift::Thermometer { offset_k } => {
                Self { thermometer_drift_k: by(offset_k), ..Self::default() }
            }
        }
    }
}

/// What the lag of the sensors still hides in a reading that moves, as standard uncertainties.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Response {
    /// Of the potential in mV.
    pub potential_mv: f64,
    /// Of the conductance, relative.
    pub conductance: f64,
    /// Of the temperature in K.
    pub temperature_k: f64,
}

/// Everything that makes the values of a reading uncertain; `None` where there is no value.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Budgets {
    /// Standard uncertainty of the temperature in K.
    pub temperature_k: Option<f64>,
    /// Of the pH.
    pub ph: Option<ph::Budget>,
    /// Of the conductivity.
    pub conductivity: Option<conductivity::Budget>,
    /// Of the specific conductance.
    pub specific: Option<conductivity::Budget>,
}

/// By which part two programs may count an uncalibrated thermometer otherwise. Soldering and ageing of its reference
/// resistor, which earlier ones did not count, make 11 % of it. A calibration leaves less than
/// that count where its reference is better than the maker's word; one that leaves just as much is taken for
/// none.
const SAME_COUNT: f64 = 0.15;

/// As [`Coefficients::since`], with what the thermometer has at 25 °C now.
fn since(coefficients: &Coefficients, now_k: f64, then_k: f64) -> Since {
    let is_same = match coefficients.temperature {
        None => libm::fabs(then_k - now_k) <= SAME_COUNT * now_k,
        Some(_) => now_k.to_bits() == then_k.to_bits(),
    };
    if is_same { Since::Same } else { Since::Other }
}

/// How well a thermometer is known: what every condition of a reading needs.
struct Thermometry<'a> {
    coefficients: &'a Coefficients,
    /// Standard uncertainty in K at the reading's temperature.
    now_k: f64,
    /// The same at 25 °C, as a calibration of another sensor keeps it.
    kept_k: f64,
}

impl<'a> Thermometry<'a> {
    fn new(coefficients: &'a Coefficients, temperature: Celsius, board: &BoardLimits) -> Self {
        Self {
            coefficients,
            now_k: coefficients.thermometer_uncertainty_on(board, temperature),
            // What a calibration kept knew nothing of the board: like is compared with like.
            kept_k: coefficients.thermometer_k(),
        }
    }

    fn ph(
        &self,
        potential: Millivolts,
        specific_conductance: Option<MicrosiemensPerCm>,
        circumstances: &Circumstances,
    ) -> Option<ph::Conditions> {
        let board = &circumstances.board;
        let usual = ph::Conditions::on(board, potential, self.now_k, specific_conductance);
        Some(ph::Conditions {
            since: match circumstances.electrode_beside_another {
                true => Since::Other,
                false => since(
                    self.coefficients,
                    self.kept_k,
                    self.coefficients.ph?.shared.thermometer_k,
                ),
            },
            junction_ph: circumstances.junction_ph.unwrap_or(usual.junction_ph),
            offset_drift_mv: circumstances.offset_drift_mv,
            slope_drift: circumstances.slope_drift,
            thermometer_drift_k: circumstances.thermometer_drift_k,
            ..usual
        })
    }

    fn conductivity(
        &self,
        conductance: Microsiemens,
        range: Range,
        circumstances: &Circumstances,
    ) -> Option<conductivity::Conditions> {
        let cell = self.coefficients.conductivity?;
        Some(conductivity::Conditions {
            since: match circumstances.cell_beside_another {
                true => Since::Other,
                false => since(self.coefficients, self.kept_k, cell.thermometer_k),
            },
            range: cell.range_on(&circumstances.board, range),
            drift: circumstances.cell_drift,
            thermometer_drift_k: circumstances.thermometer_drift_k,
            ..conductivity::Conditions::on(&circumstances.board, conductance, range, self.now_k)
        })
    }
}

/// How well a reading is known under the coefficients in force.
pub trait ReadingUncertainty {
    /// Standard uncertainty in K of a temperature in water: of the calibration in force with what it
    /// leaves of the front end, or else of a Pt1000 at its maker's word in a front end that was just
    /// built ([`uncalibrated_k`](crate::uncertainty::temperature::uncalibrated_k)).
    ///
    /// Every temperature of one probe shares this error: it enters a calibration and the readings
    /// after it with the same sign.
    fn thermometer_uncertainty(&self, temperature: Celsius) -> f64;

    /// The same on a board of which more is known.
    fn thermometer_uncertainty_on(&self, board: &BoardLimits, temperature: Celsius) -> f64;

    /// The same at 25 °C: what a calibration of another sensor keeps of its thermometer.
    fn thermometer_k(&self) -> f64;

    /// Whether the thermometer is known as it was when a calibration kept `thermometer_k` of it.
    ///
    /// Another calibration of the thermometer has another uncertainty, if only in its last bits; and so has
    /// the same one in a program that counts the front end otherwise. What an uncalibrated thermometer has is
    /// the program's own count: where an earlier one's differs by 15 % at most, neither was
    /// calibrated. One uncalibrated thermometer exchanged for another is not noticed here; whoever knows the
    /// serials says so.
    fn since(&self, thermometer_k: f64) -> Since;

    /// The conditions of a pH: the defaults for this potential, temperature and water under these
    /// coefficients, with the circumstances; `None` without a pH calibration.
    fn ph_conditions(
        &self,
        potential: Millivolts,
        temperature: Celsius,
        specific_conductance: Option<MicrosiemensPerCm>,
        circumstances: &Circumstances,
    ) -> Option<ph::Conditions>;

    /// The same of a conductivity.
    fn conductivity_conditions(
        &self,
        conductance: Microsiemens,
        range: Range,
        temperature: Celsius,
        circumstances: &Circumstances,
    ) -> Option<conductivity::Conditions>;
}

impl ReadingUncertainty for Coefficients {
    fn thermometer_uncertainty(&self, temperature: Celsius) -> f64 {
        self.thermometer_uncertainty_on(&BoardLimits::ANY, temperature)
    }

    fn thermometer_uncertainty_on(&self, board: &BoardLimits, temperature: Celsius) -> f64 {
        match &self.temperature {
            Some(calibration) => calibration.in_water_on_k(board, temperature),
            None => uncalibrated_on_k(board, temperature),
        }
    }

    fn thermometer_k(&self) -> f64 {
        self.thermometer_uncertainty(Celsius::new(25.0))
    }

    fn since(&self, thermometer_k: f64) -> Since {
        since(self, self.thermometer_k(), thermometer_k)
    }

    fn ph_conditions(
        &self,
        potential: Millivolts,
        temperature: Celsius,
        specific_conductance: Option<MicrosiemensPerCm>,
        circumstances: &Circumstances,
    ) -> Option<ph::Conditions> {
        let thermometry = Thermometry::new(self, temperature, &circumstances.board);
        thermometry.ph(potential, specific_conductance, circumstances)
    }

    fn conductivity_conditions(
        &self,
        conductance: Microsiemens,
        range: Range,
        temperature: Celsius,
        circumstances: &Circumstances,
    ) -> Option<conductivity::Conditions> {
        let thermometry = Thermometry::new(self, temperature, &circumstances.board);
        thermometry.conductivity(conductance, range, circumstances)
    }
}

impl Budgets {
    /// The budgets of a reading under the coefficients in force, at rest.
    pub fn new(raw: &Raw, coefficients: &Coefficients, circumstances: &Circumstances) -> Self {
        let Some(temperature) = raw.temperature(coefficients) else {
            return Self {
                conductivity: as_is_alone(raw, coefficients, circumstances),
                ..Self::default()
            };
        };
        let thermometry = Thermometry::new(coefficients, temperature, &circumstances.board);
        let thermometer_k = libm::hypot(thermometry.now_k, circumstances.thermometer_drift_k);
        let cell = || {
            let (cell, conductance) = (coefficients.conductivity?, raw.conductance()?);
            let range = raw.conductance?.range;
            let conditions = thermometry.conductivity(conductance, range, circumstances)?;
            let as_is = cell.budget(conductance, range, &conditions);
            let specific = cell.specific_budget(conductance, range, temperature, &conditions);
            Some((as_is, specific))
        };
        let (conductivity, specific) = cell().unwrap_or_default();
        let of_ph = || {
            let (electrode, potential) = (coefficients.ph?, raw.potential()?);
            let water = specific.as_ref().map(|found| found.value);
            let conditions = thermometry.ph(potential, water, circumstances)?;
            electrode.budget(potential, temperature, &conditions)
        };
        Self { temperature_k: Some(thermometer_k), ph: of_ph(), conductivity, specific }
    }

    /// The same reading, moving.
    #[must_use]
    pub fn with_response(mut self, response: &Response) -> Self {
        use conductivity::Cause as OfCell;
        use ph::Cause as OfPh;
        let kelvin = response.temperature_k;
        self.temperature_k = self.temperature_k.map(|u| libm::hypot(u, kelvin));
        if let Some(budget) = &mut self.ph {
            let response = (OfPh::Response, response.potential_mv);
            budget.set(&[response, (OfPh::ThermometerResponse, kelvin)]);
        }
        for budget in [&mut self.conductivity, &mut self.specific].into_iter().flatten() {
            let response = (OfCell::Response, response.conductance);
            budget.set(&[response, (OfCell::ThermometerResponse, kelvin)]);
        }
        self
    }

    /// The uncertainties alone.
    pub fn uncertainty(&self) -> Uncertainty {
        let water = self.specific.as_ref().and_then(|found| {
            // A cell in air conducts a little less than nothing.
            let us_cm = libm::fmax(found.value.get(), 0.0);
            ionic_strength::class(MicrosiemensPerCm::new(us_cm)).ok()
        });
        Uncertainty {
            temperature_k: self.temperature_k,
            ph: self.ph.map(|budget| budget.combined),
            conductivity_us_cm: self.conductivity.map(|budget| budget.combined_us_cm()),
            specific_conductance_us_cm: self.specific.map(|budget| budget.combined_us_cm()),
            water,
        }
    }
}

/// The budget of a conductivity beside no temperature: it has no part in it but that of the calibration, which
/// no error of this reading's thermometer takes back.
fn as_is_alone(
    raw: &Raw,
    coefficients: &Coefficients,
    circumstances: &Circumstances,
) -> Option<conductivity::Budget> {
    let (cell, conductance) = (coefficients.conductivity?, raw.conductance()?);
    let range = raw.conductance?.range;
    let board = &circumstances.board;
    let thermometry = Thermometry::new(coefficients, Celsius::new(25.0), board);
    let circumstances = Circumstances { cell_beside_another: true, ..*circumstances };
    let conditions = thermometry.conductivity(conductance, range, &circumstances)?;
    cell.budget(conductance, range, &conditions)
}

/// The uncertainty of every value of a reading under the coefficients in force, from their budgets
/// ([`PhUncertainty::budget`], [`ConductivityUncertainty::budget`]) with the default conditions: at rest, right after the
/// calibration.
pub fn uncertainty(raw: &Raw, coefficients: &Coefficients) -> Uncertainty {
    Budgets::new(raw, coefficients, &Circumstances::default()).uncertainty()
}

#[cfg(test)]
#[path = "thermometry_tests.rs"]
mod thermometry_tests;
#[cfg(test)]
mod tests {
    use super::*;
    use crate::reference::ionic_strength::residual_junction;
    use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
    use rillmark_proto::calibration::ph::PhCalibration;
    use rillmark_proto::reading::{Range, RawConductance};

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
            let us_cm = MicrosiemensPerCm::new(ps as f64 / 1e6);
            let junction = residual_junction(Some(us_cm)).value;
            assert!((junction..junction + 0.006).contains(&found.ph.unwrap()), "{found:?}");
        }
    }

    /// What is added is added in squares: 3 mV of drift and 4 mV of lag are 5 mV, 5/(0.98·59.16) pH.
    #[test]
    fn drift_and_lag_widen_what_they_touch() {
        let raw = raw(400_000_000);
        let fresh = uncertainty(&raw, &COEFFICIENTS);
        let circumstances = Circumstances { offset_drift_mv: 3.0, ..Circumstances::default() };
        let response = Response { potential_mv: 4.0, ..Response::default() };
        let aged = Budgets::new(&raw, &COEFFICIENTS, &circumstances);
        let moving = aged.with_response(&response).uncertainty();
        let added = 5.0 / (0.98 * 59.159_35);
        let expected = libm::hypot(fresh.ph.unwrap(), added);
        assert!(libm::fabs(moving.ph.unwrap() - expected) < 1e-6, "{moving:?}");
        assert_eq!(Uncertainty { ph: fresh.ph, ..moving }, fresh);

        // A kelvin of the thermometer's is a kelvin more of doubt, and 1.9 % of a specific conductance.
        let kelvin = Circumstances { thermometer_drift_k: 1.0, ..Circumstances::default() };
        let drifted = Budgets::new(&raw, &COEFFICIENTS, &kelvin).uncertainty();
        let lagging = Response { temperature_k: 1.0, ..Response::default() };
        let lagging = Budgets::new(&raw, &COEFFICIENTS, &Circumstances::default())
            .with_response(&lagging)
            .uncertainty();
        let near =
            |one: Option<f64>, other: Option<f64>| libm::fabs(one.unwrap() - other.unwrap()) < 1e-9;
        assert!(near(drifted.temperature_k, lagging.temperature_k));
        assert!(near(drifted.specific_conductance_us_cm, lagging.specific_conductance_us_cm));
        assert!(near(drifted.ph, lagging.ph) && drifted.ph > fresh.ph);
        let of_400 = |u: f64| {
            libm::sqrt(drifted.specific_conductance_us_cm.unwrap().powi(2) - u * u) / 400.0
        };
        assert!(libm::fabs(of_400(fresh.specific_conductance_us_cm.unwrap()) - 0.0191) < 1e-4);
        assert_eq!(drifted.conductivity_us_cm, fresh.conductivity_us_cm);

        // A stir check speaks for this water's junction.
        let stirred = Circumstances { junction_ph: Some(0.2), ..Circumstances::default() };
        let stirred = Budgets::new(&raw, &COEFFICIENTS, &stirred).uncertainty();
        assert!((0.2..0.201).contains(&stirred.ph.unwrap()), "{stirred:?}");
    }

    #[test]
    fn what_has_no_value_has_no_uncertainty() {
        let none = uncertainty(&Raw::default(), &COEFFICIENTS);
        assert_eq!(none, Uncertainty::default());
        let bare = uncertainty(&raw(400_000_000), &Coefficients::default());
        assert_eq!(bare, Uncertainty { temperature_k: bare.temperature_k, ..none });
        let cold = Raw { thermometer_milliohm: None, ..raw(400_000_000) };
        let alone = uncertainty(&cold, &COEFFICIENTS);
        assert!(alone.conductivity_us_cm.is_some());
        assert_eq!(alone, Uncertainty { conductivity_us_cm: alone.conductivity_us_cm, ..none });
        // Without a cell the water counts as an ordinary one.
        let dry = uncertainty(&Raw { conductance: None, ..raw(0) }, &COEFFICIENTS);
        assert!(dry.water.is_none() && dry.ph.unwrap() < 0.04);
    }
}
