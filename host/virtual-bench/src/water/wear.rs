//! What ails the sensors, as numbers: which parameter moves how far at which severity.
//!
//! Every size here is invented within what the trade tells of such faults (common practice, no
//! source); at severity 0 each leaves everything as it is.

use rillmark_metrology::front_end::surroundings;
use rillmark_metrology::reference::buffers::Buffer;
use rillmark_proto::units::Celsius;

use super::Content;
use super::wandering::{Stream, sign, uniform, wandering};
use crate::faults::{Ailment, Ailments, Faults};
use crate::truth::Truth;

/// Conductance in S of a crack or a film of moisture at the smallest severities: 10 GΩ, a hundredth
/// of what a healthy input has.
const FIRST_LEAK_S: f64 = 1e-10;
/// A crack grows over six decades, down to 10 kΩ of solution.
const CRACK_DECADES: f64 = 6.0;
/// A film of moisture grows over 2.3 decades, down to 50 MΩ.
const FILM_DECADES: f64 = 2.3;
/// A film grows, dries and creeps: its conductance wanders by this part …
const FILM_WANDERING: f64 = 0.12;
/// … within this time, in s.
const FILM_WANDERING_S: f64 = 15.0;
/// How fast a reference forgets what a current through an earth loop did to it, in s.
pub(crate) const EARTH_LOOP_S: f64 = 6.0;

/// The parameters as they have become: what ageing, fouling and a bad screen change once and for
/// all.
pub(crate) fn worn(truth: &Truth, ailments: &Ailments) -> Truth {
    let age = ailments.of(Ailment::AgeingGlass);
    let fouling = ailments.of(Ailment::FouledCell);
    let hum = ailments.of(Ailment::Hum);
    let lag = ailments.of(Ailment::LaggingThermometer);
    Truth {
        // The hydrated layer grows and its outside is depleted: fewer sites answer, and what
        // diffuses through the layer comes late.
        slope: truth.slope * (1.0 - 0.15 * age),
        glass_fast_s: truth.glass_fast_s * (1.0 + 2.0 * age),
        glass_slow_s: truth.glass_slow_s * (1.0 + 6.0 * age),
        glass_fast_part: truth.glass_fast_part * (1.0 - 0.3 * age),
        membrane_mohm: truth.membrane_mohm * (1.0 + age),
        // A film takes area from the electrodes, so the cell constant rises; and less area
        // polarises more.
        cell_per_cm: truth.cell_per_cm * (1.0 + 0.4 * fouling),
        polarisation_ohm: truth.polarisation_ohm * (1.0 + 4.0 * fouling),
        // An open screen beside a mains lead sees a few hundred millivolts at the membrane's
        // impedance.
        hum_mv: truth.hum_mv + 300.0 * hum,
        // From a tip in water to one in still air: seconds become minutes.
        thermometer_s: truth.thermometer_s * (1.0 + 60.0 * lag),
        ..truth.clone()
    }
}

/// The part of the glass's potential that a crack takes away, 0 to 1: inner and outer solution are
/// connected beside the membrane, and without a difference between them there is no potential.
pub(crate) fn cracked_part(ailments: &Ailments, membrane_mohm: f64) -> f64 {
    taken(membrane_mohm, leak_s(ailments.of(Ailment::CrackedGlass), CRACK_DECADES))
}

/// The part of the whole potential that a wet connector takes away, 0 to 1: its leak divides it
/// with the membrane's resistance and pulls it towards the reference.
pub(crate) fn leaked_part(ailments: &Ailments, membrane_mohm: f64, seed: u64, s: f64) -> f64 {
    let severity = ailments.of(Ailment::WetConnector);
    if severity == 0.0 {
        return 0.0;
    }
    let restless = libm::exp(FILM_WANDERING * wandering(seed, Stream::Leak, s, FILM_WANDERING_S));
    taken(membrane_mohm, restless * leak_s(severity, FILM_DECADES))
}

fn leak_s(severity: f64, decades: f64) -> f64 {
    FIRST_LEAK_S * (libm::pow(10.0, decades * severity) - 1.0)
}

fn taken(membrane_mohm: f64, leak_s: f64) -> f64 {
    let ratio = membrane_mohm * 1e6 * leak_s;
    ratio / (1.0 + ratio)
}

/// Resistance of the membrane in MΩ at a temperature in °C.
pub(crate) fn membrane_mohm(truth: &Truth, celsius: f64) -> f64 {
    truth.membrane_mohm * surroundings::membrane_times(celsius)
}

