//! The text of guided verifications, as a person reads it, on the deterministic bench; how a reading
//! settles is told in the texts of calibrations and left out here
//! (`INSTA_UPDATE=always cargo test -p rillmark-tests --test verify_text`).

use std::fs;
use std::path::Path;

use rillmark_tests::binary::said;

/// What a command says on the bench in `folder`, without the progress of settling, the manners and
/// the choices, which are those of a calibration.
fn text(folder: &Path, arguments: &[&str]) -> String {
    let all = said(folder, &[&["--port", "virtual"], arguments].concat(), "");
    let of_others =
        ["  settle", "Before you begin", "Each bottle's", "Between beakers", "Rinse the"];
    let kept = all.lines().filter(|line| !of_others.iter().any(|other| line.starts_with(other)));
    kept.map(|line| format!("{line}\n")).collect()
}

/// A text whose identities do not change with everything that goes into a record.
fn nameless(text: &str) -> String {
    let is_short = |word: &str| word.len() == 8 && word.bytes().all(|b| b.is_ascii_hexdigit());
    let piece = |piece: &str| {
        let word = piece.trim_end_matches(|c: char| !c.is_ascii_alphanumeric());
        if is_short(word) { format!("SHORT{}", &piece[word.len()..]) } else { piece.to_owned() }
    };
    text.split(' ').map(piece).collect::<Vec<_>>().join(" ")
}

/// An electrode calibrated in three buffers, lots B1 to B3, and a cell in one standard, lot C1.
fn calibrated() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    text(folder.path(), &["equip", "--electrode", "E-17", "--cell", "K-3", "--thermometer", "T-2"]);
    let cell =
        ["calibrate", "conductivity", "--standard", "1413,lot=C1,at=21", "--operator", "Ann"];
    let ph = [
        "calibrate",
        "ph",
        "--standard",
        "technical-7.00,lot=B1,at=21",
        "--standard",
        "technical-4.01,lot=B2,at=21",
        "--standard",
        "technical-10.01,lot=B3,at=21",
    ];
    for calibrate in [&cell[..], &ph] {
        let said = text(folder.path(), calibrate);
        assert!(said.ends_with("exit 0\n"), "{said}");
    }
    folder
}

#[test]
fn another_lot_passes() {
    let folder = calibrated();
    let verify = ["verify", "ph", "--standard", "technical-7.00,lot=B9,at=21", "--operator", "Ann"];
    insta::assert_snapshot!(nameless(&text(folder.path(), &verify)));
    let verify = ["verify", "conductivity", "--standard", "1413,lot=C9,at=21"];
    insta::assert_snapshot!(nameless(&text(folder.path(), &verify)));
}

#[test]
fn the_same_bottle_passes_and_shows_little() {
    let folder = calibrated();
    let verify = ["verify", "ph", "--standard", "technical-7.00,lot=B1,at=21"];
    insta::assert_snapshot!(nameless(&text(folder.path(), &verify)));
    let nobody_knows = text(folder.path(), &["verify", "ph", "--standard", "technical-7.00,at=21"]);
    assert!(nobody_knows.contains("NOT SHOWN TO BE INDEPENDENT"), "{nobody_knows}");
    let shown = text(folder.path(), &["show"]);
    for verdict in ["  pass, not independent: pH", "  pass, lot unknown: pH"] {
        assert!(shown.contains(verdict), "{shown}");
    }
}

/// The beaker holds phosphate 1:1, 6.88 at 20 °C (REFERENCES 2; computed), under the label of a 7.02.
#[test]
fn a_buffer_that_reads_off_fails() {
    let folder = calibrated();
    insta::assert_snapshot!(nameless(&text(
        folder.path(),
        &[
            "verify",
            "ph",
            "--standard",
            "technical-7.00,lot=B9,at=21,beaker=phosphate-1-1",
            "--profile",
            "laboratory"
        ]
    )));
}

#[test]
fn a_poor_standard_cannot_tell() {
    let folder = calibrated();
    // 0.08 above what phosphate 1:1 has, and uncertain by far more.
    let own =
        |u: &str| format!("our 7,table=15:6.98/30:6.93,u={u},lot=O1,at=21,beaker=phosphate-1-1");
    let (poor, hopeless) = (own("0.09"), own("0.15"));
    let texts = [
        text(folder.path(), &["verify", "ph", "--standard", &poor]),
        text(folder.path(), &["verify", "ph", "--standard", &hopeless]),
        text(
            folder.path(),
            &[
                "verify",
                "conductivity",
                "--standard",
                "1413,lot=C9,at=21",
                "--limit",
                "0.5%",
                "--limit-source",
                "our plan, page 3",
            ],
        ),
    ];
    insta::assert_snapshot!(nameless(&texts.join("--- again ---\n")));
}

#[test]
fn a_reading_that_has_not_settled_verifies_nothing() {
    let folder = calibrated();
    let standard = "technical-7.00,lot=B9,at=21";
    let hurried = ["verify", "ph", "--standard", standard, "--ask-after", "6"];
    insta::assert_snapshot!(nameless(&text(folder.path(), &hurried)));
    let insisting = "override no time\n";
    fs::write(folder.path().join("answers"), insisting).expect("written");
    let insisting = [&hurried[..], &["--answers", "answers"]].concat();
    let said = text(folder.path(), &insisting);
    assert!(said.contains("'override no time' cannot be chosen here"), "{said}");
    // Who waits gets an answer.
    fs::write(folder.path().join("answers"), "wait\n").expect("written");
    let said = text(folder.path(), &insisting);
    assert!(said.contains("PASS") && said.ends_with("exit 0\n"), "{said}");
}

#[test]
fn a_reading_nowhere_near_asks_for_the_bottle_first() {
    let folder = calibrated();
    fs::write(folder.path().join("answers"), "override it is the right bottle\n").expect("written");
    insta::assert_snapshot!(nameless(&text(
        folder.path(),
        &[
            "verify",
            "ph",
            "--standard",
            "technical-7.00,lot=B9,at=21,beaker=borax",
            "--answers",
            "answers"
        ]
    )));
}

#[test]
fn the_probe_shows_its_verifications_beside_its_calibrations() {
    let folder = calibrated();
    let verify = ["verify", "ph", "--standard", "technical-7.00,lot=B9,at=21", "--operator", "Ann"];
    let said = text(folder.path(), &verify);
    let short =
        said.split("record ").nth(1).and_then(|rest| rest.split(';').next()).expect("named");
    let shown = text(folder.path(), &["show"]);
    assert!(shown.contains(short), "{shown}");
    let whole = text(folder.path(), &["show", "--record", short]);
    let after_identity = whole.split_once('\n').expect("several lines").1;
    insta::assert_snapshot!(nameless(after_identity));
}

#[test]
fn what_cannot_be_verified_is_one_sentence() {
    let folder = tempfile::tempdir().expect("a folder");
    let bare = text(folder.path(), &["verify", "ph", "--standard", "borax"]);
    text(folder.path(), &["equip", "--electrode", "E-17"]);
    let refused = [
        vec!["verify", "ph", "--standard", "borax"],
        vec!["verify", "ph", "--standard", "tea"],
        vec!["verify", "ph", "--standard", "1413"],
        vec!["verify", "ph", "--standard", "borax", "--profile", "strict"],
        vec!["verify", "ph", "--standard", "borax", "--limit", "3%"],
    ];
    let texts = refused.map(|arguments| text(folder.path(), &arguments));
    insta::assert_snapshot!(format!("{bare}{}", texts.concat()));
}
