//! What a damaged store says, against what is true.

use std::panic::{AssertUnwindSafe, catch_unwind};

use embassy_futures::block_on;
use rillmark_firmware::store::Store;
use rillmark_proto::identity::RecordId;
use rillmark_proto::reading::{CalibrationsUsed, Coefficients};
use rillmark_proto::record::fitted::Fitted;
use rillmark_proto::wire::message::Listed;

use super::generations::{Generations, equipment};
use super::strict_flash::StrictFlash;
use super::{Damage, mount};

/// Starts of the board after the damage.
const STARTS: u32 = 3;

/// What became of a damaged store.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// As it was: nothing that counts was hit, or it was mended, which the first start said.
    Whole {
        /// Whether the first start said that something was wrong.
        said: bool,
    },
    /// Something is missing, and every start says so.
    Missing,
    /// The store is refused, and every start says so.
    Refused,
    /// A reading would be another or a record is missing, and nothing says so. Or the boot count went back.
    Silent(&'static str),
    /// A panic, or a write over what was not blank.
    Panic(String),
}

/// A record that is listed.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Kept {
    id: RecordId,
    in_force: bool,
    /// As the list says.
    is_whole: bool,
    is_handed_out: bool,
}

/// What readings are computed with, what is kept, and what the board is.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Seen {
    coefficients: Coefficients,
    used: CalibrationsUsed,
    fitted: Option<Fitted>,
    records: Vec<Kept>,
    boot: u32,
    has_fault: bool,
    is_refused: bool,
}

impl Seen {
    pub(super) fn of(store: &mut Store<&mut StrictFlash>) -> Self {
        let equipment = store.equipment();
        let listed = store.listed().unwrap_or_default();
        let kept = |listed: &Listed| Kept {
            id: listed.id,
            in_force: listed.in_force,
            is_whole: listed.whole,
            is_handed_out: block_on(store.record(listed.id)).is_ok(),
        };
        let records = listed.iter().map(kept).collect();
        Self {
            coefficients: *store.coefficients(),
            used: store.used(),
            is_refused: equipment.is_err(),
            fitted: equipment.ok().flatten().map(|equipment| equipment.fitted),
            records,
            boot: store.boot(),
            has_fault: store.has_fault(),
        }
    }

    /// Identities of the records that readings are computed with.
    pub(super) fn in_force_ids(&self) -> impl Iterator<Item = RecordId> {
        self.records.iter().filter(|kept| kept.in_force).map(|kept| kept.id)
    }

    fn is_like(&self, truth: &Self) -> bool {
        self.coefficients == truth.coefficients
            && self.used == truth.used
            && self.fitted == truth.fitted
            && self.records == truth.records
    }

    /// True when a record is listed as whole and not handed out, or the other way round.
    fn lists_wrongly(&self) -> bool {
        self.records.iter().any(|kept| kept.is_whole != kept.is_handed_out)
    }
}

impl Generations {
    /// Damages the store, starts the board several times and lets somebody say in between what is fitted.
    pub fn verdict(&self, damage: Damage) -> Verdict {
        let mut flash = self.flash.clone();
        damage.strike(&mut flash);
        catch_unwind(AssertUnwindSafe(|| self.starts(&mut flash))).unwrap_or_else(|panic| {
            let text = panic.downcast_ref::<String>().cloned();
            Verdict::Panic(text.unwrap_or_else(|| "panic".into()))
        })
    }

    fn starts(&self, flash: &mut StrictFlash) -> Verdict {
        let mut verdict = None;
        for start in 0..STARTS {
            let mut store = mount(flash);
            let seen = Seen::of(&mut store);
            let is_like = seen.is_like(&self.truth);
            if !seen.has_fault && !is_like {
                return Verdict::Silent(if start == 0 { "at once" } else { "after a start" });
            }
            if seen.lists_wrongly() {
                return Verdict::Silent("listed wrongly");
            }
            if !seen.has_fault && seen.boot < self.truth.boot + start {
                return Verdict::Silent("boot count");
            }
            verdict.get_or_insert(match (is_like, seen.is_refused) {
                (true, _) => Verdict::Whole { said: seen.has_fault },
                (false, false) => Verdict::Missing,
                (false, true) => Verdict::Refused,
            });
            // Somebody says what is fitted, which is another change.
            if start == 0 {
                let _ = block_on(store.equip(equipment()));
                let seen = Seen::of(&mut store);
                if !seen.has_fault && !seen.is_like(&self.truth) {
                    return Verdict::Silent("after a change");
                }
            }
        }
        verdict.unwrap_or(Verdict::Refused)
    }
}
