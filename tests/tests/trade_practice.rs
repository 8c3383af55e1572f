//! What the trade does without being able to say who said so: common practice, no source. The guided
//! calibration is driven with invented readings that have no noise.

use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_procedures::routine::judgement::{Judgement, Severity};
use rillmark_procedures::routine::limits::COMMON_PRACTICE;
use rillmark_procedures::routine::machine::Routine;
use rillmark_procedures::routine::plan::{Plan, Situation};
use rillmark_procedures::routine::standard::{Planned, Source};
use rillmark_procedures::routine::step::{Choice, Event, Step};
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::identity::BoardId;
use rillmark_proto::reading::{Flags, ProbeTime, Range, Raw, RawConductance, Reading};
use rillmark_proto::record::fitted::Fitted;
use rillmark_proto::record::{CalibrationRecord, Quantity};
use rillmark_proto::reference::{nernst, rtd};
use rillmark_proto::units::{Celsius, Ohms};

const AT: Celsius = Celsius::new(25.0);

/// A calibration under way, and the probe's time.
struct Bench {
    routine: Routine,
    ms: u64,
}

impl Bench {
    fn new(quantity: Quantity, names: &[&str], is_cell_calibrated: bool) -> Self {
        let planned = |name: &&str| {
            let source = match quantity {
                Quantity::Ph => Source::Buffer(buffers::by_name(name).expect("a buffer")),
                Quantity::Conductivity => {
                    Source::Solution(conductivity_standards::by_name(name).expect("a standard"))
                }
                Quantity::Temperature => panic!("no bottle has a temperature"),
            };
            Planned::new((*name).try_into().expect("short enough"), source)
        };
        let serial = |text: &str| Some(text.try_into().expect("short enough"));
        let cell = ConductivityCalibration {
            variance_per_cm2: 1e-5,
            ..ConductivityCalibration::exact(1.0, Compensation::Linear { per_kelvin: 0.0191 })
        };
        let mut situation = Situation {
            board: BoardId([1; 8]),
            fitted: Fitted { electrode: serial("E"), cell: serial("K"), thermometer: None },
            in_force: Default::default(),
            previous: None,
            before: None,
            history: Default::default(),
            utc_ms: 1_800_000_000_000,
        };
        situation.in_force.conductivity = is_cell_calibrated.then_some(cell);
        let plan = Plan {
            quantity,
            standards: names.iter().map(planned).collect(),
            checks_apart: false,
            operator: Default::default(),
            due_in_days: None,
            compensation: cell.compensation,
            isopotential: rillmark_proto::calibration::ph::DEFAULT_ISOPOTENTIAL,
            zero_in_air: false,
            thermometer: None,
            tolerance: None,
            nominal_cell_constant: Some(1.0),
            incident: None,
            stored_days: None,
        };
        Self { routine: Routine::new(plan, situation), ms: 0 }
    }

    fn codes(&self) -> Vec<&'static str> {
        self.routine.said().iter().map(Judgement::code).collect()
    }

    /// Readings every half second at 25 °C until something is to be done, `signal` in mV or µS by
    /// the seconds since it began; the readings that it took.
    fn read(&mut self, signal: impl Fn(f64) -> f64) -> u32 {
        let ohm = rtd::resistance(AT, Ohms::new(1000.0)).expect("in range").get();
        let began = self.ms;
        for count in 0..2_000 {
            if !matches!(self.routine.step(), Step::Settle { .. }) {
                return count;
            }
            self.ms += 500;
            let value = signal((self.ms - began) as f64 / 1e3);
            let is_ph = self.routine.plan().quantity == Quantity::Ph;
            let conductance_ps = (value * 1e6).round() as i64;
            let raw = Raw {
                potential_nv: is_ph.then_some((value * 1e6).round() as i32),
                conductance: (!is_ph)
                    .then_some(RawConductance { conductance_ps, range: Range::Ohm1k }),
                thermometer_milliohm: Some((ohm * 1e3).round() as u32),
            };
            self.routine.on(Event::Reading(&Reading {
                running: count,
                time: ProbeTime { boot: 1, ms: self.ms },
                raw,
                flags: Flags::NONE,
                computed: Default::default(),
                calibrations: Default::default(),
            }));
        }
        panic!("it asks at last")
    }

    fn choose(&mut self, choice: Choice) -> Step {
        self.routine.on(Event::Choice(choice))
    }

    /// The record that came of it.
    fn record(&self) -> CalibrationRecord {
        match self.routine.step() {
            Step::Finished(record) => record,
            other => panic!("not finished: {other:?}, {:?}", self.codes()),
        }
    }
}

