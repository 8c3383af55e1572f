//! One probe on its way from one solution into rest in another.

use rillmark_metrology::reference::buffers;
use rillmark_metrology::signal::settle::{TEMPERATURE, Verdict, Window};
use rillmark_procedures::routine::limits;
use rillmark_procedures::routine::machine::Routine;
use rillmark_procedures::routine::plan::{Plan, Situation};
use rillmark_procedures::routine::standard::{Planned, Source};
use rillmark_procedures::routine::step::{Choice, Event, Step};
use rillmark_proto::calibration::conductivity::Compensation;
use rillmark_proto::calibration::ph::DEFAULT_ISOPOTENTIAL;
use rillmark_proto::calibration::temperature::PT1000;
use rillmark_proto::identity::BoardId;
use rillmark_proto::reading::{Coefficients, Flags, Reading};
use rillmark_proto::record::Quantity;
use rillmark_proto::record::fitted::Fitted;
use rillmark_proto::reference::compensation::DEFAULT_PER_KELVIN;

use super::{Case, Judged, Seen};
use rillmark_bench::faults::Faults;
use rillmark_bench::quick::{Present, QuickProbe};
use rillmark_bench::water::{Beaker, Content};

/// In the first solution, and for the end of the second, in ms: a hundred of the slowest constants.
const FOR_EVER_MS: u64 = 12_000_000;
/// After this nobody waits any longer, in ms.
const GIVE_UP_MS: u64 = 1_500_000;
/// The longest wait for a thermometer before the operator is asked, in ms.
const PATIENCE_MS: u64 = limits::PATIENCE_MS.value;

/// What became of a case.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    seen: Vec<(Judged, Seen)>,
    /// How long until the point was taken, in s.
    pub taken_s: Option<f64>,
    /// The time constant in s that the point was given.
    pub time_constant_s: Option<f64>,
}

impl Course {
    /// What became of one judgement, if this course has it.
    pub fn seen(&self, judged: Judged) -> Option<&Seen> {
        self.seen.iter().find(|(is, _)| *is == judged).map(|(_, seen)| seen)
    }
}

/// How far a sensor is from its end, in the unit of what is judged.
fn to_come(judged: Judged, now: &Present, end: &Present) -> f64 {
    match judged {
        Judged::Potential => end.potential_mv - now.potential_mv,
        Judged::Conductance => 100.0 * libm::log(end.conductivity_us_cm / now.conductivity_us_cm),
        Judged::Temperature | Judged::Thermometer => end.thermometer_c - now.thermometer_c,
    }
}

/// One judgement while it goes on.
struct Watch {
    judged: Judged,
    seen: Seen,
    /// Since when it is within the limit, in ms.
    within_ms: Option<u64>,
}

impl Watch {
    fn look(&mut self, verdict: &Verdict, waited_ms: u64, left: f64) {
        if self.seen.left.is_some() {
            return;
        }
        let limit = self.judged.limit();
        let size = libm::fabs(left);
        self.within_ms = (size <= limit).then(|| self.within_ms.unwrap_or(waited_ms));
        if let Some(bound) = verdict.to_come_bound {
            self.seen.bounds += 1;
            self.seen.bounds_held += usize::from(size <= bound);
        }
        if let Some(estimate) = verdict.to_come {
            self.seen.estimates += 1;
            self.seen.estimates_near += usize::from((0.5..=2.0).contains(&(estimate / left)));
        }
        if verdict.settled {
            self.seen.left = Some(size);
            self.seen.wasted_s = self.within_ms.map(|since| (waited_ms - since) as f64 / 1_000.0);
        } else if waited_ms >= PATIENCE_MS && self.seen.timed_out.is_none() {
            self.seen.timed_out = Some(size);
        }
    }
}

/// A routine that stands before its first beaker.
fn routine(case: &Case) -> Routine {
    let source = match case.to.content {
        Content::Buffer(buffer) => Source::Buffer(buffer),
        Content::Standard(standard) => Source::Solution(standard),
        _ => unreachable!("a case ends in a buffer or a standard"),
    };
    let ph = case.kind.is_ph();
    // A plan for pH has another buffer, to which it does not come here.
    let far = |buffer: &Source| {
        let apart = buffer.near_25().zip(source.near_25()).map(|(a, b)| libm::fabs(a - b));
        apart.is_some_and(|apart| apart >= limits::BUFFER_SPAN_PH.value)
    };
    let other = ph.then(|| buffers::ALL.iter().map(Source::Buffer).find(far)).flatten();
    let sources = core::iter::once(source).chain(other);
    let standards = sources.map(|source| Planned::new(Default::default(), source)).collect();
    let serial = |text: &str| text.try_into().ok();
    let plan = Plan {
        quantity: if ph { Quantity::Ph } else { Quantity::Conductivity },
        standards,
        checks_apart: false,
        operator: Default::default(),
        due_in_days: None,
        compensation: Compensation::Linear { per_kelvin: DEFAULT_PER_KELVIN },
        tolerance: None,
        nominal_cell_constant: None,
        incident: None,
        stored_days: None,
        zero_in_air: false,
        thermometer: Some(PT1000),
        isopotential: DEFAULT_ISOPOTENTIAL,
    };
    let situation = Situation {
        board: BoardId([0; 8]),
        fitted: Fitted { electrode: serial("E"), cell: serial("C"), thermometer: None },
        in_force: Coefficients::default(),
        previous: None,
        before: None,
        history: Default::default(),
        utc_ms: 0,
    };
    Routine::new(plan, situation)
}

