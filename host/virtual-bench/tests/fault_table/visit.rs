//! A visit to a probe: a person puts it into buffers and standards, stirs, holds a thermometer
//! beside it, and everything that is known afterwards comes from the readings through the real
//! settling window and the real fits.

use rillmark_bench::{Ailment, Ailments, Beaker, Content, Faults, QuickProbe, Truth};
use rillmark_proto::calibration::conductivity::{self, Compensation, ConductivityPoint};
use rillmark_proto::calibration::ph::PhPoint;
use rillmark_proto::diagnose::beaker::{self, Moment, REST_MS};
use rillmark_proto::diagnose::cell;
use rillmark_proto::diagnose::electrode::{self, Stand};
use rillmark_proto::diagnose::evidence::{Earlier, Evidence, LineSeen, Rest};
use rillmark_proto::reading::{Coefficients, Flags, Reading};
use rillmark_proto::reference::{buffers, conductivity_standards};
use rillmark_proto::signal::settle::{POTENTIAL, Window};
use rillmark_proto::units::{Celsius, Ph};

use super::chance::Chance;

/// How much is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extent {
    /// Everything that the diagnosis can use.
    Full,
    /// What three buffers and one standard give, and an earlier calibration.
    Calibration,
    /// Two buffers and one standard of a probe that nobody knows.
    FirstTime,
    /// Readings alone: the probe hangs somewhere.
    Readings,
}

/// Stay in each buffer in ms: until the reading settles, within these.
const STAY_MS: (u64, u64) = (120_000, 420_000);
/// A temperature belongs to the end of a stay when it is not older than this, in ms.
const FRESH_MS: u64 = 60_000;
/// Stay in each conductivity standard in ms.
const CELL_STAY_MS: u64 = 90_000;
/// The buffers of a visit, in the order of use.
const BUFFERS: [&str; 3] = ["technical-7.00", "technical-4.01", "technical-10.01"];
const STANDARDS: [&str; 2] = ["kcl-0.01-mol-per-l", "kcl-label-12880"];
/// Standard uncertainty of a bottle of buffer in pH, and of a standard as a part of it: what the
/// fits take for granted too.
const BOTTLE_PH: f64 = 0.01;
const BOTTLE_PART: f64 = 0.004;
/// Standard uncertainty of the reference thermometer in K.
const REFERENCE_K: f64 = 0.1;

/// A healthy probe of a seed as it is today: it was a little different when it was calibrated.
fn today(seed: u64) -> Truth {
    let mut chance = Chance::new(seed, 1);
    let was = Truth::seeded(seed);
    Truth {
        offset_mv: was.offset_mv + chance.normal(2.0),
        slope: was.slope + chance.normal(0.002),
        cell_per_cm: was.cell_per_cm * (1.0 + chance.normal(0.003)),
        ..was
    }
}

/// Everything that a visit finds out.
pub fn visit(seed: u64, ailments: Ailments, extent: Extent) -> Evidence {
    let mut chance = Chance::new(seed, 2);
    let contaminated = match BUFFERS[chance.index(BUFFERS.len())] {
        name if extent != Extent::FirstTime => buffers::by_name(name),
        _ => buffers::by_name(BUFFERS[1]),
    };
    let faults = Faults { ailments, contaminated, ..Faults::default() };
    let mut hands = Hands {
        probe: QuickProbe::new(seed, today(seed), faults),
        room_c: chance.between(18.0, 25.0),
        chance,
        evidence: Evidence::default(),
        last_mv: None,
    };
    if extent == Extent::Readings {
        hands.hang();
        return hands.evidence;
    }
    if matches!(extent, Extent::Full | Extent::Calibration) {
        hands.remember(seed);
    }
    let count = if extent == Extent::FirstTime { 2 } else { 3 };
    let warm = hands.buffers(&BUFFERS[..count], hands.room_c, extent == Extent::Full);
    let mut stands = warm.clone();
    if extent == Extent::Full {
        let fridge_c = hands.room_c - 13.0;
        stands.extend(hands.buffers(&BUFFERS[..2], fridge_c, false));
    }
    hands.line(&stands);
    hands.standards(if extent == Extent::Full { 2 } else { 1 });
    if extent == Extent::Full {
        hands.hold_a_thermometer();
    }
    hands.evidence
}

