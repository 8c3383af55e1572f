//! How a reference thermometer or an ice bath is written.

use rillmark_metrology::fit::temperature::REFERENCE_UNCERTAINTY_RANGE_K;
use rillmark_procedures::routine::standard::{Planned, Reference, Source, Stated};
use rillmark_proto::record::StandardName;

use super::keys::{Keys, number};
use crate::words::en::standard as words;

/// Understands `reference`, `reference=C` or `ice` with what stands behind it; the error is a sentence.
pub(super) fn planned(name: &str, keys: &mut Keys) -> Result<Planned, String> {
    let of_a_bottle = [
        (keys.table.is_some(), "table="),
        (keys.opened_days.is_some(), "opened="),
        (keys.opened_limit_days.is_some(), "opened-limit="),
        (keys.single_use, "single-use"),
        (keys.weighed, "weighed"),
        (keys.sachet.is_some(), "sachet"),
    ];
    if let Some((_, key)) = of_a_bottle.iter().find(|(given, _)| *given) {
        return Err(words::not_behind_a_reference(key));
    }
    let standard_uncertainty_k = match keys.stated {
        None => None,
        Some(Stated::Absolute(u)) => Some(u),
        Some(Stated::Relative(_)) => return Err(words::KELVIN_IN_PERCENT.to_owned()),
    };
    let (least, most) = REFERENCE_UNCERTAINTY_RANGE_K;
    if let Some(u) = standard_uncertainty_k.filter(|u| !(least..=most).contains(u)) {
        return Err(words::bad_reference_uncertainty(u, least, most));
    }
    let (name, reference) = match name.split_once('=') {
        None if name == "ice" => ("ice-point", Reference::Ice { standard_uncertainty_k }),
        None if name == "reference" => {
            (name, Reference::Thermometer { celsius: None, standard_uncertainty_k })
        }
        Some(("reference", value)) => {
            let (min, max) = Reference::RANGE;
            let celsius = number(value)?;
            if !(min..=max).contains(&celsius) {
                return Err(words::bad_reference(celsius, min, max));
            }
            ("reference", Reference::Thermometer { celsius: Some(celsius), standard_uncertainty_k })
        }
        _ => return Err(words::unknown_reference(name)),
    };
    keys.on_bench.bath(reference.celsius());
    // Both names are short.
    let name = StandardName::try_from(name).unwrap_or_default();
    Ok(Planned::new(name, Source::Reference(reference)))
}

#[cfg(test)]
mod tests {
    use rillmark_proto::record::Quantity;

    use super::super::Spec;
    use super::*;

    fn parse(text: &str) -> Result<Spec, String> {
        Spec::parse(text, Quantity::Temperature)
    }

    #[test]
    fn a_reference_is_read_when_asked_or_known_beforehand() {
        let asked = "reference,u=0.05,lot=R-7,expires=2028-03-31,certificate=T 26-0311,at=18.5";
        let asked = parse(asked).expect("fine");
        assert_eq!(asked.planned.certificate.as_str(), "T 26-0311");
        assert_eq!(asked.planned.name.as_str(), "reference");
        assert_eq!(asked.planned.lot.as_str(), "R-7");
        assert!(asked.planned.source.is_unread() && asked.planned.expiry_days.is_some());
        assert_eq!(asked.on_bench.at("reference", 0), ("bath", Some(18.5)));
        assert_eq!(parse("reference").expect("fine").on_bench.at("", 0), ("bath", None));

        let Source::Reference(known) = parse("reference=25.03").expect("fine").planned.source
        else {
            panic!("a reference");
        };
        // 0.1 K is the default of an unstated reference, 0.05 K that of ice.
        assert_eq!((known.celsius(), known.standard_uncertainty_k()), (Some(25.03), 0.1));
        let ice = parse("ice").expect("fine");
        assert_eq!(ice.on_bench.at("ice-point", 0), ("bath", Some(0.0)));
        let Source::Reference(ice) = ice.planned.source else { panic!("a reference") };
        assert_eq!((ice.celsius(), ice.standard_uncertainty_k()), (Some(0.0), 0.05));
        assert!(!parse("reference=20").expect("fine").on_bench.plays_a_mistake());
        assert!(parse("reference=20,beaker=air").expect("fine").on_bench.plays_a_mistake());
    }

    #[test]
    fn what_is_not_understood_is_a_sentence() {
        for text in [
            "",
            "borax",
            "ice=0.0",
            "reference=warm",
            "reference=212",
            "reference,u=0",
            "reference,u=9",
            "reference,u=1%",
            "reference,sachet",
            "ice,weighed",
            "reference,table=20:20",
            "reference,opened=2027-03-30",
            "ice,single-use",
            "ice,opened-limit=3",
        ] {
            let sentence = parse(text).map(|_| ()).expect_err(text);
            assert!(sentence.ends_with('.'), "{text}: {sentence}");
        }
    }
}
