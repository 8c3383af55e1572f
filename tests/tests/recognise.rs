//! Which standard does the probe stand in? Over many simulated sensors, each calibrated, aged and put
//! into every kind of beaker: a healthy sensor is never told that it stands in one that it does not
//! stand in. `cargo test -p rillmark-tests --test recognise -- --nocapture` prints the shares.

use rillmark_metrology::fit;
use std::collections::BTreeMap;

use rillmark_bench::{Beaker, Content, Faults, QuickProbe, Truth};
use rillmark_metrology::fit::ph::PhPoint;
use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_metrology::uncertainty::reading::Circumstances;
use rillmark_procedures::routine::limits;
use rillmark_procedures::routine::look::{Look, Looked, Sight};
use rillmark_procedures::routine::recognise::{Known, Recognised};
use rillmark_procedures::routine::standard::Source;
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::calibration::drift::SensorDrift;
use rillmark_proto::calibration::ph;
use rillmark_proto::reading::Coefficients;
use rillmark_proto::record::Quantity;
use rillmark_proto::units::{Celsius, Ph};

/// Sensors of each kind. Seeds nobody tuned with.
const SEEDS: std::ops::Range<u64> = 70_000..72_000;
/// The three bottles on most tables.
const USUAL_PH: [&str; 3] = ["4.01", "7.00", "10.01"];
/// The four bottles that a cell is calibrated with.
const USUAL_US_CM: [&str; 4] = ["84", "147", "1413", "12880"];

/// Numbers between 0 and 1 that belong to a seed.
struct Random(u64);

impl Random {
    fn unit(&mut self) -> f64 {
        // SplitMix64 (Steele, Lea & Flood 2014; recalled, not checked).
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[(self.unit() * of.len() as f64) as usize]
    }
}

/// Looks until the readings have come to rest.
fn sight(probe: &mut QuickProbe, quantity: Quantity, beaker: Beaker) -> Sight {
    probe.place(beaker).expect("the beaker can stand at its temperature");
    let mut look = Look::new(quantity, Coefficients::default());
    loop {
        let reading = match quantity {
            Quantity::Conductivity => probe.conductivity_reading(),
            Quantity::Ph | Quantity::Temperature => probe.ph_reading(),
        };
        match look.reading(&reading) {
            Looked::Waiting(_) => {}
            Looked::Seen(sight) => return sight,
            Looked::Unusable(why) => panic!("{why:?} in {beaker:?}"),
        }
    }
}

/// Longer than anything on the bench takes to come to rest.
const REST_MS: u64 = 600_000;

/// An electrode's line through three buffers, by its own thermometer.
fn calibrated_electrode(probe: &mut QuickProbe) -> ph::PhCalibration {
    let points = ["phosphate-1-1", "phthalate-1977", "borax"].map(|name| {
        probe.place(Beaker::named(name, 22.0).expect("a buffer")).expect("in range");
        probe.wait_ms(REST_MS);
        let raw = probe.ph_reading().raw;
        let temperature = raw.temperature(&Coefficients::default()).expect("a temperature");
        let buffer = buffers::by_name(name).expect("a buffer");
        PhPoint {
            buffer: Ph::new(buffer.ph(temperature).expect("in range").value),
            buffer_uncertainty: Some(buffer.uncertainty().standard),
            buffer_per_kelvin: buffer.ph_per_kelvin(temperature).expect("in range"),
            potential: raw.potential().expect("a potential"),
            temperature,
            bottle: None,
        }
    });
    fit::ph::fit(&points).expect("a line").calibration
}

/// A cell constant from one bottle of 1413 µS/cm, known as well as the bottle.
fn calibrated_cell(probe: &mut QuickProbe) -> ConductivityCalibration {
    probe.place(Beaker::named("1413", 22.0).expect("known")).expect("in range");
    probe.wait_ms(REST_MS);
    let raw = probe.conductivity_reading().raw;
    let temperature = raw.temperature(&Coefficients::default()).expect("a temperature");
    let standard = conductivity_standards::by_name("1413").expect("known");
    let value = standard.conductivity(temperature).expect("in range");
    let constant = value.value / raw.conductance().expect("a conductance").get();
    let u = constant * value.standard_uncertainty.expect("stated") / value.value;
    let compensation = Compensation::Linear { per_kelvin: 0.0191 };
    let exact = ConductivityCalibration::exact(constant, compensation);
    ConductivityCalibration { variance_per_cm2: u * u, ..exact }
}

