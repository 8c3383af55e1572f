//! A whole probe that is put into other water: simulated chips and firmware, all three signals.

use rillmark_metrology::motion::{Kinetics, Motion};
use rillmark_proto::reading::{Coefficients, Reading};
use rillmark_proto::wire::frame::{Decoder, Event, MAX_FRAME};
use rillmark_proto::wire::message::{Command, FromProbe, Order, Sampling};
use rillmark_proto::wire::{Incoming, decode, encode_command};

use super::Judged;
use super::electrode::MV_PER_PH;
use rillmark_bench::random::Random;
use rillmark_bench::{Beaker, Content, Setup, Truth, VirtualProbe};

const MS_PER_MIN: u64 = 60_000;
/// In the second water, in min; what its last minutes give on the average is where the signal ends.
const FOR_MIN: u64 = 70;
const LAST_MIN: f64 = 5.0;

/// A raw signal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signal {
    /// The electrode's potential in mV.
    Potential,
    /// The cell's conductance in percent: a hundred times its natural logarithm.
    Conductance,
    /// The temperature in °C.
    Temperature,
}

impl Signal {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Potential, Self::Conductance, Self::Temperature];

    /// What to call it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Potential => "probe, pH",
            Self::Conductance => "probe, conductivity",
            Self::Temperature => "probe, temperature",
        }
    }

    /// A standard uncertainty as a calibrated probe has it: 0.018 pH, 0.5 %, 0.1 K.
    pub const fn u(self) -> f64 {
        match self {
            Self::Potential => 0.018 * MV_PER_PH,
            Self::Conductance => 0.5,
            Self::Temperature => 0.1,
        }
    }

    /// The same as it is said.
    pub const fn u_text(self) -> &'static str {
        match self {
            Self::Potential => "0.018",
            Self::Conductance => "0.5 %",
            Self::Temperature => "0.1 K",
        }
    }

    const fn kinetics(self) -> Kinetics {
        match self {
            Self::Potential => Kinetics::ELECTRODE,
            Self::Conductance => Kinetics::CELL,
            Self::Temperature => Kinetics::THERMOMETER,
        }
    }

    fn of(self, reading: &Reading) -> Option<f64> {
        match self {
            Self::Potential => reading.raw.potential().map(|mv| mv.get()),
            Self::Conductance => reading.raw.conductance().map(|us| 100.0 * libm::log(us.get())),
            Self::Temperature => reading.raw.temperature(&Coefficients::default()).map(|c| c.get()),
        }
    }
}

/// Probe number `seed`: logged every `interval_s` in one water for `before_min`, then in another that
/// differs in everything.
pub fn readings(interval_s: u32, before_min: u64, seed: u64) -> Vec<(f64, Reading)> {
    let mut chance = Random::new(seed, 0x696d_6d65);
    let mut between = |low: f64, high: f64| chance.between(low, high);
    let truth = Truth {
        glass_fast_s: 15.0,
        glass_slow_s: between(60.0, 300.0),
        glass_fast_part: between(0.7, 0.9),
        thermometer_s: between(5.0, 60.0),
        cell_filling_s: between(2.0, 40.0),
        ..Truth::seeded(seed)
    };
    let mut water = |ph: (f64, f64), specific: (f64, f64), celsius: (f64, f64)| Beaker {
        content: Content::Sample {
            ph: between(ph.0, ph.1),
            specific_us_cm: between(specific.0, specific.1),
            per_kelvin: 0.0191,
        },
        temperature_c: between(celsius.0, celsius.1),
    };
    let first = water((4.0, 6.0), (1_000.0, 2_000.0), (24.0, 28.0));
    let second = water((7.5, 9.0), (200.0, 600.0), (12.0, 20.0));

    let setup = Setup { seed, truth: Some(truth), ..Setup::default() };
    let mut probe = VirtualProbe::new(setup).expect("a flash in memory always opens");
    let in_range = "a sample has values at every temperature of these";
    probe.place(first).expect(in_range);
    // Long enough for the sensors to have come to rest in it.
    probe.run_for_ms(FOR_MIN * MS_PER_MIN);
    if before_min == 0 {
        probe.place(second).expect(in_range);
    }
    let mut frame = [0; MAX_FRAME];
    let order = Order::Sample(Sampling::Full { interval_ms: interval_s * 1_000 });
    let length = encode_command(&Command { id: 1, order }, &mut frame).expect("an order fits");
    probe.send(&frame[..length]);
    // Not on the beat of the readings.
    probe.run_for_ms(before_min * MS_PER_MIN + seed * 977 % u64::from(1_000 * interval_s));
    let placed_ms = if before_min > 0 {
        probe.place(second).expect(in_range);
        Some(probe.now_ms())
    } else {
        None
    };
    probe.run_for_ms(FOR_MIN * MS_PER_MIN);

    let mut decoder = Decoder::new();
    let mut bytes = vec![0; 1 << 16];
    let mut found = Vec::new();
    loop {
        let count = probe.receive(&mut bytes);
        if count == 0 {
            break;
        }
        for &byte in &bytes[..count] {
            let Some(Event::Payload(payload)) = decoder.push(byte) else { continue };
            if let Ok(Incoming::FromProbe(FromProbe::Reading(reading))) = decode(&payload) {
                found.push(reading);
            }
        }
    }
    let from_ms = placed_ms.unwrap_or_else(|| found.first().map_or(0, |first| first.time.ms));
    let minute = |ms: u64| (ms as f64 - from_ms as f64) / MS_PER_MIN as f64;
    found.into_iter().map(|reading| (minute(reading.time.ms), reading)).collect()
}

/// One signal of these readings. What it hides is told by where it ends, noise and wandering included;
/// before the move nothing is hidden.
pub fn judge(readings: &[(f64, Reading)], signal: Signal) -> Vec<Judged> {
    let mut motion = Motion::new(signal.kinetics());
    let values: Vec<_> = readings
        .iter()
        .filter_map(|(minute, reading)| Some((*minute, reading.time, signal.of(reading)?)))
        .collect();
    let last = values.last().map_or(0.0, |last| last.0);
    let mean = |from: f64, to: f64| {
        let those = values.iter().filter(|value| value.0 > from && value.0 <= to);
        let (sum, count) = those.fold((0.0, 0.0), |(sum, n), value| (sum + value.2, n + 1.0));
        sum / count
    };
    let (before, end) = (mean(f64::MIN, 0.0), mean(last - LAST_MIN, last));
    values
        .iter()
        .map(|&(minute, time, value)| {
            let movement = motion.push(time.boot, time.ms, value, signal.u());
            let off = if minute < 0.0 { before - value } else { end - value };
            Judged { minute, off, hidden: off, noise: 0.0, movement }
        })
        .collect()
}
