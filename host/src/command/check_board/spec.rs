//! How loads are written on the command line.

use rillmark_bench::BuildFault;
use rillmark_procedures::board_check::{Load, Loads};

use super::Options;
use crate::words::en::check_board as words;

/// The cell's resistors by the names that they are called, in the order of [`Loads::cell`].
const RESISTORS: [(&str, f64); 4] = [("100k", 100e3), ("10k", 10e3), ("1k", 1e3), ("100", 100.0)];
/// Nothing is told with loads that are known worse than this, in percent.
const MOST_PERCENT: f64 = 5.0;
/// A load may be this much larger or smaller than what it is called: it has to stay on its range.
const NEAR: f64 = 0.2;
/// Usable resistors in place of a thermometer, in Ω: those of thermometers in water.
const THERMOMETER_OHM: (f64, f64) = (60.0, 50e3);
/// Usable sources in mV: far above the input's zero, within its range.
const SOURCE_MV: (f64, f64) = (50.0, 450.0);
/// Usable resistors in place of a membrane, in Ω.
const MEMBRANE_OHM: (f64, f64) = (10e6, 1e9);

/// The loads; the error is a sentence.
pub(super) fn loads(options: &Options) -> Result<Loads, String> {
    let fraction = percent(&options.tolerance)?;
    let mut loads = Loads::usual(fraction);
    for text in &options.load {
        let unknown = || words::unknown_load(text);
        let (name, of) = text.split_once('=').ok_or_else(unknown)?;
        let index = RESISTORS.iter().position(|(known, _)| *known == name).ok_or_else(unknown)?;
        let nominal = RESISTORS[index].1;
        let range = (nominal * (1.0 - NEAR), nominal * (1.0 + NEAR));
        loads.cell[index] = load(of, fraction, range)?;
    }
    loads.thermometer = load(&options.thermometer, fraction, THERMOMETER_OHM)?;
    loads.source = load(&options.source, fraction, SOURCE_MV)?;
    loads.membrane = match options.membrane.as_str() {
        "none" => None,
        text => Some(load(text, fraction, MEMBRANE_OHM)?),
    };
    Ok(loads)
}

/// The mistake of a name.
pub(super) fn mistake(name: &str) -> Result<BuildFault, String> {
    BuildFault::by_name(name)
        .ok_or_else(|| words::unknown_mistake(name, &BuildFault::ALL.map(BuildFault::name)))
}

/// `9.987k` or `9.987k,0.3%`.
fn load(text: &str, fraction: f64, (min, max): (f64, f64)) -> Result<Load, String> {
    let (value, fraction) = match text.split_once(',') {
        Some((value, of)) => (value, percent(of)?),
        None => (text, fraction),
    };
    let value = number(value).ok_or_else(|| words::bad_value(text))?;
    if !(min..=max).contains(&value) {
        return Err(words::value_out_of_range(text, min, max));
    }
    Ok(Load::within(value, fraction))
}

fn percent(text: &str) -> Result<f64, String> {
    let number = text.trim().trim_end_matches('%').trim_end().parse::<f64>().ok();
    let usable = number.filter(|percent| *percent > 0.0 && *percent <= MOST_PERCENT);
    usable.map(|percent| percent / 100.0).ok_or_else(|| words::bad_percent(text, MOST_PERCENT))
}

/// A number with `k` or `M` behind it where it is large; a comma parts value and percent, so that the
/// decimal point is a point.
fn number(text: &str) -> Option<f64> {
    let text = text.trim();
    let (digits, scale) = match (text.strip_suffix('k'), text.strip_suffix('M')) {
        (Some(digits), _) => (digits, 1e3),
        (_, Some(digits)) => (digits, 1e6),
        _ => (text, 1.0),
    };
    let number: f64 = digits.trim_end().parse().ok()?;
    number.is_finite().then_some(number * scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn options() -> Options {
        Options {
            tolerance: "1".into(),
            load: Vec::new(),
            thermometer: "1k".into(),
            source: "200,0.5%".into(),
            membrane: "100M,5%".into(),
            measured: None,
            answers: None,
            practise: None,
        }
    }

    #[test]
    fn the_defaults_are_the_usual_loads() {
        assert_eq!(loads(&options()), Ok(Loads::usual(0.01)));
    }

    #[test]
    fn loads_are_what_a_meter_said() {
        let load = vec!["10k=9.987k,0.3%".into(), "100=99.2".into()];
        let measured = Options {
            tolerance: "0.5%".into(),
            load,
            thermometer: "1001.5,0.1%".into(),
            membrane: "none".into(),
            ..options()
        };
        let loads = loads(&measured).expect("usable");
        assert_eq!(loads.cell[1], Load::within(9_987.0, 0.003));
        assert_eq!(loads.cell[3], Load::within(99.2, 0.005));
        assert_eq!(loads.cell[0], Load::within(100e3, 0.005));
        assert_eq!(loads.thermometer, Load::within(1_001.5, 0.001));
        assert_eq!(loads.membrane, None);
    }

    #[test]
    fn what_cannot_be_used_is_a_sentence() {
        let of = |change: fn(&mut Options)| {
            let mut options = options();
            change(&mut options);
            loads(&options)
        };
        let changes: [fn(&mut Options); 12] = [
            |o| o.tolerance = "0".into(),
            |o| o.tolerance = "20".into(),
            |o| o.tolerance = "much".into(),
            |o| o.load = vec!["10k".into()],
            |o| o.load = vec!["47k=47k".into()],
            |o| o.load = vec!["10k=99k".into()],
            |o| o.load = vec!["10k=ten".into()],
            |o| o.load = vec!["10k=10k,NaN".into()],
            |o| o.thermometer = "10".into(),
            |o| o.source = "1500".into(),
            |o| o.source = "NaN".into(),
            |o| o.membrane = "1k".into(),
        ];
        for change in changes {
            let sentence = of(change).expect_err("not usable");
            assert!(sentence.ends_with('.'), "{sentence}");
        }
        assert!(mistake("gremlins").is_err_and(|sentence| sentence.contains("guard-joint")));
    }
}
