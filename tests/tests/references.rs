//! Citations of `shared-proto/REFERENCES.md`, and the words in which sources are tagged.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use rillmark_tests::source_tree::{files, root};

const ENTRIES: &str = "shared-proto/REFERENCES.md";
const CHECKLIST: &str = "shared-proto/REFERENCES-CHECKLIST.md";
const THIS: &str = "tests/tests/references.rs";

/// Every text of the project by its path from the root, but this one.
fn texts() -> Vec<(String, String)> {
    let root = root();
    let name = |path: &Path| path.strip_prefix(&root).expect("below it").display().to_string();
    files(&root, &["rs", "md", "py", "js", "toml", "cir", "inc"])
        .into_iter()
        .map(|path| (name(&path), fs::read_to_string(&path).expect("text")))
        .filter(|(name, _)| name.replace('\\', "/") != THIS)
        .collect()
}

fn read(name: &str) -> String {
    fs::read_to_string(root().join(name)).expect("it is there")
}

/// Entries by number, each with its text.
fn entries() -> Vec<(usize, String)> {
    let text = read(ENTRIES);
    let found: Vec<_> = text
        .split("\n## ")
        .skip(1)
        .map(|entry| {
            let (number, rest) = entry.split_once(". ").expect("`## n. Title`");
            (number.parse().expect("a number"), rest.to_owned())
        })
        .collect();
    let numbers: Vec<_> = found.iter().map(|(number, _)| *number).collect();
    assert_eq!(numbers, (1..=found.len()).collect::<Vec<_>>(), "numbered from 1, none left out");
    found
}

/// The numbers that a text cites; the error is what stands there instead of a citation.
fn cited(text: &str) -> Result<BTreeSet<usize>, String> {
    let mut numbers = BTreeSet::new();
    for (at, word) in text.match_indices("REFERENCES") {
        let rest = &text[at + word.len()..];
        if [".md", "-CHECKLIST.md", "`"].iter().any(|no_citation| rest.starts_with(no_citation)) {
            continue;
        }
        let digits: String =
            rest.trim_start_matches(' ').chars().take_while(char::is_ascii_digit).collect();
        let number = digits.parse().map_err(|_| rest.chars().take(20).collect::<String>())?;
        numbers.insert(number);
    }
    Ok(numbers)
}

#[test]
fn every_citation_leads_to_an_entry_and_every_entry_is_cited() {
    let known: BTreeSet<_> = entries().into_iter().map(|(number, _)| number).collect();
    let mut all = BTreeSet::new();
    for (name, text) in texts() {
        let numbers =
            cited(&text).unwrap_or_else(|rest| panic!("{name}: REFERENCES{rest} is none"));
        let lost: Vec<_> = numbers.difference(&known).collect();
        assert!(lost.is_empty(), "{name} cites entries that are not there: {lost:?}");
        if name != ENTRIES && name != CHECKLIST {
            all.extend(numbers);
        }
    }
    let unused: Vec<_> = known.difference(&all).collect();
    assert!(unused.is_empty(), "nobody cites {unused:?}");
}

#[test]
fn what_is_recalled_is_on_the_checklist() {
    let listed = cited(&read(CHECKLIST)).expect("citations");
    for (number, text) in entries() {
        let open = text.contains("recalled") || text.contains("seen at one remove");
        assert!(!open || listed.contains(&number), "entry {number}");
    }
}

/// Capitals are no words for a person, and comments take the same words as texts.
#[test]
fn tags_are_told_in_plain_words() {
    for (name, text) in texts() {
        for (number, line) in text.lines().enumerate() {
            let capitals = line
                .split(|c: char| !c.is_ascii_alphanumeric() && c != '_')
                .any(|word| ["SEEN", "MEMORY", "COMPUTED"].contains(&word));
            // A linker script's own word, and a constant's name.
            let other =
                line.contains("MEMORY {") || line.contains("const SEEN") || line.contains("::SEEN");
            assert!(!capitals || other, "{name}:{}: {}", number + 1, line.trim());
        }
    }
}

#[test]
fn what_is_no_citation_is_told() {
    assert_eq!(cited("(REFERENCES 3; seen), REFERENCES.md"), Ok([3].into()));
    assert_eq!(cited("REFERENCES 12a"), Ok([12].into()));
    assert!(cited("REFERENCES of the buffers").is_err());
}
