//! The thermometer, with the real binary over a real pseudo-terminal: calibrated beside a reference,
//! kept over a power cut, used by conductivity and pH, replayed.
#![cfg(unix)]

use std::path::Path;

use rillmark::exit::Exit;
use rillmark_tests::binary::rillmark;
use rillmark_tests::guided::{Operator, calibrate, codes, lines, no_decision, object, run};
use rillmark_tests::virtual_process::VirtualProcess;
use serde_json::Value;

fn probe(folder: &Path, further: &[&str]) -> VirtualProcess {
    let link = folder.join("probe");
    let link = link.to_str().expect("a plain path");
    let arguments = ["--pty", "--speed", "200", "--link", link, "--seed", "11"];
    VirtualProcess::start(&[&arguments[..], further].concat())
}

/// What the probe reads too much in a bath of this temperature once it has come to rest, in K.
fn error_k(probe: &mut VirtualProcess, celsius: f64) -> f64 {
    probe.order(&format!("beaker bath {celsius}"));
    // A reading takes 1.4 s of probe time: 60 s are 12 of the slowest time constants.
    let output = run(probe, &["watch", "--only", "conductivity", "--count", "45"]);
    let readings = lines(&output);
    let last = &readings[readings.len() - 5..];
    let sum: f64 = last.iter().map(|reading| reading["temperature_c"].as_f64().expect("one")).sum();
    sum / 5.0 - celsius
}

/// A bath of 4 °C, then one of 34 °C.
fn two_baths(_: &str, placed: u64) -> String {
    format!("bath {}", 4 + 30 * placed)
}

fn finished(said: &[Value]) -> &Value {
    &said.last().expect("an end")["record"]
}

#[test]
fn a_thermometer_is_corrected_at_two_temperatures_and_everything_uses_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut probe = probe(folder.path(), &[]);
    object(&probe, &["equip", "--electrode", "E-1", "--cell", "K-1", "--thermometer", "T-1"]);
    let baths = [0.0, 15.0, 25.0, 40.0];
    let before = baths.map(|celsius| error_k(&mut probe, celsius));
    // The bench's thermometer, its reference resistor and their tolerances are some tenths of a kelvin.
    assert!(before.iter().any(|error| error.abs() > 0.1), "{before:?}");

    let reference = "reference,u=0.02,lot=R-7";
    let arguments = ["temperature", "--standard", reference, "--standard", reference];
    let operator = Operator { beaker: &two_baths, decide: &no_decision };
    let (said, code) = calibrate(&mut probe, &arguments, &operator);
    assert_eq!(code, 0, "{said:#?}");
    let record = finished(&said);
    assert_eq!(
        (&record["quantity"], &record["outcome"]),
        (&"temperature".into(), &"adjusted".into())
    );
    assert_eq!(record["result"]["thermometer"]["kind"], "platinum");
    for (point, bath) in record["points"].as_array().expect("points").iter().zip([4.0, 34.0]) {
        // The bench's reference is off by its own 0.02 K.
        assert!((point["value"].as_f64().expect("°C") - bath).abs() < 0.08, "{point}");
        assert_eq!((&point["lot"], &point["value_uncertainty"]), (&"R-7".into(), &0.02.into()));
    }
    let after = baths.map(|celsius| error_k(&mut probe, celsius));
    assert!(after.iter().all(|error| error.abs() < 0.06), "{before:?} became {after:?}");

    probe.order("power-cycle");
    let kept = object(&probe, &["show"])["records"].clone();
    assert_eq!(kept[0]["result"], record["result"]);
    assert!(error_k(&mut probe, 25.0).abs() < 0.06, "after a power cut");

    // The standard's value follows the corrected temperature: 1331.2 µS/cm at 22 °C and 26.9 µS/cm per
    // kelvin there (1413 µS/cm times the shape of the CRC table: computed).
    let beaker = |name: &str, _: u64| format!("{name} 22");
    let operator = Operator { beaker: &beaker, decide: &no_decision };
    let (said, code) = calibrate(&mut probe, &["conductivity", "--standard", "1413"], &operator);
    assert_eq!(code, 0, "{said:#?}");
    let value = finished(&said)["points"][0]["value"].as_f64().expect("µS/cm");
    assert!((value - 1331.2).abs() < 0.06 * 26.9, "{value}");
    let ph = ["ph", "--standard", "phosphate-1-1", "--standard", "phthalate-1977"];
    let (said, code) = calibrate(&mut probe, &ph, &operator);
    assert_eq!(code, 0, "{said:#?}");

    probe.order("sample 7.6 480 12");
    let file = folder.path().join("a.session");
    let file = file.to_str().expect("a plain path");
    object(&probe, &["log", "--every", "0", "--count", "30", "--out", file]);
    let replayed = rillmark().args(["--json", "replay", file]).output().expect("it runs");
    let mut replayed = lines(&replayed);
    let summary = replayed.pop().expect("a summary")["summary"].clone();
    let numbers = ["readings", "mismatches", "unresolved"].map(|key| summary[key].as_u64());
    assert_eq!(numbers, [Some(30), Some(0), Some(0)], "{summary}");
    let last = replayed.last().expect("readings");
    assert_eq!(last["calibrations"]["temperature"], kept[0]["short"]);
    let number = |key: &str| last[key].as_f64().unwrap_or_else(|| panic!("no {key} in {last}"));
    assert!((number("temperature_c") - 12.0).abs() < 0.06, "{last}");
    assert!((number("specific_conductance_us_cm") / 480.0 - 1.0).abs() < 0.01, "{last}");
    assert!((number("ph") - 7.6).abs() < 0.05, "{last}");
}

