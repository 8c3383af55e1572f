//! A discharge into the pH electrode's socket: how much of it reaches the chips.

use rillmark_proto::circuit::parts;

use crate::ngspice::{Deck, SpiceError};
use crate::two_at_a_time;

/// What a body holds, in F, behind [`BODY_OHM`]: the human-body model (REFERENCES 23; recalled, not checked).
const BODY_F: f64 = 100e-12;
/// Its resistance in Ω.
pub const BODY_OHM: f64 = 1.5e3;
/// Its voltage in V, of either sign.
pub const BODY_V: f64 = 2e3;
/// Joined, and not joined, in Ω.
const JOINED: [f64; 2] = [1.0, 1e12];

/// Where a finger touches.
#[derive(Clone, Copy, Debug)]
pub struct Touch {
    /// What it is called on the page.
    pub what: &'static str,
    at_shell: bool,
    /// Whether an electrode's cable is at the socket.
    is_plugged: bool,
}

/// The places that a finger reaches.
const TOUCHES: [Touch; 3] = [
    Touch { what: "shell of the bare socket", at_shell: true, is_plugged: false },
    Touch { what: "shell, electrode plugged in", at_shell: true, is_plugged: true },
    Touch { what: "contact of the bare socket", at_shell: false, is_plugged: false },
];

/// The most of either sign.
#[derive(Clone, Copy, Debug)]
pub struct Peak {
    /// Into the diodes of U1's pin 3, in A.
    pub pin_3_a: f64,
    /// Into those of U5's pin 12, in A.
    pub pin_12_a: f64,
    /// Across C1, in V.
    pub capacitor_v: f64,
}

/// A touch of the board as it was, without R31, and as it is.
#[derive(Clone, Copy, Debug)]
pub struct Discharge {
    /// Where.
    pub touch: Touch,
    /// With a wire in place of R31.
    pub before: Peak,
    /// With R31.
    pub now: Peak,
}

/// Simulates every touch.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Vec<Discharge>, SpiceError> {
    two_at_a_time::map(&TOUCHES, |touch| {
        let [before, now] =
            [1e-3, parts::ELECTROMETER_PROTECTION.value].map(|ohm| peak(touch, ohm));
        Ok(Discharge { touch: *touch, before: before?, now: now? })
    })
}

fn peak(touch: &Touch, apart_ohm: f64) -> Result<Peak, SpiceError> {
    let [joined, open] = JOINED;
    let (to_shell, to_contact) = if touch.at_shell { (joined, open) } else { (open, joined) };
    let of = |charged_v: f64| {
        let waves = Deck::new("discharge")
            .with("body", BODY_F)
            .with("body_ohm", BODY_OHM)
            .with("charged", charged_v)
            .with("to_shell", to_shell)
            .with("to_contact", to_contact)
            .with("plugged", if touch.is_plugged { 1.0 } else { 0.0 })
            .with("apart", apart_ohm)
            .run()?;
        let most = |column| {
            let (least, most) = waves.between(column, 0.0, waves.end());
            most.max(-least)
        };
        Ok(Peak { pin_3_a: most(0), pin_12_a: most(1), capacitor_v: most(2) })
    };
    let (one, other): (Peak, Peak) = (of(BODY_V)?, of(-BODY_V)?);
    Ok(Peak {
        pin_3_a: one.pin_3_a.max(other.pin_3_a),
        pin_12_a: one.pin_12_a.max(other.pin_12_a),
        capacitor_v: one.capacitor_v.max(other.capacitor_v),
    })
}
