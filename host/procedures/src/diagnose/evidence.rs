//! What is known about a probe: numbers with units, each there or not.

use heapless::Vec;

use super::limits;
use super::set::{Member, Set};

/// The most buffers that are looked at at once.
pub const MAX_BEAKERS: usize = 8;
/// The most earlier calibrations.
pub const MAX_EARLIER: usize = 8;

/// A kind of evidence. Codes never change their meaning.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Slope and offset from at least two buffers.
    Line = 0,
    /// A third buffer.
    ThirdBuffer = 1,
    /// An earlier calibration of the same electrode.
    EarlierLine = 2,
    /// How long the electrode took to answer.
    Response = 3,
    /// Drift and scatter at rest.
    Rest = 4,
    /// Readings one by one at rest.
    Readings = 5,
    /// Stirred and still water compared.
    Stirring = 6,
    /// Buffers that are much colder.
    ColdBuffers = 7,
    /// The cell constant, and an earlier or nominal one to compare it with.
    CellComparison = 8,
    /// Readings of the cell one by one.
    CellReadings = 9,
    /// A second conductivity standard.
    SecondStandard = 10,
    /// A reference thermometer.
    ReferenceThermometer = 11,
    /// Flags of readings.
    Flags = 12,
}

impl Member for Kind {
    const ALL: &'static [Self] = &[
        Self::Line,
        Self::ThirdBuffer,
        Self::EarlierLine,
        Self::Response,
        Self::Rest,
        Self::Readings,
        Self::Stirring,
        Self::ColdBuffers,
        Self::CellComparison,
        Self::CellReadings,
        Self::SecondStandard,
        Self::ReferenceThermometer,
        Self::Flags,
    ];

    fn number(self) -> u32 {
        self as u32
    }
}

impl Kind {
    /// The name that machine-readable output gives the kind; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Line => "two-buffers",
            Self::ThirdBuffer => "third-buffer",
            Self::EarlierLine => "earlier-calibration",
            Self::Response => "response",
            Self::Rest => "rest",
            Self::Readings => "readings-at-rest",
            Self::Stirring => "stirred-and-still",
            Self::ColdBuffers => "cold-buffers",
            Self::CellComparison => "cell-constant-compared",
            Self::CellReadings => "cell-readings",
            Self::SecondStandard => "second-standard",
            Self::ReferenceThermometer => "reference-thermometer",
            Self::Flags => "flags",
        }
    }
}

/// A slope and an offset.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineSeen {
    /// Slope in percent of Nernst.
    pub slope_percent: f64,
    /// Its standard uncertainty in percent of Nernst.
    pub slope_uncertainty_percent: f64,
    /// Potential at pH 7 in mV.
    pub offset_mv: f64,
}

/// The slope of the same buffers, warm and cold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ColdSeen {
    /// Warm.
    pub warm: LineSeen,
    /// Cold.
    pub cold: LineSeen,
}

/// An earlier calibration.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Earlier {
    /// Slope in percent of Nernst.
    pub slope_percent: f64,
    /// Potential at pH 7 in mV.
    pub offset_mv: f64,
    /// When it was made; `None` where that is not known.
    pub utc_ms: Option<i64>,
}

/// How a potential rests.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rest {
    /// Mean potential in mV.
    pub potential_mv: f64,
    /// Drift in mV per minute.
    pub drift_mv_per_min: f64,
    /// Scatter about that drift in mV, what alternates from reading to reading left out.
    pub scatter_mv: f64,
}