/// What may change while a sensor stays healthy: up to two of the standard uncertainties that the
/// limits and its drift allow for its age, and never beyond what any healthy electrode is.
fn aged(truth: &Truth, days: f64, random: &mut Random) -> Truth {
    let mut by = |ageing: limits::Ageing, drifted: f64| {
        let most = 2.0 * ageing.with(Some(drifted));
        random.between(-most, most)
    };
    let electrode = Circumstances::drifted(&SensorDrift::ELECTRODE, days);
    let fouled = Circumstances::drifted(&SensorDrift::CELL, days);
    let offset = by(limits::OFFSET_AGEING_MV.value, electrode.offset_drift_mv);
    let slope = by(limits::SLOPE_AGEING.value, electrode.slope_drift);
    let cell = by(limits::CELL_AGEING.value, fouled.cell_drift);
    let (least, most) = limits::ANY_SLOPE.value;
    Truth {
        offset_mv: truth.offset_mv + offset,
        slope: (truth.slope + slope).clamp(least, most),
        cell_per_cm: truth.cell_per_cm * (1.0 + cell),
        ..truth.clone()
    }
}

/// How often each answer was given.
#[derive(Debug, Default)]
struct Tally(BTreeMap<&'static str, usize>);

impl Tally {
    /// Counts an answer in a beaker of this value at the sight's temperature. A value of the same
    /// solution under another name is right.
    fn count(&mut self, sight: &Sight, known: &Known, standards: &[Source], value: f64) {
        let recognition = sight.recognise(known, standards.iter());
        let kind = match recognition.answer() {
            Recognised::One(_) if recognition.is_near(value) => "one, the right one",
            Recognised::One(_) => "one, a wrong one",
            Recognised::Ambiguous(_) if recognition.is_near(value) => {
                "ambiguous, with the right one"
            }
            Recognised::Ambiguous(_) => "ambiguous, without it",
            Recognised::NoneNear => "none near",
        };
        *self.0.entry(kind).or_default() += 1;
    }

    fn of(&self, kind: &str) -> usize {
        self.0.get(kind).copied().unwrap_or(0)
    }

    fn total(&self) -> usize {
        self.0.values().sum()
    }

    fn print(&self, what: &str) {
        let percent = |count: usize| 100.0 * count as f64 / self.total() as f64;
        let shares: Vec<_> =
            self.0.iter().map(|(kind, n)| format!("{kind} {:.1} %", percent(*n))).collect();
        println!("{what} ({} beakers): {}", self.total(), shares.join(", "));
    }

    /// Never a wrong one, and hardly ever anything without the right one.
    fn hold(&self, what: &str) {
        self.print(what);
        assert_eq!(self.of("one, a wrong one"), 0, "{what}");
        let lost = self.of("ambiguous, without it") + self.of("none near");
        assert!(lost * 200 <= self.total(), "{what}: {lost} of {}", self.total());
    }
}

fn named(names: &[&str]) -> Vec<Source> {
    let solution = |name| conductivity_standards::by_name(name).map(Source::Solution);
    let buffer = |name| buffers::by_name(name).map(Source::Buffer);
    names.iter().map(|name| buffer(name).or_else(|| solution(name)).expect("known")).collect()
}

fn all_buffers() -> Vec<Source> {
    buffers::ALL.iter().map(Source::Buffer).collect()
}

/// An electrode in a random one of these buffers, between 10 and 35 °C.
fn beaker(random: &mut Random, standards: &[Source]) -> (Beaker, Source) {
    let indices: Vec<_> = (0..standards.len()).collect();
    let source = standards[random.pick(&indices)].clone();
    let (min, max) = source.range();
    let temperature_c = random.between(min.max(10.0) + 1.0, max.min(35.0) - 1.0);
    let content = match &source {
        Source::Buffer(buffer) => Content::Buffer(buffer),
        Source::Solution(standard) => Content::Standard(standard),
        Source::Printed(_) | Source::Reference(_) => panic!("the bench has no bottles of its own"),
    };
    (Beaker { content, temperature_c }, source)
}

fn value_at(source: &Source, temperature: Celsius) -> f64 {
    source.value(temperature).expect("in range").value
}

#[test]
fn a_healthy_electrode_is_never_told_a_wrong_buffer() {
    let mut tallies = [(); 4].map(|()| Tally::default());
    for seed in SEEDS {
        let mut random = Random(seed);
        let truth = Truth::seeded(seed);
        let mut fresh = QuickProbe::new(seed, truth.clone(), Faults::default());
        let calibration = calibrated_electrode(&mut fresh);
        let days = random.between(0.0, 90.0);
        let mut old = QuickProbe::new(seed, aged(&truth, days, &mut random), Faults::default());
        let drifted = Some(Circumstances::drifted(&SensorDrift::ELECTRODE, days));
        let calibrated = Known::Electrode { calibration, drifted };
        for (at, standards) in [named(&USUAL_PH), all_buffers()].iter().enumerate() {
            let (beaker, source) = beaker(&mut random, standards);
            let sight = sight(&mut old, Quantity::Ph, beaker);
            let value = value_at(&source, sight.temperature);
            tallies[2 * at].count(&sight, &calibrated, standards, value);
            tallies[2 * at + 1].count(&sight, &Known::AnyElectrode, standards, value);
        }
    }
    let [usual, usual_any, all, all_any] = tallies;
    usual.hold("4.01, 7.00, 10.01 with a calibration of 0 to 90 days");
    usual_any.hold("4.01, 7.00, 10.01 without a calibration");
    all.hold("all buffers with a calibration of 0 to 90 days");
    all_any.hold("all buffers without a calibration");
    // Bottles 3 pH apart are told apart, always.
    assert_eq!(usual.of("one, the right one"), usual.total());
    assert_eq!(usual_any.of("one, the right one"), usual_any.total());
}

#[test]
fn a_healthy_cell_is_never_told_a_wrong_standard() {
    let mut tallies = [(); 4].map(|()| Tally::default());
    // Above 20 mS/cm the leads' resistance is a part of what is measured in a cell of 1 /cm.
    let within_reach: Vec<_> = conductivity_standards::ALL
        .iter()
        .filter(|standard| {
            standard.value(Celsius::new(25.0)).is_ok_and(|value| value.get() < 20_000.0)
        })
        .map(Source::Solution)
        .collect();
    for seed in SEEDS {
        let mut random = Random(seed);
        let truth = Truth::seeded(seed);
        let mut fresh = QuickProbe::new(seed, truth.clone(), Faults::default());
        let calibration = calibrated_cell(&mut fresh);
        let days = random.between(0.0, 90.0);
        let mut old = QuickProbe::new(seed, aged(&truth, days, &mut random), Faults::default());
        let drifted = Some(Circumstances::drifted(&SensorDrift::CELL, days));
        let calibrated = Known::Cell { calibration, drifted };
        let nominal = Known::NominalCell { cell_constant_per_cm: 1.0 };
        for (at, standards) in [named(&USUAL_US_CM), within_reach.clone()].iter().enumerate() {
            let (beaker, source) = beaker(&mut random, standards);
            let sight = sight(&mut old, Quantity::Conductivity, beaker);
            let value = value_at(&source, sight.temperature);
            tallies[2 * at].count(&sight, &calibrated, standards, value);
            tallies[2 * at + 1].count(&sight, &nominal, standards, value);
        }
    }
    let [usual, usual_nominal, all, all_nominal] = tallies;
    usual.hold("84, 147, 1413, 12880 with a calibration of 0 to 90 days");
    usual_nominal.hold("84, 147, 1413, 12880 with a nominal cell constant");
    all.hold("all standards below 20 mS/cm with a calibration of 0 to 90 days");
    all_nominal.hold("all standards below 20 mS/cm with a nominal cell constant");
    assert_eq!(usual.of("one, the right one"), usual.total());
}

/// Water of any pH between the three usual buffers: what is nowhere near them is told so, and what reads
/// like one cannot be told from it.
#[test]
fn water_far_from_every_candidate_is_none_of_them() {
    let standards = named(&USUAL_PH);
    let (mut none, mut like) = (0, 0);
    for seed in SEEDS.take(300) {
        let mut random = Random(seed);
        let truth = Truth::seeded(seed);
        let mut probe = QuickProbe::new(seed, truth, Faults::default());
        let calibration = calibrated_electrode(&mut probe);
        let drifted = Some(Circumstances::drifted(&SensorDrift::ELECTRODE, 7.0));
        let known = Known::Electrode { calibration, drifted };
        let ph = random.between(4.5, 9.5);
        let content = Content::Sample { ph, specific_us_cm: 400.0, per_kelvin: 0.02 };
        let beaker = Beaker { content, temperature_c: random.between(10.0, 30.0) };
        let sight = sight(&mut probe, Quantity::Ph, beaker);
        let nearest = |of: &Source| (value_at(of, sight.temperature) - ph).abs();
        let away = standards.iter().map(nearest).fold(f64::INFINITY, f64::min);
        match sight.recognise(&known, standards.iter()).answer() {
            Recognised::NoneNear => {
                none += 1;
                assert!(away > 0.1, "pH {ph} reads like a buffer");
            }
            Recognised::One(_) => {
                like += 1;
                // Three times 4.4 mV, the root of the squares of 3 and 3.2 mV in a week, is 0.22 pH.
                assert!(away < 0.35, "pH {ph} does not");
            }
            Recognised::Ambiguous(near) => panic!("{near:?} are 3 pH apart"),
        }
    }
    println!("water between the buffers: none near {none}, reads like one {like}");
    assert!(none > 200, "{none}");
}
