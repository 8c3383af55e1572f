//! The analog network between water and converter, in closed form.
//!
//! Modelled, after `hardware-notes`: the square wave through blocking capacitors, range resistor
//! and cell (mean over the centre half of a half period, capacitors on their symmetric orbit); the
//! gated hold capacitors that follow a tap with their time constant; offsets common to all taps;
//! a supply, and with it a drive, that wanders; series polarisation that falls with frequency; what a drive, a closed cell switch or a power-up
//! does to the electrode, and how it decays behind a membrane as cold as it is; mains hum, integrated over each conversion.
//!
//! Its figures are those of `rillmark_proto::circuit`, and where those are limits the truth of a bench
//! lies within them.
//!
//! Not modelled: cable capacitance, rectification at the electrodes, mains on the taps, heating of
//! the thermometer by its current. A board that is warmer than before is another truth.

mod electrode;
mod taps;

use rillmark_metrology::front_end::surroundings::SUPPLY_WANDER_S;
use rillmark_proto::circuit::chips::MID_V;
use rillmark_proto::circuit::network::HOLD_S;

use crate::build::{self, BuildFault, Loads};
use crate::closed_form::{
    CLOSED_SHIFT_MV, DRIVE_SHIFT_MV, LEAK_SHIFT_MV, PARKED_SHIFT_MV, POWER_UP_MV, UNSETTLED,
    UNSETTLED_S, disturbed_s,
};
use crate::error::BenchError;
use crate::faults::Faults;
use crate::truth::Truth;
use crate::water::sensors::Sensors;
use crate::water::{Beaker, Content, Source, wear};
use electrode::RAIL_V;

/// Time constant with which a hold droops while its gates are shut, in s.
const DROOP_S: f64 = 20.0;
/// A hold's target is worked out again after this long, in ns: the water changes over seconds.
const TARGET_NS: u64 = 25_000_000;

/// State of the excitation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Drive {
    /// The square wave runs, and with it the gates.
    Running {
        /// Its frequency in Hz.
        hz: f64,
    },
    /// Held at mid, gates shut.
    Parked,
    /// Nothing drives, gates shut.
    Floating,
}

/// Inputs of the converter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Input {
    Electrode,
    Mid,
    PositiveHold,
    NegativeHold,
    Ground,
}

/// The six pins, as driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pin {
    /// Range switch, low bit.
    RangeLow,
    /// Range switch, high bit.
    RangeHigh,
    /// Tap switch, low bit.
    TapLow,
    /// Tap switch, high bit.
    TapHigh,
    /// Cell switch: high closes.
    Cell,
    /// Sensor power: low switches on.
    PowerNot,
}

/// Something that decays: its size at a moment and its time constant.
#[derive(Clone, Copy, Debug)]
struct Fading {
    size: f64,
    since_ns: u64,
    tau_s: f64,
}

impl Fading {
    fn at(&self, now_ns: u64) -> f64 {
        let s = now_ns.saturating_sub(self.since_ns) as f64 * 1e-9;
        if s > 40.0 * self.tau_s { 0.0 } else { self.size * libm::exp(-s / self.tau_s) }
    }
}

/// The front end with its sensors.
#[derive(Debug)]
pub(crate) struct FrontEnd {
    /// The parameters of the bench without its faults.
    pub(crate) sound: Truth,
    /// The parameters as wear has left them.
    pub(crate) truth: Truth,
    pub(crate) sensors: Sensors,
    /// The faults in force, changed by [`Self::set_faults`] alone.
    pub(crate) faults: Faults,
    /// What the sensors stand in, changed by [`Self::place`] alone.
    pub(crate) beaker: Beaker,
    /// What is connected in place of the sensors, changed by [`Self::connect`] and [`Self::place`].
    pub(crate) loads: Option<Loads>,
    pins: [bool; 6],
    drive: Drive,
    /// Steady difference of the holds at the nominal supply, in V, and when it was worked out.
    target: f64,
    target_ns: Option<u64>,
    /// Distance of the holds from their target, in V.
    hold: Fading,
    /// Excess of the current as a fraction.
    unsettled: Fading,
    /// What is left of the last drive in a reference that an earth loop polarises, as a part.
    driven: Fading,
    /// Distance of the electrode's input from the electrode, beyond what the switches do now, in mV.
    disturbed: Fading,
}

