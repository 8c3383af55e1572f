use rillmark_proto::units::Celsius;

use super::*;

fn file(text: &str) -> tempfile::NamedTempFile {
    let file = tempfile::Builder::new().suffix(".toml").tempfile().expect("a file");
    std::fs::write(file.path(), text).expect("written");
    file
}

fn read_text(text: &str, quantity: Quantity) -> Result<Planned, String> {
    let file = file(text);
    let name = file.path().to_str().expect("UTF-8");
    let bottle = read(name, quantity).map_err(|sentence| sentence.replace(name, "bottle.toml"));
    bottle.map(|bottle| bottle.planned)
}

fn read_whole(text: &str, quantity: Quantity) -> Bottle {
    let file = file(text);
    read(file.path().to_str().expect("UTF-8"), quantity).expect("well formed")
}

const OWN_PH: &str = r#"quantity = "ph"
name = "our 10"
values = [[20, 10.06], [25, 10.01], [30, 9.97]]
expanded-uncertainty = 0.02
coverage-factor = 2
lot = "10C-7"
expires = 2027-03-31
opened = 2027-03-30
opened-limit-days = 20
single-use = true
basis = "label"
"#;

#[test]
fn a_ph_bottle_is_understood_with_everything_on_its_label() {
    let planned = read_text(OWN_PH, Quantity::Ph).expect("well formed");
    let value = planned.source.value(Celsius::new(22.5)).expect("in its table");
    assert!((value.value - 10.035).abs() < 1e-12);
    // U = 0.02 with k = 2 is u = 0.01 (GUM 6.2.1).
    assert_eq!(value.standard_uncertainty, Some(0.01));
    // 2027-03-31 is 20 909 days after 1970-01-01: 57 years with 14 leap days, then 89 days.
    let day = 57 * 365 + 14 + 89;
    assert_eq!((planned.expiry_days, planned.opened_days), (Some(day), Some(day - 1)));
    assert_eq!((planned.opened_limit_days, planned.single_use), (Some(20), true));
    assert_eq!((planned.name.as_str(), planned.lot.as_str()), ("our 10", "10C-7"));
    assert_eq!(planned.basis, Some(Basis::Label));
}

#[test]
fn a_conductivity_comes_in_its_unit_and_its_uncertainty_may_be_relative() {
    let bottle = |unit: &str, value: &str, u: &str| {
        let text = format!(
            "quantity = \"conductivity\"\nname = \"own\"\nunit = \"{unit}\"\n\
             values = [[25, {value}]]\n{u}\nbasis = \"mass-fraction\"\n"
        );
        let planned = read_text(&text, Quantity::Conductivity).expect("well formed");
        assert_eq!(planned.basis, Some(Basis::MassFraction));
        let value = planned.source.value(Celsius::new(25.0)).expect("its row");
        (value.value, value.standard_uncertainty.expect("stated"))
    };
    // 1 S/m = 10 mS/cm = 10 000 µS/cm; 1 mS/m = 10 µS/cm.
    for (unit, value, u) in [
        ("µS/cm", "1410", "standard-uncertainty = 14.1"),
        ("uS/cm", "1410", "expanded-uncertainty-percent = 2\ncoverage-factor = 2"),
        ("mS/cm", "1.410", "standard-uncertainty = 0.0141"),
        ("mS/m", "141.0", "expanded-uncertainty = 2.82\ncoverage-factor = 2"),
        ("S/m", "0.1410", "standard-uncertainty-percent = 1.0"),
    ] {
        let (value, u) = bottle(unit, value, u);
        assert!((value - 1410.0).abs() < 1e-9 && (u - 14.1).abs() < 1e-9, "{unit}: {value} {u}");
    }
}

#[test]
fn a_bottle_may_be_one_of_the_literature() {
    let text = "quantity = \"conductivity\"\npublished = \"1413\"\nlot = \"A1\"\n";
    let planned = read_text(text, Quantity::Conductivity).expect("well formed");
    assert_eq!(planned.name.as_str(), "kcl-0.01-mol-per-l");
    assert_eq!((planned.lot.as_str(), planned.basis), ("A1", Some(Basis::Molarity)));
}

