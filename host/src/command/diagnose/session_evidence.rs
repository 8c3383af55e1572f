//! From a session and what the person says about it to evidence.

use rillmark_metrology::fit::conductivity::ConductivityPoint;
use rillmark_metrology::reference::buffers;
use rillmark_metrology::reference::buffers::Buffer;
use rillmark_metrology::reference::conductivity_standards;
use rillmark_metrology::reference::conductivity_standards::Standard;
use rillmark_procedures::diagnose::beaker::{Moment, REST_MS};
use rillmark_procedures::diagnose::electrode::{self, Stirred as Stirring};
use rillmark_procedures::diagnose::evidence::{Evidence, ThermometerEvidence};
use rillmark_procedures::diagnose::stays::{self, CellStay, Known, Stay};
use rillmark_procedures::diagnose::thermometer;
use rillmark_procedures::routine::standard::{Planned, Source, Value};
use rillmark_proto::reading::{Flags, ProbeTime, Range, Reading};
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm};

use super::marks::{In, Reference, Stirred};
use super::slip;
use super::sources::Logged;
use crate::exit::{Exit, Failure};
use crate::session::replay::Replayed;
use crate::words::en::diagnose as words;

/// What a stay comes to at its end is the mean over this much, in s.
const END_S: f64 = 30.0;
/// A reference thermometer is compared with the readings over this much on either side, in s.
const BESIDE_S: f64 = 15.0;

/// How far a mark may be from what happened, in s.
const NEAR_MARK_S: f64 = 15.0;
/// What makes a step of the potential, in mV …
const STEP_MV: f64 = 10.0;
/// … and of the conductance, as a part.
const STEP_PART: f64 = 0.1;

/// What a beaker held.
#[derive(Clone, Copy)]
enum Solution {
    Buffer(&'static Buffer),
    Standard(&'static Standard),
    /// Something that nobody vouches for.
    Other,
}

/// What a bottle of which nothing but its name is known holds, as a calibration takes it: nobody says
/// when it was opened, so the day says nothing.
fn bottle(name: &str, source: Source, at: Celsius) -> Option<Value> {
    Planned::new(name.try_into().ok()?, source).value(at, 0).ok()
}

fn solution(name: &str) -> Result<Solution, Failure> {
    if matches!(name, "air" | "water") {
        return Ok(Solution::Other);
    }
    buffers::by_name(name)
        .map(Solution::Buffer)
        .or_else(|| conductivity_standards::by_name(name).map(Solution::Standard))
        .ok_or_else(|| Failure::new(Exit::BadInput, words::unknown_solution(name)))
}

/// The most readings that are looked at: a year of one every ten seconds. Each is held.
const MOST_READINGS: usize = 4_000_000;

/// What of a reading is looked at, with its moment in the session.
struct Timed {
    s: f64,
    ms: u64,
    utc_ms: Option<i64>,
    flags: Flags,
    celsius: Option<f64>,
    mv: Option<f64>,
    us: Option<f64>,
    range: Option<Range>,
}

impl Timed {
    fn of(ms: u64, replayed: &Replayed) -> Self {
        let Reading { raw, flags, .. } = replayed.reading;
        let usable = !flags.has(Flags::CELL_OPEN) && !flags.has(Flags::CELL_OVER_RANGE);
        Self {
            s: ms as f64 / 1e3,
            ms,
            utc_ms: replayed.utc_ms,
            flags,
            celsius: replayed.assessment.computed.temperature_c.map(f64::from),
            mv: raw.potential().filter(|_| !flags.has(Flags::NOT_SETTLED)).map(|mv| mv.get()),
            us: raw.conductance().filter(|_| usable).map(|us| us.get()),
            range: raw.conductance.map(|raw| raw.range),
        }
    }

    fn celsius(&self) -> Option<f64> {
        self.celsius
    }

    fn mv(&self) -> Option<Moment> {
        Some((self.ms, self.mv?))
    }

    fn us(&self) -> Option<Moment> {
        Some((self.ms, self.us?))
    }
}

/// The readings of a session in their order, its first one at 0 s: by the probe's own time, so that a
/// computer's clock that is set moves nothing; over a start of the probe by UTC, where that went on.
fn readings(logged: &Logged) -> Result<Vec<Timed>, Failure> {
    let mut all: Vec<Timed> = Vec::new();
    let mut more = 0_u64;
    // The first reading of a start, and when it was taken.
    let mut began: Option<(ProbeTime, u64)> = None;
    logged.source.replay(&logged.session, &[], |replayed| {
        let time = replayed.reading.time;
        let last = all.last();
        let (first, at) = match began.filter(|(first, _)| first.boot == time.boot) {
            Some(began) => began,
            None => {
                let passed = last.and_then(|last| {
                    let passed = replayed.utc_ms?.checked_sub(last.utc_ms?)?;
                    u64::try_from(passed).ok()
                });
                (time, last.map_or(0, |last| last.ms.saturating_add(passed.unwrap_or(0))))
            }
        };
        began = Some((first, at));
        let ms = time.ms.checked_sub(first.ms).map(|passed| at.saturating_add(passed));
        // A reading that came late and out of its order says nothing about when.
        if let Some(ms) = ms.filter(|ms| all.last().is_none_or(|last| *ms >= last.ms)) {
            match all.len() < MOST_READINGS {
                true => all.push(Timed::of(ms, &replayed)),
                false => more += 1,
            }
        }
    })?;
    if more > 0 {
        let sentence = words::too_many_readings(logged.source.name(), MOST_READINGS);
        return Err(Failure::new(Exit::BadInput, sentence));
    }
    Ok(all)
}

/// One beaker: what it held and what was read in it.
struct Beaker<'a> {
    solution: Solution,
    name: &'a str,
    readings: &'a [Timed],
    placed_ms: u64,
}

impl Beaker<'_> {
    /// Temperature at the end: the middle one of the readings, so that a contact which comes and
    /// goes spoils nothing; `None` when the thermometer was silent more often than not.
    fn celsius(&self) -> Option<f64> {
        let end = self.readings.last()?.s;
        let late = || self.readings.iter().filter(|r| r.s + END_S >= end);
        median(late().filter_map(Timed::celsius).collect(), late().count())
    }

