//! How a kind of thermometer is written on the command line.

use rillmark_proto::calibration::temperature::{PT1000, R0_RANGE, Thermometer};
use rillmark_proto::reference::thermistor;

use crate::words::en::standard as words;

/// Understands `pt1000`, `pt100`, `platinum:R0`, `thermistor:R25,BETA` or `steinhart-hart:A,B,C`; the
/// error is a sentence.
pub(in crate::command) fn parse(text: &str) -> Result<Thermometer, String> {
    let number = |text: &str| text.trim().parse().ok().filter(|number: &f64| number.is_finite());
    let within = |got: f64, (min, max): (f64, f64), what: &str| {
        let fits = (min..=max).contains(&got);
        if fits { Ok(got) } else { Err(words::bad_thermometer(what, got, min, max)) }
    };
    let platinum =
        |r0_ohm| Ok(Thermometer::Platinum { r0_ohm: within(r0_ohm, R0_RANGE, words::OHM_AT_0_C)? });
    match (text, text.split_once(':')) {
        ("pt1000", _) => Ok(PT1000),
        ("pt100", _) => platinum(100.0),
        (_, Some(("platinum", r0))) => match number(r0) {
            Some(r0_ohm) => platinum(r0_ohm),
            None => Err(words::unknown_thermometer(text)),
        },
        (_, Some(("thermistor", both))) => {
            let both = both.split_once(',').and_then(|(r25, beta)| number(r25).zip(number(beta)));
            let (r25, beta) = both.ok_or_else(|| words::unknown_thermometer(text))?;
            Ok(Thermometer::Thermistor {
                r25_ohm: within(r25, thermistor::R25_RANGE, words::OHM_AT_25_C)?,
                beta_k: within(beta, thermistor::BETA_RANGE, words::BETA)?,
            })
        }
        (_, Some(("steinhart-hart", three))) => {
            let mut numbers = three.split(',').map(number);
            let (Some(Some(a)), Some(Some(b)), Some(Some(c)), None) =
                (numbers.next(), numbers.next(), numbers.next(), numbers.next())
            else {
                return Err(words::unknown_thermometer(text));
            };
            let [of_a, of_b, of_c] = thermistor::STEINHART_HART_RANGES;
            Ok(Thermometer::SteinhartHart {
                a: within(a, of_a, words::STEINHART_HART_A)?,
                b: within(b, of_b, words::STEINHART_HART_B)?,
                c: within(c, of_c, words::STEINHART_HART_C)?,
            })
        }
        _ => Err(words::unknown_thermometer(text)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_is_understood_or_a_sentence() {
        let ntc = Thermometer::Thermistor { r25_ohm: 10_000.0, beta_k: 3950.0 };
        for (text, kind) in [
            ("pt1000", PT1000),
            ("pt100", Thermometer::Platinum { r0_ohm: 100.0 }),
            ("platinum:500", Thermometer::Platinum { r0_ohm: 500.0 }),
            ("thermistor:10000,3950", ntc),
            ("thermistor:10000, 3950", ntc),
            (
                "steinhart-hart:1.40e-3,2.37e-4,9.90e-8",
                Thermometer::SteinhartHart { a: 1.4e-3, b: 2.37e-4, c: 9.9e-8 },
            ),
        ] {
            assert_eq!(parse(text), Ok(kind), "{text}");
        }
        for text in [
            "",
            "pt",
            "platinum",
            "platinum:",
            "platinum:50",
            "thermistor:10000",
            "thermistor:10000,39",
            "thermistor:10,3950",
            "thermistor:NaN,3950",
            "copper:100",
            "steinhart-hart:1.4e-3,2.37e-4",
            "steinhart-hart:1.4e-3,2.37e-4,9.9e-8,0",
            "steinhart-hart:1.4e-3,2.37e-4,-9.9e-8",
            "steinhart-hart:1.4,2.37e-4,9.9e-8",
        ] {
            assert!(parse(text).expect_err(text).ends_with('.'), "{text}");
        }
    }
}