/// The bench's thermistor is within 1 % of 10 kΩ and follows no beta equation; the operator believes
/// its data sheet (3950 K).
#[test]
fn a_thermistor_tells_a_temperature_once_it_is_calibrated() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut probe = probe(folder.path(), &["--thermistor"]);
    object(&probe, &["equip", "--cell", "K-1", "--thermometer", "T-9"]);
    probe.order("beaker bath 20");
    let reading = |probe: &VirtualProcess| {
        let output = run(probe, &["watch", "--only", "conductivity", "--count", "30"]);
        lines(&output).pop().expect("a reading")
    };
    let open = reading(&probe);
    assert_eq!(
        (&open["temperature_c"], &open["flags"][0]),
        (&Value::Null, &"thermometer-open".into())
    );
    assert!(open["raw"]["thermometer_milliohm"].as_u64() > Some(12_000_000), "{open}");
    // Taken for what it is not, it is refused with what to do.
    let done = |_: &[Value]| "cancel".to_owned();
    let operator = Operator { beaker: &two_baths, decide: &done };
    let (said, code) =
        calibrate(&mut probe, &["temperature", "--standard", "reference"], &operator);
    assert_eq!(code, Exit::Cancelled as i32);
    assert!(codes(&said).contains(&"thermometer-of-other-kind"), "{:?}", codes(&said));

    let reference = "reference,u=0.02,lot=R-7";
    let two = ["--standard", reference, "--standard", reference];
    let kind = ["temperature", "--thermometer", "thermistor:10000,3950"];
    let operator = Operator { beaker: &two_baths, decide: &no_decision };
    let (said, code) = calibrate(&mut probe, &[&kind[..], &two[..]].concat(), &operator);
    assert_eq!(code, 0, "{said:#?}");
    let record = finished(&said).clone();
    assert_eq!(record["result"]["thermometer"]["kind"], "thermistor");
    probe.order("power-cycle");
    let uncertainty =
        |key: &str| record["result"]["standard_uncertainty"][key].as_f64().expect("one");
    let at_c = record["result"]["calibrated_at_c"].as_f64().expect("°C");
    for celsius in [0.0, 10.0, 20.0, 30.0, 40.0] {
        let error = error_k(&mut probe, celsius);
        let u = uncertainty("offset_k").hypot(uncertainty("gain") * (celsius - at_c));
        assert!(error.abs() < 2.0 * u && u < 0.25, "{error} K at {celsius} °C, u {u}");
    }
    assert_eq!(reading(&probe)["flags"], Value::Array(Vec::new()));
    // The kind in force is the default from now on, and what was found may stay.
    let operator = Operator { beaker: &two_baths, decide: &|_| "leave".to_owned() };
    let (said, code) = calibrate(&mut probe, &[&kind[..1], &two[..]].concat(), &operator);
    assert_eq!(code, 0, "{said:#?}");
    let again = finished(&said);
    assert_eq!(
        (&again["outcome"], &again["result"]),
        (&"left-unadjusted".into(), &record["result"])
    );
}

#[test]
fn a_slip_of_the_pen_is_refused_and_asked_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut probe = probe(folder.path(), &[]);
    let unequipped = run(&probe, &["calibrate", "temperature", "--standard", "reference"]);
    assert_eq!(unequipped.status.code(), Some(Exit::Refused as i32));
    object(&probe, &["equip", "--thermometer", "T-1"]);
    probe.order("beaker bath 20");
    // Fahrenheit; then, put in again, with a decimal comma; the check once more.
    let script = folder.path().join("answers");
    let answers = "done\n68\nretry\ndone\n20,0\n20.0\n";
    std::fs::write(&script, answers).expect("written");
    let script = script.to_str().expect("a plain path");
    let arguments =
        ["calibrate", "temperature", "--standard", "reference,u=0.05", "--answers", script];
    let output = run(&probe, &arguments);
    let said = lines(&output);
    assert!(output.status.success(), "{said:#?}");
    assert!(codes(&said).contains(&"reference-far-from-reading"), "{:?}", codes(&said));
    assert!(codes(&said).contains(&"thermometer-one-point"), "{:?}", codes(&said));
    assert_eq!(finished(&said)["points"][0]["value"], 20.0);
    // A number is no answer to where the probe is.
    let script = folder.path().join("answers");
    std::fs::write(&script, "20.0\n").expect("written");
    assert_eq!(run(&probe, &arguments).status.code(), Some(Exit::BadInput as i32));
}
