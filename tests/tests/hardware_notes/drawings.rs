//! Every part with its value and every place in the committed drawings. That these are what their
//! sources draw is `hardware-notes/drawings/run`.

use std::fs;

use rillmark_net_list::places;
use rillmark_proto::circuit::parts;

use super::{folder, page, pages};

/// The texts of every drawing, in the order of the file.
fn texts() -> Vec<(String, Vec<String>)> {
    let mut drawings = vec![];
    for entry in fs::read_dir(folder().join("drawings")).expect("the folder of the drawings") {
        let path = entry.expect("an entry").path();
        if path.extension().is_some_and(|extension| extension == "svg") {
            let svg = fs::read_to_string(&path).expect("a drawing");
            let texts = svg.split("<tspan").skip(1);
            let texts = texts.filter_map(|rest| rest.split_once('>')?.1.split_once("</tspan>"));
            let name = path.file_name().expect("a name").to_string_lossy().into_owned();
            drawings.push((name, texts.map(|(text, _)| text.to_owned()).collect()));
        }
    }
    assert!(drawings.len() >= 10, "{}", drawings.len());
    drawings
}

#[test]
fn every_part_is_drawn_once_with_its_value() {
    let drawings = texts();
    for part in parts::ALL {
        let at: Vec<&[String]> = drawings
            .iter()
            .flat_map(|(_, texts)| texts.windows(2).filter(|pair| pair[0] == part.designator))
            .filter(|pair| pair[1].ends_with(['Ω', 'F']))
            .collect();
        let [pair] = at[..] else { panic!("{}: drawn {} times", part.designator, at.len()) };
        assert_eq!(pair[1], part.to_string(), "{}", part.designator);
    }
}

#[test]
fn every_place_is_drawn() {
    let drawings = texts();
    for place in places::ALL {
        let is_it = |word: &str| word.trim_end_matches(['A', 'B', 'C']) == place.designator;
        let is_drawn = drawings
            .iter()
            .filter(|(name, _)| name != "block-diagram.svg")
            .flat_map(|(_, texts)| texts)
            .any(|text| text.split(|c: char| !c.is_ascii_alphanumeric()).any(is_it));
        assert!(is_drawn, "{} stands in no drawing but the first", place.designator);
    }
}

#[test]
fn every_drawing_is_shown_on_a_page() {
    let all: String = pages().iter().map(|name| page(name)).collect();
    for (name, _) in texts() {
        assert!(all.contains(&format!("](drawings/{name})")), "{name}");
    }
}
