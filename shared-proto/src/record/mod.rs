//! Records: what a calibration or a verification was, for as long as a number that used it lives.
//!
//! `RECORDS.md` draws the bytes.

pub mod codec;
pub mod fitted;
#[cfg(feature = "next-record")]
mod next;
pub mod possible;
mod v1;
pub mod verification;

use heapless::{String, Vec};
use serde::{Deserialize, Serialize};

use crate::calibration::conductivity::ConductivityCalibration;
use crate::calibration::drift::SensorDrift;
use crate::calibration::ph::PhCalibration;
use crate::calibration::temperature::TemperatureCalibration;
use crate::identity::{BoardId, ShortId};
use crate::reading::{Coefficients, RawConductance};
use fitted::{Fitted, Serial};
use verification::{Independence, VerificationRecord};

/// The most points one calibration holds.
pub const MAX_POINTS: usize = 5;
/// The most overrides one calibration holds.
pub const MAX_OVERRIDES: usize = 4;
/// The most canonical bytes of one record.
pub const MAX_RECORD_BYTES: usize = 1472;

/// Canonical bytes of a record, passed through untouched.
pub type RecordBytes = Vec<u8, MAX_RECORD_BYTES>;

/// Name of a standard (`phosphate-1-1`, `kcl-0.01-mol-per-l`, or the bottle's own name).
pub type StandardName = String<32>;
/// Lot printed on the bottle.
pub type Lot = String<16>;
/// Number of the certificate that a standard or a reference thermometer came with.
pub type CertificateNumber = String<16>;
/// Who did the work.
pub type Operator = String<24>;
/// Why a warning was overridden.
pub type Reason = String<48>;

/// What a record calibrates or verifies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Quantity {
    /// An electrode.
    Ph,
    /// A cell.
    Conductivity,
    /// A thermometer.
    Temperature,
}

impl Quantity {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Ph, Self::Conductivity, Self::Temperature];
}

/// How the reading of a point had come to rest.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Settling {
    /// True when the settling rule accepted it; false when the operator did, against a warning.
    pub settled: bool,
    /// Drift at the end, in the signal's unit (mV, % of the conductance, or K) per minute.
    pub drift_per_min: f32,
    /// Standard deviation about that drift, in the signal's unit.
    pub scatter: f32,
    /// Milliseconds of probe time spent waiting.
    pub waited_ms: u32,
    /// Time constant in s with which the signal came to rest; `None` where no approach stood out.
    pub time_constant_s: Option<f32>,
}

/// What a sachet was dissolved in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Water {
    /// Deionised or distilled.
    Deionised,
    /// Boiled and cooled in a closed vessel.
    Boiled,
    /// From the tap.
    Tap,
}

/// What the water for a sachet was measured with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Vessel {
    /// A volumetric flask.
    Flask,
    /// A measuring cylinder.
    Cylinder,
    /// A cup or bottle, filled by eye.
    ByEye,
}

/// How a sachet became a standard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Dissolved {
    /// In which water.
    pub water: Water,
    /// How much of it, by which vessel.
    pub vessel: Vessel,
    /// When, as days since 1970-01-01.
    pub days: i32,
}

/// What a standard's amount of potassium chloride is counted against.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Basis {
    /// Moles per kilogram of water.
    Molality,
    /// Moles per litre of solution at 25 °C.
    Molarity,
    /// Grams per kilogram of solution; demal solutions are made so (0.01 D is 0.745263 g of KCl, 0.1 D
    /// 7.41913 g).
    MassFraction,
    /// A bottle known by the conductivity on its label.
    Label,
}

impl Basis {
    /// The name that machine-readable output gives the basis.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Molality => "mol/kg",
            Self::Molarity => "mol/L",
            Self::MassFraction => "mass-fraction",
            Self::Label => "label",
        }
    }
}

/// The mean raw signal of a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Signal {
    /// Mean electrode potential in nanovolts.
    PotentialNv(i32),
    /// Mean conductance, with the range that measured it.
    Conductance(RawConductance),
    /// Mean resistance of the thermometer in milliohms.
    ThermometerMilliohm(u32),
}

