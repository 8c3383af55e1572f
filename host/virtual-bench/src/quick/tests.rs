use super::{QuickProbe, comb};
use crate::faults::{Ailment, Ailments, Faults};
use crate::truth::Truth;
use crate::water::Beaker;

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    values.iter().sum::<f64>() / values.len() as f64
}

fn ailing(ailment: Ailment, severity: f64) -> Faults {
    Faults { ailments: Ailments::only(ailment, severity), ..Faults::default() }
}

#[test]
fn the_closed_form_of_the_hum_is_its_sum() {
    let truth = Truth { mains_hz: 50.08, hum_phase: 0.7, ..Truth::seeded(2) };
    let omega = core::f64::consts::TAU * truth.mains_hz;
    for from in [0.0, 1.234, 77.7] {
        let sum: f64 =
            (0..100).map(|n| (omega * (from + f64::from(n) * 2e-3) + 0.7).sin()).sum::<f64>();
        let got = comb(&truth, from, 100, 2_000);
        assert!((got - sum / 100.0).abs() < 1e-9, "{got} for {sum}");
    }
}

#[test]
fn readings_are_flagged_as_the_firmware_does() {
    use rillmark_proto::reading::Flags;
    let cases = [
        (ailing(Ailment::ThermometerOpen, 1.0), Flags::THERMOMETER_OPEN),
        (ailing(Ailment::ThermometerShort, 1.0), Flags::THERMOMETER_SHORT),
        (Faults { cell_open: true, ..Faults::default() }, Flags::CELL_OPEN),
        (Faults::default(), Flags::NONE),
    ];
    for (faults, flags) in cases {
        let mut probe = QuickProbe::new(3, Truth::seeded(3), faults);
        probe.place(Beaker::named("1413", 25.0).unwrap()).unwrap();
        probe.wait_ms(60_000);
        assert_eq!(probe.conductivity_reading().flags, flags);
    }
}

#[test]
fn hum_shows_from_reading_to_reading_and_not_in_the_mean() {
    let rest = |severity| {
        let mut probe = QuickProbe::new(3, Truth::seeded(3), ailing(Ailment::Hum, severity));
        probe.place(Beaker::named("technical-7.00", 25.0).unwrap()).unwrap();
        probe.wait_ms(200_000);
        let mv: Vec<f64> =
            (0..200).map(|_| probe.ph_reading().raw.potential().expect("in range").get()).collect();
        let step = mean(mv.windows(2).map(|pair| (pair[1] - pair[0]).abs()));
        (mean(mv.into_iter()), step)
    };
    let ((quiet, still), (loud, shaken)) = (rest(0.0), rest(1.0));
    assert!(shaken > 10.0 * still, "{shaken} and {still}");
    assert!((quiet - loud).abs() < 0.1, "{quiet} and {loud}");
}
