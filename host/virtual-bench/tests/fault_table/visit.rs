//! A visit to a probe: a person puts it into buffers and standards, stirs, holds a thermometer
//! beside it, and everything that is known afterwards comes from the readings through the real
//! settling window and the real fits.

use rillmark_bench::{Ailments, Beaker, Content, Faults, QuickProbe, Truth};
use rillmark_metrology::fit::conductivity::ConductivityPoint;
use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_metrology::signal::settle::{POTENTIAL, Window};
use rillmark_procedures::diagnose::beaker::{Moment, REST_MS};
use rillmark_procedures::diagnose::electrode::{self, Stirred};
use rillmark_procedures::diagnose::evidence::{Earlier, Evidence, LineSeen, ThermometerEvidence};
use rillmark_procedures::diagnose::stays::{self, CellStay, Known, Stay};
use rillmark_procedures::diagnose::thermometer;
use rillmark_procedures::routine::standard::{Planned, Source, Value};
use rillmark_proto::reading::{Coefficients, Flags, Reading};
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm};

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
    /// The same, and the maker states the cell constant.
    Stated,
    /// Readings alone: the probe hangs somewhere.
    Readings,
}

impl Extent {
    pub const ALL: [Self; 5] =
        [Self::Full, Self::Calibration, Self::FirstTime, Self::Stated, Self::Readings];
}

/// What makers state: the middle of the bench's cells.
const STATED_PER_CM: f64 = 1.0;

/// Stay in each buffer in ms: until the reading settles, within these.
const STAY_MS: (u64, u64) = (120_000, 420_000);
/// Spells of still and stirred water in turn, in ms.
const SPELLS_MS: [u64; 7] = [35_000, 50_000, 30_000, 65_000, 40_000, 55_000, 35_000];
/// A temperature belongs to the end of a stay when it is not older than this, in ms.
const FRESH_MS: u64 = 60_000;
/// Stay in each conductivity standard in ms.
const CELL_STAY_MS: u64 = 90_000;
/// The buffers of a visit, in the order of use.
const BUFFERS: [&str; 3] = ["technical-7.00", "technical-4.01", "technical-10.01"];
const STANDARDS: [&str; 2] = ["kcl-0.01-mol-per-l", "kcl-label-12880"];
/// By how much bottles of this world are off, as a standard deviation: invented, and less than
/// [`taken`] allows for.
const OFF_PH: f64 = 0.01;
const OFF_PART: f64 = 0.004;
/// How much colder the cold buffers are, in K: from a refrigerator, half-way.
const COLDER_K: f64 = 13.0;
/// Standard uncertainty of the reference thermometer in K.
const REFERENCE_K: f64 = 0.1;

/// What a bottle is taken to hold that was bought and of which nothing else is known.
fn taken(name: &str, source: Source, at: Celsius) -> Option<Value> {
    Planned::new(name.try_into().ok()?, source).value(at, 0).ok()
}

/// A healthy probe of a seed, on a board as somebody built it.
fn built(seed: u64) -> Truth {
    Truth::seeded(seed).as_built(seed)
}

/// A healthy probe of a seed as it is today: it was a little different when it was calibrated.
fn today(seed: u64) -> Truth {
    let mut chance = Chance::new(seed, 1);
    let was = built(seed);
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
    let first_time = matches!(extent, Extent::FirstTime | Extent::Stated);
    let spoilt = if first_time { 1 } else { chance.index(BUFFERS.len()) };
    let contaminated = buffers::by_name(BUFFERS[spoilt]);
    let faults = Faults { ailments, contaminated, ..Faults::default() };
    let room_c = chance.between(18.0, 25.0);
    let probe = QuickProbe::new(seed, today(seed), faults);
    let mut hands = Hands::new(probe, room_c, chance);
    match extent {
        Extent::Full => {
            hands.buffers(&BUFFERS, room_c, true);
            hands.buffers(&BUFFERS[..2], room_c - COLDER_K, false);
            hands.standards(&STANDARDS);
            hands.hold_a_thermometer();
        }
        Extent::Calibration => {
            hands.buffers(&BUFFERS, room_c, false);
            hands.standards(&STANDARDS[..1]);
        }
        Extent::FirstTime | Extent::Stated => {
            hands.buffers(&BUFFERS[..2], room_c, false);
            hands.standards(&STANDARDS[..1]);
        }
        Extent::Readings => hands.hang(),
    }
    let mut evidence = hands.evidence();
    match extent {
        Extent::Full | Extent::Calibration => remember(seed, room_c, &mut evidence),
        Extent::Stated => evidence.cell.nominal_per_cm = Some(STATED_PER_CM),
        Extent::FirstTime | Extent::Readings => {}
    }
    evidence
}

