//! `rillmark keep`: records from files into the probe again.

use std::collections::BTreeMap;
use std::path::PathBuf;

use clap::Args;
use rillmark_proto::identity::RecordId;
use rillmark_proto::record::fitted::Serial;
use rillmark_proto::record::{Record, RecordBytes, codec};
use rillmark_proto::wire::message::{KEPT_OF_EACH, Refusal};
use serde_json::json;

use super::guided::{Gone, beside};
use super::record_view::{Kept, Unread, brief, kept_records, what};
use super::{Context, output};
use crate::exit::{Exit, Failure};
use crate::link::probe::{Probe, ProbeError, connect};
use crate::session::source::Source;
use crate::words::en::{probe as words, routine as routine_words};

/// `rillmark keep …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE_KEEP)]
pub struct Options {
    /// Records of `show --export`, and sessions, which carry the records that were in force.
    #[arg(value_name = "FILE", required = true)]
    files: Vec<PathBuf>,
}

/// A record that a file offers.
#[derive(Clone, Debug)]
struct Offer {
    id: RecordId,
    record: Record,
    bytes: RecordBytes,
}

/// What of the offered is kept, in this order, and what is not.
#[derive(Debug, Default)]
struct Order {
    /// Each with whether something newer, or in force, stands before it.
    kept: Vec<(Offer, bool)>,
    /// The probe keeps the last two of each sensor, and these are earlier than both.
    too_early: Vec<Offer>,
    /// Of a sensor that is not fitted now, each with the one that is.
    not_fitted: Vec<(Offer, Option<Serial>)>,
}

/// Has the probe keep them. A calibration that is in force stays so at every moment; where none is, the newest
/// is then.
///
/// # Errors
/// [`Exit::BadInput`] for a file that holds no record, and [`Exit::Refused`] for records of another board or of
/// sensors none of which is fitted, before anything is kept; otherwise those of the conversation.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let offered = read(&options.files)?;
    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    let before = probe.records()?;
    let Order { kept, too_early, not_fitted } = keep(&mut probe, offered)?;
    let gone = Gone::between(before, &probe.records()?);
    let now = kept_records(&mut probe)?;
    let damaged: Vec<_> = now.iter().filter(|it| it.record == Err(Unread::Damaged)).collect();
    if context.json {
        let value = json!({
            "board": probe.answer().board.to_string(),
            "kept": kept.iter().map(|(offer, _)| offer.id.to_string()).collect::<Vec<_>>(),
            "too_early": too_early.iter().map(|offer| offer.id.to_string()).collect::<Vec<_>>(),
            "not_fitted":
                not_fitted.iter().map(|(offer, _)| offer.id.to_string()).collect::<Vec<_>>(),
            "no_longer_kept": gone.ids(),
            "still_damaged": damaged.iter().map(|kept| kept.id.to_string()).collect::<Vec<_>>(),
            "in_force":
                now.iter().filter(|kept| kept.in_force).map(Kept::json).collect::<Vec<_>>(),
        });
        return output::json(context.out, &value);
    }
    let again = kept.iter().map(|(it, _)| words::kept_again(&it.id.short(), &brief(&it.record)));
    let not = too_early.iter().map(|it| words::too_early(&it.id.short(), &brief(&it.record)));
    let other = not_fitted.iter().map(|(it, fitted)| {
        words::other_sensor(&it.id.short(), &brief(&it.record), it.record.of(), fitted.as_ref())
    });
    let still =
        damaged.iter().map(|kept| words::still_damaged(&kept.id.short(), what(kept.quantity)));
    let said: Vec<String> = again.chain(not).chain(other).chain(still).collect();
    let text = match said.is_empty() {
        true => output::line_of(words::ALL_KEPT_ALREADY),
        false => said.iter().map(|line| output::line_of(line)).collect(),
    };
    let in_force: Vec<_> = now.into_iter().filter(|kept| kept.in_force).collect();
    let table = Kept::table(&in_force, probe.link().utc_ms());
    output::text(context.out, &format!("{text}{}\n{}\n{table}", gone.lines(), words::IN_FORCE))
}

