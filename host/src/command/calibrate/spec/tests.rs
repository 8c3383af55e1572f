use super::*;

// 2027-03-31 is 20 909 days after 1970-01-01: 57 years with 14 leap days, then 89 days.
const MARCH_31: i32 = 57 * 365 + 14 + 89;

#[test]
fn a_standard_is_understood_with_everything_that_may_stand_behind_it() {
    let spec = Spec::parse(
        "1413,lot=A12,expires=2027-03-31,opened=2027-03-30,opened-limit=60,single-use,at=21.5,\
         beaker=147",
        Quantity::Conductivity,
    )
    .expect("well formed");
    assert_eq!(spec.planned.name.as_str(), "kcl-0.01-mol-per-l");
    assert_eq!(spec.planned.lot.as_str(), "A12");
    assert_eq!(spec.planned.expiry_days, Some(MARCH_31));
    assert_eq!(spec.planned.opened_days, Some(MARCH_31 - 1));
    assert_eq!(spec.planned.opened_limit_days, Some(60));
    assert!(spec.planned.single_use);
    assert_eq!(spec.planned.basis, Some(conductivity_standards::Basis::Molarity));
    assert_eq!(spec.on_bench.at("1413", 0), ("147", Some(21.5)));
}

#[test]
fn a_bottle_with_its_own_table_keeps_its_own_name() {
    let spec = Spec::parse("our 7,table=20:7.02/25:7.00,u=0.02", Quantity::Ph).expect("fine");
    assert_eq!(spec.planned.name.as_str(), "our 7");
    assert_eq!(spec.planned.source.range(), (20.0, 25.0));
    assert_eq!((spec.planned.opened_days, spec.planned.single_use), (None, false));
}

#[test]
fn what_stands_behind_a_file_goes_before_it_but_for_its_values() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("bottle.toml");
    let text = "quantity = \"ph\"\nname = \"own\"\nvalues = [[25, 7.0]]\n\
                standard-uncertainty = 0.01\nlot = \"A\"\nexpires = 2027-03-31\n\
                opened = 2027-03-01\n";
    std::fs::write(&path, text).expect("written");
    let file = path.to_str().expect("UTF-8");
    let spec = |text: &str| Spec::parse(text, Quantity::Ph);
    let planned = spec(file).expect("well formed").planned;
    assert_eq!((planned.lot.as_str(), planned.opened_days), ("A", Some(MARCH_31 - 30)));
    let changed = spec(&format!("file={file},lot=B,opened=2027-03-30,single-use,at=20"));
    let Spec { planned, on_bench } = changed.expect("well formed");
    assert_eq!((planned.lot.as_str(), planned.opened_days), ("B", Some(MARCH_31 - 1)));
    assert_eq!((planned.expiry_days, planned.single_use), (Some(MARCH_31), true));
    assert_eq!(on_bench.at("ours", 0), ("ours", Some(20.0)));
    for key in ["table=25:7.0", "u=0.01"] {
        assert!(spec(&format!("{file},{key}")).expect_err(key).ends_with('.'));
    }
}

#[test]
fn what_is_not_understood_is_a_sentence() {
    for text in [
        "phthalate",
        "",
        "borax,lot",
        "borax,colour=red",
        "borax,expires=31.3.2027",
        "borax,opened=yesterday",
        "borax,opened-limit=-1",
        "borax,opened-limit=some",
        "borax,single-use=no",
        "borax,at=warm",
        "borax,beaker=tea",
        "borax,lot=01234567890123456",
        "own,table=20:7.02",
        "own,table=20-7.02,u=0.02",
        "own,table=25:7.0/20:7.02,u=0.02",
        "own,table=25:7.0,u=-1",
        "a name of far more than thirty-two bytes,table=25:7.0,u=0.1",
        "1413",
    ] {
        let sentence = Spec::parse(text, Quantity::Ph).map(|_| ()).expect_err(text);
        assert!(sentence.ends_with('.'), "{text}: {sentence}");
    }
}