/// A calibration in three buffers, and what a second one found within the hour, by when this had
/// befallen the probe.
pub fn within_the_hour(seed: u64, ailments: Ailments) -> Evidence {
    let mut chance = Chance::new(seed, 4);
    let room_c = chance.between(18.0, 25.0);
    let probe = QuickProbe::new(seed, built(seed), Faults { ailments, ..Faults::default() });
    let mut hands = Hands::new(probe, room_c, chance);
    hands.buffers(&BUFFERS, room_c, false);
    let mut evidence = hands.evidence();
    remember(seed, room_c, &mut evidence);
    evidence.electrode.line_utc_ms = Some(3_600_000);
    evidence.electrode.earlier.iter_mut().for_each(|earlier| earlier.utc_ms = Some(0));
    evidence
}

/// The calibration before, of the same probe while it was sound.
fn remember(seed: u64, room_c: f64, evidence: &mut Evidence) {
    let probe = QuickProbe::new(seed ^ 0x5eed, built(seed), Faults::default());
    let mut before = Hands::new(probe, room_c, Chance::new(seed, 3));
    before.buffers(&BUFFERS, room_c, false);
    before.standards(&STANDARDS[..1]);
    let before = before.evidence();
    let LineSeen { slope_percent, offset_mv, .. } = before.electrode.line.unwrap();
    let earlier = Earlier { slope_percent, offset_mv, utc_ms: None };
    evidence.electrode.earlier = [earlier].into_iter().collect();
    evidence.cell.earlier_per_cm = before.cell.constant_per_cm;
}

/// What one beaker gave.
struct Beheld {
    placed_ms: u64,
    moments: Vec<Moment>,
    missing: u32,
    celsius: Option<f64>,
    buffer: Option<Known>,
    steady: bool,
}

struct Hands {
    probe: QuickProbe,
    room_c: f64,
    chance: Chance,
    stays: Vec<Beheld>,
    cells: Vec<(Vec<Moment>, bool, Option<ConductivityPoint>)>,
    stirred: Option<Stirred>,
    thermometer: ThermometerEvidence,
}

impl Hands {
    fn new(probe: QuickProbe, room_c: f64, chance: Chance) -> Self {
        Self {
            probe,
            room_c,
            chance,
            stays: Vec::new(),
            cells: Vec::new(),
            stirred: None,
            thermometer: ThermometerEvidence::default(),
        }
    }

    fn evidence(&self) -> Evidence {
        let stays: Vec<Stay<'_>> = self
            .stays
            .iter()
            .map(|stay| Stay {
                placed_ms: stay.placed_ms,
                readings: &stay.moments,
                missing: stay.missing,
                steady: stay.steady,
                buffer: stay.buffer,
            })
            .collect();
        let cells: Vec<CellStay<'_>> = self
            .cells
            .iter()
            .map(|(readings, steady, point)| CellStay { readings, steady: *steady, point: *point })
            .collect();
        let mut electrode = stays::electrode_evidence(&stays);
        electrode.stir_mv = self.stirred.map(|seen| seen.mv);
        electrode.stir_deviation_mv = self.stirred.and_then(|seen| seen.deviation_mv);
        Evidence { electrode, cell: stays::cell_evidence(&cells), thermometer: self.thermometer }
    }

    fn place(&mut self, name: &str, celsius: f64) -> Beaker {
        let beaker = Beaker::named(name, celsius + self.chance.between(-1.0, 1.0)).unwrap();
        self.probe.place(beaker).unwrap();
        beaker
    }

    fn note(&mut self, reading: &Reading) {
        let thermometer = &mut self.thermometer;
        *thermometer.readings.get_or_insert(0) += 1;
        thermometer.open += u32::from(reading.flags.has(Flags::THERMOMETER_OPEN));
        thermometer.short += u32::from(reading.flags.has(Flags::THERMOMETER_SHORT));
    }

    fn note_drift(&mut self, k_per_min: Option<f64>) {
        let largest = &mut self.thermometer.drift_k_per_min;
        *largest = [*largest, k_per_min.map(f64::abs)].into_iter().flatten().reduce(f64::max);
    }

