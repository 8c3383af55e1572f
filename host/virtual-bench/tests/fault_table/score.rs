//! Whether an answer is permitted.

use rillmark_proto::diagnose::evidence::Kind;
use rillmark_proto::diagnose::rows::{permitted, row};
use rillmark_proto::diagnose::{Answer, Cause, Diagnosis, Set};

/// What an answer is worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Score {
    /// Exactly the true causes (for a healthy probe: no fault).
    Right,
    /// Permitted, though not all that is true: below the severity from which a fault has to show,
    /// without the least evidence for it, or hidden by the other one.
    Permitted,
    /// Unsure, with every true cause that has to show among the candidates.
    Unsure,
    /// Outside the permitted set.
    Wrong,
}

/// From this severity on a fault shows on every healthy probe: below it a probe at the good end of
/// the natural spread still passes for healthy.
pub const fn shows_from(cause: Cause) -> f64 {
    match cause {
        // 100.5 % of slope loses 15 % · severity; 95 % is the limit.
        Cause::AgeingGlass => 0.45,
        // 60 MΩ beside 10 GΩ / (10^(6 · severity) − 1): 5 % at 0.17.
        Cause::CrackedGlass => 0.25,
        // 8 mV · severity of stirring, 1.2 mV are the limit.
        Cause::CloggedJunction => 0.25,
        // 60 mV · severity of offset with 2 mV of natural change, 15 mV are the limit.
        Cause::ContaminatedJunction => 0.35,
        // An outer bottle of three shows its 0.5 pH · severity at a standard uncertainty of
        // 0.0115 · √6 pH, 3.5 of which are the limit.
        Cause::ContaminatedBuffer => 0.35,
        Cause::Bubble => 0.15,
        // 40 % · severity of the cell constant; 5 % are the limit.
        Cause::FouledCell => 0.2,
        // 60 MΩ beside 10 GΩ / (10^(2.3 · severity) − 1): 5 % at 0.43.
        Cause::WetConnector => 0.5,
        // 5 K · severity with 0.1 K of reference; 0.6 K are the limit.
        Cause::ThermometerOffset => 0.2,
        // 300 mV · severity, of which 0.04 % to 0.2 % remain.
        Cause::Hum => 0.5,
        Cause::ThermometerOpen | Cause::ThermometerShort => 0.1,
    }
}

/// A film of moisture that takes this much hides what the junction shows: two thirds of the potential
/// and more.
const HIDING_FILM: f64 = 0.65;

/// True when a fault hides another one: it brings all of the other's signs, or takes what the other
/// one shows in.
pub fn hides((one, severity): (Cause, f64), other: Cause) -> bool {
    use Cause as C;
    match (one, other) {
        // A leak brings all that a crack brings; a crack leaves nothing of the potential that a
        // leak could divide restlessly, and no slope that could age.
        (C::WetConnector, C::CrackedGlass)
        | (C::CrackedGlass, C::WetConnector | C::AgeingGlass | C::ContaminatedBuffer)
        // A restless electrode says little about its buffers.
        | (C::WetConnector | C::CloggedJunction, C::ContaminatedBuffer)
        // A clogged junction shifts the offset and drifts too.
        | (C::CloggedJunction, C::ContaminatedJunction)
        // Jumps cover a steady loss.
        | (C::Bubble, C::FouledCell) => true,
        (C::WetConnector, C::CloggedJunction | C::ContaminatedJunction) => severity >= HIDING_FILM,
        // A lead that is hardly ever closed cannot be seen to touch the other.
        (C::ThermometerOpen, C::ThermometerShort) => severity > 0.95,
        _ => false,
    }
}

/// What an answer is worth when this is true and this evidence was there.
pub fn score(truth: &[(Cause, f64)], there: Set<Kind>, diagnosis: &Diagnosis) -> Score {
    let examined = |cause: Cause| row(cause).missing(there).is_empty();
    let all: Set<Cause> = truth.iter().map(|(cause, _)| *cause).collect();
    let has_to_show: Set<Cause> = truth
        .iter()
        .filter(|(cause, severity)| *severity >= shows_from(*cause) && examined(*cause))
        .map(|(cause, _)| *cause)
        .filter(|cause| !truth.iter().any(|other| hides(*other, *cause)))
        .collect();
    let allowed = truth
        .iter()
        .fold(Set::EMPTY, |set: Set<Cause>, (cause, _)| set.or(permitted(*cause, there)));
    match &diagnosis.answer {
        Answer::Likely(named) if *named == all => Score::Right,
        Answer::Likely(named) if allowed.holds(*named) && named.holds(has_to_show) => {
            Score::Permitted
        }
        Answer::NoFault if all.is_empty() => Score::Right,
        Answer::NoFault | Answer::NotEnough if has_to_show.is_empty() => Score::Permitted,
        Answer::Unsure { any_of, gather } if !all.is_empty() => {
            let candidates = any_of.iter().fold(Set::EMPTY, |set: Set<Cause>, one| set.or(*one));
            // Nobody is sent for nothing: it names candidates or what to gather.
            let honest = candidates.holds(has_to_show) || candidates.is_empty();
            let useful = !candidates.is_empty() || !gather.is_empty() || has_to_show.is_empty();
            if honest && useful { Score::Unsure } else { Score::Wrong }
        }
        _ => Score::Wrong,
    }
}
