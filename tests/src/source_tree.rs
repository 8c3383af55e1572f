//! Reads the workspace's own sources, for tests that hold the architecture.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The workspace's root folder.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the tests folder has a parent").into()
}

/// Every `.rs` file below `folder`, sorted.
///
/// # Panics
/// When the folder cannot be read.
pub fn rust_files(folder: &Path) -> Vec<PathBuf> {
    files(folder, &["rs"])
}

/// Every file below `folder` with one of these endings, sorted; not what is built or fetched.
///
/// # Panics
/// When the folder cannot be read.
pub fn files(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).expect("a source folder is readable") {
            let path = entry.expect("its entries too").path();
            let name = path.file_name().map(|name| name.to_string_lossy().into_owned());
            let foreign = |name: &String| {
                name.starts_with('.') || ["target", "node_modules"].contains(&name.as_str())
            };
            if path.is_dir() {
                open.extend(name.is_some_and(|name| !foreign(&name)).then_some(path));
            } else if path
                .extension()
                .is_some_and(|has| endings.iter().any(|ending| has == *ending))
            {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// The top-level modules that a source text reaches through `crate::…`, groups included.
pub fn modules_reached(source: &str) -> BTreeSet<String> {
    let code: String = source
        .lines()
        .map(|line| line.split("//").next().unwrap_or(""))
        .collect::<Vec<_>>()
        .join("\n");
    let mut reached = BTreeSet::new();
    for (at, _) in code.match_indices("crate::") {
        let before = code[..at].chars().next_back();
        if before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == '$') {
            continue;
        }
        let rest = &code[at + "crate::".len()..];
        match rest.strip_prefix('{') {
            None => reached.extend(first_name(rest)),
            Some(group) => reached.extend(group_names(group)),
        }
    }
    reached
}

fn first_name(text: &str) -> Option<String> {
    let name: String = text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    (!name.is_empty()).then_some(name)
}

/// The first names of a `{a::b, c, d::{e, f}}` group whose opening brace is already read.
fn group_names(group: &str) -> Vec<String> {
    let (mut depth, mut expects_name, mut names) = (0, true, Vec::new());
    for (at, c) in group.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => break,
            '}' => depth -= 1,
            ',' if depth == 0 => expects_name = true,
            c if expects_name && (c.is_alphanumeric() || c == '_') => {
                names.extend(first_name(&group[at..]));
                expects_name = false;
            }
            _ => {}
        }
    }
    names
}

#[cfg(test)]
mod tests {
    use super::modules_reached;

    #[test]
    fn plain_and_grouped_paths_are_found_and_comments_are_not() {
        let source =
            "use crate::a::B;\nuse crate::{c::{D, e}, f};\n// crate::g\nlet x = crate::h::i();";
        let reached: Vec<_> = modules_reached(source).into_iter().collect();
        assert_eq!(reached, ["a", "c", "f", "h"]);
    }
}