    /// Readings at the end of a stay in a buffer that were to have a potential and have none.
    fn missing(&self) -> u32 {
        let end = self.readings.last().map_or(0, |last| last.ms);
        let late = self.readings.iter().filter(|r| r.ms + REST_MS >= end);
        let lost = |r: &&Timed| r.flags.has(Flags::POTENTIAL_OVER_RANGE);
        u32::try_from(late.filter(lost).count()).unwrap_or(u32::MAX)
    }

    /// How fast the thermometer still moves at the end, in K/min, in a solution that keeps its own.
    fn temperature_drift(&self) -> Option<f64> {
        let celsius = |r: &Timed| Some((r.ms, r.celsius()?));
        let readings: Vec<Moment> = self.readings.iter().filter_map(celsius).collect();
        match self.solution {
            Solution::Other => None,
            _ => thermometer::drift_k_per_min(self.placed_ms, &readings),
        }
    }

    /// Refuses a stay in which the readings change as from one beaker to another.
    fn stayed(&self, mv: &[Moment], us: &[Moment]) -> Result<(), Failure> {
        let from_ms = self.placed_ms + slip::LATER_MS;
        let refused = |sentence: String| Err(Failure::new(Exit::BadInput, sentence));
        let of = |ms: u64| ms as f64 / 1e3;
        match self.solution {
            Solution::Buffer(_) => match slip::of_potential(mv, from_ms) {
                Some((ms, by_mv)) => {
                    refused(words::slip(self.name, of(ms), &words::potential_jumped(by_mv)))
                }
                None => Ok(()),
            },
            Solution::Standard(_) => match slip::of_conductance(us, from_ms) {
                Some((ms, times)) => {
                    refused(words::slip(self.name, of(ms), &words::conductance_jumped(times)))
                }
                None => Ok(()),
            },
            Solution::Other => Ok(()),
        }
    }

    fn known(&self) -> Option<Known> {
        let Solution::Buffer(buffer) = self.solution else {
            return None;
        };
        let temperature_c = self.celsius()?;
        let celsius = Celsius::new(temperature_c);
        let ph = bottle(buffer.name(), Source::Buffer(buffer), celsius)?;
        Some(Known {
            ph: ph.value,
            standard_uncertainty: ph.standard_uncertainty?,
            per_kelvin: buffer.ph_per_kelvin(celsius).ok()?,
            temperature_c,
        })
    }

    fn point(&self) -> Option<ConductivityPoint> {
        let Solution::Standard(standard) = self.solution else {
            return None;
        };
        let temperature = Celsius::new(self.celsius()?);
        let value = bottle(standard.name(), Source::Solution(standard), temperature)?;
        let end = self.readings.last()?.s;
        let late = || self.readings.iter().filter(|r| r.s + END_S >= end);
        let us = mean(late().filter_map(Timed::us).map(|(_, us)| us))?;
        let range = late().filter_map(|r| r.range).next_back()?;
        Some(ConductivityPoint {
            standard: MicrosiemensPerCm::new(value.value),
            standard_uncertainty: value.standard_uncertainty,
            standard_per_kelvin: 0.0,
            conductance: Microsiemens::new(us),
            range,
            temperature,
            bottle: None,
        })
    }
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0_u32), |(sum, count), value| (sum + value, count + 1));
    (count > 0).then(|| sum / f64::from(count))
}

