//! Links between the pages lead somewhere, and every page can be reached from the first.

use super::{folder, page, pages};

/// What stands between `](` and `)`.
fn targets(text: &str) -> Vec<String> {
    let ends = text.split("](").skip(1).filter_map(|rest| rest.split_once(')'));
    // A link's target may not be broken over lines; its words may.
    ends.map(|(target, _)| target.to_owned()).collect()
}

/// A heading as an anchor: small letters, blanks as hyphens, the rest of the signs left out.
fn anchors(text: &str) -> Vec<String> {
    let headings = text.lines().filter(|line| line.starts_with('#'));
    let anchor = |line: &str| {
        let words = line.trim_start_matches('#').trim().to_lowercase();
        let kept = words.chars().filter(|c| c.is_alphanumeric() || *c == ' ' || *c == '-');
        kept.map(|c| if c == ' ' { '-' } else { c }).collect()
    };
    headings.map(anchor).collect()
}

#[test]
fn every_link_leads_somewhere() {
    for name in pages() {
        let text = page(&name);
        for target in targets(&text) {
            if target.starts_with("https://") {
                continue;
            }
            let (file, anchor) = target.split_once('#').unwrap_or((&target, ""));
            let file = if file.is_empty() { name.as_str() } else { file };
            assert!(folder().join(file).is_file(), "{name}: {target}");
            if !anchor.is_empty() {
                assert!(anchors(&page(file)).iter().any(|one| one == anchor), "{name}: {target}");
            }
        }
    }
}

#[test]
fn the_first_page_leads_to_every_other() {
    let linked = targets(&page("README.md"));
    for name in pages() {
        assert!(name == "README.md" || linked.contains(&name), "{name} is linked from nowhere");
    }
}