/// What one beaker gave.
struct Stay {
    placed_ms: u64,
    settling_s: f64,
    celsius: Option<f64>,
    moments: Vec<Moment>,
}

struct Hands {
    probe: QuickProbe,
    room_c: f64,
    chance: Chance,
    evidence: Evidence,
    /// Potential in the beaker before.
    last_mv: Option<f64>,
}

impl Hands {
    fn place(&mut self, name: &str, celsius: f64) -> Beaker {
        let beaker = Beaker::named(name, celsius + self.chance.between(-1.0, 1.0)).unwrap();
        self.probe.place(beaker).unwrap();
        beaker
    }

    fn note(&mut self, reading: &Reading) {
        let thermometer = &mut self.evidence.thermometer;
        *thermometer.readings.get_or_insert(0) += 1;
        thermometer.open += u32::from(reading.flags.has(Flags::THERMOMETER_OPEN));
        thermometer.short += u32::from(reading.flags.has(Flags::THERMOMETER_SHORT));
    }

    /// Potentials over a stay, and the mean temperature at its end: at least `ms`, and on until
    /// `most_ms` as long as they have not settled.
    fn watch(&mut self, ms: u64, most_ms: u64) -> Stay {
        let placed_ms = self.probe.now_ms();
        let mut window = Window::new(POTENTIAL);
        let (mut moments, mut celsius, mut settled_ms) = (Vec::new(), Vec::new(), None);
        loop {
            let stayed = self.probe.now_ms() - placed_ms;
            let rested = settled_ms.is_some_and(|at: u64| stayed >= at - placed_ms + REST_MS);
            if stayed >= most_ms || stayed >= ms && rested {
                break;
            }
            let reading = self.probe.ph_reading();
            self.note(&reading);
            let now = reading.time.ms;
            if let Some(shown) = reading.raw.temperature(&Coefficients::default()) {
                celsius.push((now, shown.get()));
            }
            if let Some(mv) = reading.raw.potential() {
                moments.push((now, mv.get()));
                window.push(1, now, mv.get(), ());
                // Asked four times as often it would take four times as long.
                if settled_ms.is_none() && moments.len() % 4 == 0 && window.verdict().settled {
                    settled_ms = Some(now);
                }
            }
        }
        let end = self.probe.now_ms();
        let fresh: Vec<f64> =
            celsius.iter().filter(|(at, _)| at + FRESH_MS > end).map(|(_, c)| *c).collect();
        Stay {
            placed_ms,
            settling_s: (settled_ms.unwrap_or(end) - placed_ms) as f64 * 1e-3,
            celsius: (!fresh.is_empty()).then(|| fresh.iter().sum::<f64>() / fresh.len() as f64),
            moments,
        }
    }

    /// One buffer after the other; the first one is stirred too when `stir`.
    fn buffers(&mut self, names: &[&str], celsius: f64, stir: bool) -> Vec<Stand> {
        let mut stands = Vec::new();
        for (index, name) in names.iter().enumerate() {
            self.place(name, celsius);
            let stay = self.watch(STAY_MS.0, STAY_MS.1);
            let rest = beaker::rest(&stay.moments);
            self.rested(&stay, rest);
            let (Some(shown_c), Some(rest)) = (stay.celsius, rest) else { continue };
            let buffer = buffers::by_name(name).unwrap();
            let Ok(value) = buffer.ph(Celsius::new(shown_c)) else { continue };
            let end: Vec<f64> = stay.moments.iter().rev().take(40).map(|(_, mv)| *mv).collect();
            let mv = end.iter().sum::<f64>() / end.len() as f64;
            stands.push(Stand {
                point: PhPoint {
                    buffer: Ph::new(value.value + self.chance.normal(BOTTLE_PH)),
                    buffer_uncertainty: Some(BOTTLE_PH),
                    buffer_per_kelvin: 0.0,
                    potential: rillmark_proto::units::Millivolts::new(mv),
                    temperature: Celsius::new(shown_c),
                },
                rest: Some(rest),
                waited_s: (self.probe.now_ms() - stay.placed_ms) as f64 * 1e-3,
            });
            if stir && index == 0 {
                self.stir();
            }
        }
        stands
    }

