//! A noiseless electrode, cell and thermometer that lead a verification through its beaker.

use std::vec::Vec as List;

use super::super::*;
use crate::routine::profile::Profile;
use crate::routine::standard::{Printed, Source, Stated};
use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration, Range};
use rillmark_proto::calibration::ph::{PhCalibration, PhCovariance};
use rillmark_proto::calibration::temperature::{PT1000, TemperatureCalibration};
use rillmark_proto::identity::{BoardId, ShortId};
use rillmark_proto::reading::{Coefficients, Flags, ProbeTime, Raw, RawConductance};
use rillmark_proto::record::Operator;
use rillmark_proto::record::fitted::Fitted;
use rillmark_proto::units::{Celsius, Ph};

pub(super) const CALIBRATION: ShortId = ShortId([7, 7, 7, 7]);
pub(super) const START_MS: i64 = 1_800_000_000_000;
pub(super) const AT: Celsius = Celsius::new(25.0);

/// An electrode of exactly 98 % and 3 mV, known to 0.2 % and 0.2 mV.
pub(super) fn electrode() -> PhCalibration {
    let covariance = PhCovariance { slope: 4e-6, offset_mv2: 0.04, slope_offset_mv: 0.0 };
    PhCalibration { covariance, ..PhCalibration::exact(0.98, 3.0) }
}

/// A cell of exactly 1 /cm, known to 0.5 %.
pub(super) fn cell() -> ConductivityCalibration {
    ConductivityCalibration {
        variance_per_cm2: 2.5e-5,
        range_factor: [Some(1.0), None, None],
        ..ConductivityCalibration::exact(1.0, Compensation::Linear { per_kelvin: 0.0191 })
    }
}

/// A thermometer that reads right, known exactly: what is left is the rest of the budget.
pub(super) fn thermometer() -> TemperatureCalibration {
    TemperatureCalibration::exact(PT1000)
}

pub(super) fn buffer(name: &str) -> Planned {
    let source = Source::Buffer(buffers::by_name(name).unwrap());
    Planned::new(name.try_into().unwrap(), source)
}

/// 0.01 mol/L of potassium chloride, 1413 µS/cm at 25 °C.
pub(super) fn kcl() -> Planned {
    let source = Source::Solution(conductivity_standards::by_name("1413").unwrap());
    Planned::new("kcl-0.01-mol-per-l".try_into().unwrap(), source)
}

pub(super) fn own_buffer(ph: f64, u: f64) -> Planned {
    let rows = [(0.0, ph), (50.0, ph)];
    let table = Printed::try_new(Quantity::Ph, &rows, Stated::Absolute(u)).unwrap();
    Planned::new("own".try_into().unwrap(), Source::Printed(table))
}

pub(super) fn situation() -> VerifySituation {
    let serial = |text: &str| Some(text.try_into().unwrap());
    VerifySituation {
        board: BoardId([1; 8]),
        fitted: Fitted { electrode: serial("E"), cell: serial("K"), thermometer: serial("T") },
        in_force: Coefficients {
            ph: Some(electrode()),
            conductivity: Some(cell()),
            temperature: Some(thermometer()),
        },
        calibration: Some(CALIBRATION),
        is_beside_another: false,
        seen: Vec::new(),
        all_seen: true,
        utc_ms: START_MS,
    }
}

pub(super) fn plan(standard: Planned, profile: &Profile) -> VerifyPlan {
    let quantity = standard.source.quantity();
    VerifyPlan {
        quantity,
        standard,
        operator: Operator::try_from("Ada").unwrap(),
        criterion: profile.criterion(quantity).unwrap(),
    }
}

pub(super) fn reason() -> Reason {
    "the bottle is right".try_into().unwrap()
}

/// A verification with the probe that feeds it.
pub(super) struct Run {
    pub(super) verify: Verify,
    pub(super) ms: u64,
    pub(super) count: u32,
    /// mV or percent per minute.
    pub(super) drift_per_min: f64,
}

impl Run {
    pub(super) fn new(plan: VerifyPlan) -> Self {
        Self::of(Verify::new(plan, situation()))
    }

    pub(super) fn of(verify: Verify) -> Self {
        Self { verify, ms: 0, count: 0, drift_per_min: 0.0 }
    }

    pub(super) fn place(&mut self) {
        assert!(matches!(self.verify.step(), Step::Place { standard: 0 }), "{:?}", self.codes());
        self.verify.on(Event::Placed);
    }

    /// Reads a potential in mV, a conductance in µS or nothing but the temperature, at 25 °C, until
    /// the step ends.
    pub(super) fn read(&mut self, signal: f64) -> Step<VerificationRecord> {
        let ohm = PT1000.resistance(AT).unwrap().get();
        for _ in 0..4_000 {
            self.count += 1;
            self.ms += 500;
            self.verify.tell_time(START_MS + self.ms as i64);
            let drift = self.drift_per_min * self.ms as f64 / 60_000.0;
            let quantity = self.verify.quantity();
            let us = signal * (1.0 + drift / 100.0);
            let conductance_ps = libm::round(us * 1e6) as i64;
            let raw = Raw {
                potential_nv: (quantity == Quantity::Ph)
                    .then_some(libm::round((signal + drift) * 1e6) as i32),
                conductance: (quantity == Quantity::Conductivity)
                    .then_some(RawConductance { conductance_ps, range: Range::Ohm1k }),
                thermometer_milliohm: Some(libm::round(ohm * 1e3) as u32),
            };
            let step = self.verify.on(Event::Reading(&Reading {
                running: self.count,
                time: ProbeTime { boot: 1, ms: self.ms },
                raw,
                flags: Flags::NONE,
                computed: Default::default(),
                calibrations: Default::default(),
            }));
            if !matches!(step, Step::Settle { .. }) {
                return step;
            }
        }
        panic!("it never ends")
    }

    pub(super) fn choose(&mut self, choice: Choice) -> Step<VerificationRecord> {
        self.verify.on(Event::Choice(choice))
    }

    pub(super) fn codes(&self) -> List<&'static str> {
        self.verify.said().iter().map(Judgement::code).collect()
    }

    pub(super) fn record(&self) -> VerificationRecord {
        match self.verify.step() {
            Step::Finished(record) => record,
            other => panic!("{other:?} {:?}", self.codes()),
        }
    }
}

/// What the electrode reads where the calibration in force finds this pH.
pub(super) fn mv(ph: f64) -> f64 {
    electrode().potential(Ph::new(ph), AT).unwrap().get()
}
