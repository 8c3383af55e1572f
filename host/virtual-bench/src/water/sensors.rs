//! How the sensors follow the water: in closed form from the moment of the last change.
//!
//! A lag answers a step of its target with an exponential. The lake moves over minutes and the
//! lags over seconds, so a lag's distance from the *present* target is what decays.

use rillmark_proto::reference::nernst;
use rillmark_proto::units::Celsius;

use super::junction::{self, Scene};
use super::{Source, Water, wear};
use crate::faults::Ailments;
use crate::random::Random;
use crate::truth::Truth;

/// Potential of an electrode in air above its last one, in mV (invented: a film of water remains).
const AIR_SHIFT_MV: f64 = 25.0;
/// Between two draws of the wandering, in s: it is much slower.
const WANDER_STEP_S: f64 = 0.05;

fn decay(s: f64, tau: f64) -> f64 {
    // Past 40 time constants nothing is left that an f64 beside the target would show.
    if s > 40.0 * tau { 0.0 } else { libm::exp(-s / tau) }
}

/// The electrode, the thermometer and the cell in their water.
#[derive(Debug)]
pub(crate) struct Sensors {
    source: Source,
    since_ns: u64,
    /// Distances from the target at `since_ns`: glass and thermometer in K, potential in mV,
    /// conductivity in µS/cm.
    glass_k: f64,
    thermometer_k: f64,
    potential_mv: f64,
    conductivity: f64,
    /// Potential when the sensors were last under water.
    last_wet_mv: f64,
    random: Random,
    wander_mv: f64,
    wander_ns: u64,
    seed: u64,
    /// How many solutions the sensors have been in.
    placing: u64,
    /// Whether the water moves, since when, and how much of that was taken up then.
    moving: bool,
    moving_ns: u64,
    taken_up: f64,
    ailments: Ailments,
}

impl Sensors {
    pub(crate) fn new(source: Source, seed: u64) -> Self {
        Self {
            source,
            since_ns: 0,
            glass_k: 0.0,
            thermometer_k: 0.0,
            potential_mv: 0.0,
            conductivity: 0.0,
            last_wet_mv: 0.0,
            random: Random::new(seed, 1),
            wander_mv: 0.0,
            wander_ns: 0,
            seed,
            placing: 0,
            moving: false,
            moving_ns: 0,
            taken_up: 0.0,
            ailments: Ailments::default(),
        }
    }

    /// What ails the sensors from now on.
    pub(crate) fn set_ailments(&mut self, ailments: Ailments) {
        self.ailments = ailments;
    }

    /// Starts or stops stirring.
    pub(crate) fn stir(&mut self, moving: bool, now_ns: u64) {
        self.taken_up = self.stirred(now_ns);
        (self.moving, self.moving_ns) = (moving, now_ns);
    }

    /// True while the water moves.
    pub(crate) fn is_stirred(&self) -> bool {
        self.moving
    }

    fn stirred(&self, now_ns: u64) -> f64 {
        let towards = f64::from(u8::from(self.moving));
        let s = (now_ns - self.moving_ns) as f64 * 1e-9;
        towards + (self.taken_up - towards) * decay(s, junction::STIR_S)
    }

    /// Moves everything into other water.
    pub(crate) fn place(&mut self, source: Source, now_ns: u64, truth: &Truth) {
        let (glass, thermometer) = (self.glass_c(now_ns, truth), self.thermometer_c(now_ns, truth));
        let potential = self.glass_mv(now_ns, truth);
        let conductivity = self.conductivity_us_cm(now_ns, truth);
        if self.water(now_ns).ph.is_some() {
            self.last_wet_mv = potential;
        }
        let next = source.at(now_ns);
        self.source = source;
        self.since_ns = now_ns;
        self.placing += 1;
        self.glass_k = glass - next.temperature_c;
        self.thermometer_k = thermometer - next.temperature_c;
        self.conductivity = conductivity - next.conductivity_us_cm;
        self.potential_mv = potential - self.settled_mv(now_ns, truth);
    }

    pub(crate) fn water(&self, now_ns: u64) -> Water {
        self.source.at(now_ns)
    }

