//! Reads a table of points: CSV with a header, columns in any order.

use std::collections::HashMap;
use std::io::BufRead;

use super::super::input::{self, MAX_TABLE};
use crate::exit::{Exit, Failure};
use crate::words::en::fit as words;
use crate::words::en::session::cannot_read;

/// A column that is known.
#[derive(Clone, Copy, Debug)]
pub(super) struct Column {
    name: &'static str,
    needed: bool,
}

impl Column {
    /// A column with a number in every row.
    pub(super) const fn needed(name: &'static str) -> Self {
        Self { name, needed: true }
    }

    /// A column that may be missing, or empty in a row.
    pub(super) const fn optional(name: &'static str) -> Self {
        Self { name, needed: false }
    }
}

/// The column that says which bottle a row was taken in: any text.
const BOTTLE: &str = "bottle";

/// A row of a table.
#[derive(Clone, Debug)]
struct Row<const N: usize> {
    numbers: [Option<f64>; N],
    bottle: Option<String>,
    line: usize,
}

/// The rows of a table, each with its numbers in the order of the known columns.
#[derive(Clone, Debug)]
pub(super) struct Points<const N: usize> {
    name: String,
    rows: Vec<Row<N>>,
}

impl<const N: usize> Points<N> {
    /// Reads a file, or `answers` for `-`.
    ///
    /// # Errors
    /// [`Exit::Storage`] when it cannot be read, [`Exit::BadInput`] when it is not a table of these
    /// columns.
    pub(super) fn read(
        file: &str,
        columns: &[Column; N],
        answers: &mut dyn BufRead,
    ) -> Result<Self, Failure> {
        let name = if file == "-" { words::STANDARD_INPUT } else { file };
        let read = match file {
            "-" => input::all(&mut *answers, MAX_TABLE),
            _ => std::fs::File::open(file).and_then(|mut file| input::all(&mut file, MAX_TABLE)),
        };
        let bytes = read.map_err(|error| Failure::new(Exit::Storage, cannot_read(name, &error)))?;
        Self::parse(name, &bytes, columns)
            .map_err(|sentence| Failure::new(Exit::BadInput, sentence))
    }

    /// The name of the file, as a person knows it.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// The numbers of every row. A needed column has one in each.
    pub(super) fn rows(&self) -> impl Iterator<Item = [Option<f64>; N]> {
        self.rows.iter().map(|row| row.numbers)
    }

    /// Which bottle each row was taken in, counted from 0: rows that name one are in that one, the others
    /// in that of the first of them that is `alike`.
    pub(super) fn bottles(&self, alike: impl Fn(usize, usize) -> bool) -> Vec<usize> {
        let (mut named, mut unnamed) = (HashMap::new(), Vec::new());
        let mut of_row = Vec::with_capacity(self.rows.len());
        for (row, Row { bottle, .. }) in self.rows.iter().enumerate() {
            let next = named.len() + unnamed.len();
            of_row.push(match bottle {
                Some(bottle) => *named.entry(bottle).or_insert(next),
                None => match unnamed.iter().find(|(first, _)| alike(*first, row)) {
                    Some((_, number)) => *number,
                    None => {
                        unnamed.push((row, next));
                        next
                    }
                },
            });
        }
        of_row
    }

    /// The line in the file of a point counted from 1.
    pub(super) fn line(&self, point: usize) -> Option<usize> {
        self.rows.get(point.checked_sub(1)?).map(|row| row.line)
    }

    /// The table in `bytes`, or the sentence that says why it is none.
    pub(super) fn parse(name: &str, bytes: &[u8], columns: &[Column; N]) -> Result<Self, String> {
        let text = str::from_utf8(bytes).map_err(|error| {
            let before = bytes.iter().take(error.valid_up_to());
            words::not_text(name, 1 + before.filter(|byte| **byte == b'\n').count())
        })?;
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut lines = text
            .lines()
            .zip(1..)
            .map(|(line, number)| (number, cells(line)))
            .filter(|(_, cells)| cells.iter().any(|cell| !cell.is_empty()));

        let needed: Vec<_> =
            columns.iter().filter(|column| column.needed).map(|column| column.name).collect();
        let (header_line, header) = lines.next().ok_or_else(|| words::no_header(name, &needed))?;
        let places = places(&header, columns)
            .map_err(|wrong| words::wrong_header(name, header_line, &wrong, &needed))?;

        let bottle = header.iter().position(|cell| *cell == BOTTLE);
        let mut rows = Vec::new();
        for (line, cells) in lines {
            if cells.len() != header.len() {
                return Err(words::wrong_width(name, line, cells.len(), header.len()));
            }
            let mut numbers = [None; N];
            for ((number, place), column) in numbers.iter_mut().zip(&places).zip(columns) {
                let cell = place.map_or("", |place| cells[place]);
                if cell.is_empty() && !column.needed {
                    continue;
                }
                let found = cell.parse().ok().filter(|number: &f64| number.is_finite());
                *number =
                    Some(found.ok_or_else(|| words::not_a_number(name, line, column.name, cell))?);
            }
            let bottle = bottle.map(|place| cells[place]).filter(|cell| !cell.is_empty());
            rows.push(Row { numbers, bottle: bottle.map(str::to_owned), line });
        }
        Ok(Self { name: name.to_owned(), rows })
    }
}

/// The cells of a line, without spaces and quotes around them.
fn cells(line: &str) -> Vec<&str> {
    line.split(',')
        .map(str::trim)
        .map(|cell| {
            let inner = cell.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
            inner.map_or(cell, str::trim)
        })
        .collect()
}

/// Where each known column stands, or what is wrong with the header.
fn places<const N: usize>(
    header: &[&str],
    columns: &[Column; N],
) -> Result<[Option<usize>; N], words::Header> {
    for (at, cell) in header.iter().enumerate() {
        if *cell != BOTTLE && !columns.iter().any(|column| column.name == *cell) {
            return Err(words::Header::Unknown((*cell).to_owned()));
        }
        if header[..at].contains(cell) {
            return Err(words::Header::Twice((*cell).to_owned()));
        }
    }
    let mut places = [None; N];
    for (place, column) in places.iter_mut().zip(columns) {
        *place = header.iter().position(|cell| *cell == column.name);
        if place.is_none() && column.needed {
            return Err(words::Header::Missing(column.name));
        }
    }
    Ok(places)
}
