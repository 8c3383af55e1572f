//! A noiseless electrode, cell and thermometer that lead a routine through its beakers.

use std::vec::Vec;

use crate::routine::judgement::Judgement;
use crate::routine::limits;
use crate::routine::machine::Routine;
use crate::routine::plan::{Plan, Situation};
use crate::routine::standard::{Planned, Printed, Source, Stated};
use crate::routine::step::{Allowed, Choice, Event, Step};
use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::calibration::ph::{PhCalibration, PhCovariance};
use rillmark_proto::calibration::temperature::PT1000;
use rillmark_proto::identity::{BoardId, ShortId};
use rillmark_proto::reading::{
    CalibrationsUsed, Coefficients, Computed, Flags, ProbeTime, Range, Raw, RawConductance, Reading,
};
use rillmark_proto::record::fitted::Fitted;
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Outcome, Quantity, Reason};
use rillmark_proto::reference::compensation::DEFAULT_PER_KELVIN;
use rillmark_proto::units::{Celsius, MicrosiemensPerCm, Ph};

pub(super) const MS_PER_DAY: i64 = 86_400_000;
/// A made-up day, counted from 1970-01-01.
pub(super) const TODAY: i32 = 20_000;
pub(super) const BUFFERS: [&str; 3] = ["phthalate-1977", "phosphate-1-1", "borax"];
pub(super) const BUFFER_TEMPERATURES: [f64; 3] = [21.0, 22.0, 22.5];
/// Readings between two fresh temperatures while sampling pH.
const FRESH_EVERY: u32 = 34;

pub(super) const fn electrode(slope_fraction: f64, offset_mv: f64) -> PhCalibration {
    let covariance = PhCovariance { slope: 1e-6, offset_mv2: 0.04, slope_offset_mv: 0.0 };
    PhCalibration { covariance, ..PhCalibration::exact(slope_fraction, offset_mv) }
}

pub(super) const fn cell(cell_constant_per_cm: f64) -> ConductivityCalibration {
    let compensation = Compensation::Linear { per_kelvin: DEFAULT_PER_KELVIN };
    ConductivityCalibration {
        variance_per_cm2: 1e-6,
        ..ConductivityCalibration::exact(cell_constant_per_cm, compensation)
    }
}

pub(super) fn standard(name: &str) -> Planned {
    let source = match (buffers::by_name(name), conductivity_standards::by_name(name)) {
        (Some(buffer), _) => Source::Buffer(buffer),
        (_, Some(solution)) => Source::Solution(solution),
        _ => panic!("{name}"),
    };
    let planned = Planned::new(name.try_into().unwrap(), source);
    let (expiry_days, opened_days) = (Some(TODAY), Some(TODAY));
    Planned { lot: "L1".try_into().unwrap(), expiry_days, opened_days, ..planned }
}

pub(super) fn bottle(ph: f64) -> Planned {
    let rows = [(0.0, ph), (50.0, ph)];
    let source =
        Source::Printed(Printed::try_new(Quantity::Ph, &rows, Stated::Absolute(0.01)).unwrap());
    Planned { source, ..standard(BUFFERS[0]) }
}

pub(super) fn plan(quantity: Quantity, standards: &[Planned]) -> Plan {
    Plan {
        quantity,
        standards: standards.iter().cloned().collect(),
        checks_apart: false,
        operator: "Ada".try_into().unwrap(),
        due_in_days: Some(30),
        compensation: Compensation::Linear { per_kelvin: DEFAULT_PER_KELVIN },
        isopotential: rillmark_proto::calibration::ph::DEFAULT_ISOPOTENTIAL,
        zero_in_air: false,
        thermometer: None,
        tolerance: None,
        nominal_cell_constant: None,
        incident: None,
        stored_days: None,
    }
}

pub(super) fn three_buffers() -> Plan {
    plan(Quantity::Ph, &BUFFERS.map(standard))
}

/// A board that has never been calibrated.
pub(super) fn first_time() -> Situation {
    let serial = |text: &str| Some(text.try_into().unwrap());
    Situation {
        board: BoardId([1; 8]),
        fitted: Fitted { electrode: serial("E1"), cell: serial("C1"), thermometer: serial("T1") },
        in_force: Coefficients::default(),
        previous: None,
        before: None,
        history: heapless::Vec::new(),
        utc_ms: i64::from(TODAY) * MS_PER_DAY,
    }
}

/// The record of a calibration of which nothing but the result matters.
pub(super) fn record_of(result: CalibrationResult, utc_ms: i64) -> CalibrationRecord {
    let Situation { board, fitted, .. } = first_time();
    CalibrationRecord {
        board,
        fitted,
        utc_ms,
        due_utc_ms: None,
        operator: Default::default(),
        points: Default::default(),
        result,
        outcome: Outcome::Adjusted,
        incident: None,
        stored_days: None,
        drift: result.usual_drift(),
        previous: None,
        as_left: None,
        overrides: Default::default(),
    }
}

