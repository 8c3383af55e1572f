//! What an answer is worth, known the truth.

use rillmark_bench::Ailment;
use rillmark_procedures::diagnose::evidence::Kind;
use rillmark_procedures::diagnose::rows::{permitted, row};
use rillmark_procedures::diagnose::set::Member;
use rillmark_procedures::diagnose::{Answer, Cause, Diagnosis, Set};

/// What an answer is worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Score {
    /// Exactly the true causes; for a healthy probe that nothing was found; for a trouble that the rules
    /// do not know that something is wrong which cannot be named.
    Right,
    /// The evidence cannot show the fault, and the answer said that it did not look or cannot tell.
    Permitted,
    /// Below the severity from which the fault has to show, and not found.
    Slight,
    /// Unsure or unclear, with every true cause that has to show among the candidates.
    Unsure,
    /// Not found, though the fault has to show, or though the answer said that it is ruled out.
    Missed,
    /// A name that is not true, or an alarm about a healthy probe.
    Wrong,
}

/// The cause that an ailment of the bench is in the table; `None` for a trouble that the rules do not
/// know.
pub const fn cause(ailment: Ailment) -> Option<Cause> {
    Some(match ailment {
        Ailment::AgeingGlass => Cause::AgeingGlass,
        Ailment::CrackedGlass => Cause::CrackedGlass,
        Ailment::CloggedJunction => Cause::CloggedJunction,
        Ailment::ContaminatedJunction => Cause::ContaminatedJunction,
        Ailment::ContaminatedBuffer => Cause::ContaminatedBuffer,
        Ailment::Bubble => Cause::Bubble,
        Ailment::FouledCell => Cause::FouledCell,
        Ailment::WetConnector => Cause::WetConnector,
        Ailment::ThermometerOffset => Cause::ThermometerOffset,
        Ailment::Hum => Cause::Hum,
        Ailment::ThermometerOpen => Cause::ThermometerOpen,
        Ailment::ThermometerShort => Cause::ThermometerShort,
        Ailment::SwingingReference
        | Ailment::EarthLoop
        | Ailment::LaggingThermometer
        | Ailment::HairlineShort
        | Ailment::LooseContact => return None,
    })
}

/// From this severity on a fault shows on every healthy probe: below it a probe at the good end of
/// the natural spread still passes for healthy.
pub const fn shows_from(ailment: Ailment) -> f64 {
    match ailment {
        // 100.5 % of slope loses 15 % · severity; 95 % is the limit.
        Ailment::AgeingGlass => 0.45,
        // 60 MΩ beside 10 GΩ / (10^(6 · severity) − 1): 5 % at 0.17.
        Ailment::CrackedGlass => 0.25,
        // 8 mV · severity of stirring, 1.2 mV are the limit.
        Ailment::CloggedJunction => 0.25,
        // 60 mV · severity of offset with 2 mV of natural change, 15 mV are the limit.
        Ailment::ContaminatedJunction => 0.35,
        // An outer bottle of three shows its 0.5 pH · severity at a standard uncertainty of
        // 0.0115 · √6 pH, 3.5 of which are the limit.
        Ailment::ContaminatedBuffer => 0.35,
        Ailment::Bubble => 0.15,
        // 40 % · severity of the cell constant; 5 % are the limit.
        Ailment::FouledCell => 0.2,
        // 60 MΩ beside 10 GΩ / (10^(2.3 · severity) − 1): 5 % at 0.43.
        Ailment::WetConnector => 0.5,
        // 5 K · severity with 0.1 K of reference; 0.6 K are the limit.
        Ailment::ThermometerOffset => 0.2,
        // 300 mV · severity, of which 0.04 % to 0.2 % remain.
        Ailment::Hum => 0.5,
        Ailment::ThermometerOpen | Ailment::ThermometerShort => 0.1,
        // 12 mV · severity within 400 s at the slowest: 11 mV/min · severity, both ways; 0.5 mV/min are
        // the limit, and the last minute of a stay may be at a turn.
        Ailment::SwingingReference => 0.25,
        // 8 mV · severity, of which two thirds are left when the first potential is read and fade over
        // the ten seconds to the next drive: some 1.3 mV of scatter; 0.3 mV are the limit.
        Ailment::EarthLoop => 0.3,
        // 13 K at 4 s · (1 + 60 · severity): 1 K/min after two minutes from a minute on.
        Ailment::LaggingThermometer => 0.3,
        // 25 % · severity of 0.82 in the stronger standard; 3 % are the limit, 1 % the bottles'.
        Ailment::HairlineShort => 0.25,
        // A third of the time · severity: some readings of a minute.
        Ailment::LooseContact => 0.2,
    }
}