    /// Potentials over a stay, and the mean temperature at its end: at least `ms`, and until a
    /// minute after they have settled, but no longer than `most_ms`.
    fn watch(&mut self, ms: u64, most_ms: u64) -> Beheld {
        let placed_ms = self.probe.now_ms();
        let (mut moments, mut celsius) = (Vec::new(), Vec::new());
        let mut window = Window::new(POTENTIAL);
        let mut settled_ms: Option<u64> = None;
        let mut missed_ms = Vec::new();
        loop {
            let now = self.probe.now_ms();
            let rested = settled_ms.is_some_and(|at| now >= at + REST_MS);
            if now >= placed_ms + most_ms || now >= placed_ms + ms && rested {
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
                let asked = settled_ms.is_none() && moments.len() % 4 == 0;
                if asked && window.verdict().settled {
                    settled_ms = Some(now);
                }
            } else {
                missed_ms.push(now);
            }
        }
        let end = self.probe.now_ms();
        let missing = missed_ms.iter().filter(|at| **at + REST_MS > end).count() as u32;
        self.note_drift(thermometer::drift_k_per_min(placed_ms, &celsius));
        let fresh: Vec<f64> =
            celsius.iter().filter(|(at, _)| at + FRESH_MS > end).map(|(_, c)| *c).collect();
        let celsius = (!fresh.is_empty()).then(|| fresh.iter().sum::<f64>() / fresh.len() as f64);
        Beheld { placed_ms, moments, missing, celsius, buffer: None, steady: false }
    }

    /// One buffer after the other; the first one is stirred too when `stir`.
    fn buffers(&mut self, names: &[&str], celsius: f64, stir: bool) {
        for (index, name) in names.iter().enumerate() {
            self.place(name, celsius);
            let stay = self.watch(STAY_MS.0, STAY_MS.1);
            let buffer = buffers::by_name(name).unwrap();
            let off = self.chance.normal(OFF_PH);
            let known = stay.celsius.and_then(|shown_c| {
                let ph = taken(name, Source::Buffer(buffer), Celsius::new(shown_c))?;
                Some(Known {
                    ph: ph.value + off,
                    standard_uncertainty: ph.standard_uncertainty?,
                    per_kelvin: 0.0,
                    temperature_c: shown_c,
                })
            });
            self.stays.push(Beheld { buffer: known, steady: true, ..stay });
            if stir && index == 0 {
                self.stir();
            }
        }
    }

    /// Still and stirred, three times, and still again: what drifts on drops out. No two spells are as
    /// long, so that what swings does not keep step with them.
    fn stir(&mut self) {
        let mut mean = |moving: bool, ms: u64| {
            self.probe.stir(moving);
            let moments = self.watch(ms, ms).moments;
            let late = &moments[moments.len() / 2..];
            late.iter().map(|(_, mv)| mv).sum::<f64>() / late.len() as f64
        };
        let spells = SPELLS_MS.iter().enumerate();
        let means: Vec<f64> = spells.map(|(index, ms)| mean(index % 2 == 1, *ms)).collect();
        self.stirred = electrode::stirred(&means);
    }

    /// Conductivity standards.
    fn standards(&mut self, names: &[&str]) {
        for name in names {
            self.place(name, self.room_c);
            let (moments, last) = self.watch_cell();
            let off = 1.0 + self.chance.normal(OFF_PART);
            let point = last.and_then(|reading| {
                let temperature = reading.raw.temperature(&Coefficients::default())?;
                let standard = conductivity_standards::by_name(name)?;
                let value = taken(name, Source::Solution(standard), temperature)?;
                let late = &moments[moments.len() - 10..];
                let us = late.iter().map(|(_, us)| us).sum::<f64>() / late.len() as f64;
                Some(ConductivityPoint {
                    standard: MicrosiemensPerCm::new(value.value * off),
                    standard_uncertainty: value.standard_uncertainty,
                    standard_per_kelvin: 0.0,
                    conductance: Microsiemens::new(us),
                    range: reading.raw.conductance?.range,
                    temperature,
                    bottle: None,
                })
            });
            self.cells.push((moments, true, point));
        }
    }

    /// Conductances over a stay, and the last reading with a temperature.
    fn watch_cell(&mut self) -> (Vec<Moment>, Option<Reading>) {
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
        (moments, last)
    }

    /// A reference thermometer beside the probe's own.
    fn hold_a_thermometer(&mut self) {
        let beaker = self.place(STANDARDS[0], self.room_c);
        let shown = self.watch(90_000, 90_000).celsius;
        let reference = beaker.temperature_c + self.chance.normal(REFERENCE_K);
        self.thermometer.off_k = shown.map(|shown| shown - reference);
    }

    /// Nobody does anything: the sensors hang in a water.
    fn hang(&mut self) {
        let content = Content::Sample { ph: 4.8, specific_us_cm: 900.0, per_kelvin: 0.0191 };
        self.probe.place(Beaker { content, temperature_c: self.room_c }).unwrap();
        let stay = self.watch(STAY_MS.0, STAY_MS.1);
        self.stays.push(stay);
        let (moments, _) = self.watch_cell();
        self.cells.push((moments, false, None));
    }
}
