//! Who calibrates: the guided routine, led by somebody who follows it.

use rillmark_procedures::routine::judgement::Judgement;
use rillmark_procedures::routine::machine::Routine;
use rillmark_procedures::routine::plan::{MAX_HISTORY, Plan, Situation};
use rillmark_procedures::routine::profile;
use rillmark_procedures::routine::standard::{Planned, Source};
use rillmark_procedures::routine::step::{Choice, Event, Guided, Step};
use rillmark_procedures::routine::verify::{Verify, VerifyPlan, VerifySituation};
use rillmark_proto::calibration::conductivity::Compensation;
use rillmark_proto::calibration::ph::DEFAULT_ISOPOTENTIAL;
use rillmark_proto::identity::{BoardId, ShortId};
use rillmark_proto::reading::{Coefficients, Reading};
use rillmark_proto::record::fitted::Fitted;
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::record::verification::VerificationRecord;
use rillmark_proto::record::{CalibrationRecord, Quantity, Record};
use rillmark_proto::reference::compensation::DEFAULT_EXPONENT;

use super::nature::Chance;
use super::nature::bottle::Bottle;

/// One day in ms.
pub(super) const DAY_MS: i64 = 86_400_000;
/// The day on which everything begins: 2026-01-01 as days since 1970-01-01.
pub(super) const FIRST_DAY: i64 = 20_454;

/// Somebody who stopped because of what the routine said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stopped(
    /// The permanent code of what was said.
    pub &'static str,
);

/// What is known of a probe: its records, and the day.
#[derive(Clone, Debug)]
pub(super) struct Papers {
    pub(super) in_force: Coefficients,
    /// Oldest first.
    pub(super) records: Vec<Record>,
    /// Today, as days since [`FIRST_DAY`].
    pub(super) day: f64,
    /// How a cell's readings are referred to 25 °C.
    pub(super) compensation: Compensation,
}

/// Who moves a probe into a bottle and reads it.
pub(super) trait Hands {
    /// Into a bottle of this temperature in °C.
    ///
    /// # Errors
    /// When the bottle's solution has no value there.
    fn place(&mut self, bottle: &Bottle, celsius: f64, chance: &mut Chance) -> Result<(), Stopped>;

    /// The next reading.
    fn read(&mut self, quantity: Quantity, chance: &mut Chance) -> Reading;
}

/// What stops an operator who knows that the beakers are right: points that contradict each other, a
/// check that is off.
fn stops(said: &Judgement) -> bool {
    matches!(
        said.code(),
        "residual-large"
            | "ph-points-contradict"
            | "conductivity-residual-large"
            | "conductivity-points-contradict"
            | "ph-as-left-off"
            | "conductivity-as-left-off"
            | "temperature-as-left-off"
            | "thermometer-residual-large"
    )
}

impl Papers {
    /// Of a probe that was never calibrated.
    pub(super) fn new() -> Self {
        Self {
            in_force: Coefficients::default(),
            records: Vec::new(),
            day: 0.0,
            compensation: Compensation::NaturalWater { exponent: DEFAULT_EXPONENT },
        }
    }

    /// Host time now in ms since 1970-01-01 UTC.
    pub(super) fn utc_ms(&self) -> i64 {
        FIRST_DAY * DAY_MS + (self.day * DAY_MS as f64) as i64
    }

    fn situation(&self, quantity: Quantity) -> Situation {
        let serial = |text: &str| text.try_into().ok();
        let calibrations = || self.records.iter().filter_map(Record::calibration);
        let earlier = || calibrations().filter(|record| record.quantity() == quantity);
        let history = earlier().rev().take(MAX_HISTORY).map(|record| record.result).collect();
        Situation {
            board: BoardId([7; 8]),
            fitted: Fitted {
                electrode: serial("E-1"),
                cell: serial("C-1"),
                thermometer: serial("T-1"),
            },
            in_force: self.in_force,
            previous: self.last(quantity).map(short),
            before: earlier().next_back().cloned(),
            history,
            utc_ms: self.utc_ms(),
        }
    }

    /// Calibrates in these bottles, which stand in a room of this temperature in °C.
    ///
    /// # Errors
    /// What made the operator stop.
    pub(super) fn calibrate(
        &mut self,
        hands: &mut impl Hands,
        bottles: &[Bottle],
        room_c: f64,
        chance: &mut Chance,
    ) -> Result<(), Stopped> {
        let Some(first) = bottles.first() else { return Ok(()) };
        let quantity = first.planned.source.quantity();
        let plan = Plan {
            checks_apart: false,
            quantity,
            standards: bottles.iter().map(|bottle| bottle.planned.clone()).collect(),
            operator: Default::default(),
            due_in_days: None,
            compensation: self.compensation,
            isopotential: DEFAULT_ISOPOTENTIAL,
            zero_in_air: false,
            thermometer: None,
            tolerance: None,
            nominal_cell_constant: None,
            incident: None,
            stored_days: None,
        };
        let mut routine = Routine::new(plan, self.situation(quantity));
        routine.tell_time(self.utc_ms());
        let record: CalibrationRecord = lead(&mut routine, hands, bottles, room_c, chance)?;
        record.result.put_into(&mut self.in_force);
        self.records.push(record.into());
        Ok(())
    }
}

