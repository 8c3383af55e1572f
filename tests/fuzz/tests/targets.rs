//! Every target over its corpus and over a few altered inputs; `examples/fuzz.rs` is the long run.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use rillmark_fuzz::targets::{all, by_name};
use rillmark_fuzz::{WEIGHTS, portion, run};

/// Inputs of all targets together.
const INPUTS: u64 = 20_000;

/// What ever failed stays here, and some that are whole or nearly.
#[test]
fn the_corpus_breaks_no_promise() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("corpus");
    let mut seen = BTreeSet::new();
    for folder in fs::read_dir(corpus).expect("the corpus is there") {
        let folder = folder.expect("a folder");
        if !folder.path().is_dir() {
            continue;
        }
        let name = folder.file_name().into_string().expect("a target's name");
        let target = by_name(&name).unwrap_or_else(|| panic!("no target is named {name}"));
        let (mut inputs, mut whole) = (0, 0);
        for file in fs::read_dir(folder.path()).expect("a folder") {
            let path = file.expect("a file").path();
            println!("{}", path.display());
            inputs += 1;
            whole += u32::from((target.check)(&fs::read(path).expect("a file")));
        }
        assert!(whole > 0, "{name}: none of {inputs} is whole");
        seen.insert(target.name);
    }
    assert_eq!(seen, all().iter().map(|target| target.name).collect(), "every target has some");
}

#[test]
fn altered_inputs_break_no_promise_and_get_deep() {
    assert_eq!(all().iter().map(|target| target.weight).sum::<u64>(), WEIGHTS);
    for target in all() {
        let inputs = portion(&target, INPUTS).max(20);
        let report = run(&target, 11, inputs);
        assert_eq!(report.failed, 0, "{}: {:?}", target.name, report.failures);
        let least = inputs / 20;
        assert!(report.whole > least, "{}: {} of {inputs} whole", target.name, report.whole);
        assert!(report.whole < inputs, "{}: everything is whole", target.name);
    }
}

/// A failing input comes again from its seed and number.
#[test]
fn what_panics_is_caught_and_comes_again() {
    let mut target = by_name("answers").expect("it is there");
    target.check = |text| {
        assert!(!text.starts_with(b"cancel"), "it says cancel");
        true
    };
    let report = run(&target, 1, 500);
    let failure = report.failures.first().expect("some begin so");
    assert!(failure.said.contains("it says cancel"), "{}", failure.said);
    assert!(failure.input.starts_with(b"cancel"));
    assert_eq!(rillmark_fuzz::case(&target, 1, failure.number), failure.input);
    assert!(report.failed < report.whole && report.whole + report.failed == 500);
}