impl Signal {
    /// What is measured with it.
    #[must_use]
    pub const fn quantity(&self) -> Quantity {
        match self {
            Self::PotentialNv(_) => Quantity::Ph,
            Self::Conductance(_) => Quantity::Conductivity,
            Self::ThermometerMilliohm(_) => Quantity::Temperature,
        }
    }
}

/// One point of a calibration or verification: the probe stood in this standard and read that.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// Which standard.
    pub standard: StandardName,
    /// Its lot, empty when not given.
    pub lot: Lot,
    /// Its expiry as days since 1970-01-01, if given.
    pub expiry_days: Option<i32>,
    /// When the bottle was opened, as days since 1970-01-01, if given.
    pub opened_days: Option<i32>,
    /// True for a portion that is used once, on the day it is opened.
    pub single_use: bool,
    /// How it was dissolved, when it came as a sachet.
    pub dissolved: Option<Dissolved>,
    /// Number of its certificate, empty when it has none.
    pub certificate: CertificateNumber,
    /// What the amount of a conductivity standard's salt is counted against, if known.
    pub basis: Option<Basis>,
    /// Its value at the point's temperature: pH, µS/cm, or °C.
    pub value: f64,
    /// Standard uncertainty of that value, in the same unit.
    pub value_uncertainty: f64,
    /// Change of that value with temperature, in the same unit per kelvin; 0 for a thermometer.
    pub value_per_kelvin: f64,
    /// Mean temperature in °C.
    pub temperature_c: f64,
    /// Mean raw signal.
    pub signal: Signal,
    /// What the calibration in force before this one made of it: pH, µS/cm, or °C.
    pub as_found: Option<f64>,
    /// How it had come to rest.
    pub settling: Settling,
}

/// What the calibration arrived at.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum CalibrationResult {
    /// Of the electrode.
    Ph(PhCalibration),
    /// Of the cell.
    Conductivity(ConductivityCalibration),
    /// Of the thermometer.
    Temperature(TemperatureCalibration),
}

impl CalibrationResult {
    /// Puts these coefficients in force, in place of those of the same quantity.
    pub const fn put_into(&self, coefficients: &mut Coefficients) {
        match self {
            Self::Ph(ph) => coefficients.ph = Some(*ph),
            Self::Conductivity(cell) => coefficients.conductivity = Some(*cell),
            Self::Temperature(thermometer) => coefficients.temperature = Some(*thermometer),
        }
    }

    /// How a sensor of this kind usually drifts, of which nothing else is known.
    #[must_use]
    pub const fn usual_drift(&self) -> SensorDrift {
        match self {
            Self::Ph(_) => SensorDrift::ELECTRODE,
            Self::Conductivity(_) => SensorDrift::CELL,
            Self::Temperature(_) => SensorDrift::THERMOMETER,
        }
    }
}

/// Whether the coefficients changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Outcome {
    /// New coefficients from the points.
    Adjusted,
    /// As-found was within tolerance: the coefficients in force before were kept, bit for bit.
    LeftUnadjusted,
}

/// The reading in a standard after the new coefficients were found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AsLeft {
    /// Which standard.
    pub standard: StandardName,
    /// Its lot, empty when not given.
    pub lot: Lot,
    /// Whether the calibration had not seen it.
    pub independence: Independence,
    /// The standard's value: pH, µS/cm, or °C.
    pub expected: f64,
    /// What the new coefficients made of a second reading in it.
    pub found: f64,
}

/// What makes a sensor another one than it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Incident {
    /// It was cleaned.
    Cleaned,
    /// It was filled again.
    Refilled,
    /// It dried out.
    Dried,
    /// It took a knock.
    Knocked,
}

/// A warning that the operator overrode.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Override {
    /// Code of the judgement (see `rillmark-procedures`), a number that never changes its meaning.
    pub judgement: u16,
    /// Why.
    pub reason: Reason,
}