/// A board with a calibration in force, the only one in its history.
pub(super) fn calibrated(old: CalibrationResult) -> Situation {
    let mut situation = first_time();
    match old {
        CalibrationResult::Ph(ph) => situation.in_force.ph = Some(ph),
        CalibrationResult::Conductivity(cell) => situation.in_force.conductivity = Some(cell),
        CalibrationResult::Temperature(thermometer) => {
            situation.in_force.temperature = Some(thermometer);
        }
    }
    situation.previous = Some(ShortId([9; 4]));
    situation.before = Some(record_of(old, situation.utc_ms - 7 * MS_PER_DAY));
    situation.history.push(old).unwrap();
    situation
}

pub(super) fn reason() -> Reason {
    "a spare is on its way".try_into().unwrap()
}

/// What a probe stands in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Beaker {
    /// pH, or µS/cm at its temperature.
    pub(super) value: f64,
    pub(super) milliohm: u32,
}

impl Beaker {
    pub(super) fn new(value: f64, celsius: f64) -> Self {
        let ohms = PT1000.resistance(Celsius::new(celsius)).unwrap();
        Self { value, milliohm: libm::round(ohms.get() * 1000.0) as u32 }
    }

    pub(super) fn of(standard: &Planned, celsius: f64) -> Self {
        let beaker = Self::new(0.0, celsius);
        Self { value: standard.source.value(beaker.temperature()).unwrap().value, ..beaker }
    }

    /// What the thermometer's whole milliohms mean.
    pub(super) fn temperature(&self) -> Celsius {
        Raw { thermometer_milliohm: Some(self.milliohm), ..Raw::default() }
            .temperature(&Coefficients::default())
            .unwrap()
    }
}

pub(super) fn beakers(plan: &Plan) -> Vec<Beaker> {
    let celsius = BUFFER_TEMPERATURES;
    plan.standards.iter().zip(celsius).map(|(standard, c)| Beaker::of(standard, c)).collect()
}

/// An event with what it owns.
#[derive(Clone, Debug)]
pub(super) enum Happened {
    Reading(Reading),
    Placed,
    Reference(f64),
    Choice(Choice),
}

impl Happened {
    /// The host's clock and the probe's go together, from the same start.
    pub(super) fn tell(&self, routine: &mut Routine) -> Step {
        if let Self::Reading(reading) = self {
            routine.tell_time(i64::from(TODAY) * MS_PER_DAY + reading.time.ms as i64);
        }
        routine.on(match self {
            Self::Reading(reading) => Event::Reading(reading),
            Self::Placed => Event::Placed,
            Self::Reference(celsius) => Event::Reference(*celsius),
            Self::Choice(choice) => Event::Choice(choice.clone()),
        })
    }
}

/// A routine, the probe that feeds it, and everything that happened.
pub(super) struct Run {
    pub(super) routine: Routine,
    pub(super) electrode: PhCalibration,
    pub(super) cell: ConductivityCalibration,
    /// Drift in mV or percent per minute.
    pub(super) drift_per_min: f64,
    pub(super) flags: Flags,
    pub(super) thermometer: bool,
    pub(super) boot: u32,
    pub(super) ms: u64,
    pub(super) running: u32,
    pub(super) happened: Vec<Happened>,
}

impl Run {
    pub(super) fn new(plan: Plan, situation: Situation) -> Self {
        Self {
            routine: Routine::new(plan, situation),
            electrode: electrode(0.985, -7.5),
            cell: cell(0.87),
            drift_per_min: 0.0,
            flags: Flags::NONE,
            thermometer: true,
            boot: 1,
            ms: 60_000,
            running: 0,
            happened: Vec::new(),
        }
    }

    pub(super) fn tell(&mut self, event: Happened) -> Step {
        let step = event.tell(&mut self.routine);
        self.happened.push(event);
        step
    }

    pub(super) fn place(&mut self) -> Step {
        self.tell(Happened::Placed)
    }

    pub(super) fn choose(&mut self, choice: Choice) -> Step {
        self.tell(Happened::Choice(choice))
    }

    pub(super) fn raw(&self, beaker: &Beaker) -> Raw {
        let minutes = self.ms as f64 / 60_000.0;
        let thermometer_milliohm = self.thermometer.then_some(beaker.milliohm);
        let raw = Raw { thermometer_milliohm, ..Raw::default() };
        match self.routine.plan().quantity {
            Quantity::Ph => {
                let mv = self.electrode.potential(Ph::new(beaker.value), beaker.temperature());
                let mv = mv.unwrap().get() + self.drift_per_min * minutes;
                Raw { potential_nv: Some(libm::round(mv * 1e6) as i32), ..raw }
            }
            Quantity::Conductivity => {
                let us = self
                    .cell
                    .conductance(MicrosiemensPerCm::new(beaker.value), Range::Ohm1k)
                    .unwrap();
                let us = us.get() * (1.0 + self.drift_per_min / 100.0 * minutes);
                let conductance_ps = libm::round(us * 1e6) as i64;
                let conductance = RawConductance { conductance_ps, range: Range::Ohm1k };
                Raw { conductance: Some(conductance), ..raw }
            }
            Quantity::Temperature => raw,
        }
    }

