//! The double layer at the metal of a cell, as a subcircuit.

use std::f64::consts::PI;
use std::fmt::Write as _;

/// What one electrode's interface with the water is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Layer {
    /// A capacitance in F.
    Capacitor(f64),
    /// A constant-phase element Z = 1 / (q · (jω)^α): q in S·s^α, and α.
    ConstantPhase(f64, f64),
}

/// Rungs of the ladder that stands for a constant-phase element: four a decade …
const PER_DECADE: f64 = 4.0;
/// … from this frequency in Hz …
const LOWEST_HZ: f64 = 0.5;
/// … to this.
const HIGHEST_HZ: f64 = 2e6;

impl Layer {
    /// The subcircuit `layer p n`.
    pub fn subcircuit(self) -> String {
        let body = match self {
            Self::Capacitor(farad) => format!("C1 p n {farad:e}\n"),
            Self::ConstantPhase(q, alpha) => ladder(q, alpha),
        };
        format!(".subckt layer p n\n{body}.ends\n")
    }
}

/// R parallel C, in series: the distribution of time constants
/// Z = sin(απ) / (π·q) · ∫ τ^(α−1) / (1 + jωτ) dτ in steps of a quarter of a decade.
fn ladder(q: f64, alpha: f64) -> String {
    let rungs = (PER_DECADE * (HIGHEST_HZ / LOWEST_HZ).log10()) as i32 + 1;
    let weight = (alpha * PI).sin() / PI * 10f64.ln() / PER_DECADE / q;
    let mut text = String::new();
    for rung in 0..rungs {
        let tau = 10f64.powf(-f64::from(rung) / PER_DECADE) / (2.0 * PI * LOWEST_HZ);
        let ohm = weight * tau.powf(alpha);
        let name = |at: i32| match at {
            0 => "p".to_owned(),
            at if at == rungs => "n".to_owned(),
            at => format!("x{at}"),
        };
        let (from, to) = (name(rung), name(rung + 1));
        let _ = writeln!(text, "R{rung} {from} {to} {ohm:e}\nC{rung} {from} {to} {:e}", tau / ohm);
    }
    text
}
