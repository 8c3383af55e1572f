//! What the README promises is held by what it names.

use std::fs;

use rillmark_tests::source_tree::root;

#[test]
fn every_promise_names_what_holds_it() {
    let readme = fs::read_to_string(root().join("README.md")).expect("it is there");
    let section = readme.split_once("## What survives what").expect("the section").1;
    let section = section.split("\n## ").next().expect("its text");
    let promises: Vec<&str> =
        section.lines().filter(|line| line.starts_with("| ")).skip(1).collect();
    assert_eq!(promises.len(), 5, "{promises:#?}");
    for promise in promises {
        let links: Vec<&str> =
            promise.split("](").skip(1).filter_map(|rest| rest.split(')').next()).collect();
        assert!(!links.is_empty(), "nothing holds: {promise}");
        for link in links {
            let text = fs::read_to_string(root().join(link)).unwrap_or_default();
            // A page of figures, or tests that run.
            let is_page = link.ends_with(".md") && text.contains("silent");
            assert!(is_page || text.contains("#[test]") || text.contains("proptest!"), "{link}");
        }
    }
}