    fn rested(&mut self, stay: &Stay, rest: Option<Rest>) {
        let electrode = &mut self.evidence.electrode;
        let longest = |is: &mut Option<f64>, s: f64| *is = Some(is.map_or(s, |is| is.max(s)));
        if let Some(before) = self.last_mv
            && let Some(s) = beaker::response_s(before, stay.placed_ms, &stay.moments)
        {
            longest(&mut electrode.response_s, s);
        }
        longest(&mut electrode.settling_s, stay.settling_s);
        self.last_mv = stay.moments.last().map(|(_, mv)| *mv);
        if let Some(rest) = rest {
            let _ = electrode.rests.push(rest);
        }
    }

    /// Still and stirred, three times, and still again: what drifts on drops out.
    fn stir(&mut self) {
        let mut mean = |moving: bool| {
            self.probe.stir(moving);
            let moments = self.watch(40_000, 40_000).moments;
            let late = &moments[moments.len() / 2..];
            late.iter().map(|(_, mv)| mv).sum::<f64>() / late.len() as f64
        };
        let means: Vec<f64> = (0..7).map(|index| mean(index % 2 == 1)).collect();
        let stir_mv = electrode::stir_mv(&means);
        self.evidence.electrode.stir_mv = stir_mv.filter(|mv| mv.is_finite());
    }

    /// Slope, offset and whatever else the buffers say together.
    fn line(&mut self, stands: &[Stand]) {
        let (warm, cold) = electrode::warm_and_cold(stands);
        let electrode = &mut self.evidence.electrode;
        electrode.line = electrode::line(&warm);
        electrode.cold = electrode::cold(&warm, &cold);
        electrode.disagreement = electrode::disagreement(&warm);
    }

    /// The calibration before, of the same probe while it was sound.
    fn remember(&mut self, seed: u64) {
        let mut before = Hands {
            probe: QuickProbe::new(seed ^ 0x5eed, Truth::seeded(seed), Faults::default()),
            room_c: self.room_c,
            chance: Chance::new(seed, 3),
            evidence: Evidence::default(),
            last_mv: None,
        };
        let stands = before.buffers(&BUFFERS, before.room_c, false);
        before.line(&stands);
        before.standards(1);
        let LineSeen { slope_percent, offset_mv, .. } = before.evidence.electrode.line.unwrap();
        let earlier = Earlier { days: 30.0, slope_percent, offset_mv };
        let _ = self.evidence.electrode.earlier.push(earlier);
        self.evidence.cell.earlier_per_cm = before.evidence.cell.constant_per_cm;
    }

