//! Control lines: what a person or a test does to the bench while it runs.

use rillmark_bench::{Ailment, Beaker, BuildFault, Content, Faults, Loads, VirtualProbe};
use rillmark_metrology::reference::buffers::Buffer;
use rillmark_proto::reference::compensation::DEFAULT_PER_KELVIN;
use serde_json::{Value, json};

use crate::words::en::virtual_bench as words;

/// Temperature in °C of a beaker when the line names none.
const ROOM_C: f64 = 25.0;

/// A control line, understood.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Control {
    Place(Beaker),
    Connect(Loads),
    Fault(Fault),
    Clear,
    Stir(bool),
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
    Ailment(Ailment, f64),
    Contaminated(f64, Option<&'static Buffer>),
    AdcSilent,
    ClockSilent,
    ElectrodeOpen,
    CellOpen,
    WrongBeaker(Beaker),
    Build(BuildFault),
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
    reference_c: f64,
    ph: Option<f64>,
    conductivity_us_cm: f64,
    stirred: bool,
    plugged: bool,
    faults: Vec<String>,
    loads: Option<Loads>,
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

fn severity(word: Option<&&str>) -> Result<f64, String> {
    let severity = number("the severity", word)?;
    if (0.0..=1.0).contains(&severity) { Ok(severity) } else { Err(words::bad_severity(severity)) }
}

fn buffer(name: &str) -> Result<&'static Buffer, String> {
    match Content::by_name(name) {
        Ok(Content::Buffer(buffer)) => Ok(buffer),
        Ok(_) => Err(words::no_buffer(name)),
        Err(error) => Err(error.to_string()),
    }
}

/// `cell=OHM`, `thermometer=OHM`, `ph=MV` or `ph=MV,OHM`, and `joined` for the reference
/// terminal at the cell's top, each at most once; what is not named is open.
fn loads(words: &[&str]) -> Result<Loads, String> {
    let mut loads = Loads::default();
    for word in words {
        let unknown = || words::unknown_terminal(word);
        if *word == "joined" && !loads.is_joined {
            loads.is_joined = true;
            continue;
        }
        let (name, of) = word.split_once('=').ok_or_else(unknown)?;
        let ohm = |text: &str| {
            let ohm = number("the resistance", Some(&text))?;
            if ohm >= 0.0 { Ok(ohm) } else { Err(words::bad_number("the resistance")) }
        };
        match name {
            "cell" if loads.cell_ohm.is_none() => loads.cell_ohm = Some(ohm(of)?),
            "thermometer" if loads.thermometer_ohm.is_none() => {
                loads.thermometer_ohm = Some(ohm(of)?);
            }
            "ph" if loads.electrode.is_none() => {
                let (mv, through) = of.split_once(',').unwrap_or((of, "0"));
                loads.electrode = Some((number("the potential", Some(&mv))?, ohm(through)?));
            }
            _ => return Err(unknown()),
        }
    }
    Ok(loads)
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
        ["connect", rest @ ..] => Control::Connect(loads(rest)?),
        ["fault", rest @ ..] => Control::Fault(match rest {
            ["dropped-bytes", of] => Fault::DroppedBytes(part(Some(of))?),
            ["damaged-bytes", of] => Fault::DamagedBytes(part(Some(of))?),
            ["adc-silent"] => Fault::AdcSilent,
            ["clock-silent"] => Fault::ClockSilent,
            ["electrode-open"] => Fault::ElectrodeOpen,
            ["cell-open"] => Fault::CellOpen,
            ["wrong-beaker", rest @ ..] if (1..=2).contains(&rest.len()) => {
                Fault::WrongBeaker(beaker(rest)?)
            }
            ["contaminated-buffer", of, name] => {
                Fault::Contaminated(severity(Some(of))?, Some(buffer(name)?))
            }
            ["contaminated-buffer"] => Fault::Contaminated(1.0, None),
            ["contaminated-buffer", of] => Fault::Contaminated(severity(Some(of))?, None),
            [name] if let Some(fault) = BuildFault::by_name(name) => Fault::Build(fault),
            [name, rest @ ..] if rest.len() <= 1 => {
                let ailment = Ailment::by_name(name).ok_or_else(|| words::unknown_line(line))?;
                let severity = if rest.is_empty() { 1.0 } else { severity(rest.first())? };
                Fault::Ailment(ailment, severity)
            }
            _ => return Err(words::unknown_line(line)),
        }),
        ["clear"] => Control::Clear,
        ["stir"] => Control::Stir(true),
        ["still"] => Control::Stir(false),
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
        Fault::Ailment(ailment, severity) => {
            faults.ailments = faults.ailments.with(ailment, severity);
        }
        Fault::Contaminated(severity, buffer) => {
            faults.ailments = faults.ailments.with(Ailment::ContaminatedBuffer, severity);
            faults.contaminated = buffer;
        }
        Fault::AdcSilent => faults.adc_silent = true,
        Fault::ClockSilent => faults.clock_silent = true,
        Fault::ElectrodeOpen => faults.electrode_open = true,
        Fault::CellOpen => faults.cell_open = true,
        Fault::WrongBeaker(beaker) => faults.wrong_beaker = Some(beaker),
        Fault::Build(fault) => faults.build = Some(fault),
    }
}