/// One calibration of one electrode, cell or thermometer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CalibrationRecord {
    /// The board it was done with.
    pub board: BoardId,
    /// What was fitted to it.
    pub fitted: Fitted,
    /// Host time at the end, milliseconds since 1970-01-01 UTC.
    pub utc_ms: i64,
    /// When the next one is due, milliseconds since 1970-01-01 UTC.
    pub due_utc_ms: Option<i64>,
    /// Who did it.
    pub operator: Operator,
    /// The points, in the order they were taken.
    pub points: Vec<Point, MAX_POINTS>,
    /// What came of it.
    pub result: CalibrationResult,
    /// Whether that changed anything.
    pub outcome: Outcome,
    /// What happened to the sensor since the calibration before, if anything that makes what was known of
    /// its drift begin anew.
    pub incident: Option<Incident>,
    /// How many of the days since the calibration before the sensor was stored, not in use, if known.
    pub stored_days: Option<u16>,
    /// How the sensor drifts, as far as it is known now; of the same quantity as [`Self::result`].
    pub drift: SensorDrift,
    /// The calibration in force before, if any.
    pub previous: Option<ShortId>,
    /// The check after the new coefficients were found, if one was made.
    pub as_left: Option<AsLeft>,
    /// Warnings overridden, with reasons.
    pub overrides: Vec<Override, MAX_OVERRIDES>,
}

impl CalibrationRecord {
    /// What it calibrates.
    #[must_use]
    pub const fn quantity(&self) -> Quantity {
        match self.result {
            CalibrationResult::Ph(_) => Quantity::Ph,
            CalibrationResult::Conductivity(_) => Quantity::Conductivity,
            CalibrationResult::Temperature(_) => Quantity::Temperature,
        }
    }

    /// Serial of the electrode, cell or thermometer that it calibrates; `None` when the record does not say
    /// which was fitted.
    #[must_use]
    pub const fn calibrated(&self) -> Option<&Serial> {
        self.fitted.serial_for(self.quantity())
    }
}

/// What kind of record it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum RecordKind {
    /// A [`CalibrationRecord`].
    Calibration,
    /// A [`VerificationRecord`].
    Verification,
}

impl RecordKind {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::Calibration, Self::Verification];
}

/// A record of either kind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[allow(clippy::large_enum_variant)] // no allocation: nothing to box into
pub enum Record {
    /// Coefficients, and how they were found.
    Calibration(CalibrationRecord),
    /// A check of coefficients, which changes nothing.
    Verification(VerificationRecord),
}

impl Record {
    /// What kind it is.
    #[must_use]
    pub const fn kind(&self) -> RecordKind {
        match self {
            Self::Calibration(_) => RecordKind::Calibration,
            Self::Verification(_) => RecordKind::Verification,
        }
    }

    /// The board it was made with.
    #[must_use]
    pub const fn board(&self) -> BoardId {
        match self {
            Self::Calibration(record) => record.board,
            Self::Verification(record) => record.board,
        }
    }

    /// What it calibrates or verifies.
    #[must_use]
    pub const fn quantity(&self) -> Quantity {
        match self {
            Self::Calibration(record) => record.quantity(),
            Self::Verification(record) => record.quantity(),
        }
    }

    /// Serial of the electrode, cell or thermometer that it is of; `None` when it does not say.
    #[must_use]
    pub const fn of(&self) -> Option<&Serial> {
        match self {
            Self::Calibration(record) => record.calibrated(),
            Self::Verification(record) => record.verified(),
        }
    }

    /// Host time at its end, milliseconds since 1970-01-01 UTC.
    #[must_use]
    pub const fn utc_ms(&self) -> i64 {
        match self {
            Self::Calibration(record) => record.utc_ms,
            Self::Verification(record) => record.utc_ms,
        }
    }

    /// The calibration, if it is one.
    #[must_use]
    pub const fn calibration(&self) -> Option<&CalibrationRecord> {
        match self {
            Self::Calibration(record) => Some(record),
            Self::Verification(_) => None,
        }
    }

    /// The verification, if it is one.
    #[must_use]
    pub const fn verification(&self) -> Option<&VerificationRecord> {
        match self {
            Self::Calibration(_) => None,
            Self::Verification(record) => Some(record),
        }
    }
}

impl From<CalibrationRecord> for Record {
    fn from(record: CalibrationRecord) -> Self {
        Self::Calibration(record)
    }
}

impl From<VerificationRecord> for Record {
    fn from(record: VerificationRecord) -> Self {
        Self::Verification(record)
    }
}
