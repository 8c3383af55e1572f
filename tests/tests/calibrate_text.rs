//! The text of guided calibrations, as a person reads it. The bench is deterministic, so the text is
//! the same in every run; look at a change with care before accepting it
//! (`INSTA_UPDATE=always cargo test -p rillmark-tests --test calibrate_text`).

use std::fs;
use std::path::Path;
use std::process::Stdio;

use rillmark_tests::binary::{rillmark, said};
use rillmark_tests::virtual_process::VirtualProcess;

/// What a command says on a bench of its own in `folder`.
fn text(folder: &Path, arguments: &[&str]) -> String {
    said(folder, &[&["--port", "virtual"], arguments].concat(), "")
}

fn equipped() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    text(folder.path(), &["equip", "--electrode", "E-17", "--cell", "K-3", "--thermometer", "T-2"]);
    folder
}

#[test]
fn conductivity_in_one_standard() {
    let folder = equipped();
    let standard = "1413,lot=A12,expires=2028-06-30,at=22";
    insta::assert_snapshot!(text(
        folder.path(),
        &["calibrate", "conductivity", "--standard", standard, "--operator", "Ann"]
    ));
}

#[test]
fn a_weak_standard_after_the_zero_in_air() {
    let folder = equipped();
    let calibrate = ["calibrate", "conductivity", "--zero-in-air", "--standard", "147,at=22"];
    let nominal = ["--nominal-cell-constant", "1"];
    insta::assert_snapshot!(text(folder.path(), &[&calibrate[..], &nominal].concat()));
}

#[test]
fn a_closing_check_in_a_standard_of_its_own() {
    let folder = equipped();
    let standards = ["--standard", "phosphate-1-1,lot=B2", "--standard", "borax,lot=C1"];
    let as_left = ["--as-left", "phosphate-1-3.5,lot=D4"];
    let calibrate = [&["calibrate", "ph"], &standards[..], &as_left].concat();
    insta::assert_snapshot!(text(folder.path(), &calibrate));
}

#[test]
fn ph_in_three_buffers_then_found_within_tolerance_and_left() {
    let folder = equipped();
    let calibrate = [
        "calibrate",
        "ph",
        "--standard",
        "phosphate-1-1,lot=B2,at=21",
        "--standard",
        "phthalate-1977,at=20",
        "--standard",
        "borax,at=22.5",
    ];
    let first = text(folder.path(), &calibrate);
    fs::write(folder.path().join("answers"), "done\ndone\ndone\n# keep it\nleave\n")
        .expect("written");
    let again = [&calibrate[..], &["--answers", "answers"]].concat();
    let second = text(folder.path(), &again);
    insta::assert_snapshot!(format!("{first}\n--- again ---\n{second}"));
}

#[test]
fn a_thermometer_in_ice_and_beside_a_reference() {
    let folder = equipped();
    let reference = "reference,u=0.03,lot=R-7,at=30";
    let calibrate = ["calibrate", "temperature", "--standard", "ice", "--standard", reference];
    let first = text(folder.path(), &calibrate);
    let help = text(folder.path(), &["calibrate", "temperature", "--help"]);
    let help = help.split_once("Example:").expect("an example").1;
    insta::assert_snapshot!(format!("{first}\n--- help ---\n{help}"));
}

#[test]
fn unsettled_readings_need_a_reason_and_an_expired_bottle_too() {
    let folder = equipped();
    let answers = "override fresh bottles are on their way\noverride only a trial\n";
    fs::write(folder.path().join("answers"), answers).expect("written");
    insta::assert_snapshot!(text(
        folder.path(),
        &[
            "calibrate",
            "conductivity",
            "--standard",
            "1413,expires=2027-05-01",
            "--ask-after",
            "6",
            "--answers",
            "answers"
        ]
    ));
}

#[test]
fn a_bottle_colder_than_its_table_is_refused_with_the_range_until_it_is_warm() {
    let folder = equipped();
    let standard = "kcl-0.001-mol-per-l,at=8/22";
    let calibrate = ["--port", "virtual", "calibrate", "conductivity", "--standard", standard];
    insta::assert_snapshot!(said(folder.path(), &calibrate, "retry\n"));
}

#[test]
fn what_is_played_on_the_bench_is_played_nowhere_else() {
    let folder = equipped();
    for (beaker, expected) in [
        ("at=300", "between -2 and 60 °C"),
        ("beaker=tea", "tea"),
        ("at=20,beaker=borax/phthalate-1977/tea", "tea"),
    ] {
        let standard = format!("phosphate-1-1,{beaker}");
        let said = text(folder.path(), &["calibrate", "ph", "--standard", &standard]);
        assert!(said.contains(expected) && said.ends_with("exit 3\n"), "{said}");
    }
    // A probe that somebody else's hands have to place.
    let served = VirtualProcess::start(&["--tcp", "127.0.0.1:0"]);
    let standards = ["phosphate-1-1,beaker=borax", "phthalate-1977"];
    let calibrate = ["--port", &served.port, "calibrate", "ph"];
    let standards = standards.iter().flat_map(|standard| ["--standard", standard]);
    let calibrate: Vec<_> = calibrate.into_iter().chain(standards).collect();
    let said = said(folder.path(), &calibrate, "");
    assert!(said.contains("beaker= plays a mistake") && said.ends_with("exit 3\n"), "{said}");
}

#[test]
fn a_line_of_the_answers_that_cannot_be_used_is_named() {
    let folder = equipped();
    fs::write(folder.path().join("answers"), "# first\ndone\n\nnonsense\n").expect("written");
    let standard = "1413,expires=2027-05-01";
    insta::assert_snapshot!(text(
        folder.path(),
        &["calibrate", "conductivity", "--standard", standard, "--answers", "answers"]
    ));
    fs::write(folder.path().join("answers"), "override a trial\nleave\n").expect("written");
    let unsettled = ["--ask-after", "6", "--answers", "answers"];
    let calibrate = ["calibrate", "conductivity", "--standard", standard];
    let said = text(folder.path(), &[&calibrate[..], &unsettled].concat());
    assert!(said.contains("line 2 of the answers: 'leave' cannot be chosen here."), "{said}");
}

#[test]
fn what_cannot_be_done_is_one_sentence() {
    let folder = equipped();
    let refused = [
        ["calibrate", "ph", "--standard", "tea"],
        ["calibrate", "ph", "--standard", "borax"],
        ["calibrate", "ph", "--standard", "1413"],
        ["calibrate", "conductivity", "--standard", "1413,expires=soon"],
        ["calibrate", "temperature", "--standard", "1413"],
        ["calibrate", "temperature", "--standard", "reference=68F"],
    ];
    let texts = refused.map(|arguments| text(folder.path(), &arguments));
    insta::assert_snapshot!(texts.join("\n"));
}

#[test]
fn a_calibration_whose_output_is_closed_has_not_succeeded() {
    let folder = equipped();
    let mut child = rillmark()
        .args(["--json", "--port", "virtual", "calibrate", "conductivity", "--standard", "1413"])
        .current_dir(folder.path())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the binary starts");
    drop(child.stdout.take());
    let code = child.wait().expect("it ends").code();
    assert_eq!(code, Some(rillmark::exit::Exit::Cancelled as i32));
    assert!(text(folder.path(), &["show"]).contains("no calibration records"));
}