#[test]
fn what_is_wrong_is_one_sentence_with_its_line() {
    let ph = |from: &str, to: &str| {
        assert!(OWN_PH.contains(from), "{from}");
        OWN_PH.replace(from, to)
    };
    let cases = [
        (ph("lot = \"10C-7\"", "lot = \"10C-7\"\ncolour = \"red\""), 7),
        (ph("quantity = \"ph\"", "quantity = \"tea\""), 1),
        (ph("quantity = \"ph\"", "quantity = \"conductivity\""), 1),
        (ph("quantity = \"ph\"\n", "\n"), 1),
        (ph("name = \"our 10\"\n", ""), 2),
        (ph("name = \"our 10\"", "name = \"a name of far more than thirty-two bytes\""), 2),
        (ph("name = \"our 10\"", "published = \"10.01\""), 2),
        (ph("[25, 10.01]", "[19, 10.01]"), 3),
        (ph("[25, 10.01],", "\n[25, 14.01],"), 4),
        (ph("[[20, 10.06], [25, 10.01], [30, 9.97]]", "[]"), 3),
        (ph("[20, 10.06]", "[20, 10.06, 1]"), 3),
        (ph("[20, 10.06]", "[20]"), 3),
        (ph("[20, 10.06]", "[20, \"10.06\"]"), 3),
        (ph("[20, 10.06]", "[nan, 10.06]"), 3),
        (ph("values = [[20, 10.06], [25, 10.01], [30, 9.97]]\n", ""), 1),
        (ph("expanded-uncertainty = 0.02", "expanded-uncertainty = -0.02"), 4),
        (ph("expanded-uncertainty = 0.02", "expanded-uncertainty = 40"), 4),
        (ph("expanded-uncertainty = 0.02", "expanded-uncertainty-percent = 1"), 4),
        (ph("coverage-factor = 2\n", ""), 4),
        (ph("coverage-factor = 2", "coverage-factor = 0"), 5),
        (ph("coverage-factor = 2", "coverage-factor = 2\nstandard-uncertainty = 0.01"), 6),
        (ph("expanded-uncertainty = 0.02", "standard-uncertainty = 0.02"), 5),
        (ph("lot = \"10C-7\"", "lot = \"10C-7 but far too long\""), 6),
        (ph("expires = 2027-03-31", "expires = \"2027-03-31\""), 7),
        (ph("expires = 2027-03-31", "expires = 31.3.2027"), 7),
        (ph("expires = 2027-03-31", "expires = 2027-03-31T10:00:00"), 7),
        (ph("opened = 2027-03-30", "opened = 2027-02-30"), 8),
        (ph("opened-limit-days = 20", "opened-limit-days = -1"), 9),
        (ph("single-use = true", "single-use = 1"), 10),
        (ph("basis = \"label\"", "basis = \"demal\""), 11),
        (ph("basis = \"label\"", "unit = \"uS/cm\""), 11),
        ("quantity = \"ph\"\npublished = \"tea\"\n".into(), 2),
        ("quantity = \"ph\"\npublished = \"borax\"\nbasis = \"label\"\n".into(), 3),
        ("quantity = \"ph\"\npublished = \"borax\"\nstandard-uncertainty = 10\n".into(), 3),
        (ph("expanded-uncertainty = 0.02\n", ""), 4),
        (ph("expanded-uncertainty = 0.02", "label-tolerance = 0.02"), 5),
        (ph("expanded-uncertainty = 0.02\ncoverage-factor = 2", "label-tolerance = 0"), 4),
        (ph("expanded-uncertainty = 0.02\ncoverage-factor = 2", "label-tolerance-percent = 1"), 4),
        (ph("lot = \"10C-7\"", "lot = \"10C\\u001b[2J\""), 6),
        (ph("lot = \"10C-7\"", "certificate = \"a number of more than 16\""), 6),
        (ph("lot = \"10C-7\"", "statement = \"good\\nbetter\""), 6),
        (ph("lot = \"10C-7\"", "traceable-to = \"\\u202egood\""), 6),
        (ph("basis = \"label\"", "[sachet]\nwater = \"rain\""), 12),
        (ph("basis = \"label\"", "[sachet]\nvessel = \"cup\""), 12),
        (ph("basis = \"label\"", "[sachet]\nsize = 3"), 12),
        ("quantity = \"ph\"\npublished = \"borax\"\npublished = \"borax\"\n".into(), 3),
        ("quantity = \"ph\"\n\n= 3\n".into(), 3),
    ];
    for (text, line) in cases {
        let sentence = read_text(&text, Quantity::Ph).map(|_| ()).expect_err(&text);
        let beginning = format!("bottle.toml, line {line}: ");
        assert!(sentence.starts_with(&beginning), "{sentence}\n{text}");
        assert!(sentence.ends_with('.') && !sentence.contains('\n'), "{sentence}");
    }
    let no_unit = "quantity = \"conductivity\"\nname = \"own\"\nvalues = [[25, 1410]]\n";
    let sentence = read_text(no_unit, Quantity::Conductivity).expect_err("no unit");
    assert!(sentence.starts_with("bottle.toml, line 3: ") && sentence.contains("unit"));
}

