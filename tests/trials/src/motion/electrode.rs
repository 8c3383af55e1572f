//! An electrode in still, drifting and climbing water.

use rillmark_metrology::motion::{Kinetics, Motion};
use rillmark_proto::units::MicrosiemensPerCm;

use super::Judged;
use super::course::Course;

/// mV of a pH: the Nernst factor at 25 °C (CODATA 2022; computed).
pub const MV_PER_PH: f64 = 59.159;

/// What a water does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Water {
    /// It stands still.
    Still,
    /// It goes one way, in pH per minute; either way alike.
    Drifts(f64),
    /// It climbs, in pH per minute, as one does that loses carbon dioxide.
    Climbs(f64),
    /// It goes up and down once a day with this amplitude in pH.
    Day(f64),
}

/// What is read, and how the electrode came there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scene {
    /// What to call it.
    pub name: &'static str,
    /// What the water does.
    pub water: Water,
    /// Whether the electrode is put into it: otherwise it has been in it for ever.
    pub immersed: bool,
    /// For how long it is read in another water before, in min.
    pub before_min: f64,
    /// For how long it is read, in min.
    pub for_min: f64,
    /// Slow time constants that are drawn, in min.
    pub tails_min: (f64, f64),
    /// Whether longer ones are allowed for, as in weak water.
    pub weak: bool,
}

/// An hour in minutes.
const HOUR: f64 = 60.0;
/// Tails as the electrode's kinetics allow for.
const USUAL: (f64, f64) = (1.0, 5.0);

impl Scene {
    const fn put_into(name: &'static str, water: Water) -> Self {
        let (before_min, for_min, weak) = (0.0, HOUR, false);
        Self { name, water, immersed: true, before_min, for_min, tails_min: USUAL, weak }
    }

    const fn standing_in(name: &'static str, water: Water) -> Self {
        Self { immersed: false, for_min: 24.0 * HOUR, ..Self::put_into(name, water) }
    }

    /// Still water.
    pub const STILL: Self = Self::put_into("still water", Water::Still);
    /// Still water, after half an hour in another one.
    pub const MOVED: Self =
        Self { name: "still water after another", before_min: 30.0, ..Self::STILL };
    /// A lake as it drifts at most, in which the electrode already is.
    pub const LAKE: Self = Self::standing_in("lake, 0.002 pH/min", Water::Drifts(0.002));
    /// A lake with a day's cycle.
    pub const DAY: Self = Self::standing_in("lake, ±0.5 pH a day", Water::Day(0.5));
    /// Cups of groundwater that climb slowly …
    pub const CUP_5: Self = Self::put_into("cup, 0.005 pH/min", Water::Climbs(0.005));
    /// … faster …
    pub const CUP_10: Self = Self::put_into("cup, 0.010 pH/min", Water::Climbs(0.01));
    /// … and fastest.
    pub const CUP_20: Self = Self::put_into("cup, 0.020 pH/min", Water::Climbs(0.02));
    /// Tails of up to ten minutes, as weak and cold waters have them, and are allowed.
    pub const WEAK: Self = Self {
        name: "weak still water, tails to 10 min",
        tails_min: (1.0, 10.0),
        weak: true,
        for_min: 2.0 * HOUR,
        ..Self::STILL
    };
    /// Tails that nobody covers.
    pub const SLOW_TAILS: Self = Self {
        name: "still water, tails of 5 to 15 min",
        tails_min: (5.0, 15.0),
        for_min: 3.0 * HOUR,
        ..Self::STILL
    };

    /// All that something is promised for.
    pub const PROMISED: [Self; 8] = [
        Self::STILL,
        Self::MOVED,
        Self::LAKE,
        Self::DAY,
        Self::CUP_5,
        Self::CUP_10,
        Self::CUP_20,
        Self::WEAK,
    ];

    /// The same for readings at this interval: a log of a lake is shorter at one second.
    #[must_use]
    pub const fn every(self, interval_s: u32) -> Self {
        let for_min = if self.immersed || interval_s > 1 { self.for_min } else { 3.0 * HOUR };
        Self { for_min, ..self }
    }
}

/// Electrode number `seed` in a scene, read every `interval_s` and judged with a standard uncertainty of
/// `u_ph`. What is judged is in mV.
pub fn run(scene: &Scene, interval_s: u32, u_ph: f64, seed: u64) -> Vec<Judged> {
    let weak = scene.weak.then(|| MicrosiemensPerCm::new(50.0));
    let mut motion = Motion::new(Kinetics::electrode([], weak, None));
    Course::drawn(scene, interval_s, seed)
        .map(|reading| {
            let mv = -MV_PER_PH * reading.ph;
            let movement = motion.push(1, reading.ms, mv, MV_PER_PH * u_ph);
            let (off, hidden) = (-MV_PER_PH * reading.off_ph, -MV_PER_PH * reading.hidden_ph);
            let noise = MV_PER_PH * reading.noise_ph;
            Judged { minute: reading.minute, off, hidden, noise, movement }
        })
        .collect()
}
