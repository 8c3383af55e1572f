//! What a reading is worth: the one door from records and readings to values with their doubt.
//!
//! Live, in a log, in replay and in every output the same records and readings go through here in the
//! same order, and the same answers come out.

mod checks;
mod known;
mod remark;
mod tally;

use alloc::collections::BTreeMap;
use alloc::vec::Vec;

use crate::front_end::BoardLimits;
use crate::reference::ionic_strength;
use crate::reference::ionic_strength::Class;
use crate::uncertainty::ph::Cause;
use crate::uncertainty::reading::{Budgets, Circumstances, Response, Uncertainty};
use rillmark_proto::identity::ShortId;
use rillmark_proto::reading::{
    CalibrationsUsed, Coefficients, Computed, Flags, ProbeTime, Reading, evaluate,
};
use rillmark_proto::record::fitted::Serial;
use rillmark_proto::record::verification::VerificationRecord;
use rillmark_proto::record::{CalibrationRecord, Quantity, Record};
use rillmark_proto::units::MicrosiemensPerCm;

use self::known::{HOUR_MS, Known, Standing, settled};
pub use self::remark::Remark;
pub use self::tally::{Count, Tally};
use crate::glass;
use crate::motion::{Kinetics, Motion, Movement, State};

const PERCENT: f64 = 100.0;
/// The most that the lag makes of a pH's standard uncertainty: U of 14, all that the scale has, says that
/// nothing is known.
const MOST_RESPONSE_PH: f64 = 7.0;
/// The same of a temperature in K, and of a conductivity, relative. Own choice.
const MOST_RESPONSE_K: f64 = 25.0;
const MOST_RESPONSE: f64 = 0.5;
/// Conductivity at 25 °C of hydrogen ions in µS/cm for each mol/L, at infinite dilution (REFERENCES 10; seen
/// at one remove).
const HYDROGEN_US_CM: f64 = 349.8e3;
/// What specific conductance is too high by where hydrogen ions carry all of the current, for each kelvin below
/// 25 °C: 0.5 to 0.7 % of hydrochloric acid, where they carry 0.82 (computed from ionic conductances). TM
/// 9-A6.3 has up to 50 % below pH 4 (REFERENCES 17; seen at one remove).
const HYDROGEN_PER_K: f64 = 0.0075;
/// Less than this is not spoken of. Own choice: it hides in the uncertainty.
const LEAST_ACID: f64 = 0.015;

/// What each value of a reading does; `None` where there is no value.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct States {
    /// The pH, by the electrode's potential.
    pub ph: Option<State>,
    /// The temperature.
    pub temperature: Option<State>,
    /// Both conductivities, by the cell's conductance.
    pub conductivity: Option<State>,
}

/// How old each calibration was when the reading was taken, in days; `None` without one, and where
/// nobody knows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ages {
    /// Of the electrode's calibration.
    pub ph: Option<f64>,
    /// Of the cell's.
    pub conductivity: Option<f64>,
    /// Of the thermometer's.
    pub temperature: Option<f64>,
}

/// Which of the calibrations that a reading names are not among the records.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Unresolved {
    /// That of the electrode.
    pub ph: bool,
    /// That of the cell.
    pub conductivity: bool,
    /// That of the thermometer.
    pub temperature: bool,
}

impl Unresolved {
    /// True when any is missing.
    #[must_use]
    pub const fn any(&self) -> bool {
        self.ph || self.conductivity || self.temperature
    }
}

/// What was made of one reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Assessment {
    /// Computed from the raw integers under the calibrations that the reading names.
    pub computed: Computed,
    /// Which of these calibrations are missing, so that their values are.
    pub unresolved: Unresolved,
    /// Computed under the calibrations of [`Assessor::apply`], where there are any.
    pub recalibrated: Option<Computed>,
    /// Of these values or else of [`Self::computed`], with the drift since the calibrations and with what
    /// the lag of the sensors still hides.
    pub uncertainty: Uncertainty,
    /// Whether each value stands still.
    pub states: States,
    /// How old the calibrations are.
    pub ages: Ages,
    /// What is to be said besides.
    pub remarks: Vec<Remark>,
}

/// Calibrations beside no reading.
#[derive(Clone, Debug)]
pub struct InForce {
    /// Their coefficients.
    pub coefficients: Coefficients,
    /// How old they are.
    pub ages: Ages,
    /// What follows from that for a reading.
    pub circumstances: Circumstances,
    /// What is to be said about it.
    pub remarks: Vec<Remark>,
    standing: Standing,
}

