//! A session file of every released version replays for ever, to the bit.
//!
//! `tests/golden/session-v1.session` was logged by `rillmark demo` (invented data). Its replay also
//! pins the math: every value is computed again from raw integers and compared bit by bit. To write
//! the files anew for a version that is not released yet:
//! `RILLMARK_REGOLD=1 cargo test -p rillmark-tests --test golden_session`.

use std::fs;

use rillmark_tests::binary::rillmark;
use rillmark_tests::source_tree::root;
use serde_json::Value;

/// The JSON lines of a replay.
fn replay(session: &str) -> String {
    let output = rillmark()
        .args(["--json", "replay", session])
        .current_dir(root().join("tests/golden"))
        .output()
        .expect("the binary runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("UTF-8")
}

#[test]
fn a_session_of_version_1_replays_as_it_did_when_it_was_logged() {
    let golden = root().join("tests/golden");
    let (session, lines) = (golden.join("session-v1.session"), golden.join("session-v1.jsonl"));
    if std::env::var_os("RILLMARK_REGOLD").is_some() {
        let folder = tempfile::tempdir().expect("a folder");
        let demo = folder.path().join("demo");
        let status =
            rillmark().args(["--json", "demo", "--dir"]).arg(&demo).status().expect("it runs");
        assert!(status.success());
        fs::copy(demo.join("lake.session"), &session).expect("copied");
        fs::write(&lines, replay("session-v1.session")).expect("written");
    }
    let expected = fs::read_to_string(&lines).expect("the golden lines");
    let found = replay("session-v1.session");
    for (found, expected) in found.lines().zip(expected.lines()) {
        let parse = |line| serde_json::from_str::<Value>(line).expect("JSON");
        assert_eq!(parse(found), parse(expected));
    }
    assert_eq!(found.lines().count(), expected.lines().count());
}
