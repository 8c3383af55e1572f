//! Control lines: what a person or a test does to the bench while it runs.

use rillmark_bench::faults::Thermometer;
use rillmark_bench::{Beaker, Content, Faults, VirtualProbe};
use rillmark_proto::reference::compensation::DEFAULT_PER_KELVIN;
use serde_json::{Value, json};

use crate::words::en::virtual_bench as words;

/// Temperature in °C of a beaker when the line names none.
const ROOM_C: f64 = 25.0;

/// A control line, understood.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Control {
    Place(Beaker),
    Fault(Fault),
    Clear,
    PowerCycle,
    Unplug,
    Plug,
    Speed(f64),
    Status,
}

/// One fault.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Fault {
    DroppedBytes(f64),
    DamagedBytes(f64),
    Thermometer(Thermometer),
    AdcSilent,
    ClockSilent,
    ElectrodeOpen,
    CellOpen,
    WrongBeaker(Beaker),
}

/// What a line came to.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Reply {
    Done,
    /// Plugged in again, and served here.
    At(String),
    Status(Status),
}

/// The bench at a moment.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Status {
    at: String,
    simulated_ms: u64,
    beaker: &'static str,
    temperature_c: f64,
    ph: Option<f64>,
    conductivity_us_cm: f64,
    plugged: bool,
    faults: Vec<&'static str>,
}

/// A speed that makes sense.
pub(super) fn check_speed(speed: f64) -> Result<f64, String> {
    if (0.01..=100_000.0).contains(&speed) { Ok(speed) } else { Err(words::bad_speed(speed)) }
}

fn number(what: &str, word: Option<&&str>) -> Result<f64, String> {
    word.and_then(|word| word.parse().ok())
        .filter(|number: &f64| number.is_finite())
        .ok_or_else(|| words::bad_number(what))
}

fn temperature(word: Option<&&str>) -> Result<f64, String> {
    if word.is_none() { Ok(ROOM_C) } else { number("the temperature", word) }
}

fn beaker(words: &[&str]) -> Result<Beaker, String> {
    let name = words.first().copied().unwrap_or_default();
    Beaker::named(name, temperature(words.get(1))?).map_err(|error| error.to_string())
}

fn part(word: Option<&&str>) -> Result<f64, String> {
    let part = number("the part", word)?;
    if (0.0..=1.0).contains(&part) { Ok(part) } else { Err(words::bad_part(part)) }
}

/// Understands a line.
pub(super) fn parse(line: &str) -> Result<Control, String> {
    let all: Vec<&str> = line.split_whitespace().collect();
    Ok(match all.as_slice() {
        ["beaker", rest @ ..] if (1..=2).contains(&rest.len()) => Control::Place(beaker(rest)?),
        ["sample", rest @ ..] if (2..=3).contains(&rest.len()) => Control::Place(Beaker {
            content: Content::Sample {
                ph: number("the pH", rest.first())?,
                specific_us_cm: number("the conductivity", rest.get(1))?,
                per_kelvin: DEFAULT_PER_KELVIN,
            },
            temperature_c: temperature(rest.get(2))?,
        }),
        ["fault", rest @ ..] => Control::Fault(match rest {
            ["dropped-bytes", of] => Fault::DroppedBytes(part(Some(of))?),
            ["damaged-bytes", of] => Fault::DamagedBytes(part(Some(of))?),
            ["thermometer-open"] => Fault::Thermometer(Thermometer::Open),
            ["thermometer-short"] => Fault::Thermometer(Thermometer::Short),
            ["adc-silent"] => Fault::AdcSilent,
            ["clock-silent"] => Fault::ClockSilent,
            ["electrode-open"] => Fault::ElectrodeOpen,
            ["cell-open"] => Fault::CellOpen,
            ["wrong-beaker", rest @ ..] if (1..=2).contains(&rest.len()) => {
                Fault::WrongBeaker(beaker(rest)?)
            }
            _ => return Err(words::unknown_line(line)),
        }),
        ["clear"] => Control::Clear,
        ["power-cycle"] => Control::PowerCycle,
        ["unplug"] => Control::Unplug,
        ["plug"] => Control::Plug,
        ["speed", of] => Control::Speed(check_speed(number("the speed", Some(of))?)?),
        ["status"] => Control::Status,
        _ => return Err(words::unknown_line(line)),
    })
}