impl FrontEnd {
    pub(crate) fn new(truth: Truth, sensors: Sensors, faults: Faults) -> Self {
        let quiet = |tau_s| Fading { size: 0.0, since_ns: 0, tau_s };
        let mut pins = [false; 6];
        pins[Pin::PowerNot as usize] = true;
        let mut this = Self {
            sound: truth.clone(),
            truth,
            sensors,
            faults: Faults::default(),
            beaker: Beaker { content: Content::Air, temperature_c: 20.0 },
            loads: None,
            pins,
            drive: Drive::Floating,
            target: 0.0,
            target_ns: None,
            hold: quiet(HOLD_S),
            unsettled: quiet(UNSETTLED_S),
            driven: quiet(wear::EARTH_LOOP_S),
            disturbed: quiet(disturbed_s(0.0)),
        };
        this.set_faults(faults, 0);
        this
    }

    /// Every pin as the board's pull-ups leave it after a reset: power off, cell open.
    pub(crate) fn reset(&mut self, now_ns: u64) {
        self.set_drive(Drive::Floating, now_ns);
        for pin in [Pin::RangeLow, Pin::RangeHigh, Pin::TapLow, Pin::TapHigh, Pin::Cell] {
            self.set_pin(pin, false, now_ns);
        }
        self.set_pin(Pin::PowerNot, true, now_ns);
    }

    fn high(&self, pin: Pin) -> bool {
        self.pins[pin as usize]
    }

    fn has(&self, fault: BuildFault) -> bool {
        self.faults.build == Some(fault)
    }

    fn powered(&self) -> bool {
        !self.high(Pin::PowerNot) && !self.has(BuildFault::SupplySwitch)
    }

    fn range(&self) -> usize {
        let asked =
            usize::from(self.high(Pin::RangeHigh)) << 1 | usize::from(self.high(Pin::RangeLow));
        build::range(asked, self.faults.build)
    }

    fn tap(&self) -> usize {
        let asked = usize::from(self.high(Pin::TapHigh)) << 1 | usize::from(self.high(Pin::TapLow));
        build::tap(asked, self.faults.build)
    }

    pub(crate) fn set_pin(&mut self, pin: Pin, high: bool, now_ns: u64) {
        if self.high(pin) == high {
            return;
        }
        self.change(now_ns, |front| front.pins[pin as usize] = high);
        match pin {
            Pin::RangeLow | Pin::RangeHigh | Pin::Cell => self.unsettle(now_ns),
            Pin::PowerNot if !high => {
                self.disturbed = self.forgotten(POWER_UP_MV, now_ns);
            }
            Pin::PowerNot | Pin::TapLow | Pin::TapHigh => {}
        }
    }

    pub(crate) fn set_drive(&mut self, drive: Drive, now_ns: u64) {
        if self.drive != drive {
            if matches!(self.drive, Drive::Running { .. }) {
                self.was_driven(now_ns);
            }
            self.change(now_ns, |front| front.drive = drive);
            self.unsettle(now_ns);
        }
    }

    /// Changes the faults.
    pub(crate) fn set_faults(&mut self, faults: Faults, now_ns: u64) {
        let before = wear::spoilt_ph(&self.beaker.content, &self.faults);
        self.truth = wear::worn(&self.sound, &faults.ailments);
        self.sensors.set_ailments(faults.ailments);
        self.faults = faults;
        if wear::spoilt_ph(&self.beaker.content, &self.faults) != before
            && let Ok(source) = self.source(&self.beaker, now_ns)
        {
            self.sensors.place(source, now_ns, &self.truth);
        }
        self.disturb(now_ns);
    }

    /// Moves the sensors into a beaker, or into the wrong one while that fault is in force.
    pub(crate) fn place(&mut self, beaker: Beaker, now_ns: u64) -> Result<(), BenchError> {
        self.loads = None;
        let beaker = self.faults.wrong_beaker.unwrap_or(beaker);
        let source = self.source(&beaker, now_ns)?;
        self.sensors.place(source, now_ns, &self.truth);
        self.beaker = beaker;
        self.disturb(now_ns);
        Ok(())
    }

    /// Takes the sensors off and connects these in their place, until the sensors are placed again.
    pub(crate) fn connect(&mut self, loads: Loads, now_ns: u64) {
        self.loads = Some(loads);
        self.disturb(now_ns);
    }

    fn source(&self, beaker: &Beaker, now_ns: u64) -> Result<Source, BenchError> {
        let spoilt_ph = wear::spoilt_ph(&beaker.content, &self.faults);
        Ok(Source::of(beaker, now_ns)?.moved_by(spoilt_ph))
    }

    /// The faults or the water changed.
    pub(crate) fn disturb(&mut self, now_ns: u64) {
        self.change(now_ns, |_| ());
    }

    fn unsettle(&mut self, now_ns: u64) {
        self.unsettled = Fading { size: UNSETTLED, since_ns: now_ns, tau_s: UNSETTLED_S };
    }