/// The faults in force, each as the line that brings it about.
fn lines(faults: &Faults) -> Vec<String> {
    let Faults {
        dropped_bytes,
        damaged_bytes,
        ailments,
        contaminated,
        adc_silent,
        clock_silent,
        electrode_open,
        cell_open,
        wrong_beaker,
        build,
    } = faults;
    let part = |part: f64, name: &str| (part > 0.0).then(|| format!("{name} {part}"));
    let whole = |in_force: bool, name: &str| in_force.then(|| name.to_owned());
    let bottle = |ailment| match contaminated {
        Some(buffer) if ailment == Ailment::ContaminatedBuffer => format!(" {}", buffer.name()),
        _ => String::new(),
    };
    let ailing = ailments
        .in_force()
        .map(|(ailment, severity)| format!("{} {severity}{}", ailment.name(), bottle(ailment)));
    let wrong = wrong_beaker.map(|Beaker { content, temperature_c }| {
        format!("wrong-beaker {} {temperature_c}", content.name())
    });
    [part(*dropped_bytes, "dropped-bytes"), part(*damaged_bytes, "damaged-bytes")]
        .into_iter()
        .flatten()
        .chain(ailing)
        .chain(
            [
                whole(*adc_silent, "adc-silent"),
                whole(*clock_silent, "clock-silent"),
                whole(*electrode_open, "electrode-open"),
                whole(*cell_open, "cell-open"),
                wrong,
                build.map(|fault| fault.name().to_owned()),
            ]
            .into_iter()
            .flatten(),
        )
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
            reference_c: probe.reference_c(),
            ph: water.ph,
            conductivity_us_cm: water.conductivity_us_cm,
            stirred: probe.is_stirred(),
            plugged: probe.is_plugged(),
            faults: lines(&probe.faults()),
            loads: probe.loads(),
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
                reference_c: status.reference_c,
                ph: status.ph,
                conductivity_us_cm: status.conductivity_us_cm,
                stirred: status.stirred,
                plugged: status.plugged,
                faults: &status.faults,
                connected: status.loads.is_some(),
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
                "reference_c": status.reference_c,
                "ph": status.ph,
                "conductivity_us_cm": status.conductivity_us_cm,
                "stirred": status.stirred,
                "plugged": status.plugged,
                "faults": status.faults,
                "connected": status.loads.map(|loads| json!({
                    "cell_ohm": loads.cell_ohm,
                    "thermometer_ohm": loads.thermometer_ohm,
                    "source_mv": loads.electrode.map(|(mv, _)| mv),
                    "source_ohm": loads.electrode.map(|(_, ohm)| ohm),
                    "joined": loads.is_joined,
                })),
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
            ("fault hum 0.3", Control::Fault(Fault::Ailment(Ailment::Hum, 0.3))),
            (
                "fault thermometer-open",
                Control::Fault(Fault::Ailment(Ailment::ThermometerOpen, 1.0)),
            ),
            ("connect", Control::Connect(Loads::default())),
            (
                "connect ph=-200,1e8 cell=1000",
                Control::Connect(Loads {
                    cell_ohm: Some(1e3),
                    thermometer_ohm: None,
                    electrode: Some((-200.0, 1e8)),
                    is_joined: false,
                }),
            ),
            (
                "connect joined cell=10000",
                Control::Connect(Loads {
                    cell_ohm: Some(1e4),
                    is_joined: true,
                    ..Loads::default()
                }),
            ),
            ("fault guard-joint", Control::Fault(Fault::Build(BuildFault::GuardJoint))),
            ("stir", Control::Stir(true)),
            ("still", Control::Stir(false)),
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
            "fault hum 2",
            "fault hum loud",
            "fault hum 0.1 0.2",
            "fault contaminated-buffer 0.1 1413",
            "fault contaminated-buffer 0.1 tea",
            "connect cell",
            "connect cell=-1",
            "connect cell=1 cell=2",
            "connect ph=high",
            "connect antenna=1",
            "stir 3",
            "speed 0",
            "speed NaN",
            "sample 7",
            "explode",
        ] {
            assert!(parse(line).is_err(), "{line}");
        }
    }

    #[test]
    fn every_fault_shows_as_the_line_that_brings_it_about() {
        let ailments = Ailment::ALL.map(|ailment| format!("{} 0.25", ailment.name()));
        let others = [
            "dropped-bytes 0.5",
            "damaged-bytes 0.5",
            "contaminated-buffer 0.25 technical-4.01",
            "adc-silent",
            "clock-silent",
            "electrode-open",
            "cell-open",
            "wrong-beaker air 25",
            "guard-joint",
        ];
        for line in ailments.iter().map(String::as_str).chain(others) {
            let Ok(Control::Fault(fault)) = parse(&format!("fault {line}")) else {
                panic!("{line} is a fault");
            };
            let mut faults = Faults::default();
            add(&mut faults, fault);
            assert_eq!(lines(&faults), [line]);
        }
    }
}