    /// Conductivity standards, each alone through the real fit.
    fn standards(&mut self, count: usize) {
        let mut constants = Vec::new();
        for name in &STANDARDS[..count] {
            self.place(name, self.room_c);
            let end = self.probe.now_ms() + CELL_STAY_MS;
            let (mut moments, mut last) = (Vec::new(), None);
            while self.probe.now_ms() < end {
                let reading = self.probe.conductivity_reading();
                self.note(&reading);
                if let Some(us) = reading.raw.conductance() {
                    moments.push((reading.time.ms, us.get()));
                }
                let late = end - reading.time.ms.min(end) < FRESH_MS;
                if late && reading.raw.temperature(&Coefficients::default()).is_some() {
                    last = Some(reading);
                }
            }
            let jump = cell::jump_percent(&moments);
            let worst = &mut self.evidence.cell.jump_percent;
            *worst = jump.into_iter().chain(*worst).reduce(f64::max);
            let Some(reading) = last else { continue };
            let standard = conductivity_standards::by_name(name).unwrap();
            let temperature = reading.raw.temperature(&Coefficients::default()).unwrap();
            let bottle = 1.0 + self.chance.normal(BOTTLE_PART);
            let Ok(value) = standard.value(temperature) else { continue };
            let late = &moments[moments.len() - 10..];
            let us = late.iter().map(|(_, us)| us).sum::<f64>() / late.len() as f64;
            let point = ConductivityPoint {
                standard: rillmark_proto::units::MicrosiemensPerCm::new(value.get() * bottle),
                standard_uncertainty: Some(value.get() * BOTTLE_PART),
                standard_per_kelvin: 0.0,
                conductance: rillmark_proto::units::Microsiemens::new(us),
                range: reading.raw.conductance.unwrap().range,
                temperature,
            };
            let compensation = Compensation::Linear { per_kelvin: 0.0191 };
            if let Ok(fit) = conductivity::fit(&[point], compensation) {
                constants.push(fit.calibration.cell_constant_per_cm);
            }
        }
        self.evidence.cell.constant_per_cm = constants.first().copied();
        if let [first, second] = constants[..] {
            self.evidence.cell.standards_percent = Some(cell::standards_percent(first, second));
        }
    }

    /// A reference thermometer beside the probe's own.
    fn hold_a_thermometer(&mut self) {
        let beaker = self.place(STANDARDS[0], self.room_c);
        let shown = self.watch(90_000, 90_000).celsius;
        let reference = beaker.temperature_c + self.chance.normal(REFERENCE_K);
        self.evidence.thermometer.off_k = shown.map(|shown| shown - reference);
    }

    /// Nobody does anything: the sensors hang in a water.
    fn hang(&mut self) {
        let content = Content::Sample { ph: 4.8, specific_us_cm: 900.0, per_kelvin: 0.0191 };
        self.probe.place(Beaker { content, temperature_c: self.room_c }).unwrap();
        let stay = self.watch(STAY_MS.0, STAY_MS.1);
        let rest = beaker::rest(&stay.moments);
        self.rested(&stay, rest);
        self.evidence.electrode.settling_s = None;
        let end = self.probe.now_ms() + CELL_STAY_MS;
        let mut cell = Vec::new();
        while self.probe.now_ms() < end {
            let reading = self.probe.conductivity_reading();
            self.note(&reading);
            if let Some(us) = reading.raw.conductance() {
                cell.push((reading.time.ms, us.get()));
            }
        }
        self.evidence.cell.jump_percent = cell::jump_percent(&cell);
    }
}

/// The ailment of the bench that is the cause in the diagnosis.
pub const fn ailment(cause: rillmark_proto::diagnose::Cause) -> Ailment {
    use rillmark_proto::diagnose::Cause;
    match cause {
        Cause::AgeingGlass => Ailment::AgeingGlass,
        Cause::CrackedGlass => Ailment::CrackedGlass,
        Cause::CloggedJunction => Ailment::CloggedJunction,
        Cause::ContaminatedJunction => Ailment::ContaminatedJunction,
        Cause::ContaminatedBuffer => Ailment::ContaminatedBuffer,
        Cause::Bubble => Ailment::Bubble,
        Cause::FouledCell => Ailment::FouledCell,
        Cause::WetConnector => Ailment::WetConnector,
        Cause::ThermometerOffset => Ailment::ThermometerOffset,
        Cause::Hum => Ailment::Hum,
        Cause::ThermometerOpen => Ailment::ThermometerOpen,
        Cause::ThermometerShort => Ailment::ThermometerShort,
    }
}
