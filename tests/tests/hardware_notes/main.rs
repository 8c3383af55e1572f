//! The pages from which a probe is built, against the tables that program, bench and budget use.

mod bill;
mod drawings;
mod energy;
mod links;
mod nets;
mod tables;

use std::fs;
use std::path::PathBuf;

use rillmark_tests::source_tree::root;

fn folder() -> PathBuf {
    root().join("hardware-notes")
}

fn page(name: &str) -> String {
    let path = folder().join(name);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Every page directly in the folder, by name.
fn pages() -> Vec<String> {
    let entries = fs::read_dir(folder()).expect("the folder of the notes");
    let names = entries.map(|entry| entry.expect("an entry").file_name().into_string());
    let mut names: Vec<String> = names
        .map(|name| name.expect("a name in UTF-8"))
        .filter(|name| name.ends_with(".md"))
        .collect();
    names.sort();
    assert!(names.len() > 10, "{names:?}");
    names
}

/// The cells of a table's row; `None` for any other line and for a table's ruler.
fn cells(line: &str) -> Option<Vec<&str>> {
    let inside = line.strip_prefix('|')?.strip_suffix('|')?;
    let cells: Vec<&str> = inside.split('|').map(str::trim).collect();
    (!cells.iter().all(|cell| cell.starts_with("---"))).then_some(cells)
}
