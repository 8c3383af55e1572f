//! An hour of practice on the virtual bench, as the README gives it: each mistake is answered as a
//! good instructor would, and the good calibration passes afterwards.
//!
//! The commands and what is typed are read from the README, so what it promises is what happens. The
//! bench is deterministic; read a changed text aloud before accepting it
//! (`INSTA_UPDATE=always cargo test -p rillmark-tests --test teaching_hour`).

use std::fs;

use rillmark_tests::binary::said;
use rillmark_tests::source_tree::root;

const SECTION: &str = "## An hour of practice without a probe";

/// What stands before the short identity of a record, eight hexadecimal digits.
const KEPT: &str = "Kept by the probe as record ";

/// A command of the hour.
struct Lesson {
    /// What it shows, as the comment above it says.
    title: String,
    /// What a person types at the questions.
    typed: Vec<String>,
    arguments: Vec<String>,
}

impl Lesson {
    /// Everything that is said, in `folder`, but for the identities of records: they follow from
    /// every byte of a record.
    fn play(&self, folder: &std::path::Path) -> String {
        let arguments: Vec<_> = self.arguments.iter().map(String::as_str).collect();
        let typed: String = self.typed.iter().map(|line| format!("{line}\n")).collect();
        let text = said(folder, &arguments, &typed);
        let anonymous = |line: &str| match line.split_once(KEPT) {
            Some((before, id)) => format!("{before}{KEPT}…{}\n", &id[8..]),
            None => format!("{line}\n"),
        };
        text.lines().map(anonymous).collect()
    }
}

/// The lessons in their order: a comment `# title: answer, answer` and the command below it, whose
/// lines may end with a backslash.
fn hour() -> Vec<Lesson> {
    let readme = fs::read_to_string(root().join("README.md")).expect("the README is readable");
    let section = readme.split(SECTION).nth(1).expect("the README has the section");
    let section = section.split("\n## ").next().expect("a first part");
    let code = section.lines().filter_map(|line| line.strip_prefix("    ")).map(str::trim);
    let mut lessons = Vec::new();
    let (mut title, mut typed, mut command) = (String::new(), Vec::new(), String::new());
    for line in code {
        if let Some(comment) = line.strip_prefix("# ") {
            let (what, answers) = comment.split_once(": ").unwrap_or((comment, ""));
            title = what.to_owned();
            let answers = answers.split(", ").filter(|answer| !answer.is_empty());
            typed = answers.map(str::to_owned).collect();
            continue;
        }
        command.push_str(line.trim_end_matches('\\'));
        if line.ends_with('\\') {
            continue;
        }
        let words = std::mem::take(&mut command);
        let arguments = words.strip_prefix("rillmark ").expect("a command of this tool");
        let arguments = arguments.split_whitespace().map(str::to_owned).collect();
        lessons.push(Lesson {
            title: std::mem::take(&mut title),
            typed: std::mem::take(&mut typed),
            arguments,
        });
    }
    lessons
}

#[test]
fn every_mistake_is_answered_and_the_good_calibration_passes() {
    // What has to be said, whatever words a snapshot was accepted with: what was seen, with its
    // number, and how it ends.
    let told: &[(&str, &[&str])] = &[
        ("equipped", &["electrode    E-17", "exit 0"]),
        (
            "the wrong bottle",
            &[
                "refused: This looks like a standard of about 147",
                "should read 14",
                "in force.",
                "exit 0",
            ],
        ),
        (
            "the wrong buffer",
            &["refused: This looks like pH 9.18", "should read pH 6.87", "in force.", "exit 0"],
        ),
        ("the expired bottle", &["warning: Standard 1 expired 30 days ago", "exit 9"]),
        (
            "the cold bottle",
            &["warning: Standard 2 is at 7.9 °C", "21.9 °C", "2 K", "unadjusted", "exit 0"],
        ),
        (
            "the reading taken in haste, then in peace",
            &[
                "warning: The potential has not settled after 6 s",
                "note: Standard 2 was taken before it had settled",
                "warning: The slope is 9",
                "left unadjusted",
                "exit 0",
            ],
        ),
        (
            "the single buffer",
            &["warning: A single buffer tells the offset, not the slope", "exit 9"],
        ),
        ("as it should be", &["As found, every buffer read within", "left unadjusted", "exit 0"]),
    ];
    let folder = tempfile::tempdir().expect("a folder");
    let lessons = hour();
    let titles: Vec<_> = lessons.iter().map(|lesson| lesson.title.as_str()).collect();
    assert_eq!(titles, told.iter().map(|(title, _)| *title).collect::<Vec<_>>());
    for (number, (lesson, (title, told))) in lessons.iter().zip(told).enumerate() {
        let text = lesson.play(folder.path());
        for words in *told {
            assert!(text.contains(words), "{title}: '{words}' is not in:\n{text}");
        }
        let commanded = format!("$ rillmark {}", lesson.arguments.join(" "));
        let typed = lesson.typed.join(" | ");
        insta::with_settings!({ omit_expression => true, description => title.to_string() }, {
            insta::assert_snapshot!(
                format!("lesson_{number}"),
                format!("{commanded}\n(typed: {typed})\n{text}")
            );
        });
    }
}
