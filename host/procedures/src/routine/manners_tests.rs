use std::vec::Vec;

use super::*;
use crate::routine::standard::{Printed, Stated};
use rillmark_metrology::reference::{buffers, conductivity_standards};

fn planned(source: Source) -> Planned {
    Planned::new(Default::default(), source)
}

fn published(name: &str) -> Planned {
    planned(match buffers::by_name(name) {
        Some(buffer) => Source::Buffer(buffer),
        None => Source::Solution(conductivity_standards::by_name(name).unwrap()),
    })
}

fn bottle(ph: f64) -> Planned {
    let printed =
        Printed::try_new(Quantity::Ph, &[(20.0, ph), (30.0, ph)], Stated::Absolute(0.02)).unwrap();
    planned(Source::Printed(printed))
}

#[test]
fn each_thing_is_told_at_its_moment() {
    let three = ["phosphate-1-1", "phthalate-1977", "borax"].map(published);
    let told: Vec<_> = (0..4).map(|standard| before(Quantity::Ph, &three, standard)).collect();
    assert_eq!(told[0], [Manner::OneTemperature, Manner::SafetySheet, Manner::RinseElectrode]);
    assert_eq!(told[1], [Manner::NeverBack]);
    assert_eq!(told[2], [Manner::NeverBack, Manner::OpenLate, Manner::Borax]);
    assert_eq!(told[3], []);
    assert_eq!(after(Quantity::Ph), [Manner::NeverBack, Manner::StoreElectrode]);
}

#[test]
fn a_cell_is_kept_free_of_bubbles_and_the_lowest_standard_comes_first() {
    let one = [published("1413")];
    let first = [Manner::OneTemperature, Manner::SafetySheet];
    assert_eq!(
        before(Quantity::Conductivity, &one, 0)[..],
        [&first[..], &[Manner::RinseCell]].concat()
    );
    let two = ["kcl-0.001-mol-per-l", "1413"].map(published);
    assert_eq!(
        before(Quantity::Conductivity, &two, 0)[..],
        [&first[..], &[Manner::LowestFirst, Manner::RinseCell]].concat()
    );
    assert_eq!(before(Quantity::Conductivity, &two, 1), [Manner::NeverBack]);
    assert_eq!(after(Quantity::Conductivity), [Manner::NeverBack, Manner::StoreCell]);
}

#[test]
fn a_cell_is_dried_before_it_is_held_in_air() {
    assert_eq!(in_air(), [Manner::DryCell]);
}

#[test]
fn a_thermometer_is_held_beside_its_reference_and_nothing_is_poured() {
    let beside = Reference::Thermometer { celsius: None, standard_uncertainty_k: None };
    let beside = planned(Source::Reference(beside));
    let ice = planned(Source::Reference(Reference::Ice { standard_uncertainty_k: None }));
    let both = [beside, ice.clone()];
    assert_eq!(
        before(Quantity::Temperature, &both, 0),
        [Manner::BesideReference, Manner::PoorReference]
    );
    assert_eq!(before(Quantity::Temperature, &both, 1), [Manner::IceBath]);
    assert_eq!(after(Quantity::Temperature), Manners::new());
    // Whoever has no thermometer to compare with needs no advice about it.
    assert_eq!(
        before(Quantity::Temperature, &[ice], 0),
        [Manner::BesideReference, Manner::IceBath]
    );
}

/// Compositions as the literature gives them (REFERENCES 2); hazards are those of the salts
/// (REFERENCES 25): borax Repr. 1B (CLP), tetroxalate an oxalate, calcium hydroxide a strong alkali.
#[test]
fn bottles_are_cautioned_about_by_what_they_hold() {
    let cases: [(Planned, &[Manner]); 11] = [
        (published("phthalate-1977"), &[]),
        (published("technical-7.00"), &[]),
        (published("tetroxalate"), &[Manner::Oxalate, Manner::Caustic]),
        (published("borax"), &[Manner::OpenLate, Manner::Borax]),
        (published("carbonate"), &[Manner::OpenLate]),
        (published("calcium-hydroxide"), &[Manner::OpenLate, Manner::Caustic]),
        (published("technical-10.01"), &[Manner::OpenLate, Manner::MaybeBorate]),
        (bottle(1.5), &[Manner::Caustic]),
        (bottle(4.0), &[]),
        (bottle(9.2), &[Manner::OpenLate, Manner::MaybeBorate]),
        (bottle(13.0), &[Manner::OpenLate, Manner::Caustic]),
    ];
    for (planned, expected) in cases {
        assert_eq!(cautions(&planned.source), expected, "{:?}", planned.source);
    }
}

/// The most that one moment can hold is fewer than there is room for.
#[test]
fn nothing_is_lost_for_want_of_room() {
    for quantity in [Quantity::Ph, Quantity::Conductivity] {
        let buffers = buffers::ALL.iter().map(|buffer| published(buffer.name()));
        for first in buffers.chain([bottle(9.5)]) {
            let told = before(quantity, &[first.clone(), first], 0);
            assert!(told.len() < MAX_MANNERS, "{told:?}");
        }
    }
}