/// What the thermometer's constant error is, in K: up to 5 K, either way. Leads of unlike resistance
/// and moisture between them both do that.
pub(crate) fn thermometer_off_k(ailments: &Ailments, seed: u64) -> f64 {
    5.0 * ailments.of(Ailment::ThermometerOffset) * sign(seed, Stream::Signs, 0)
}

/// How far a bottle's pH has moved, 0 in a sound one: up to half a pH, towards neutral. Carbon
/// dioxide and what clings to a probe from the bottle before both do that.
pub(crate) fn spoilt_ph(content: &Content, faults: &Faults) -> f64 {
    let severity = faults.ailments.of(Ailment::ContaminatedBuffer);
    let Content::Buffer(buffer) = content else {
        return 0.0;
    };
    let ph = nominal_ph(buffer);
    let meant = match faults.contaminated {
        Some(meant) => meant.name() == buffer.name(),
        None => ph > 8.0,
    };
    match meant {
        true if ph < 6.5 => 0.5 * severity,
        true => -0.5 * severity,
        false => 0.0,
    }
}

fn nominal_ph(buffer: &Buffer) -> f64 {
    buffer.ph(Celsius::new(25.0)).map_or(7.0, |sourced| sourced.value)
}

/// The part of the cell that a bubble blocks, 0 to 1: it sits, creeps or loses a part every few
/// seconds.
pub(crate) fn blocked_part(ailments: &Ailments, seed: u64, s: f64) -> f64 {
    const SLOT_S: f64 = 3.0;
    let severity = ailments.of(Ailment::Bubble);
    if severity == 0.0 {
        return 0.0;
    }
    let mut slot = libm::floor(s / SLOT_S) as u64;
    // Where it moved to last.
    while slot > 0 && uniform(seed, Stream::BubbleMoves, slot) < 0.6 {
        slot -= 1;
    }
    severity * (0.2 + 0.4 * uniform(seed, Stream::Bubble, slot))
}

/// What a hairline of solution beside the cell adds to its conductance, as a part of it: it draws itself
/// full only where the solution is strong.
pub(crate) fn hairline_part(ailments: &Ailments, us_cm: f64) -> f64 {
    const STRONG_US_CM: f64 = 6_000.0;
    let strength = us_cm / STRONG_US_CM;
    let filled = strength * strength / (1.0 + strength * strength);
    0.25 * ailments.of(Ailment::HairlineShort) * filled
}

/// How far an earth loop pulls the reference while something is driven, in mV.
pub(crate) fn earth_loop_mv(ailments: &Ailments) -> f64 {
    8.0 * ailments.of(Ailment::EarthLoop)
}

/// True while the electrode's plug has no contact: for some seconds at once, up to a third of the time.
pub(crate) fn contact_lost(ailments: &Ailments, seed: u64, s: f64) -> bool {
    const BURST_S: f64 = 4.0;
    let severity = ailments.of(Ailment::LooseContact);
    now_and_then(severity / 3.0, seed, Stream::Contact, s / BURST_S)
}

/// True while a lead of the thermometer is broken: a part of the time that is the severity, for a
/// second or more at once, as a bad contact does.
pub(crate) fn lead_open(ailments: &Ailments, seed: u64, s: f64) -> bool {
    now_and_then(ailments.of(Ailment::ThermometerOpen), seed, Stream::OpenLead, s)
}

/// True while the thermometer's leads touch, likewise.
pub(crate) fn leads_touch(ailments: &Ailments, seed: u64, s: f64) -> bool {
    now_and_then(ailments.of(Ailment::ThermometerShort), seed, Stream::TouchingLeads, s)
}

fn now_and_then(severity: f64, seed: u64, stream: Stream, s: f64) -> bool {
    severity > 0.0 && uniform(seed, stream, libm::floor(s) as u64) < severity
}

#[cfg(test)]
mod tests {
    use super::*;

    const SEVERITIES: [f64; 6] = [0.0, 0.2, 0.4, 0.6, 0.8, 1.0];

    fn rising(values: impl IntoIterator<Item = f64>) -> bool {
        let values: Vec<f64> = values.into_iter().collect();
        values.windows(2).all(|pair| pair[0] < pair[1])
    }

