//! How every command writes: one table writer, one JSON writer, one view of a closed pipe. Nothing else
//! writes to the terminal, so that whatever text comes from elsewhere is made safe here.

use std::io::{self, Write};

use serde::Serialize;

use crate::exit::{Exit, Failure};
use crate::foreign;
use crate::words::en::probe as words;

/// Which side of its column a cell leans to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lean {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table of text: a heading line, then rows; columns as wide as their widest cell.
#[derive(Clone, Debug)]
pub struct Table {
    leans: Vec<Lean>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// A table with these columns.
    #[must_use]
    pub fn new(columns: &[(&str, Lean)]) -> Self {
        let headings = columns.iter().map(|(heading, _)| (*heading).to_owned()).collect();
        Self { leans: columns.iter().map(|(_, lean)| *lean).collect(), rows: vec![headings] }
    }

    /// A table of labels and values, without a heading line.
    #[must_use]
    pub fn pairs() -> Self {
        Self { leans: vec![Lean::Left, Lean::Left], rows: Vec::new() }
    }

    /// Adds a row; missing cells are empty, surplus ones are not shown. No cell makes a line of its own.
    pub fn row<C: Into<String>>(&mut self, cells: impl IntoIterator<Item = C>) {
        let safe = |cell: C| foreign::shown(&cell.into()).into_owned();
        let mut cells: Vec<String> = cells.into_iter().map(safe).collect();
        cells.resize(self.leans.len(), String::new());
        self.rows.push(cells);
    }

    /// Number of rows, the heading line included.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// True when there is not even a heading line.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The text, two spaces between columns, no spaces at line ends.
    #[must_use]
    pub fn text(&self) -> String {
        let mut widths = vec![0; self.leans.len()];
        for row in &self.rows {
            for (width, cell) in widths.iter_mut().zip(row) {
                *width = (*width).max(cell.chars().count());
            }
        }
        let mut text = String::new();
        for row in &self.rows {
            let line: Vec<String> = row
                .iter()
                .zip(&widths)
                .zip(&self.leans)
                .map(|((c, w), l)| lean(c, *w, *l))
                .collect();
            text.push_str(line.join("  ").trim_end());
            text.push('\n');
        }
        text
    }
}

/// One cell padded to its column, for tables that grow line by line.
#[must_use]
pub fn lean(cell: &str, width: usize, lean: Lean) -> String {
    match lean {
        Lean::Left => format!("{cell:<width$}"),
        Lean::Right => format!("{cell:>width$}"),
    }
}

/// Writes lines of text and flushes them. A line that holds text from elsewhere and is no row of a
/// [`Table`] was made by [`line_of`], or is written by [`line()`].
///
/// # Errors
/// See [`written`].
pub fn text(out: &mut dyn Write, text: &str) -> Result<(), Failure> {
    raw(out, &foreign::shown_lines(text))
}

/// One line of its own, whatever it holds.
#[must_use]
pub fn line_of(sentence: &str) -> String {
    format!("{}\n", foreign::shown(sentence))
}

/// The most columns of a line that is folded: read at a glance, and whole in a narrow window.
const FOLDED: usize = 60;

/// A sentence, whatever it holds, on as many lines as it needs; those after the first stand so many columns
/// in. A word that is longer than a line stays whole.
#[must_use]
pub fn folded(sentence: &str, indent: usize) -> String {
    let safe = foreign::shown(sentence);
    let start = safe.len() - safe.trim_start().len();
    let (mut text, mut column) = (safe[..start].to_owned(), start);
    let mut is_first = true;
    for word in safe.split_whitespace() {
        let width = word.chars().count();
        if is_first {
            is_first = false;
        } else if column + 1 + width > FOLDED {
            text.push('\n');
            text.push_str(&" ".repeat(indent));
            column = indent;
        } else {
            text.push(' ');
            column += 1;
        }
        text.push_str(word);
        column += width;
    }
    text.push('\n');
    text
}

/// Writes one line and flushes it.
///
/// # Errors
/// See [`written`].
pub fn line(out: &mut dyn Write, sentence: &str) -> Result<(), Failure> {
    raw(out, &line_of(sentence))
}

/// Writes over the terminal's line, and stays in it.
///
/// # Errors
/// See [`written`].
pub fn over(out: &mut dyn Write, sentence: &str) -> Result<(), Failure> {
    raw(out, &format!("\r\x1b[K{}", foreign::shown(sentence)))
}

/// Writes one JSON value on a line of its own and flushes it.
///
/// # Errors
/// See [`written`].
pub fn json(out: &mut dyn Write, value: &impl Serialize) -> Result<(), Failure> {
    let line = serde_json::to_string(value)
        .map_err(|error| Failure::new(Exit::BadInput, error.to_string()))?;
    json_line(out, &line)
}

/// The same with a value that is JSON text already.
///
/// # Errors
/// See [`written`].
pub fn json_line(out: &mut dyn Write, line: &str) -> Result<(), Failure> {
    raw(out, &format!("{}\n", foreign::json(line.trim_end())))
}

fn raw(out: &mut dyn Write, text: &str) -> Result<(), Failure> {
    written(out.write_all(text.as_bytes()).and_then(|()| out.flush()))
}

/// What the end of a write to the terminal means.
///
/// # Errors
/// A pipe that its reader closed ends the command with [`Exit::Success`]; anything else with
/// [`Exit::Storage`].
pub fn written(result: io::Result<()>) -> Result<(), Failure> {
    result.map_err(|error| match error.kind() {
        io::ErrorKind::BrokenPipe => Failure::new(Exit::Success, words::CLOSED_PIPE),
        _ => Failure::new(Exit::Storage, words::cannot_write_output(&error)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up_by_characters_and_lines_end_without_spaces() {
        let mut table = Table::new(&[("what", Lean::Left), ("µS/cm", Lean::Right)]);
        table.row(["a", "1"]);
        table.row(["longer", ""]);
        assert_eq!(table.text(), "what    µS/cm\na           1\nlonger\n");
        assert_eq!(table.len(), 3);
        let mut pairs = Table::pairs();
        assert!(pairs.is_empty());
        pairs.row(["label", "value"]);
        pairs.row(["x"]);
        assert_eq!(pairs.text(), "label  value\nx\n");
    }

    #[test]
    fn sentences_are_folded_at_their_spaces() {
        let long = format!("{} {}", "ten bytes ".repeat(6).trim_end(), "x".repeat(70));
        let text = folded(&format!("  1. {long} \u{1b}[2J end"), 5);
        assert_eq!(
            text,
            format!(
                "  1. ten bytes ten bytes ten bytes ten bytes ten bytes ten\n     bytes\n     {}\n     \
                 \\u{{1b}}[2J end\n",
                "x".repeat(70)
            )
        );
        assert_eq!(folded("", 3), "\n");
        assert_eq!(
            folded("12 µS ".repeat(10).as_str(), 0).lines().next().unwrap().chars().count(),
            59
        );
    }

    #[test]
    fn json_is_one_line() {
        let mut out = Vec::new();
        json(&mut out, &serde_json::json!({"a": 1})).expect("a vector takes everything");
        assert_eq!(out, b"{\"a\":1}\n");
    }

    struct Closed(io::ErrorKind);
    impl Write for Closed {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(self.0.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_closed_pipe_is_success_and_a_full_disk_is_not() {
        let exit = |kind| text(&mut Closed(kind), "x").expect_err("nothing can be written").exit;
        assert_eq!(exit(io::ErrorKind::BrokenPipe), Exit::Success);
        assert_eq!(exit(io::ErrorKind::StorageFull), Exit::Storage);
    }
}
