//! Which orders of pages are taken for a map's own, against a model of what the map and power cuts leave.

use super::*;
use std::vec::Vec as List;
use std::{format, vec};

const WORD: u32 = 4;

fn used(start: bool, end: bool) -> Page {
    Page { start, end, is_exact: true, len: 4096, count: 3000 }
}

const BLANK: Page = Page { start: false, end: false, is_exact: true, len: 0, count: 0 };

/// Dirt in a blank page.
fn dirt(len: u32, count: u32) -> Page {
    Page { len, count, ..BLANK }
}

/// Every state that the map leaves between two operations on its marks, and a name for it.
fn states(count: usize) -> List<(std::string::String, List<Page>)> {
    let mut pages = vec![BLANK; count];
    let mut states = vec![("blank".into(), pages.clone())];
    for turn in 0..3 * count {
        let (page, next) = (turn % count, (turn + 1) % count);
        pages[page] = used(true, false);
        states.push((format!("turn {turn} marked"), pages.clone()));
        if !pages[next].is_blank() {
            // Its items were copied: erased.
            pages[next] = BLANK;
            states.push((format!("turn {turn} copied"), pages.clone()));
        }
        pages[page] = used(true, true);
        states.push((format!("turn {turn} closed"), pages.clone()));
    }
    states
}

#[test]
fn what_the_map_leaves_is_its_own_and_nothing_of_it_is_erased() {
    for count in 2..7 {
        for (name, pages) in states(count) {
            let layout = judge(&pages, WORD);
            assert_ne!(layout.kind, Kind::Foreign, "{count} pages, {name}");
            assert!(layout.erase.is_empty() && !layout.is_damaged, "{count} pages, {name}");
        }
    }
}

#[test]
fn what_a_power_cut_leaves_is_brought_to_an_end() {
    let under_erasure = [used(false, true), used(false, false), used(true, false)];
    for count in 3..7 {
        let states = states(count);
        for pair in states.windows(2) {
            let [(name, before), (_, after)] = pair else { panic!() };
            let changed = (0..count).find(|at| before[*at] != after[*at]).unwrap();
            if after[changed].is_blank() {
                for page in under_erasure {
                    let mut cut = before.clone();
                    cut[changed] = page;
                    let layout = judge(&cut, WORD);
                    let what = format!("{count} pages, erase after {name}: {layout:?}");
                    assert_eq!(layout.erase, [changed as u32], "{what}");
                    assert_ne!(layout.kind, Kind::Foreign, "{what}");
                }
                // Copying was cut short: the page that was copied to is erased, and copied to again.
                let copied_to = (changed + count - 1) % count;
                let mut cut = before.clone();
                cut[copied_to] = used(false, false);
                assert_eq!(judge(&cut, WORD).erase, [copied_to as u32], "{count} pages, {name}");
            }
            if before[changed].is_blank() {
                // A mark with too few bits to be one.
                let mut cut = before.clone();
                cut[changed] = dirt(WORD, 1);
                assert_eq!(judge(&cut, WORD).erase, [changed as u32], "{count} pages, {name}");
            }
        }
    }
}

#[test]
fn a_damaged_mark_erases_nothing_that_is_in_use() {
    for count in 2..8 {
        for (name, pages) in states(count) {
            for at in 0..count {
                let damaged = match pages[at] {
                    page if page.is_blank() => [used(true, false), used(false, true)],
                    _ => [used(false, pages[at].end), used(pages[at].start, false)],
                };
                for page in damaged {
                    let mut pages = pages.clone();
                    let was = core::mem::replace(&mut pages[at], page);
                    let layout = judge(&pages, WORD);
                    let what = format!("{count} pages, {name}, page {at} {page:?}: {layout:?}");
                    // Where copying is under way, the page copied to holds nothing but copies.
                    let is_copying = !pages.iter().any(Page::is_blank);
                    for erased in &layout.erase {
                        let is_in_use = *erased as usize != at || !was.is_blank();
                        assert!(!is_in_use || is_copying, "{what}");
                    }
                }
            }
        }
    }
}

#[test]
fn dirt_in_blank_pages_is_erased_and_told_and_more_than_dirt_is_not() {
    let mut pages = vec![used(true, true), used(true, false), BLANK, BLANK, BLANK];
    pages[3] = dirt(900, 40);
    let layout = judge(&pages, WORD);
    assert_eq!((layout.kind, layout.is_damaged), (Kind::Whole, true));
    assert_eq!(layout.erase, [3]);
    pages[4] = dirt(1, 1);
    assert_eq!(judge(&pages, WORD).erase, [3, 4]);
    pages[2] = dirt(1, 1);
    assert_eq!(judge(&pages, WORD).kind, Kind::Foreign, "in every page");
    pages[2] = BLANK;
    pages[4] = dirt(4000, 257);
    assert_eq!(judge(&pages, WORD).kind, Kind::Foreign, "more than dirt");
}

#[test]
fn the_first_bytes_of_all_are_a_beginning() {
    let begun = Page { start: true, len: 200, count: 150, ..BLANK };
    assert_eq!(judge(&[begun, BLANK, BLANK], WORD).kind, Kind::Begun);
    assert_eq!(judge(&[BLANK, begun, BLANK], WORD).kind, Kind::Whole);
    let long = Page { len: 300, ..begun };
    assert_eq!(judge(&[long, BLANK, BLANK], WORD).kind, Kind::Whole);
    let inexact = Page { is_exact: false, ..begun };
    assert_eq!(judge(&[inexact, BLANK, BLANK], WORD).kind, Kind::Doubtful);
    let cut = judge(&[dirt(3, 2), BLANK, BLANK], WORD);
    assert_eq!((cut.kind, cut.erase.as_slice()), (Kind::Blank, &[0][..]));
    assert_eq!(judge(&[dirt(5, 2), BLANK, BLANK], WORD).kind, Kind::Foreign);
}