    /// The next reading, a second later, with these raw integers.
    pub(super) fn read_raw(&mut self, raw: Raw, flags: Flags) -> Step {
        self.ms += 1_000;
        self.running += 1;
        let reading = Reading {
            running: self.running,
            time: ProbeTime { boot: self.boot, ms: self.ms },
            raw,
            flags,
            computed: Computed::default(),
            calibrations: CalibrationsUsed::default(),
        };
        self.tell(Happened::Reading(reading))
    }

    /// The next reading of the probe in a beaker.
    pub(super) fn read(&mut self, beaker: &Beaker) -> Step {
        let (interval_ms, fresh) = match self.routine.plan().quantity {
            Quantity::Ph => (300, self.running.is_multiple_of(FRESH_EVERY)),
            Quantity::Conductivity | Quantity::Temperature => (1_000, true),
        };
        self.ms += interval_ms;
        self.running += 1;
        let held = if fresh { Flags::NONE } else { Flags::TEMPERATURE_HELD };
        let reading = Reading {
            running: self.running,
            time: ProbeTime { boot: self.boot, ms: self.ms },
            raw: self.raw(beaker),
            flags: self.flags.with(held),
            computed: Computed::default(),
            calibrations: CalibrationsUsed::default(),
        };
        self.tell(Happened::Reading(reading))
    }

    /// Reads until settling ends, one way or the other.
    pub(super) fn soak(&mut self, beaker: &Beaker) -> Step {
        let settling = |step: &Step| match step {
            Step::Settle { standard, as_left, .. } => Some((*standard, *as_left)),
            _ => None,
        };
        let at = settling(&self.routine.step());
        assert!(at.is_some(), "not settling: {:?}", self.routine.step());
        let limit_ms = self.ms + 2 * limits::PATIENCE_MS.value;
        loop {
            let step = self.read(beaker);
            if settling(&step) != at {
                return step;
            }
            assert!(self.ms < limit_ms, "never settles: {step:?}");
        }
    }

    pub(super) fn place_and_soak(&mut self, beaker: &Beaker) -> Step {
        let placed = self.place();
        assert!(matches!(placed, Step::Settle { as_left: false, .. }), "{placed:?}");
        self.soak(beaker)
    }

    /// All beakers of the plan, up to the first step that is neither placing nor the next beaker.
    pub(super) fn all(&mut self, beakers: &[Beaker]) -> Step {
        for beaker in beakers {
            self.place_and_soak(beaker);
        }
        self.routine.step()
    }

    /// The check in the last beaker after new coefficients were found.
    pub(super) fn check(&mut self, beaker: &Beaker) -> CalibrationRecord {
        let step = self.routine.step();
        assert!(matches!(step, Step::Settle { as_left: true, .. }), "{step:?} {:?}", self.said());
        record(self.soak(beaker))
    }

    pub(super) fn said(&self) -> Vec<&'static str> {
        self.routine.said().iter().map(Judgement::code).collect()
    }

    pub(super) fn says(&self, code: &str) -> bool {
        self.said().contains(&code)
    }

    /// Insists on a decision that cannot be overridden or passed.
    pub(super) fn refuses(&mut self, code: &str) {
        let Step::Decide(Allowed { go_on: false, override_: false, retry: true, .. }) =
            self.routine.step()
        else {
            panic!("{:?} {:?}", self.routine.step(), self.said());
        };
        assert!(self.says(code), "{code}: {:?}", self.said());
        let before = self.routine.step();
        for choice in [Choice::Continue, Choice::Override(reason())] {
            assert_eq!(self.choose(choice), before, "{code}");
        }
    }

    /// Insists on a warning that only a reason passes.
    pub(super) fn warns(&mut self, code: &str) -> Step {
        let Step::Decide(Allowed { go_on: false, override_: true, .. }) = self.routine.step()
        else {
            panic!("{:?} {:?}", self.routine.step(), self.said());
        };
        assert!(self.says(code), "{code}: {:?}", self.said());
        let before = self.routine.step();
        assert_eq!(self.choose(Choice::Continue), before, "{code}");
        self.choose(Choice::Override(reason()))
    }
}

pub(super) fn record(step: Step) -> CalibrationRecord {
    match step {
        Step::Finished(record) => record,
        other => panic!("{other:?}"),
    }
}

pub(super) fn near(got: f64, expected: f64, tolerance: f64) {
    assert!(libm::fabs(got - expected) <= tolerance, "{got} is not {expected}");
}