impl Papers {
    /// Verifies the calibration of a quantity in a bottle that it has not seen.
    ///
    /// # Errors
    /// What made the operator stop: a verification that failed, among others.
    pub(super) fn verify(
        &mut self,
        hands: &mut impl Hands,
        bottle: &Bottle,
        room_c: f64,
        chance: &mut Chance,
    ) -> Result<(), Stopped> {
        let quantity = bottle.planned.source.quantity();
        let calibration = self.last(quantity).map(short);
        let situation = self.situation(quantity);
        let seen = self.last(quantity).and_then(|index| self.records[index].calibration());
        let plan = VerifyPlan {
            quantity,
            standard: bottle.planned.clone(),
            operator: Default::default(),
            criterion: profile::FIELD.criterion(quantity).ok_or(Stopped("no limit"))?,
        };
        let situation = VerifySituation {
            is_beside_another: false,
            board: situation.board,
            fitted: situation.fitted,
            in_force: self.in_force,
            calibration,
            seen: seen.iter().flat_map(|record| record.points.iter().cloned()).collect(),
            all_seen: true,
            utc_ms: self.utc_ms(),
        };
        let mut verify = Verify::new(plan, situation);
        verify.tell_time(self.utc_ms());
        let bottles = core::slice::from_ref(bottle);
        let record: VerificationRecord = lead(&mut verify, hands, bottles, room_c, chance)?;
        if record.verdict == Verdict::Fail {
            return Err(Stopped("failed verification"));
        }
        self.records.push(record.into());
        Ok(())
    }

    /// Number of the last calibration of a quantity among the records.
    pub(super) fn last(&self, quantity: Quantity) -> Option<usize> {
        let is = |record: &Record| {
            record.calibration().is_some_and(|calibration| calibration.quantity() == quantity)
        };
        self.records.iter().rposition(is)
    }
}

/// The short form of record number `index` of a probe's papers.
pub(super) fn short(index: usize) -> ShortId {
    ShortId((index as u32).to_be_bytes())
}

/// Leads a routine through its bottles.
fn lead<R: Guided>(
    routine: &mut R,
    hands: &mut impl Hands,
    bottles: &[Bottle],
    room_c: f64,
    chance: &mut Chance,
) -> Result<R::Record, Stopped> {
    let quantity = routine.quantity();
    let mut waits = 0;
    loop {
        match routine.step() {
            Step::Place { standard } => {
                // Bottles of one bench stand within half a kelvin of each other (chosen).
                let celsius = room_c + chance.within(0.5);
                hands.place(&bottles[standard], celsius, chance)?;
                routine.on(Event::Placed);
            }
            Step::Settle { .. } => {
                let reading = hands.read(quantity, chance);
                routine.on(Event::Reading(&reading));
            }
            Step::Decide(allowed) => {
                let said = routine.said();
                if let Some(stop) = said.iter().find(|said| stops(said)) {
                    return Err(Stopped(stop.code()));
                }
                let choice = if allowed.wait && waits < 4 {
                    waits += 1;
                    Choice::Wait
                } else if allowed.go_on {
                    Choice::Continue
                } else if allowed.override_ {
                    Choice::Override("as it is".try_into().unwrap_or_default())
                } else {
                    let heaviest = said.iter().max_by_key(|said| said.severity());
                    return Err(Stopped(heaviest.map_or("nothing was said", Judgement::code)));
                };
                routine.on(Event::Choice(choice));
            }
            Step::Finished(record) => return Ok(record),
            Step::Refused => {
                let heaviest = routine.said().iter().max_by_key(|said| said.severity());
                return Err(Stopped(heaviest.map_or("nothing was said", Judgement::code)));
            }
            Step::Air | Step::SettleInAir { .. } | Step::Reference { .. } | Step::Cancelled => {
                return Err(Stopped("not in these plans"));
            }
        }
    }
}

/// A plan's standard by its name.
pub(super) fn planned(name: &str) -> Planned {
    use rillmark_metrology::reference::{buffers, conductivity_standards};
    let source = buffers::by_name(name)
        .map(Source::Buffer)
        .or_else(|| conductivity_standards::by_name(name).map(Source::Solution))
        .expect("a standard of the literature");
    Planned::new(name.try_into().expect("a short name"), source)
}