/// The middle of the values; `None` when they are less than half of so many.
fn median(mut values: Vec<f64>, of: usize) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let enough = !values.is_empty() && 2 * values.len() >= of;
    enough.then(|| values[values.len() / 2])
}

/// Everything that the session shows.
pub(super) fn session_evidence(
    logged: &Logged,
    marks: &[In],
    stirred: &[Stirred],
    reference: Option<Reference>,
) -> Result<Evidence, Failure> {
    let readings = readings(logged)?;
    within(&readings, marks, stirred, reference)?;
    let beakers = beakers(&readings, marks)?;
    let still = |s: f64| !stirred.iter().any(|spell| (spell.from_s..=spell.to_s).contains(&s));
    let potentials: Vec<Vec<Moment>> = beakers
        .iter()
        .map(|beaker| beaker.readings.iter().filter(|r| still(r.s)).filter_map(Timed::mv).collect())
        .collect();
    let conductances: Vec<Vec<Moment>> = beakers
        .iter()
        .map(|beaker| beaker.readings.iter().filter_map(Timed::us).collect())
        .collect();
    let stays: Vec<Stay<'_>> = beakers
        .iter()
        .zip(&potentials)
        .map(|(beaker, readings)| Stay {
            placed_ms: beaker.placed_ms,
            readings,
            missing: beaker.missing(),
            steady: matches!(beaker.solution, Solution::Buffer(_)),
            buffer: beaker.known(),
        })
        .collect();
    let cells: Vec<CellStay<'_>> = beakers
        .iter()
        .zip(&conductances)
        .map(|(beaker, readings)| CellStay {
            readings,
            steady: matches!(beaker.solution, Solution::Standard(_)),
            point: beaker.point(),
        })
        .collect();
    for ((beaker, mv), us) in beakers.iter().zip(&potentials).zip(&conductances) {
        beaker.stayed(mv, us)?;
    }
    let mut evidence = Evidence {
        electrode: stays::electrode_evidence(&stays),
        cell: stays::cell_evidence(&cells),
        thermometer: thermometer(&readings, reference),
    };
    let stirring = stir_mv(&beakers, stirred);
    evidence.electrode.line_utc_ms = readings.last().and_then(|last| last.utc_ms);
    evidence.electrode.stir_mv = stirring.map(|seen| seen.mv);
    evidence.electrode.stir_deviation_mv = stirring.and_then(|seen| seen.deviation_mv);
    let drifts = beakers.iter().filter_map(Beaker::temperature_drift).map(f64::abs);
    evidence.thermometer.drift_k_per_min = drifts.reduce(f64::max);
    Ok(evidence)
}

/// Refuses marks of moments that the session has no readings of.
fn within(
    readings: &[Timed],
    marks: &[In],
    stirred: &[Stirred],
    reference: Option<Reference>,
) -> Result<(), Failure> {
    let end_s = readings.last().map_or(0.0, |last| last.s);
    let bad = |sentence: String| Err(Failure::new(Exit::BadInput, sentence));
    let told: Vec<String> = marks
        .iter()
        .filter(|mark| mark.from_s > 0.0 && mark.from_s >= end_s)
        .map(|mark| words::in_mark(&mark.name, mark.from_s))
        .chain(
            stirred
                .iter()
                .filter(|spell| spell.to_s > end_s)
                .map(|spell| words::stirred_mark(spell.from_s, spell.to_s)),
        )
        .chain(
            reference
                .filter(|reference| reference.at_s > end_s + BESIDE_S)
                .map(|reference| words::reference_mark(reference.celsius, reference.at_s)),
        )
        .collect();
    let any = !marks.is_empty() || !stirred.is_empty() || reference.is_some();
    match told.as_slice() {
        _ if readings.is_empty() && any => bad(words::NO_READINGS.into()),
        [] => Ok(()),
        past => bad(words::past_the_end(end_s, past)),
    }
}