/// A label's ± is a limit: a/√3 (JCGM 100:2008, 4.3.7). What is not stated is U = 0.05 pH or 3 %.
#[test]
fn a_label_states_limits_and_what_is_not_stated_is_known_poorly() {
    let bottle = |stated: &str| {
        let from = "expanded-uncertainty = 0.02\ncoverage-factor = 2\n";
        let planned = read_text(&OWN_PH.replace(from, stated), Quantity::Ph).expect("well formed");
        // On the day it was opened.
        let today = i64::from(planned.opened_days.expect("opened"));
        planned.value(Celsius::new(25.0), today).expect("in its table").standard_uncertainty
    };
    let u = bottle("label-tolerance = 0.02\n").expect("stated");
    assert!((u - 0.02 / 3f64.sqrt()).abs() < 1e-12);
    assert_eq!(bottle(""), Some(0.025));
    let conductivity = |stated: &str| {
        let text = format!(
            "quantity = \"conductivity\"\nname = \"own\"\nunit = \"mS/cm\"\n\
             values = [[25, 1.41]]\n{stated}\n"
        );
        let planned = read_text(&text, Quantity::Conductivity).expect("well formed");
        let value = planned.value(Celsius::new(25.0), 0).expect("its row");
        value.standard_uncertainty.expect("known")
    };
    assert!((conductivity("label-tolerance-percent = 1") - 14.1 / 3f64.sqrt()).abs() < 1e-9);
    assert!((conductivity("label-tolerance = 0.0141") - 14.1 / 3f64.sqrt()).abs() < 1e-9);
    assert!((conductivity("") - 1410.0 * 0.015).abs() < 1e-9);
}

#[test]
fn a_certificate_vouches_for_a_published_solution_and_its_maker_is_quoted() {
    let bottle = read_whole(
        "quantity = \"ph\"\npublished = \"borax\"\nexpanded-uncertainty = 0.006\n\
         coverage-factor = 2\ncertificate = \"26-0311\"\nstatement = \" pH(S), lot 3 \"\n\
         traceable-to = \"a national institute\"\n",
        Quantity::Ph,
    );
    assert_eq!(bottle.planned.certificate.as_str(), "26-0311");
    assert_eq!(bottle.planned.stated, Some(Stated::Absolute(0.003)));
    assert_eq!(bottle.said.statement.as_deref(), Some("pH(S), lot 3"));
    assert_eq!(bottle.said.traceable_to.as_deref(), Some("a national institute"));
}

#[test]
fn a_sachet_says_as_much_as_is_known() {
    let text = "quantity = \"conductivity\"\npublished = \"1413\"\n[sachet]\nwater = \"boiled\"\n";
    let sachet = read_whole(text, Quantity::Conductivity).sachet.expect("a sachet");
    assert_eq!(sachet.missing(), "vessel=flask|cylinder|by-eye,dissolved=YYYY-MM-DD");
}

#[test]
fn the_files_of_the_readme_are_understood() {
    let readme = include_str!("../../../../../README.md");
    let blocks: Vec<_> = readme.split("```toml\n").skip(1).collect();
    let file = |at: usize| blocks[at].split("```").next().expect("it ends");
    let buffer = read_text(file(0), Quantity::Ph).expect("the buffer");
    assert_eq!((buffer.name.as_str(), buffer.opened_limit_days), ("our 10", Some(28)));
    let ampoule = read_text(file(1), Quantity::Conductivity).expect("the ampoule");
    assert!(ampoule.single_use && ampoule.source.range() == (20.0, 30.0));
    let sachet = read_whole(file(2), Quantity::Conductivity);
    assert!(sachet.sachet.expect("a sachet").dissolved().is_some());
    assert_eq!(blocks.len(), 3);
}

#[test]
fn what_is_not_there_or_no_text_is_one_sentence() {
    assert!(read("/nowhere/bottle.toml", Quantity::Ph).expect_err("not there").ends_with('.'));
    let file = file("");
    std::fs::write(file.path(), [0xFF, 0xFE]).expect("written");
    let name = file.path().to_str().expect("UTF-8");
    assert!(read(name, Quantity::Ph).expect_err("not UTF-8").ends_with('.'));
}

proptest::proptest! {
    /// Whatever stands in a file, it is understood or refused in one sentence.
    #[test]
    fn no_text_panics(text in "[a-z\\-=\"0-9.,\\[\\] \n]{0,200}") {
        if let Err(sentence) = read_text(&text, Quantity::Ph) {
            proptest::prop_assert!(sentence.ends_with('.') && !sentence.contains('\n'));
        }
    }

    /// The same for a good file with a piece cut out.
    #[test]
    fn no_cut_panics(from in 0..OWN_PH.len(), length in 1usize..40) {
        let cut: String =
            OWN_PH.chars().take(from).chain(OWN_PH.chars().skip(from + length)).collect();
        if let Err(sentence) = read_text(&cut, Quantity::Ph) {
            proptest::prop_assert!(sentence.ends_with('.') && !sentence.contains('\n'));
        }
    }
}
