//! What a calibration is to be: the plan of the operator, and the situation it starts from.

use heapless::Vec;

use super::bottle;
use super::judge::{extremes, single_point};
use super::judgement::Judgement;
use super::limits;
use super::said::Said;
use super::standard::{Planned, Source};
use rillmark_metrology::fit::ph::{NOMINAL_SLOPE, SlopePrior};
use rillmark_proto::calibration::conductivity::Compensation;
use rillmark_proto::calibration::ph::Isopotential;
use rillmark_proto::calibration::temperature::{TemperatureCalibration, Thermometer};
use rillmark_proto::identity::{BoardId, ShortId};
use rillmark_proto::reading::Coefficients;
use rillmark_proto::record::fitted::Fitted;
use rillmark_proto::record::{
    CalibrationRecord, CalibrationResult, Incident, MAX_POINTS, Operator, Quantity,
};

/// The most earlier calibrations that a new one is compared with.
pub const MAX_HISTORY: usize = 8;
/// The most standards of a plan: those that are calibrated in, and one for the closing check.
pub const MAX_STANDARDS: usize = MAX_POINTS + 1;
const MS_PER_DAY: i64 = 86_400_000;

/// What the operator wants.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// What is calibrated.
    pub quantity: Quantity,
    /// The standards, in the order in which they are taken.
    pub standards: Vec<Planned, MAX_STANDARDS>,
    /// The last of them is for the closing check alone: the calibration does not see it.
    pub checks_apart: bool,
    /// Who does it.
    pub operator: Operator,
    /// The next one is due so many days later.
    pub due_in_days: Option<u16>,
    /// How a cell's readings are referred to 25 °C.
    pub compensation: Compensation,
    /// The isopotential pH of the electrode.
    pub isopotential: Isopotential,
    /// The conductance that remains with the cell in air is measured first.
    pub zero_in_air: bool,
    /// What kind of thermometer is calibrated; `None` is the kind in force.
    pub thermometer: Option<Thermometer>,
    /// As-found tolerance in pH, percent or K; `None` takes the default of `limits`.
    pub tolerance: Option<f64>,
    /// The cell constant in 1/cm that the maker states, to tell a wrong beaker before there is a
    /// calibration.
    pub nominal_cell_constant: Option<f64>,
    /// What happened to the sensor since the calibration before.
    pub incident: Option<Incident>,
    /// How many of the days since then it was stored, not in use.
    pub stored_days: Option<u16>,
}

/// What is the case before anything is done.
#[derive(Clone, Debug, PartialEq)]
pub struct Situation {
    /// The board.
    pub board: BoardId,
    /// What is fitted to it.
    pub fitted: Fitted,
    /// The coefficients in force.
    pub in_force: Coefficients,
    /// The record they come from, for the quantity that is calibrated.
    pub previous: Option<ShortId>,
    /// That record, when it can be read.
    pub before: Option<CalibrationRecord>,
    /// Earlier results of the same electrode or cell, the one in force included.
    pub history: Vec<CalibrationResult, MAX_HISTORY>,
    /// Host time at the start in ms since 1970-01-01 UTC; an expiry is judged by it.
    pub utc_ms: i64,
}

impl Plan {
    /// The standards that the coefficients are found in, as many as a record has points.
    pub(super) fn calibrated_in(&self) -> &[Planned] {
        let all = self.standards.len();
        let calibrated_in = if self.checks_apart { all.saturating_sub(1) } else { all };
        &self.standards[..calibrated_in.min(MAX_POINTS)]
    }

    /// The as-found tolerance in pH, percent or K.
    pub(super) fn tolerance(&self) -> f64 {
        self.tolerance.unwrap_or(match self.quantity {
            Quantity::Ph => limits::AS_FOUND_PH.value,
            Quantity::Conductivity => limits::AS_FOUND_PERCENT.value,
            Quantity::Temperature => limits::AS_FOUND_K.value,
        })
    }

    /// What kind of thermometer is calibrated.
    pub(super) fn kind(&self, in_force: &Coefficients) -> Thermometer {
        self.thermometer.unwrap_or(in_force.thermometer())
    }

    /// What temperatures are read with: the coefficients in force, but for a thermometer of another
    /// kind that is calibrated now, which is taken at its maker's word.
    pub(super) fn reads_with(&self, in_force: &Coefficients) -> Coefficients {
        let kind = self.kind(in_force);
        if self.quantity != Quantity::Temperature || kind == in_force.thermometer() {
            return *in_force;
        }
        let temperature = Some(TemperatureCalibration::exact(kind));
        Coefficients { temperature, ..*in_force }
    }

    /// Whether the cell is held in air first.
    pub(super) const fn measures_zero(&self) -> bool {
        self.zero_in_air && matches!(self.quantity, Quantity::Conductivity)
    }

    /// Whether the standards belong at one temperature.
    pub(super) const fn at_one_temperature(&self) -> bool {
        match self.quantity {
            Quantity::Ph | Quantity::Conductivity => true,
            // A second temperature is what tells a thermometer's gain.
            Quantity::Temperature => false,
        }
    }