/// True when evidence of these kinds can show a trouble that the rules do not know.
fn can_show(ailment: Ailment, there: Set<Kind>) -> bool {
    there.has(match ailment {
        Ailment::HairlineShort => Kind::SecondStandard,
        // It shows after a step of the temperature.
        Ailment::LaggingThermometer => Kind::ColdBuffers,
        _ => Kind::Rest,
    })
}

/// A film of moisture that takes this much hides what the junction shows: two thirds of the potential
/// and more.
const HIDING_FILM: f64 = 0.65;

/// True when a fault hides another one: it brings all of the other's signs, or takes what the other
/// one shows in. The answer then has to say that the other one is not ruled out.
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
pub fn score(truth: &[(Ailment, f64)], there: Set<Kind>, diagnosis: &Diagnosis) -> Score {
    let known = || truth.iter().filter_map(|(ailment, s)| Some((*ailment, cause(*ailment)?, *s)));
    let all: Set<Cause> = known().map(|(_, cause, _)| cause).collect();
    let strange = || truth.iter().filter(|(ailment, _)| cause(*ailment).is_none());
    let strange_shows =
        strange().any(|(ailment, s)| *s >= shows_from(*ailment) && can_show(*ailment, there));
    let has_to_show: Set<Cause> = known()
        .filter(|(ailment, _, severity)| *severity >= shows_from(*ailment))
        .map(|(_, cause, _)| cause)
        .filter(|cause| row(*cause).missing(there).is_empty())
        .filter(|cause| !known().any(|(_, one, severity)| hides((one, severity), *cause)))
        .collect();
    let allowed =
        all.iter().fold(Set::EMPTY, |set: Set<Cause>, cause| set.or(permitted(cause, there)));
    // What the answer says that it cannot tell.
    let every: Set<Cause> = Cause::ALL.iter().copied().collect();
    let untold = every.without(diagnosis.examined());
    let nothing_named = Set::EMPTY;
    let named = match &diagnosis.answer {
        Answer::Unclear { could_be, .. } => {
            let told = untold.or(*could_be);
            return match (truth.is_empty(), has_to_show.is_empty() && !strange_shows) {
                (true, _) => Score::Unsure,
                (false, true) => Score::Permitted,
                (false, false) if told.holds(has_to_show) => Score::Unsure,
                _ => Score::Missed,
            };
        }
        Answer::Unsure { any_of, unexamined, gather } => {
            let candidates = any_of.iter().fold(*unexamined, |set: Set<Cause>, one| set.or(*one));
            let honest = candidates.or(untold).holds(has_to_show);
            // Nobody is sent for nothing: it names candidates or what to gather.
            let useful = !candidates.is_empty() || !gather.is_empty();
            let unsure = !truth.is_empty() && honest && useful;
            return if unsure { Score::Unsure } else { Score::Wrong };
        }
        Answer::Unnamed { beside, .. } => {
            return match strange().count() {
                _ if !allowed.holds(*beside) || truth.is_empty() => Score::Wrong,
                0 => Score::Unsure,
                _ if *beside == all => Score::Right,
                _ if untold.holds(all.without(*beside)) => Score::Permitted,
                _ => Score::Missed,
            };
        }
        Answer::Likely(named) => *named,
        Answer::NothingFound | Answer::NotEnough => nothing_named,
    };
    let unnamed = all.without(named);
    let slight = |cause: Cause| known().all(|(a, c, s)| c != cause || s < shows_from(a));
    let silent = !strange_shows && strange().count() > 0;
    match () {
        () if !allowed.holds(named) => Score::Wrong,
        () if named == all && strange().count() == 0 => Score::Right,
        () if strange_shows => Score::Missed,
        () if !unnamed.without(untold).iter().all(slight) => Score::Missed,
        () if !untold.holds(unnamed) => Score::Slight,
        // A trouble that nobody knows is not told; that not all was examined is.
        () if silent && strange().all(|(ailment, _)| can_show(*ailment, there)) => Score::Slight,
        () if silent && untold.is_empty() => Score::Missed,
        () => Score::Permitted,
    }
}
