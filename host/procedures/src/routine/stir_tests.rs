use super::*;
use rillmark_proto::reading::{CalibrationsUsed, Computed, ProbeTime, Raw};

/// Resistance of a Pt1000 at 25 °C in mΩ; IEC 60751, recalled, not checked.
const AT_25_MILLIOHM: u32 = 1_097_347;

/// A reading of start 1 at `ms`; pH 7 at 0 mV and 59.16 mV per pH, as a nominal electrode at 25 °C.
fn reading(ms: u64, mv: f64) -> Reading {
    Reading {
        running: 0,
        time: ProbeTime { boot: 1, ms },
        raw: Raw {
            potential_nv: Some((mv * 1e6) as i32),
            conductance: None,
            thermometer_milliohm: Some(AT_25_MILLIOHM),
        },
        flags: Flags::NONE,
        computed: Computed {
            temperature_c: Some(25.0),
            ph: Some((7.0 - mv / 59.16) as f32),
            ..Computed::default()
        },
        calibrations: CalibrationsUsed::default(),
    }
}

/// Listens from `from_ms` on to a potential half a second apart.
fn listened(from_ms: u64, mv: impl Fn(u64) -> f64) -> Rest {
    let mut listener = Listener::new(LEAST_PATIENCE_MS);
    for n in 0..400 {
        if let Heard::Rest(rest) = listener.reading(&reading(from_ms + 500 * n, mv(n))) {
            return rest;
        }
    }
    panic!("patience has an end");
}

/// A scatter of ±0.05 mV.
fn scattered(mv: f64) -> impl Fn(u64) -> f64 {
    move |n| mv + if n.is_multiple_of(2) { 0.05 } else { -0.05 }
}

/// Before, stirred, after, half a minute apart.
fn compared(mv: [f64; 3], us_cm: Option<f64>) -> Comparison {
    let [before, stirred, after] = mv;
    compare(
        &listened(0, scattered(before)),
        &listened(30_000, scattered(stirred)),
        &listened(60_000, scattered(after)),
        us_cm.map(MicrosiemensPerCm::new),
    )
    .unwrap()
}

#[test]
fn a_steady_potential_comes_to_rest_with_its_scatter() {
    let rest = listened(5_000, scattered(59.16));
    assert!(libm::fabs(rest.ph - 6.0) < 1e-4 && rest.temperature_c == 25.0 && rest.settled);
    // 0.05 mV at 59.16 mV per pH is 0.00085 pH.
    assert!((0.0008..0.001).contains(&rest.u_ph), "{}", rest.u_ph);
    assert!(rest.waited_ms >= POTENTIAL.span_ms && rest.waited_ms < POTENTIAL.span_ms + 8_000);
}

/// Steps of ±1 mV every 12 s: five blocks of which three stand on one side.
#[test]
fn a_restless_potential_is_taken_as_the_mean_of_its_blocks() {
    let rest = listened(0, |n| if (n / 24).is_multiple_of(2) { 1.0 } else { -1.0 });
    assert!(!rest.settled && rest.waited_ms >= LEAST_PATIENCE_MS);
    // Means of +1, −1, +1, −1, +1 mV or their negative: mean 0.2 mV, deviation 1.095 mV, and of the
    // mean 0.49 mV, times 1.388.
    assert!(libm::fabs(libm::fabs(rest.ph - 7.0) - 0.2 / 59.16) < 2e-4, "{}", rest.ph);
    assert!(libm::fabs(rest.u_ph - 0.68 / 59.16) < 5e-4, "{}", rest.u_ph);
    // More patience waits longer for it.
    let mut listener = Listener::new(200_000);
    let waiting = |n: u64| if (n / 24).is_multiple_of(2) { 1.0 } else { -1.0 };
    assert!(
        (0..400).all(|n| { listener.reading(&reading(500 * n, waiting(n))) == Heard::Waiting })
    );
}

/// The limit of 0.02 pH is 1.18 mV; the scatter makes U about 0.002 pH, 0.12 mV.
#[test]
fn the_difference_is_judged_with_its_uncertainty() {
    for (stirred_mv, verdict, code) in [
        (0.3, Verdict::Pass, "stir-alike"),
        (-0.3, Verdict::Pass, "stir-alike"),
        (1.18, Verdict::CannotTell, "stir-unclear"),
        (-1.18, Verdict::CannotTell, "stir-unclear"),
        (3.0, Verdict::Fail, "stir-differs"),
    ] {
        let comparison = compared([0.0, stirred_mv, 0.0], None);
        assert_eq!(comparison.decision.verdict, verdict, "{stirred_mv} mV");
        let codes: std::vec::Vec<_> = comparison.judgements().map(|said| said.code()).collect();
        assert_eq!(codes, [code]);
        assert!(libm::fabs(comparison.difference_ph + stirred_mv / 59.16) < 1e-5);
        assert!((0.000_9..0.001_3).contains(&comparison.u_difference_ph), "{comparison:?}");
    }
}

