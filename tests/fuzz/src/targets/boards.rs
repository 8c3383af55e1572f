//! Boards that somebody laid out: read and compared, or refused in one sentence.

use rillmark::foreign::is_plain;
use rillmark_kicad::check::{compare, read};
use rillmark_net_list::NETLIST;

use super::texts::is_sentence;
use crate::Target;
use crate::alter::Alter;

pub(super) fn target() -> Target {
    Target {
        name: "laid-out-boards",
        check: board,
        seeds: || vec![BOARD.as_bytes().to_vec(), LATER.to_vec()],
        alter: Alter::Text(WORDS),
        weight: 100,
    }
}

fn board(bytes: &[u8]) -> bool {
    match read(bytes) {
        Ok(board) => {
            let report = compare(&board, NETLIST);
            let told = report.differences.iter().map(ToString::to_string);
            for line in told.chain(report.remarks.iter().map(ToString::to_string)) {
                assert!(line.chars().all(is_plain), "not safe to show: {line:?}");
                assert!(line.chars().count() < 1000, "long: {line}");
            }
            true
        }
        Err(error) => {
            let sentence = error.to_string();
            is_sentence(&sentence);
            assert!(sentence.chars().all(is_plain), "not safe to show: {sentence:?}");
            false
        }
    }
}

/// Written by hand in the spelling of KiCad 9.
const LATER: &[u8] =
    include_bytes!("../../../../hardware-notes/kicad/tests/boards/later_spelling.kicad_pcb");

/// Invented, in the spelling of KiCad 6.
const BOARD: &str = r#"(kicad_pcb (version 20211014) (generator pcbnew)
(net 0 "") (net 1 "mid") (net 2 "AIN2") (net 3 "a \"b\" \\")
(footprint "x:R" (layer "F.Cu") (at 1 2) (attr smd)
  (fp_text reference "R8" (at 0 0)) (fp_text value "1 kΩ" (at 0 0))
  (pad "1" smd rect (at 0 0) (net 1 "mid")) (pad "2" smd rect (at 1 0) (net 2 "AIN2")))
(footprint "x:SO" (layer "F.Cu")
  (fp_text reference "U5" (at 0 0)) (fp_text value "switch" (at 0 0))
  (pad "4" smd rect (net 2 "AIN2")) (pad "15" smd rect (net 3 "a \"b\" \\")))
(footprint "x:C" (attr smd dnp)
  (fp_text reference "C99" (at 0 0)) (fp_text value "100n 16V" (at 0 0))
  (pad "1" smd rect (net 1 "mid")) (pad "2" smd rect (net 2 "AIN2"))))
"#;

const WORDS: &[&str] = &[
    "(kicad_pcb",
    "(version 20211014)",
    "20171130",
    "(footprint \"x\"",
    "(fp_text reference \"R1\")",
    "(property \"Value\" \"2k2\")",
    "(attr dnp)",
    "(pad \"1\"",
    "(net 1 \"mid\")",
    "(net \"AIN3\")",
    "\"\"",
    "\"\\",
    "\\\"",
    "(",
    ")",
    "))",
    "R8",
    "U5",
    "1k 5%",
    " ",
    "\n",
];