    /// Carries out a change of the network: what holds a voltage keeps it at first.
    fn change(&mut self, now_ns: u64, change: impl FnOnce(&mut Self)) {
        let held = self.held_v(now_ns);
        let shift = self.shift_mv() + self.disturbed.at(now_ns);
        change(self);
        self.target_ns = None;
        self.refresh_target(now_ns);
        let tau_s = if self.gated() { HOLD_S } else { DROOP_S };
        self.hold = Fading { size: held - self.steady(now_ns), since_ns: now_ns, tau_s };
        self.disturbed = self.forgotten(shift - self.shift_mv(), now_ns);
    }

    /// A distance of the electrode's input in mV, forgotten as fast as the membrane lets it, which is as cold
    /// as the glass is now.
    fn forgotten(&self, size: f64, now_ns: u64) -> Fading {
        let ohm = match self.loads {
            Some(loads) => loads.electrode.map_or(0.0, |(_, ohm)| ohm),
            None => 1e6 * self.sensors.membrane_mohm(now_ns, &self.truth),
        };
        Fading { size, since_ns: now_ns, tau_s: disturbed_s(ohm) }
    }

    fn gated(&self) -> bool {
        self.powered() && matches!(self.drive, Drive::Running { .. })
    }

    /// What the switches do to the electrode in the long run, in mV.
    fn shift_mv(&self) -> f64 {
        match (self.drive, self.high(Pin::Cell)) {
            (Drive::Running { .. }, true) => DRIVE_SHIFT_MV,
            (Drive::Parked, true) => PARKED_SHIFT_MV,
            (Drive::Floating, true) => CLOSED_SHIFT_MV,
            (Drive::Running { .. } | Drive::Parked, false) => LEAK_SHIFT_MV,
            (Drive::Floating, false) => 0.0,
        }
    }

    fn refresh_target(&mut self, now_ns: u64) {
        let fresh = self.target_ns.is_some_and(|at| now_ns.saturating_sub(at) < TARGET_NS);
        if !fresh {
            self.target = self.steady_v(now_ns);
            self.target_ns = Some(now_ns);
        }
    }

    /// The difference of the holds, in V.
    fn held_v(&self, now_ns: u64) -> f64 {
        let excess = if self.gated() { self.unsettled.at(now_ns) } else { 0.0 };
        self.steady(now_ns) * (1.0 + excess) + self.hold.at(now_ns)
    }

    /// What the holds stand at in the end with the supply of this moment, in V.
    fn steady(&self, now_ns: u64) -> f64 {
        let truth = &self.truth;
        let turns = now_ns as f64 * 1e-9 / SUPPLY_WANDER_S + truth.supply_phase;
        self.target * (1.0 + truth.supply_wander * libm::sin(core::f64::consts::TAU * turns))
    }

    /// Mean of an input over a window, in V above ground, quasi-static in its middle; the hum is
    /// integrated exactly.
    fn input_v(&mut self, input: Input, from_ns: u64, to_ns: u64) -> f64 {
        let middle = from_ns.midpoint(to_ns);
        let powered = f64::from(u8::from(self.powered()));
        match input {
            Input::Ground => 0.0,
            Input::Mid => MID_V * powered,
            Input::Electrode => {
                let away = self.shift_mv() + self.disturbed.at(middle);
                let beside = away + self.hum_mv(from_ns, to_ns) + self.earth_loop_mv(middle);
                let above_v = self.electrode_v(middle, beside).unwrap_or(RAIL_V);
                (MID_V + above_v) * powered
            }
            Input::PositiveHold | Input::NegativeHold => {
                self.refresh_target(middle);
                let half = 0.5 * self.held_v(middle);
                MID_V + if input == Input::PositiveHold { half } else { -half }
            }
        }
    }

    /// Mean of a differential input over a window, in V.
    pub(crate) fn differential_v(
        &mut self,
        (positive, negative): (Input, Input),
        from_ns: u64,
        to_ns: u64,
    ) -> f64 {
        if (positive, negative) == (Input::PositiveHold, Input::NegativeHold) {
            let middle = from_ns.midpoint(to_ns);
            self.refresh_target(middle);
            return build::held_v(self.held_v(middle), self.faults.build);
        }
        let volts = self.input_v(positive, from_ns, to_ns) - self.input_v(negative, from_ns, to_ns);
        match (positive, negative) {
            (Input::Electrode, Input::Mid) => build::electrode_v(volts, self.faults.build),
            _ => volts,
        }
    }
}

#[cfg(test)]
mod tests;