    fn age(&self, now_ns: u64) -> f64 {
        (now_ns - self.since_ns) as f64 * 1e-9
    }

    /// Resistance of the glass in MΩ, as warm as it is.
    pub(crate) fn membrane_mohm(&self, now_ns: u64, truth: &Truth) -> f64 {
        wear::membrane_mohm(truth, self.glass_c(now_ns, truth))
    }

    fn glass_c(&self, now_ns: u64, truth: &Truth) -> f64 {
        self.water(now_ns).temperature_c
            + self.glass_k * decay(self.age(now_ns), truth.glass_warming_s)
    }

    /// The temperature in °C that the thermometer shows: its own with its gain, and a constant error.
    pub(crate) fn shown_c(&self, now_ns: u64, truth: &Truth) -> f64 {
        let own = self.thermometer_c(now_ns, truth) * (1.0 + truth.thermometer_gain);
        own + wear::thermometer_off_k(&self.ailments, self.seed)
    }

    /// True while a lead of the thermometer is broken.
    pub(crate) fn thermometer_open(&self, now_ns: u64) -> bool {
        wear::lead_open(&self.ailments, self.seed, now_ns as f64 * 1e-9)
    }

    /// True while the electrode's plug has no contact.
    pub(crate) fn contact_lost(&self, now_ns: u64) -> bool {
        wear::contact_lost(&self.ailments, self.seed, now_ns as f64 * 1e-9)
    }

    /// True while the thermometer's leads touch.
    pub(crate) fn thermometer_short(&self, now_ns: u64) -> bool {
        wear::leads_touch(&self.ailments, self.seed, now_ns as f64 * 1e-9)
    }

    /// The thermometer's own temperature in °C.
    pub(crate) fn thermometer_c(&self, now_ns: u64, truth: &Truth) -> f64 {
        self.water(now_ns).temperature_c
            + self.thermometer_k * decay(self.age(now_ns), truth.thermometer_s)
    }

    /// Conductance of the cell in S without its polarisation: a bubble blocks a part of it, and a
    /// hairline of solution adds to it.
    pub(crate) fn conductance_s(&self, now_ns: u64, truth: &Truth) -> f64 {
        let open = 1.0 - wear::blocked_part(&self.ailments, self.seed, now_ns as f64 * 1e-9);
        let us_cm = self.conductivity_us_cm(now_ns, truth);
        let beside = 1.0 + wear::hairline_part(&self.ailments, us_cm);
        open * beside * us_cm * 1e-6 / truth.cell_per_cm
    }

    /// Conductivity of what is in the cell, in µS/cm.
    pub(crate) fn conductivity_us_cm(&self, now_ns: u64, truth: &Truth) -> f64 {
        self.water(now_ns).conductivity_us_cm
            + self.conductivity * decay(self.age(now_ns), truth.cell_filling_s)
    }

    /// E = offset − slope · k(T) · (pH − 7), with the glass's own temperature.
    fn settled_mv(&self, now_ns: u64, truth: &Truth) -> f64 {
        match self.water(now_ns).ph {
            Some(ph) => {
                let k = nernst::millivolts_per_ph(Celsius::new(self.glass_c(now_ns, truth)));
                truth.offset_mv - truth.slope * k * (ph - 7.0)
            }
            None => self.last_wet_mv + AIR_SHIFT_MV,
        }
    }

    /// Potential of the glass in mV, without its wandering and the junction.
    pub(crate) fn glass_mv(&self, now_ns: u64, truth: &Truth) -> f64 {
        let age = self.age(now_ns);
        let fast = truth.glass_fast_part * decay(age, truth.glass_fast_s);
        let slow = (1.0 - truth.glass_fast_part) * decay(age, truth.glass_slow_s);
        self.settled_mv(now_ns, truth) + self.potential_mv * (fast + slow)
    }