/// The electrode's evidence.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ElectrodeEvidence {
    /// Slope and offset.
    pub line: Option<LineSeen>,
    /// When its buffers were read; `None` where that is not known, and where something befell the
    /// electrode between the calibration before and then.
    pub line_utc_ms: Option<i64>,
    /// Distance of the buffers from their line in standard uncertainties, from three buffers on.
    pub disagreement: Option<f64>,
    /// The buffer (counted from 1, in the order taken) that an earlier slope finds odd.
    pub odd_buffer: Option<u8>,
    /// Earlier calibrations, the latest first.
    pub earlier: Vec<Earlier, MAX_EARLIER>,
    /// Longest time to 95 % of a step, in s; `None` for an electrode that is too restless to time.
    pub response_s: Option<f64>,
    /// Longest time until the settling rule was met or the operator's patience ended, in s.
    pub settling_s: Option<f64>,
    /// How it rested, beaker by beaker, in solutions that keep their pH.
    pub rests: Vec<Rest, MAX_BEAKERS>,
    /// Rests for which there was no more room: of them nothing is known.
    pub rests_left_out: u32,
    /// Readings without a potential at the end of stays in buffers; `None` when there were no such stays.
    pub missing: Option<u32>,
    /// Largest scatter from one reading to the next in mV, in any water.
    pub shake_mv: Option<f64>,
    /// Stirred minus still in mV.
    pub stir_mv: Option<f64>,
    /// Standard deviation of that mean in mV, from spells that were repeated.
    pub stir_deviation_mv: Option<f64>,
    /// The same buffers warm and at least `limits::COLD_K` colder.
    pub cold: Option<ColdSeen>,
}

impl ElectrodeEvidence {
    /// True when it is known how fast the electrode answers: by a step that was timed, or by the time
    /// to settle of an electrode that is neither restless nor humming.
    pub(super) fn tells_response(&self) -> bool {
        let calm = self.rests.iter().all(|rest| rest.scatter_mv < limits::SCATTER.present)
            && self.shake_mv.is_none_or(|shake| shake < limits::SHAKE.present);
        self.response_s.is_some() || self.settling_s.is_some() && calm
    }
}

/// The cell's evidence.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CellEvidence {
    /// Cell constant in 1/cm.
    pub constant_per_cm: Option<f64>,
    /// That of the last calibration.
    pub earlier_per_cm: Option<f64>,
    /// What the maker states.
    pub nominal_per_cm: Option<f64>,
    /// Largest step of the conductance between two readings in percent.
    pub jump_percent: Option<f64>,
    /// Difference of the cell constants that two standards give, in percent.
    pub standards_percent: Option<f64>,
}

/// The thermometer's evidence.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ThermometerEvidence {
    /// Thermometer minus reference in K.
    pub off_k: Option<f64>,
    /// Its largest change in K per minute at the end of a stay in a known solution.
    pub drift_k_per_min: Option<f64>,
    /// Readings whose flags were seen; `None` when no reading was.
    pub readings: Option<u32>,
    /// Those with an open thermometer.
    pub open: u32,
    /// Those with a short thermometer.
    pub short: u32,
}

/// Everything that is known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Evidence {
    /// Of the electrode.
    pub electrode: ElectrodeEvidence,
    /// Of the cell.
    pub cell: CellEvidence,
    /// Of the thermometer.
    pub thermometer: ThermometerEvidence,
}

impl Evidence {
    /// Which kinds there are.
    pub fn kinds(&self) -> Set<Kind> {
        let Self { electrode, cell, thermometer } = self;
        let compared = cell.constant_per_cm.is_some()
            && (cell.earlier_per_cm.is_some() || cell.nominal_per_cm.is_some());
        [
            (Kind::Line, electrode.line.is_some()),
            (Kind::ThirdBuffer, electrode.disagreement.is_some()),
            (Kind::EarlierLine, electrode.line.is_some() && !electrode.earlier.is_empty()),
            (Kind::Response, electrode.tells_response()),
            (Kind::Rest, !electrode.rests.is_empty()),
            (Kind::Readings, electrode.shake_mv.is_some()),
            (Kind::Stirring, electrode.stir_mv.is_some()),
            (Kind::ColdBuffers, electrode.cold.is_some()),
            (Kind::CellComparison, compared),
            (Kind::CellReadings, cell.jump_percent.is_some()),
            (Kind::SecondStandard, cell.standards_percent.is_some()),
            (Kind::ReferenceThermometer, thermometer.off_k.is_some()),
            (Kind::Flags, thermometer.readings.is_some()),
        ]
        .into_iter()
        .filter_map(|(kind, there)| there.then_some(kind))
        .collect()
    }
}
