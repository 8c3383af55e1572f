//! Good manners at the bench: what an operator is told, and when. The words are the host's.

use heapless::Vec;

use super::limits;
use super::standard::{Planned, Reference, Source};
use rillmark_proto::record::Quantity;

/// The most that is told at one moment.
const MAX_MANNERS: usize = 8;

/// Something that is told at the moment when it is needed; once is enough.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Manner {
    /// Bottles, probe and the water to be measured at one temperature.
    OneTemperature,
    /// The bottle's safety data sheet and the local rules come first.
    SafetySheet,
    /// Several conductivity standards: the lowest first, so that little is carried over.
    LowestFirst,
    /// How to rinse an electrode and dry it without wiping.
    RinseElectrode,
    /// How to rinse a cell and keep bubbles out.
    RinseCell,
    /// How to compare a thermometer with its reference.
    BesideReference,
    /// Why and how a cell is held in air.
    DryCell,
    /// What is no good reference.
    PoorReference,
    /// How an ice bath is made.
    IceBath,
    /// A used standard is not poured back.
    NeverBack,
    /// An alkaline bottle is opened only when its turn comes.
    OpenLate,
    /// Borax is classified toxic to reproduction.
    Borax,
    /// A buffer of a pH that is often made with borate.
    MaybeBorate,
    /// Tetroxalate is acid and an oxalate.
    Oxalate,
    /// A strong acid or alkali.
    Caustic,
    /// How an electrode is put away.
    StoreElectrode,
    /// How a cell is put away.
    StoreCell,
}

/// What is told at one moment, in the order in which it is said.
pub type Manners = Vec<Manner, MAX_MANNERS>;

/// pH between which a buffer whose composition is not known may be a borate: about one pH to either
/// side of boric acid's 9.2 it buffers well. Common practice, no source.
const BORATE_PH: (f64, f64) = (8.5, 10.5);

/// What is told before the probe goes into one of the standards, an index; nothing for one that is
/// not among them.
pub fn before(quantity: Quantity, standards: &[Planned], standard: usize) -> Manners {
    let mut manners = Manners::new();
    // There is room: at most four of the bench and three of the bottle.
    let mut tell = |manner| {
        let _ = manners.push(manner);
    };
    let Some(planned) = standards.get(standard) else { return manners };
    let several = standards.len() > 1;
    match (standard, quantity) {
        (0, Quantity::Ph) => {
            tell(Manner::OneTemperature);
            tell(Manner::SafetySheet);
            tell(Manner::RinseElectrode);
        }
        (0, Quantity::Conductivity) => {
            tell(Manner::OneTemperature);
            tell(Manner::SafetySheet);
            if several {
                tell(Manner::LowestFirst);
            }
            tell(Manner::RinseCell);
        }
        (0, Quantity::Temperature) => {
            tell(Manner::BesideReference);
            if standards.iter().any(|standard| !is_ice(&standard.source)) {
                tell(Manner::PoorReference);
            }
        }
        (_, Quantity::Ph | Quantity::Conductivity) => tell(Manner::NeverBack),
        (_, Quantity::Temperature) => {}
    }
    if is_ice(&planned.source) {
        tell(Manner::IceBath);
    }
    if quantity == Quantity::Ph {
        cautions(&planned.source).into_iter().for_each(tell);
    }
    manners
}

/// What is told before the cell is held in air.
pub fn in_air() -> Manners {
    [Manner::DryCell].into_iter().collect()
}

const fn is_ice(source: &Source) -> bool {
    matches!(source, Source::Reference(Reference::Ice { .. }))
}

/// What is told when the calibration is done.
pub fn after(quantity: Quantity) -> Manners {
    let manners: &[Manner] = match quantity {
        Quantity::Ph => &[Manner::NeverBack, Manner::StoreElectrode],
        Quantity::Conductivity => &[Manner::NeverBack, Manner::StoreCell],
        Quantity::Temperature => &[],
    };
    manners.iter().copied().collect()
}

/// What there is to say about the content of a buffer's bottle.
fn cautions(source: &Source) -> Manners {
    let known = match source {
        Source::Buffer(buffer) => buffer.name(),
        Source::Solution(_) | Source::Printed(_) | Source::Reference(_) => "",
    };
    let Some(ph) = source.near_25() else { return Manners::new() };
    let (acid, alkali) = limits::CAUSTIC_PH.value;
    let (least, most) = BORATE_PH;
    [
        (ph > limits::ALKALINE_PH.value, Manner::OpenLate),
        (known == "borax", Manner::Borax),
        // A technical buffer or a bottle of one's own is whatever its maker put into it.
        (
            (known.is_empty() || known.starts_with("technical")) && (least..=most).contains(&ph),
            Manner::MaybeBorate,
        ),
        (known == "tetroxalate", Manner::Oxalate),
        (ph < acid || ph > alkali, Manner::Caustic),
    ]
    .into_iter()
    .filter_map(|(applies, manner)| applies.then_some(manner))
    .collect()
}

#[cfg(test)]
#[path = "manners_tests.rs"]
mod tests;