    /// Electrode potential in mV without hum: the glass, which a crack shunts, with its wandering and
    /// the junction, of which a wet connector takes its part.
    ///
    /// The wandering is an Ornstein–Uhlenbeck process, stepped exactly over whatever time went by.
    pub(crate) fn potential_mv(&mut self, now_ns: u64, truth: &Truth) -> f64 {
        let step = now_ns.saturating_sub(self.wander_ns) as f64 * 1e-9;
        if step >= WANDER_STEP_S {
            let keep = decay(step, truth.wander_s);
            let fresh = libm::sqrt(1.0 - keep * keep) * self.random.normal();
            self.wander_mv = keep * self.wander_mv + truth.wander_mv * fresh;
            self.wander_ns = now_ns;
        }
        let membrane_mohm = self.membrane_mohm(now_ns, truth);
        let s = now_ns as f64 * 1e-9;
        let uncracked = 1.0 - wear::cracked_part(&self.ailments, membrane_mohm);
        let unleaked = 1.0 - wear::leaked_part(&self.ailments, membrane_mohm, self.seed, s);
        let scene = Scene {
            seed: self.seed,
            s,
            age_s: self.age(now_ns),
            placing: self.placing,
            stirred: self.stirred(now_ns),
            conductivity_us_cm: self.water(now_ns).conductivity_us_cm,
        };
        let junction = junction::potential_mv(&scene, truth, &self.ailments);
        unleaked * (uncracked * self.glass_mv(now_ns, truth) + self.wander_mv + junction)
    }
}

#[cfg(test)]
mod tests {
    use super::{Sensors, Source};
    use crate::truth::Truth;
    use crate::water::{Beaker, Content};

    const S: u64 = 1_000_000_000;

    fn still(ph: f64, temperature_c: f64) -> Source {
        let content = Content::Sample { ph, specific_us_cm: 1_000.0, per_kelvin: 0.02 };
        Source::of(&Beaker { content, temperature_c }, 0).unwrap()
    }

    fn quiet() -> Truth {
        Truth { wander_mv: 0.0, ..Truth::seeded(5) }
    }

    #[test]
    fn a_step_starts_where_the_electrode_was_and_ends_at_nernst() {
        let truth = quiet();
        let mut sensors = Sensors::new(still(7.0, 25.0), 0);
        let before = sensors.potential_mv(10 * S, &truth);
        assert!((before - truth.offset_mv).abs() < 1e-9);
        sensors.place(still(4.0, 25.0), 10 * S, &truth);
        assert!((sensors.potential_mv(10 * S, &truth) - before).abs() < 1e-9);
        // k(25 °C) = 59.159 mV (CODATA 2022 through R T ln 10 / F; computed).
        let settled = truth.offset_mv + 3.0 * 59.159 * truth.slope;
        assert!((sensors.potential_mv(400 * S, &truth) - settled).abs() < 0.002);
        let at_10_s = sensors.potential_mv(20 * S, &truth);
        assert!(at_10_s < settled - 1.0 && at_10_s > before + 100.0, "{at_10_s}");
    }

    #[test]
    fn sensors_take_the_waters_temperature_with_their_time_constants() {
        let truth = Truth { thermometer_s: 4.0, ..quiet() };
        let mut sensors = Sensors::new(still(7.0, 20.0), 0);
        sensors.place(still(7.0, 30.0), S, &truth);
        // One time constant leaves 1/e of a step (definition).
        let left = 30.0 - sensors.thermometer_c(5 * S, &truth);
        assert!((left - 10.0 * libm::exp(-1.0)).abs() < 1e-9);
        assert!((sensors.thermometer_c(200 * S, &truth) - 30.0).abs() < 1e-9);
    }

    #[test]
    fn the_wandering_has_its_deviation() {
        let truth = Truth { wander_mv: 0.5, wander_s: 1.0, ..Truth::seeded(5) };
        let mut sensors = Sensors::new(still(7.0, 25.0), 9);
        let count = 4_000u32;
        let squares: f64 = (1..=count)
            .map(|step| {
                let now = u64::from(step) * 5 * S;
                let away = sensors.potential_mv(now, &truth) - truth.offset_mv;
                away * away
            })
            .sum();
        // Steps of five time constants are independent: relative standard error 1/√(2n) = 1.1 %.
        let deviation = (squares / f64::from(count)).sqrt();
        assert!((deviation / 0.5 - 1.0).abs() < 0.05, "{deviation}");
    }
}