impl InForce {
    /// What is to be said of values under these calibrations that lie far from what they have seen.
    #[must_use]
    pub fn beyond(&self, values: &Computed) -> Vec<Remark> {
        beyond(values, &self.standing).collect()
    }
}

/// Takes records, then reading after reading of one probe in their order.
#[derive(Clone, Debug)]
pub struct Assessor {
    known: BTreeMap<ShortId, Known>,
    /// Of calibrations that may become known later too.
    verifications: BTreeMap<ShortId, VerificationRecord>,
    /// The thermometer that is fitted.
    thermometer: Option<Serial>,
    /// Applied in place of those that readings name.
    other: Vec<(ShortId, Known)>,
    junction_ph: Option<f64>,
    /// What is known of the board.
    board: BoardLimits,
    /// The calibrations of the last reading.
    standing: Option<(CalibrationsUsed, Standing)>,
    clock: Option<(ProbeTime, i64)>,
    potential: Motion,
    conductance: Motion,
    temperature: Motion,
    /// How the temperature moved that is carried over into readings without one of their own.
    last_temperature: Movement,
}

impl Default for Assessor {
    fn default() -> Self {
        Self::new()
    }
}

impl Assessor {
    /// Knows no record and has seen no reading.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            known: BTreeMap::new(),
            verifications: BTreeMap::new(),
            thermometer: None,
            other: Vec::new(),
            junction_ph: None,
            board: BoardLimits::ANY,
            standing: None,
            clock: None,
            potential: Motion::new(Kinetics::ELECTRODE),
            conductance: Motion::new(Kinetics::CELL),
            temperature: Motion::new(Kinetics::THERMOMETER),
            last_temperature: Movement {
                state: State::NotKnown,
                response_u: None,
                rate_per_min: None,
            },
        }
    }

    /// Takes a record of the probe or the session, which readings may name by its short form.
    pub fn know(&mut self, id: ShortId, record: &Record) {
        match record {
            Record::Calibration(calibration) => {
                let known = self.checked(id, calibration);
                self.known.insert(id, known);
            }
            Record::Verification(verification) => {
                let is_new = self.verifications.insert(id, verification.clone()).is_none();
                let of = verification.calibration;
                let other =
                    self.other.iter_mut().filter(|(id, _)| *id == of).map(|(_, known)| known);
                if is_new {
                    self.known
                        .get_mut(&of)
                        .into_iter()
                        .chain(other)
                        .for_each(|it| it.check(verification));
                }
            }
        }
        self.standing = None;
    }

    fn checked(&self, id: ShortId, calibration: &CalibrationRecord) -> Known {
        let mut known = Known::new(calibration);
        let of_it = self.verifications.values().filter(|it| it.calibration == id);
        of_it.for_each(|verification| known.check(verification));
        known
    }

    /// From now on values are computed under this calibration in place of the one of its quantity that
    /// a reading names. A verification has no coefficients and is passed over.
    pub fn apply(&mut self, id: ShortId, record: &Record) {
        if let Record::Calibration(calibration) = record {
            let known = self.checked(id, calibration);
            self.other.push((id, known));
        }
        self.standing = None;
    }

    /// The serial of the thermometer that is fitted from now on; `None` where nobody said.
    pub fn beside(&mut self, thermometer: Option<&Serial>) {
        self.thermometer = thermometer.cloned();
    }

    /// What a stir check told of the junction in the water from now on: the standard uncertainty that it
    /// gives a pH.
    pub const fn junction(&mut self, u_ph: f64) {
        self.junction_ph = Some(u_ph);
    }

    /// What somebody measured of the board, in place of its parts' limits, from now on.
    pub const fn on(&mut self, board: BoardLimits) {
        self.board = board;
    }

    /// Takes a reading, at this UTC in ms since 1970 where that is known.
    pub fn reading(&mut self, reading: &Reading, utc_ms: Option<i64>) -> Assessment {
        let now = self.moment(reading.time, utc_ms);
        let standing = self.standing(reading.calibrations);
        let raw = &reading.raw;
        let computed = evaluate(raw, &standing.own);
        let recalibrated = (!self.other.is_empty()).then(|| evaluate(raw, &standing.applied));
        let (ages, circumstances, mut remarks) = standing.at(now, self.thermometer.as_ref());
        let circumstances =
            Circumstances { junction_ph: self.junction_ph, board: self.board, ..circumstances };
        let mut budgets = Budgets::new(raw, &standing.applied, &circumstances);
        if standing.unresolved.temperature && standing.temperature.is_none() {
            // The temperature is the probe's, under a calibration that nobody can see.
            budgets = Budgets { conductivity: budgets.conductivity, ..Budgets::default() };
        }
        let values = recalibrated.unwrap_or(computed);
        if reading.flags.has(Flags::NOT_SETTLED) && values.ph.is_some() {
            remarks.push(Remark::NotSettled);
            budgets.ph = None;
        }
        let has_changed =
            reading.flags.has(Flags::CELL_CHANGED) && values.conductivity_us_cm.is_some();
        if has_changed {
            remarks.push(Remark::CellChanged);
            budgets.conductivity = None;
        }
        remarks.extend(beyond(&values, &standing));
        let (states, response) = self.moved(reading, &budgets, &standing);
        let mut uncertainty = budgets.with_response(&response).uncertainty();
        if has_changed {
            // The class of the water stays: it lies between no neighbours.
            uncertainty.specific_conductance_us_cm = None;
        }
        let unresolved = standing.unresolved;
        self.standing = Some((reading.calibrations, standing));
        Assessment { computed, unresolved, recalibrated, uncertainty, states, ages, remarks }
    }

    /// The calibrations of these names at a UTC in ms since 1970, beside no reading.
    pub fn in_force(&mut self, used: CalibrationsUsed, utc_ms: i64) -> InForce {
        let standing = self.standing(used);
        let (ages, circumstances, remarks) = standing.at(Some(utc_ms), self.thermometer.as_ref());
        let circumstances = Circumstances { board: self.board, ..circumstances };
        InForce { coefficients: standing.applied, ages, circumstances, remarks, standing }
    }

    /// UTC as counted from the first reading of this start of the probe: so an age does not hang on when
    /// a reading happened to arrive. A clock that is set anew counts from there.
    fn moment(&mut self, time: ProbeTime, utc_ms: Option<i64>) -> Option<i64> {
        let utc_ms = utc_ms?;
        let counted = self.clock.and_then(|(first, then)| {
            let passed = time.ms.checked_sub(first.ms).filter(|_| first.boot == time.boot)?;
            then.checked_add(i64::try_from(passed).ok()?)
        });
        match counted {
            Some(counted) if counted.abs_diff(utc_ms) <= HOUR_MS => Some(counted),
            _ => {
                self.clock = Some((time, utc_ms));
                Some(utc_ms)
            }
        }
    }

    /// Takes the calibrations of the last reading, or finds those that are named.
    fn standing(&mut self, used: CalibrationsUsed) -> Standing {
        if let Some((of, standing)) = self.standing.take()
            && of == used
        {
            return standing;
        }
        let mut standing = Standing::default();
        for (quantity, short) in [
            (Quantity::Ph, used.ph),
            (Quantity::Conductivity, used.conductivity),
            (Quantity::Temperature, used.temperature),
        ] {
            let Some(short) = short else { continue };
            match self.known.get(&short).filter(|known| known.quantity() == quantity) {
                Some(known) => standing.put(known),
                None => standing.miss(quantity),
            }
        }
        for (_, known) in &self.other {
            standing.apply(known);
        }
        standing
    }

    /// How the raw signals move, and what their lag does to the values.
    fn moved(
        &mut self,
        reading: &Reading,
        budgets: &Budgets,
        standing: &Standing,
    ) -> (States, Response) {
        let ProbeTime { boot, ms } = reading.time;
        let temperature = reading.raw.temperature(&standing.applied);
        // A value of which nothing can be said is not known to stand still.
        let not_known = |value: Option<f32>| value.map(|_| State::NotKnown);
        let mut states = States {
            ph: not_known(reading.computed.ph),
            temperature: not_known(reading.computed.temperature_c),
            conductivity: not_known(reading.computed.conductivity_us_cm),
        };
        let mut response = Response::default();

        if let (Some(celsius), Some(u)) = (temperature, budgets.temperature_k) {
            // A temperature that is carried over says nothing new.
            if !reading.flags.has(Flags::TEMPERATURE_HELD) {
                let kinetics = Kinetics::THERMOMETER.lengthened(settled(&standing.temperature));
                self.temperature.set_kinetics(kinetics);
                self.last_temperature = self.temperature.push(boot, ms, celsius.get(), u);
            }
            states.temperature = Some(self.last_temperature.state);
            let lag_k = self.last_temperature.response_u.unwrap_or(0.0);
            response.temperature_k = lag_k.min(MOST_RESPONSE_K);
        }
        if let (Some(us), Some(budget)) = (reading.raw.conductance(), &budgets.conductivity) {
            let kinetics = Kinetics::CELL.lengthened(settled(&standing.conductivity));
            self.conductance.set_kinetics(kinetics);
            let movement = self.conductance.push(
                boot,
                ms,
                PERCENT * libm::log(us.get()),
                PERCENT * budget.relative,
            );
            states.conductivity = Some(movement.state);
            let lag = movement.response_u.unwrap_or(0.0) / PERCENT;
            response.conductance = lag.min(MOST_RESPONSE);
        }
        if let (Some(potential), Some(budget)) = (reading.raw.potential(), &budgets.ph) {
            let water = budgets.specific.as_ref().map(|found| found.value);
            let settled = settled(&standing.ph);
            self.potential.set_kinetics(Kinetics::electrode(settled, water, temperature));
            let ph_per_mv = budget.of(Cause::Potential).sensitivity.map_or(f64::NAN, libm::fabs);
            let base_mv = budget.combined / ph_per_mv;
            let movement = self.potential.push(boot, ms, potential.get(), base_mv);
            states.ph = Some(movement.state);
            let most_mv = MOST_RESPONSE_PH / ph_per_mv;
            response.potential_mv = movement.response_u.unwrap_or(0.0).min(most_mv);
        }
        (states, response)
    }
}