/// What a textbook electrode reads in a buffer, in mV.
fn textbook_mv(buffer: &str) -> f64 {
    let ph = buffers::by_name(buffer).expect("a buffer").ph(AT).expect("in range").value;
    -nernst::millivolts_per_ph(AT) * (ph - 7.0)
}

fn is_refused(bench: &Bench, code: &str) {
    let said = bench.routine.said();
    let of_code = said.iter().find(|said| said.code() == code).expect(code);
    assert_eq!(of_code.severity(), Severity::Refusal, "{code}");
    assert!(of_code.source().contains(COMMON_PRACTICE), "{code}: {}", of_code.source());
}

/// The expected value must match the label: common practice, no source.
#[test]
fn the_expected_value_must_match_the_label() {
    let mut bench = Bench::new(Quantity::Ph, &["phosphate-1-1", "phthalate-1977"], true);
    // One of the plan is named; another one is like borax or like carbonate to an unknown electrode.
    let wrong =
        [("borax", "buffer-far-from-nominal"), ("phthalate-1977", "looks-like-other-buffer")];
    for (wrong, code) in wrong {
        assert!(matches!(bench.routine.on(Event::Placed), Step::Settle { .. }));
        bench.read(|_| textbook_mv(wrong));
        is_refused(&bench, code);
        let reason = "it is right".try_into().expect("short enough");
        assert!(matches!(bench.choose(Choice::Override(reason)), Step::Decide(_)), "{wrong}");
        assert!(bench.routine.points().is_empty());
        bench.choose(Choice::Retry);
    }
    for right in ["phosphate-1-1", "phthalate-1977"] {
        bench.routine.on(Event::Placed);
        bench.read(|_| textbook_mv(right));
    }
    bench.choose(Choice::Continue);
    bench.read(|_| textbook_mv("phthalate-1977"));
    assert_eq!(bench.record().points.len(), 2);

    // 0.01 mol/L is 1413 µS/cm at 25 °C; the beaker holds ten times as much.
    let mut bench = Bench::new(Quantity::Conductivity, &["1413"], false);
    bench.routine.on(Event::Placed);
    bench.read(|_| 12_880.0);
    is_refused(&bench, "looks-like-other-standard");
}

/// Accept only when settled: common practice, no source.
#[test]
fn only_settled_readings_are_accepted_unasked() {
    let mv = textbook_mv("phosphate-1-1");
    // 0.2 pH short at first, on the way with 40 s.
    let creeping = |s: f64| mv + 12.0 * (-s / 40.0).exp();
    let mut bench = Bench::new(Quantity::Ph, &["phosphate-1-1", "phthalate-1977"], true);
    bench.routine.on(Event::Placed);
    let taken = bench.read(creeping);
    let point = &bench.routine.points()[0];
    assert!(point.settling.settled);
    // After two time constants 1.6 mV are missing still; a point then would be 0.03 pH off.
    assert!(taken > 160, "{taken} readings");

    // One that wanders by 3 mV a minute is never accepted by itself.
    let mut bench = Bench::new(Quantity::Ph, &["phosphate-1-1", "phthalate-1977"], true);
    bench.routine.on(Event::Placed);
    bench.read(|s| mv + s / 20.0);
    assert!(matches!(bench.routine.step(), Step::Decide(allowed) if allowed.override_));
    let said = bench.routine.said().first().expect("a reason");
    assert_eq!((said.code(), said.severity()), ("potential-not-settled", Severity::Warning));
    assert!(said.source().contains(COMMON_PRACTICE));
    assert!(bench.routine.points().is_empty());
}