/// The session cut at the marks; without any it is one stay in some water. A person's seconds are as
/// good as a person's watch: the readings near a mark tell better when the probe was moved.
fn beakers<'a>(readings: &'a [Timed], marks: &'a [In]) -> Result<Vec<Beaker<'a>>, Failure> {
    let mut marks: Vec<(Solution, &str, f64)> = marks
        .iter()
        .map(|mark| Ok((solution(&mark.name)?, mark.name.as_str(), mark.from_s)))
        .collect::<Result<_, Failure>>()?;
    marks.sort_by(|one, other| one.2.total_cmp(&other.2));
    if marks.first().is_none_or(|(.., from)| *from > NEAR_MARK_S) {
        marks.insert(0, (Solution::Other, "water", 0.0));
    }
    let cuts: Vec<(usize, u64)> = marks.iter().map(|(.., from)| moved(readings, *from)).collect();
    // The last reading before a move may have been taken half on its way.
    let ends = cuts.iter().skip(1).map(|(index, _)| index.saturating_sub(1));
    let ends = ends.chain([readings.len()]);
    Ok(marks
        .iter()
        .zip(&cuts)
        .zip(ends)
        .map(|(((solution, name, _), (begin, placed_ms)), end)| Beaker {
            solution: *solution,
            name,
            readings: &readings[*begin..end.max(*begin)],
            placed_ms: *placed_ms,
        })
        .filter(|beaker| !beaker.readings.is_empty())
        .collect())
}

/// The first reading in the next beaker and the moment before it, near a mark: where potential and
/// conductance together make their largest step, if that is one at all.
fn moved(readings: &[Timed], mark_s: f64) -> (usize, u64) {
    let cut = |s: f64| readings.partition_point(|reading| reading.s < s);
    let as_told = (cut(mark_s), (mark_s * 1e3) as u64);
    if mark_s <= NEAR_MARK_S {
        return (0, readings.first().map_or(0, |first| first.ms));
    }
    let near = cut(mark_s - NEAR_MARK_S)..cut(mark_s + NEAR_MARK_S);
    let step = |index: usize| {
        let (one, other) = (&readings[index - 1], &readings[index]);
        let mv = one.mv().zip(other.mv()).map_or(0.0, |(a, b)| (b.1 - a.1).abs() / STEP_MV);
        let part = one.us().zip(other.us()).map_or(0.0, |(a, b)| {
            if a.1 > 0.0 && b.1 > 0.0 { (b.1 / a.1).ln().abs() / STEP_PART } else { 0.0 }
        });
        mv + part
    };
    near.filter(|index| *index > 0)
        .map(|index| (index, step(index)))
        .max_by(|one, other| one.1.total_cmp(&other.1))
        .filter(|(_, step)| *step >= 1.0)
        .map_or(as_told, |(index, _)| (index, readings[index - 1].ms))
}

/// Stirred minus still, over all spells: the later half of each against as long a time before it,
/// and after it has come to rest, in the same beaker.
fn stir_mv(beakers: &[Beaker<'_>], stirred: &[Stirred]) -> Option<Stirring> {
    let spell = |spell: &Stirred| {
        let holds = |beaker: &&Beaker<'_>| {
            beaker.readings.first().is_some_and(|first| first.s <= spell.from_s)
                && beaker.readings.last().is_some_and(|last| last.s >= spell.to_s)
        };
        let readings = beakers.iter().find(holds)?.readings;
        let between = |from: f64, to: f64| {
            let within = readings.iter().filter(|r| r.s >= from && r.s < to);
            mean(within.filter_map(Timed::mv).map(|(_, mv)| mv))
        };
        let half = 0.5 * (spell.to_s - spell.from_s);
        let before = between(spell.from_s - half, spell.from_s)?;
        let during = between(spell.from_s + half, spell.to_s)?;
        let after = between(spell.to_s + half, spell.to_s + 2.0 * half)?;
        Some(electrode::stirred(&[before, during, after])?.mv)
    };
    electrode::mean_of_spells(stirred.iter().filter_map(spell))
}

fn thermometer(readings: &[Timed], reference: Option<Reference>) -> ThermometerEvidence {
    let flagged = |flag: Flags| {
        let count = readings.iter().filter(|r| r.flags.has(flag)).count();
        u32::try_from(count).unwrap_or(u32::MAX)
    };
    let off_k = reference.and_then(|reference| {
        let beside = || readings.iter().filter(|r| (r.s - reference.at_s).abs() <= BESIDE_S);
        let shown = median(beside().filter_map(Timed::celsius).collect(), beside().count())?;
        Some(shown - reference.celsius)
    });
    ThermometerEvidence {
        off_k,
        drift_k_per_min: None,
        readings: (!readings.is_empty()).then(|| u32::try_from(readings.len()).unwrap_or(u32::MAX)),
        open: flagged(Flags::THERMOMETER_OPEN),
        short: flagged(Flags::THERMOMETER_SHORT),
    }
}
