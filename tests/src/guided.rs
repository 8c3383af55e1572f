//! Guided calibrations with the real binary, with an operator who has hands at the bench.

use std::io::{BufRead, BufReader, Write};
use std::process::{Output, Stdio};

use serde_json::Value;

use crate::binary::rillmark;
use crate::virtual_process::VirtualProcess;

/// Runs a command on a probe, with JSON for output and nobody to answer.
///
/// # Panics
/// When it does not run.
pub fn run(probe: &VirtualProcess, arguments: &[&str]) -> Output {
    rillmark()
        .args(["--json", "--port", &probe.port])
        .args(arguments)
        .stdin(Stdio::null())
        .output()
        .expect("the binary runs")
}

/// The JSON objects that a command printed.
///
/// # Panics
/// When it printed something else.
pub fn lines(output: &Output) -> Vec<Value> {
    let text = std::str::from_utf8(&output.stdout).expect("UTF-8");
    text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect()
}

/// The only JSON object of a command that has to succeed.
///
/// # Panics
/// When it does not.
pub fn object(probe: &VirtualProcess, arguments: &[&str]) -> Value {
    let output = run(probe, arguments);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {said}");
    lines(&output).pop().expect("an object")
}

/// What the operator of a guided calibration does: the beaker for a standard, and answers to
/// decisions.
pub struct Operator<'a> {
    /// Name of the standard and how many were placed before, to what the bench is told to place.
    pub beaker: &'a dyn Fn(&str, u64) -> String,
    /// What was said so far, to an answer.
    pub decide: &'a dyn Fn(&[Value]) -> String,
}

/// Runs a command at a port, with JSON for output, and answers what it asks: `answer` sees all that was
/// said so far whenever something is said. All that it said, and its exit code.
///
/// # Panics
/// When it does not run, or says what is not JSON.
pub fn converse(
    port: &str,
    arguments: &[&str],
    mut answer: impl FnMut(&[Value]) -> Option<String>,
) -> (Vec<Value>, i32) {
    let mut child = rillmark()
        .args(["--json", "--port", port])
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::inherit())
        .spawn()
        .expect("the binary starts");
    let mut answers = child.stdin.take().expect("a pipe");
    let mut said: Vec<Value> = Vec::new();
    for line in BufReader::new(child.stdout.take().expect("a pipe")).lines() {
        said.push(serde_json::from_str(&line.expect("UTF-8")).expect("JSON"));
        if let Some(answer) = answer(&said) {
            writeln!(answers, "{answer}").expect("it listens");
        }
    }
    (said, child.wait().expect("it ends").code().expect("not by a signal"))
}

/// Runs a guided calibration; all that it said, and its exit code.
///
/// # Panics
/// When it does not run, or says what is not JSON.
pub fn calibrate(
    probe: &mut VirtualProcess,
    arguments: &[&str],
    operator: &Operator<'_>,
) -> (Vec<Value>, i32) {
    let mut placed: u64 = 0;
    let arguments = [&["calibrate"], arguments].concat();
    converse(&probe.port.clone(), &arguments, |said| {
        let value = said.last()?;
        Some(match value["step"].as_str()? {
            step @ ("place" | "air") => {
                let standard = if step == "air" { step } else { value["standard"].as_str()? };
                probe.order(&format!("beaker {}", (operator.beaker)(standard, placed)));
                placed += 1;
                "done".to_owned()
            }
            // Read off the bench's own reference thermometer.
            "reference" => probe.order("status")["reference_c"].to_string(),
            "decide" => (operator.decide)(said),
            _ => return None,
        })
    })
}

/// An operator who expects no decision.
///
/// # Panics
/// Always.
pub fn no_decision(said: &[Value]) -> String {
    panic!("nothing should have to be decided: {said:#?}")
}

/// Codes of the judgements among what was said.
pub fn codes(said: &[Value]) -> Vec<&str> {
    said.iter().filter_map(|value| value["code"].as_str()).collect()
}