/// Conductivity first, pH again and again: common practice, no source.
#[test]
fn conductivity_comes_first_and_ph_again_and_again() {
    let buffers = ["phosphate-1-1", "phthalate-1977"];
    for (is_cell_calibrated, is_said) in [(false, true), (true, false)] {
        // As often as one likes: the note stops nothing, and nothing is said of a second time.
        for _ in 0..2 {
            let bench = Bench::new(Quantity::Ph, &buffers, is_cell_calibrated);
            assert!(matches!(bench.routine.step(), Step::Place { standard: 0 }));
            let said = bench.routine.said().iter().find(|it| it.code() == "conductivity-first");
            assert_eq!(said.is_some(), is_said);
            let is_note = |it: &Judgement| {
                it.severity() == Severity::Note && it.source().contains(COMMON_PRACTICE)
            };
            assert!(said.is_none_or(is_note));
        }
    }
    let bench = Bench::new(Quantity::Conductivity, &["1413"], false);
    assert!(!bench.codes().contains(&"conductivity-first"));
}

#[test]
fn what_was_overridden_in_a_beaker_taken_anew_is_not_in_the_record() {
    let reason = || Choice::Override("only a trial".try_into().expect("short enough"));
    let mut bench = Bench::new(Quantity::Conductivity, &["1413"], false);
    // More often than a record has room for.
    for _ in 0..6 {
        bench.routine.on(Event::Placed);
        bench.read(|s| 12_880.0 * (1.0 + s / 1e3));
        assert_eq!(bench.codes(), ["conductance-not-settled"]);
        bench.choose(reason());
        is_refused(&bench, "looks-like-other-standard");
        assert!(matches!(bench.choose(Choice::Retry), Step::Place { standard: 0 }));
    }
    bench.routine.on(Event::Placed);
    bench.read(|s| 1_413.0 * (1.0 + s / 1e3));
    bench.choose(reason());
    bench.read(|_| 1_815.0);
    while let Step::Decide(allowed) = bench.routine.step() {
        bench.choose(if allowed.override_ { reason() } else { Choice::Continue });
        bench.read(|_| 1_815.0);
    }
    let overrides: Vec<_> = bench.record().overrides.iter().map(|it| it.judgement).collect();
    assert_eq!(overrides.iter().filter(|it| **it == 2).count(), 1, "{overrides:?}");
}

/// An open alkaline buffer falls, a fresh one does not; who says nothing of its opening is told what is
/// taken: common practice, no source, for how often a bottle is opened.
#[test]
fn air_takes_ph_off_an_alkaline_bottle_that_is_not_fresh() {
    let said = |opened_days_ago: Option<i32>| {
        let buffer = buffers::by_name("borax").expect("a buffer");
        let planned =
            Planned::new("borax".try_into().expect("short enough"), Source::Buffer(buffer));
        let today = 20_833;
        let opened_days = opened_days_ago.map(|days| today - days);
        let planned = Planned { opened_days, ..planned };
        let value = planned.value(AT, i64::from(today)).expect("in range");
        (value.value, value.standard_uncertainty.expect("known"))
    };
    let (fresh, u_fresh) = said(Some(0));
    let published = buffers::by_name("borax").expect("a buffer").ph(AT).expect("in range").value;
    assert!((fresh - published).abs() < 1e-12);
    let (old, u_old) = said(Some(28));
    let (unsaid, u_unsaid) = said(None);
    assert!(unsaid < old && old < fresh, "{unsaid} {old} {fresh}");
    assert!(u_fresh < u_old && u_old < u_unsaid && u_unsaid < 0.03, "{u_fresh} {u_old} {u_unsaid}");
    let bench = Bench::new(Quantity::Ph, &["phosphate-1-1", "borax"], true);
    let told = bench.routine.said().iter().find(|said| said.code() == "air-may-lower-buffer");
    let told = told.expect("it is told");
    assert_eq!(told.severity(), Severity::Note);
    assert!(told.source().contains(COMMON_PRACTICE), "{}", told.source());
}