/// What was kept that the probe did not have.
fn keep(probe: &mut Probe, offered: Vec<Offer>) -> Result<Order, Failure> {
    let board = probe.answer().board;
    let fitted = probe.equipment()?.map(|equipment| equipment.fitted).unwrap_or_default();
    if let Some(other) = offered.iter().find(|it| it.record.board() != board) {
        let made_for = other.record.board();
        return Err(ProbeError::Refused(Refusal::OtherBoard { made_for }).into());
    }
    let serial = |it: &Offer| fitted.serial_for(it.record.quantity()).cloned();
    let is_fitted = |it: &Offer| it.record.of().is_some() && serial(it).as_ref() == it.record.of();
    let (mut offered, others): (Vec<_>, Vec<_>) = offered.into_iter().partition(is_fitted);
    if offered.is_empty() && !others.is_empty() {
        return Err(ProbeError::Refused(Refusal::NotFitted).into());
    }
    let listed = kept_records(probe)?;
    offered.retain(|it| !listed.iter().any(|kept| kept.id == it.id && kept.record.is_ok()));
    let not_fitted = others.into_iter().map(|it| (it.clone(), serial(&it))).collect();
    let order = Order { not_fitted, ..ordered(offered, &listed) };
    let broke_off = |error: ProbeError| beside(error.into(), words::KEEP_BROKE_OFF);
    for (Offer { id, bytes, .. }, is_earlier) in &order.kept {
        let kept = match is_earlier {
            true => probe.keep_earlier(bytes.clone()),
            false => probe.keep(bytes.clone()),
        };
        let kept = kept.map_err(broke_off)?;
        if kept != *id || probe.record(kept).map_err(broke_off)? != *bytes {
            return Err(Failure::new(Exit::Probe, routine_words::NOT_KEPT_AS_GIVEN));
        }
    }
    Ok(order)
}

/// In which order they are kept, so that no earlier calibration is ever in force, wherever it breaks off.
fn ordered(mut offered: Vec<Offer>, listed: &[Kept]) -> Order {
    offered.sort_by_key(|it| std::cmp::Reverse(it.record.utc_ms()));
    let mut order = Order::default();
    for offer in offered {
        let is_same = |record: &Record| {
            let of = |it: &Record| (it.kind(), it.quantity(), it.of().cloned());
            of(record) == of(&offer.record)
        };
        let stays = listed.iter().filter(|kept| {
            let is_before = |record: &Record| record.utc_ms() > offer.record.utc_ms();
            kept.record
                .as_ref()
                .is_ok_and(|record| is_same(record) && (kept.in_force || is_before(record)))
        });
        let taken = order.kept.iter().filter(|(it, _)| is_same(&it.record));
        match stays.count() + taken.count() {
            KEPT_OF_EACH.. => order.too_early.push(offer),
            before => order.kept.push((offer, before > 0)),
        }
    }
    order
}

/// The records of the files, each once.
fn read(files: &[PathBuf]) -> Result<Vec<Offer>, Failure> {
    let mut records = BTreeMap::new();
    for path in files {
        let source = Source::of(path)?;
        let none = || Failure::new(Exit::BadInput, words::no_record_in(source.name()));
        let held = match source.record()? {
            Some(record) => vec![record],
            None => {
                let session = source.session().map_err(|failure| match failure.exit {
                    Exit::BadInput => none(),
                    _ => failure,
                })?;
                let held = session.records.into_values().filter(|held| !held.altered);
                held.filter_map(|held| Some((held.id, held.record.ok()?))).collect()
            }
        };
        // Nothing but what has the very same bytes, and so the same identity.
        let same = held.into_iter().filter_map(|(id, record)| {
            let bytes = codec::encode(&record).ok()?;
            (codec::identity(&bytes) == id).then_some((id, Offer { id, record, bytes }))
        });
        let same: Vec<_> = same.collect();
        if same.is_empty() {
            return Err(none());
        }
        records.extend(same);
    }
    Ok(records.into_values().collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::sample::ph_record;

    fn offer(utc_ms: i64) -> Offer {
        let mut record = ph_record(1.0);
        record.utc_ms = utc_ms;
        let record = Record::from(record);
        let bytes = codec::encode(&record).expect("it fits");
        Offer { id: codec::identity(&bytes), record, bytes }
    }

    fn kept(utc_ms: i64, in_force: bool) -> Kept {
        let Offer { id, record, bytes } = offer(utc_ms);
        Kept { id, quantity: record.quantity(), in_force, bytes, record: Ok(record) }
    }

    /// Wherever it breaks off, what is in force is what was, or the newest.
    #[test]
    fn no_earlier_calibration_is_ever_in_force() {
        let cases = [
            (vec![], vec![1, 3, 2], vec![(3, false), (2, true)], vec![1]),
            (vec![kept(5, true)], vec![1, 3], vec![(3, true)], vec![1]),
            // What is in force stays so, whatever its time.
            (vec![kept(5, true)], vec![7], vec![(7, true)], vec![]),
            (vec![kept(4, false), kept(5, true)], vec![3], vec![], vec![3]),
            (vec![kept(4, false)], vec![3, 6], vec![(6, false)], vec![3]),
        ];
        for (listed, offered, taken, early) in cases {
            let order = ordered(offered.iter().copied().map(offer).collect(), &listed);
            let found: Vec<_> =
                order.kept.iter().map(|(it, earlier)| (it.record.utc_ms(), *earlier)).collect();
            let left: Vec<_> = order.too_early.iter().map(|it| it.record.utc_ms()).collect();
            assert_eq!((found, left), (taken, early), "{offered:?}");
        }
    }
}
