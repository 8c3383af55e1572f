//! The files that lie in `front-end/`, so that nobody needs Rust to open them, are those of the table.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::{env, fs};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("front-end")
}

/// Every file below a folder by its name; what KiCad keeps for a person (`.kicad_prl`) left out.
fn below(folder: &Path, prefix: &str, to: &mut BTreeMap<String, String>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let entry = entry.expect("an entry");
        let name = format!("{prefix}{}", entry.file_name().to_string_lossy());
        if entry.path().is_dir() {
            below(&entry.path(), &format!("{name}/"), to);
        } else if !name.ends_with(".kicad_prl") {
            to.insert(name, fs::read_to_string(entry.path()).expect("text"));
        }
    }
}

#[test]
fn committed_files_are_those_of_the_table() {
    let made: BTreeMap<String, String> =
        rillmark_kicad::files().into_iter().map(|file| (file.name, file.text)).collect();
    if env::var_os("RILLMARK_REGOLD").is_some() {
        let _ = fs::remove_dir_all(folder());
        for (name, text) in &made {
            let path = folder().join(name);
            fs::create_dir_all(path.parent().expect("in a folder")).expect("a folder");
            fs::write(path, text).expect("written");
        }
    }
    let mut committed = BTreeMap::new();
    below(&folder(), "", &mut committed);
    let names: Vec<&String> = committed.keys().collect();
    assert_eq!(names, made.keys().collect::<Vec<_>>());
    for (name, text) in &made {
        let differs = text.lines().zip(committed[name].lines()).find(|(made, is)| made != is);
        assert!(
            *text == committed[name],
            "{name} is not what the table says ({differs:?}): \
             RILLMARK_REGOLD=1 cargo test -p rillmark-kicad --test committed"
        );
    }
}

#[test]
fn brackets_and_quotation_marks_of_every_file_match() {
    for file in rillmark_kicad::files() {
        let (mut depth, mut is_quoted, mut is_escaped) = (0_i32, false, false);
        for c in file.text.chars() {
            match c {
                _ if is_escaped => is_escaped = false,
                '\\' => is_escaped = true,
                '"' => is_quoted = !is_quoted,
                '(' | '{' if !is_quoted => depth += 1,
                ')' | '}' if !is_quoted => depth -= 1,
                _ => {}
            }
            assert!(depth >= 0, "{}", file.name);
        }
        assert!(depth == 0 && !is_quoted, "{}", file.name);
    }
}

#[test]
fn identities_of_a_file_are_all_different() {
    for file in rillmark_kicad::files() {
        let mut seen = std::collections::BTreeSet::new();
        for head in ["(uuid ", "(tstamp "] {
            for rest in file.text.split(head).skip(1) {
                let identity = &rest[..36];
                assert!(seen.insert(identity), "{}: {identity} twice", file.name);
            }
        }
    }
}