/// What the routine, or a window alone, made of a reading.
struct Looked {
    signal: Verdict,
    temperature: Verdict,
    taken: bool,
}

/// Who judges: the guided routine, or a window of temperatures alone.
enum Judge {
    Routine(Box<Routine>),
    Thermometer(Box<Window<()>>),
}

impl Judge {
    fn of(case: &Case) -> Self {
        if case.kind == super::Kind::Thermometer {
            return Self::Thermometer(Box::new(Window::new(TEMPERATURE)));
        }
        let mut routine = routine(case);
        routine.on(Event::Placed);
        Self::Routine(Box::new(routine))
    }

    fn look(&mut self, reading: &Reading) -> Looked {
        match self {
            Self::Thermometer(window) => {
                if let Some(celsius) = reading.raw.temperature(&Coefficients::default())
                    && !reading.flags.has(Flags::TEMPERATURE_HELD)
                {
                    window.push(reading.time.boot, reading.time.ms, celsius.get(), ());
                }
                let temperature = window.verdict();
                let taken = temperature.settled;
                Looked { signal: Verdict::default(), temperature, taken }
            }
            Self::Routine(routine) => {
                let mut step = routine.on(Event::Reading(reading));
                if matches!(step, Step::Decide(allowed) if allowed.wait) {
                    step = routine.on(Event::Choice(Choice::Wait));
                }
                match step {
                    Step::Settle { progress, .. } => Looked {
                        signal: progress.verdict,
                        temperature: progress.temperature,
                        taken: false,
                    },
                    Step::Refused | Step::Cancelled => unreachable!("a plan without a fault"),
                    _ => {
                        let settled = Verdict { settled: true, ..Verdict::default() };
                        Looked { signal: settled, temperature: settled, taken: true }
                    }
                }
            }
        }
    }
}

impl Judge {
    /// The time constant of the point that was taken.
    fn time_constant_s(&self) -> Option<f64> {
        let Self::Routine(routine) = self else { return None };
        routine.points().first()?.settling.time_constant_s.map(f64::from)
    }
}

/// Moves the probe and reads until the point is taken or nobody waits any longer.
pub fn run(case: &Case) -> Course {
    let placed = "a case stays within the tables";
    let mut resting = QuickProbe::new(case.seed, case.truth.clone(), Faults::default());
    resting.place(case.to).expect(placed);
    resting.wait_ms(FOR_EVER_MS);
    let end = resting.present();

    let mut probe = QuickProbe::new(case.seed, case.truth.clone(), Faults::default());
    probe.place(case.from).expect(placed);
    probe.wait_ms(FOR_EVER_MS);
    let began = probe.now_ms();
    let mut judge = Judge::of(case);
    let mut watches: Vec<Watch> = case
        .kind
        .judged()
        .iter()
        .map(|judged| Watch { judged: *judged, seen: Seen::default(), within_ms: None })
        .collect();
    let (away_k, warming_s) = case.warms;
    let mut taken_s = None;
    while taken_s.is_none() && probe.now_ms() - began < GIVE_UP_MS {
        let waited_ms = probe.now_ms() - began;
        if waited_ms == 0 || away_k != 0.0 {
            let away_k = away_k * libm::exp(-(waited_ms as f64) / 1_000.0 / warming_s);
            let temperature_c = case.to.temperature_c + away_k;
            probe.place(Beaker { temperature_c, ..case.to }).expect(placed);
        }
        let reading =
            if case.kind.is_ph() { probe.ph_reading() } else { probe.conductivity_reading() };
        let waited_ms = probe.now_ms() - began;
        let (now, looked) = (probe.present(), judge.look(&reading));
        for watch in &mut watches {
            let verdict = match watch.judged {
                Judged::Temperature | Judged::Thermometer => &looked.temperature,
                Judged::Potential | Judged::Conductance => &looked.signal,
            };
            watch.look(verdict, waited_ms, to_come(watch.judged, &now, &end));
        }
        taken_s = looked.taken.then_some(waited_ms as f64 / 1_000.0);
    }
    let seen = watches.into_iter().map(|watch| (watch.judged, watch.seen)).collect();
    Course { seen, taken_s, time_constant_s: judge.time_constant_s() }
}