/// An electrode that creeps from 0 to 3 mV is halfway when it is stirred.
#[test]
fn a_creeping_electrode_drops_out_and_tells_less() {
    let creeping = compared([0.0, 1.5, 3.0], None);
    assert!(libm::fabs(creeping.difference_ph) < 1e-4, "{creeping:?}");
    let steady = compared([0.0, 0.0, 0.0], None);
    // Half of 3 mV over √3 is 0.0146 pH.
    assert!(steady.u_difference_ph < 0.003 && creeping.u_difference_ph > 0.014);
    assert_eq!(creeping.decision.verdict, Verdict::CannotTell);
}

#[test]
fn only_a_difference_makes_the_junction_less_certain() {
    for us_cm in [None, Some(20.0), Some(400.0), Some(50_000.0)] {
        let usual = residual_junction(us_cm.map(MicrosiemensPerCm::new)).value;
        assert_eq!(compared([0.0, 0.2, 0.0], us_cm).u_junction_ph, usual);
        let worse = compared([0.0, 6.0, 0.0], us_cm);
        // 6 mV are 0.1014 pH, over √3.
        let expected = libm::hypot(usual, 0.1014 / libm::sqrt(3.0));
        assert!(libm::fabs(worse.u_junction_ph - expected) < 1e-4, "{worse:?}");
    }
}

#[test]
fn what_did_not_come_to_rest_is_said() {
    let restless = listened(0, |n| if (n / 24).is_multiple_of(2) { 0.4 } else { -0.4 });
    let comparison = compare(
        &restless,
        &listened(200_000, scattered(8.0)),
        &listened(230_000, scattered(0.0)),
        Some(MicrosiemensPerCm::new(30.0)),
    )
    .unwrap();
    assert_eq!(comparison.restless_u_ph, Some(restless.u_ph));
    let codes: std::vec::Vec<_> = comparison.judgements().map(|said| said.code()).collect();
    assert_eq!(codes, ["stir-differs", "stir-restless"]);
}

#[test]
fn what_cannot_be_used_is_said() {
    let mut listener = Listener::new(LEAST_PATIENCE_MS);
    let mut bad = reading(0, 0.0);
    bad.flags = Flags::THERMOMETER_OPEN;
    assert!(matches!(
        listener.reading(&bad),
        Heard::Unusable(Judgement::ReadingFlagged { flags }) if flags == bad.flags.0
    ));
    bad = reading(0, 0.0);
    bad.raw.potential_nv = None;
    assert_eq!(listener.reading(&bad), Heard::Unusable(Judgement::SignalMissing {}));
    bad = reading(0, 0.0);
    bad.computed.temperature_c = None;
    assert_eq!(listener.reading(&bad), Heard::Unusable(Judgement::TemperatureMissing {}));
    bad = reading(0, 0.0);
    bad.computed.ph = None;
    assert_eq!(listener.reading(&bad), Heard::NotCalibrated);
}

#[test]
fn a_restart_in_between_is_no_comparison() {
    let [before, mut stirred, after] = [0, 30_000, 60_000].map(|ms| listened(ms, scattered(0.0)));
    let with = |stirred: &Rest, after: &Rest| compare(&before, stirred, after, None);
    assert!(with(&stirred, &after).is_ok());
    assert_eq!(with(&after, &stirred), Err(ComparisonError::OutOfOrder));
    stirred.at.0 = 2;
    assert_eq!(with(&stirred, &after), Err(ComparisonError::Restarted));
    // Within one listening it begins anew.
    let mut listener = Listener::new(LEAST_PATIENCE_MS);
    for n in 0..23 {
        assert_eq!(listener.reading(&reading(500 * n, 0.0)), Heard::Waiting);
    }
    for n in 0..23 {
        let mut again = reading(500 * n, 0.0);
        again.time.boot = 2;
        assert_eq!(listener.reading(&again), Heard::Waiting);
    }
}
