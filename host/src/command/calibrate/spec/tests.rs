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
    assert_eq!(spec.planned.basis, Some(rillmark_proto::record::Basis::Molarity));
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
    let Spec { planned, on_bench, .. } = changed.expect("well formed");
    assert_eq!((planned.lot.as_str(), planned.opened_days), ("B", Some(MARCH_31 - 1)));
    assert_eq!((planned.expiry_days, planned.single_use), (Some(MARCH_31), true));
    assert_eq!(on_bench.at("ours", 0), ("ours", Some(20.0)));
    for key in ["table=25:7.0", "u=0.01"] {
        assert!(spec(&format!("{file},{key}")).expect_err(key).ends_with('.'));
    }
}

#[test]
fn label_and_certificate_vouch_for_a_published_solution() {
    let planned = |text, quantity| Spec::parse(text, quantity).expect("fine").planned;
    let certified = planned("borax,u=0.003,certificate=26-0311", Quantity::Ph);
    assert_eq!(certified.stated, Some(Stated::Absolute(0.003)));
    assert_eq!(certified.certificate.as_str(), "26-0311");
    // A label's ± is a limit: a/√3 (JCGM 100:2008, 4.3.7).
    let labelled = planned("1413,tolerance=1%", Quantity::Conductivity);
    let Some(Stated::Relative(u)) = labelled.stated else { panic!("{:?}", labelled.stated) };
    assert!((u - 0.01 / 3f64.sqrt()).abs() < 1e-15);
    let absolute = planned("1413,tolerance=14", Quantity::Conductivity);
    assert_eq!(absolute.stated, Some(Stated::Absolute(14.0 / 3f64.sqrt())));
    assert_eq!(planned("borax", Quantity::Ph).stated, None);
    assert_eq!(planned("our 7,table=25:7.00", Quantity::Ph).stated, None);
    assert_eq!(planned("borax,weighed", Quantity::Ph).made, Made::Weighed);
}

#[test]
fn a_sachet_is_finished_by_asking_or_by_saying_what_to_add() {
    let spec = |text: &str| Spec::parse(text, Quantity::Ph).expect("fine");
    let whole = spec("borax,water=deionised,vessel=flask,dissolved=2027-03-31");
    let Made::Sachet(dissolved) = whole.planned.made else { panic!("a sachet") };
    assert_eq!(dissolved.days, MARCH_31);
    let mut part = spec("borax,sachet,water=boiled");
    let sentence = part.finish(None, &mut Vec::new()).expect_err("nobody to be asked");
    assert!(sentence.contains("vessel=") && sentence.contains("dissolved="), "{sentence}");
    let mut person = &b"flask\n2027-03-31\n"[..];
    part.finish(Some(&mut person), &mut Vec::new()).expect("answered");
    assert!(matches!(part.planned.made, Made::Sachet(it) if it.days == MARCH_31));
    assert_eq!(spec("borax").finish(None, &mut Vec::new()), Ok(()));
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
        "borax,u=1%",
        "borax,u=10",
        "borax,u=0.01,tolerance=0.02",
        "borax,tolerance=0",
        "borax,u=nan",
        "borax,certificate=01234567890123456",
        "borax,certificate=\u{1b}[2J",
        "borax,lot=\u{202e}A",
        "borax,sachet,opened=2027-03-30",
        "borax,sachet,weighed",
        "borax,water=rain",
        "borax,vessel=cup",
        "borax,dissolved=today",
        "tea,u=0.01",
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

#[test]
fn a_key_that_stands_twice_is_refused() {
    let doubled = [
        "lot=A,lot=B",
        "lot=A,lot=A",
        "expires=2027-01-01,expires=2029-01-01",
        "opened=2026-01-01,opened=2026-06-01",
        "opened-limit=3,opened-limit=90",
        "certificate=1,certificate=2",
        "single-use,single-use",
        "sachet,sachet",
        "weighed,weighed",
        "water=boiled,water=tap",
        "vessel=flask,vessel=by-eye",
        "dissolved=2026-01-01,dissolved=2026-01-02",
        "table=25:1413,table=25:1500",
        "at=20,at=30",
        "beaker=air,beaker=air",
        "u=5,tolerance=5",
    ];
    for keys in doubled {
        let sentence =
            Spec::parse(&format!("1413,{keys}"), Quantity::Conductivity).expect_err(keys);
        let says = sentence.contains("stands twice") || sentence.contains("once.");
        assert!(says, "{keys}: {sentence}");
    }
    assert!(Spec::parse("1413,lot=A\u{202e}B", Quantity::Conductivity).is_err());
}

#[test]
fn a_bottle_without_a_name_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("bottle.toml");
    let text = "quantity = \"ph\"\nname = \" \"\nvalues = [[25, 7.0]]\n";
    std::fs::write(&path, text).expect("written");
    let file = path.to_str().expect("UTF-8");
    for written in [file, ",table=20:7.02/25:7.00,u=0.02"] {
        let sentence = Spec::parse(written, Quantity::Ph).expect_err("nobody knows which it was");
        assert!(sentence.contains("needs its name"), "{sentence}");
    }
}