    #[test]
    fn nothing_ails_at_severity_0() {
        let (truth, none) = (Truth::seeded(4), Ailments::default());
        assert_eq!(worn(&truth, &none), truth);
        assert_eq!(cracked_part(&none, 150.0), 0.0);
        for s in [0.0, 1.0, 1e4] {
            assert_eq!(leaked_part(&none, 150.0, 4, s), 0.0);
            assert_eq!(blocked_part(&none, 4, s), 0.0);
            assert!(!lead_open(&none, 4, s) && !leads_touch(&none, 4, s));
            assert!(!contact_lost(&none, 4, s));
        }
        assert_eq!((hairline_part(&none, 1e5), earth_loop_mv(&none)), (0.0, 0.0));
        assert_eq!(thermometer_off_k(&none, 4), 0.0);
    }

    #[test]
    fn everything_grows_with_its_severity() {
        let truth = Truth::seeded(4);
        let with = |ailment, severity| Ailments::only(ailment, severity);
        let aged = |severity| worn(&truth, &with(Ailment::AgeingGlass, severity));
        assert!(rising(SEVERITIES.map(|severity| -aged(severity).slope)));
        assert!(rising(SEVERITIES.map(|severity| aged(severity).glass_slow_s)));
        let crack = |severity| cracked_part(&with(Ailment::CrackedGlass, severity), 150.0);
        assert!(rising(SEVERITIES.map(crack)) && crack(1.0) > 0.99 && crack(0.1) < 0.1);
        let film = |severity| leaked_part(&with(Ailment::WetConnector, severity), 150.0, 4, 9.0);
        assert!(rising(SEVERITIES.map(film)) && film(1.0) < 0.85);
        let bubble = |severity| blocked_part(&with(Ailment::Bubble, severity), 4, 30.0);
        assert!(rising(SEVERITIES.map(bubble)) && bubble(1.0) <= 0.6);
        let off = |severity| thermometer_off_k(&with(Ailment::ThermometerOffset, severity), 4);
        assert!(rising(SEVERITIES.map(|severity| off(severity).abs())));
        let lag = |severity| worn(&truth, &with(Ailment::LaggingThermometer, severity));
        assert!(rising(SEVERITIES.map(|severity| lag(severity).thermometer_s)));
        let short = |severity| hairline_part(&with(Ailment::HairlineShort, severity), 12_880.0);
        assert!(rising(SEVERITIES.map(short)));
        let weak = hairline_part(&with(Ailment::HairlineShort, 1.0), 1_413.0);
        assert!(10.0 * weak < short(1.0), "{weak}");
        assert!(rising(SEVERITIES.map(|s| earth_loop_mv(&with(Ailment::EarthLoop, s)))));
        let lost = |severity| {
            let ailments = with(Ailment::LooseContact, severity);
            (0..4_000).filter(|s| contact_lost(&ailments, 4, f64::from(*s))).count() as f64
        };
        assert!(rising(SEVERITIES.map(lost)) && lost(1.0) < 2_000.0);
        let open = |severity| {
            let ailments = with(Ailment::ThermometerOpen, severity);
            (0..1_000).filter(|s| lead_open(&ailments, 4, f64::from(*s) + 0.5)).count() as f64
        };
        assert!(rising(SEVERITIES.map(open)) && open(1.0) == 1_000.0);
    }

    #[test]
    fn one_bottle_moves_towards_neutral_and_the_others_stay() {
        let named = |name| Content::by_name(name).unwrap();
        let Content::Buffer(acid) = named("technical-4.01") else { panic!("a buffer") };
        let faults = |contaminated| Faults {
            ailments: Ailments::only(Ailment::ContaminatedBuffer, 0.4),
            contaminated,
            ..Faults::default()
        };
        let moved = |name, meant| spoilt_ph(&named(name), &faults(meant));
        assert_eq!(moved("technical-10.01", None), -0.2);
        assert_eq!(moved("technical-4.01", None), 0.0);
        assert_eq!(moved("technical-4.01", Some(acid)), 0.2);
        assert_eq!(moved("technical-10.01", Some(acid)), 0.0);
        assert_eq!(moved("1413", None), 0.0);
        assert_eq!(spoilt_ph(&named("technical-10.01"), &Faults::default()), 0.0);
    }

    #[test]
    fn a_leak_takes_more_when_the_membrane_is_cold() {
        let truth = Truth::seeded(4);
        let wet = Ailments::only(Ailment::WetConnector, 0.5);
        let at = |c| leaked_part(&wet, membrane_mohm(&truth, c), 4, 9.0);
        assert!(at(10.0) > at(25.0) && at(25.0) > at(35.0));
        // Twice per 7.5 K (common practice, no source).
        let ratio = membrane_mohm(&truth, 17.5) / membrane_mohm(&truth, 25.0);
        assert!((ratio - 2.0).abs() < 1e-12, "{ratio}");
    }
}