    /// What is to be said before the first beaker.
    pub(super) fn judge(&self, situation: &Situation) -> Said {
        let mut said = Said::new();
        if situation.fitted.serial_for(self.quantity).is_none() {
            said.say(Judgement::NotEquipped {});
        }
        let least = match self.quantity {
            Quantity::Ph => limits::LEAST_PH_POINTS,
            Quantity::Conductivity => limits::LEAST_CONDUCTIVITY_POINTS,
            Quantity::Temperature => limits::LEAST_TEMPERATURE_POINTS,
        };
        let points = self.calibrated_in().len();
        if points < usize::from(least) {
            said.say(Judgement::TooFewPoints { points: points as u8, least });
        }
        let today = situation.utc_ms.div_euclid(MS_PER_DAY);
        for (standard, point) in self.standards.iter().zip(1..) {
            if standard.source.quantity() != self.quantity {
                said.say(Judgement::StandardOfOtherQuantity { point });
            }
            bottle::judge(point, standard, today, &mut said);
        }
        said.say_all(bottle::unstated(&self.standards, self.checks_apart));
        self.judge_since(situation, &mut said);
        if let (Quantity::Ph, [_]) = (self.quantity, self.calibrated_in()) {
            said.say(single_point(&Self::slope(situation)));
        }
        self.judge_span(&mut said);
        self.judge_order(&mut said);
        self.judge_references(&mut said);
        if self.quantity == Quantity::Ph && situation.in_force.conductivity.is_none() {
            said.say(Judgement::ConductivityFirst {});
        }
        // A thermometer is read before its first calibration too: as the Pt1000 that is built in.
        let read_before = self.quantity == Quantity::Temperature
            && self.kind(&situation.in_force) == situation.in_force.thermometer();
        if situation.previous.is_none() && !read_before {
            said.say(Judgement::NoEarlierCalibration {});
        }
        let checked =
            situation.in_force.conductivity.is_some() || self.nominal_cell_constant.is_some();
        if self.quantity == Quantity::Conductivity && !checked {
            said.say(Judgement::LabelUnchecked {});
        }
        said
    }

    /// What lies between the calibration before and this one.
    fn judge_since(&self, situation: &Situation, said: &mut Said) {
        let serial = situation.fitted.serial_for(self.quantity);
        let of_it = |before: &&CalibrationRecord| before.calibrated() == serial;
        let days = |before: &CalibrationRecord| {
            situation.utc_ms.saturating_sub(before.utc_ms) as f64 / MS_PER_DAY as f64
        };
        // Two clocks may be hours apart, and what lies within a day teaches nothing anyway.
        if let Some(days) = situation.before.as_ref().map(days).filter(|days| *days < -1.0) {
            said.say(Judgement::DatedBeforeEarlier { days: -days });
        }
        let since = situation.before.as_ref().filter(of_it).map(days);
        let limit_days = limits::TEACHES_DAYS.value;
        let long = since.filter(|days| *days > limit_days);
        said.say_all(long.map(|days| Judgement::LongSinceEarlier { days, limit_days }));
        let Some(stored_days) = self.stored_days else { return };
        said.say(match since.map(|days| libm::floor(libm::fmax(days, 0.0))) {
            None => Judgement::StoredSinceNothing { stored_days },
            Some(days) if f64::from(stored_days) > days => {
                Judgement::StoredLongerThanPassed { stored_days, days }
            }
            Some(_) if long.is_some() => return,
            Some(days) => Judgement::StoredDaysCounted { stored_days, days },
        });
    }

    /// The slope that a single point takes: that of the calibration in force, or the nominal one.
    pub(super) fn slope(situation: &Situation) -> SlopePrior {
        situation.in_force.ph.as_ref().map_or(NOMINAL_SLOPE, SlopePrior::earlier)
    }

    /// Buffers that are too close to each other are told before anybody stands in them, by their
    /// values at 25 °C or as near to it as they go; the fit is judged by the true temperatures.
    fn judge_span(&self, said: &mut Said) {
        if self.quantity != Quantity::Ph || self.calibrated_in().len() < 2 {
            return;
        }
        let values = self.calibrated_in().iter().filter_map(|standard| standard.source.near_25());
        let least_ph = limits::BUFFER_SPAN_PH.value;
        let span_ph = extremes(values).map_or(0.0, |(low, high)| high - low);
        if span_ph < least_ph {
            said.say(Judgement::BuffersTooClose { span_ph, least_ph });
        }
    }

    /// References that are no better than the thermometer, and a single one.
    fn judge_references(&self, said: &mut Said) {
        let limit_k = limits::REFERENCE_COARSE_K.value;
        for (standard, point) in self.standards.iter().zip(1..) {
            let Source::Reference(reference) = &standard.source else { continue };
            let u_k = reference.standard_uncertainty_k();
            if u_k >= limit_k {
                said.say(Judgement::ReferenceCoarse { point, u_k, limit_k });
            }
        }
        if self.quantity == Quantity::Temperature && self.calibrated_in().len() == 1 {
            said.say(Judgement::ThermometerOnePoint {});
        }
    }

    /// An alkaline bottle is opened last.
    fn judge_order(&self, said: &mut Said) {
        if self.quantity != Quantity::Ph {
            return;
        }
        let values = || self.calibrated_in().iter().map(|standard| standard.source.near_25());
        let alkaline = |ph: f64| ph > limits::ALKALINE_PH.value;
        for ((value, point), after) in values().zip(1..).zip(1..) {
            let early = values().skip(after).flatten().any(|later| !alkaline(later));
            if let Some(ph) = value.filter(|ph| alkaline(*ph) && early) {
                said.say(Judgement::AlkalineNotLast { point, ph });
            }
        }
    }
}