/// Adds a fault to those in force.
pub(super) fn add(faults: &mut Faults, fault: Fault) {
    match fault {
        Fault::DroppedBytes(part) => faults.dropped_bytes = part,
        Fault::DamagedBytes(part) => faults.damaged_bytes = part,
        Fault::Thermometer(how) => faults.thermometer = how,
        Fault::AdcSilent => faults.adc_silent = true,
        Fault::ClockSilent => faults.clock_silent = true,
        Fault::ElectrodeOpen => faults.electrode_open = true,
        Fault::CellOpen => faults.cell_open = true,
        Fault::WrongBeaker(beaker) => faults.wrong_beaker = Some(beaker),
    }
}

fn names(faults: &Faults) -> Vec<&'static str> {
    let Faults {
        dropped_bytes,
        damaged_bytes,
        thermometer,
        adc_silent,
        clock_silent,
        electrode_open,
        cell_open,
        wrong_beaker,
    } = faults;
    [
        (*dropped_bytes > 0.0, "dropped-bytes"),
        (*damaged_bytes > 0.0, "damaged-bytes"),
        (*thermometer == Thermometer::Open, "thermometer-open"),
        (*thermometer == Thermometer::Short, "thermometer-short"),
        (*adc_silent, "adc-silent"),
        (*clock_silent, "clock-silent"),
        (*electrode_open, "electrode-open"),
        (*cell_open, "cell-open"),
        (wrong_beaker.is_some(), "wrong-beaker"),
    ]
    .into_iter()
    .filter_map(|(in_force, name)| in_force.then_some(name))
    .collect()
}

impl Status {
    pub(super) fn of(probe: &VirtualProbe, at: &str) -> Self {
        let water = probe.water();
        Self {
            at: at.to_owned(),
            simulated_ms: probe.now_ms(),
            beaker: probe.beaker().content.name(),
            temperature_c: water.temperature_c,
            ph: water.ph,
            conductivity_us_cm: water.conductivity_us_cm,
            plugged: probe.is_plugged(),
            faults: names(&probe.faults()),
        }
    }
}

impl Reply {
    pub(super) fn text(&self) -> String {
        match self {
            Self::Done => words::OK.to_owned(),
            Self::At(at) => format!("{} {at}", words::OK),
            Self::Status(status) => words::state(&words::State {
                seconds: status.simulated_ms as f64 / 1e3,
                beaker: status.beaker,
                temperature_c: status.temperature_c,
                ph: status.ph,
                conductivity_us_cm: status.conductivity_us_cm,
                plugged: status.plugged,
                faults: &status.faults,
            }),
        }
    }

    pub(super) fn json(&self) -> Value {
        match self {
            Self::Done => json!({"ok": true}),
            Self::At(at) => json!({"ok": true, "serving": at}),
            Self::Status(status) => json!({
                "ok": true,
                "serving": status.at,
                "simulated_ms": status.simulated_ms,
                "beaker": status.beaker,
                "temperature_c": status.temperature_c,
                "ph": status.ph,
                "conductivity_us_cm": status.conductivity_us_cm,
                "plugged": status.plugged,
                "faults": status.faults,
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_understood_or_refused() {
        let place = |name: &str, c| Control::Place(Beaker::named(name, c).unwrap());
        let cases = [
            ("beaker 1413", place("kcl-0.01-mol-per-l", 25.0)),
            ("  beaker technical-7.00   21.5 ", place("technical-7.00", 21.5)),
            ("fault adc-silent", Control::Fault(Fault::AdcSilent)),
            ("fault damaged-bytes 0.01", Control::Fault(Fault::DamagedBytes(0.01))),
            ("clear", Control::Clear),
            ("speed 20", Control::Speed(20.0)),
        ];
        for (line, control) in cases {
            assert_eq!(parse(line), Ok(control), "{line}");
        }
        for line in [
            "",
            "beaker",
            "beaker tea",
            "beaker 1413 warm",
            "beaker air 20 30",
            "fault",
            "fault gremlins",
            "fault dropped-bytes",
            "fault dropped-bytes 2",
            "speed 0",
            "speed NaN",
            "sample 7",
            "explode",
        ] {
            assert!(parse(line).is_err(), "{line}");
        }
    }

    #[test]
    fn every_fault_shows_under_the_name_that_set_it() {
        for line in [
            "dropped-bytes 0.5",
            "damaged-bytes 0.5",
            "thermometer-open",
            "thermometer-short",
            "adc-silent",
            "clock-silent",
            "electrode-open",
            "cell-open",
            "wrong-beaker air",
        ] {
            let Ok(Control::Fault(fault)) = parse(&format!("fault {line}")) else {
                panic!("{line} is a fault");
            };
            let mut faults = Faults::default();
            add(&mut faults, fault);
            assert_eq!(names(&faults), [line.split(' ').next().unwrap()]);
        }
    }
}