/// What is to be said of values that lie far from what their calibrations have seen.
fn beyond(values: &Computed, standing: &Standing) -> impl Iterator<Item = Remark> {
    let span = |known: &Option<Known>| known.as_ref().and_then(|known| known.span);
    let ph = values.ph.map(f64::from);
    let us_cm = values.conductivity_us_cm.map(f64::from);
    let water = values.specific_conductance_us_cm.map(|us_cm| MicrosiemensPerCm::new(us_cm.into()));
    // Above the range of the estimates a water is as salty as they go.
    let most = |us_cm: MicrosiemensPerCm| {
        MicrosiemensPerCm::new(libm::fmin(us_cm.get(), ionic_strength::RANGE.1))
    };
    let within = water.map(most);
    let buffers = span(&standing.ph).zip(ph).and_then(|(span, ph)| {
        let buffer_ph = span.passed_by_ph(ph)?;
        Some(Remark::OutsideBuffers { beyond_ph: ph - buffer_ph, buffer_ph })
    });
    let standards = span(&standing.conductivity).zip(us_cm).and_then(|(span, us_cm)| {
        let standard_us_cm = span.passed_by_us_cm(us_cm)?;
        Some(Remark::OutsideStandards { times: us_cm / standard_us_cm, standard_us_cm })
    });
    let alkaline = ph.and_then(|ph| glass::alkaline(ph, water)).map(
        |glass::Alkaline { up_to_ph, sodium_mol_kg }| Remark::AlkalineError {
            up_to_ph,
            sodium_mol_kg,
        },
    );
    let acid = ph.filter(|ph| glass::is_acid(*ph)).map(|_| Remark::AcidError);
    let salty = ph.and(within).filter(|water| ionic_strength::class(*water) == Ok(Class::Salty));
    let unlike = salty.and_then(|water| {
        let ionic_strength_mol_kg = ionic_strength::estimate(water).ok()?.value;
        Some(Remark::UnlikeBuffers { ionic_strength_mol_kg })
    });
    let acid_water = ph.zip(water).zip(values.temperature_c).and_then(|((ph, water), celsius)| {
        let share = HYDROGEN_US_CM * libm::pow(10.0, -ph) / water.get();
        let high = HYDROGEN_PER_K * libm::fmin(share, 1.0) * (25.0 - f64::from(celsius));
        (share > 0.0 && libm::fabs(high) >= LEAST_ACID)
            .then_some(Remark::AcidWater { high_percent: PERCENT * high })
    });
    [buffers, standards, alkaline, acid, unlike, acid_water].into_iter().flatten()
}

#[cfg(test)]
#[path = "assess/tests.rs"]
mod tests;
