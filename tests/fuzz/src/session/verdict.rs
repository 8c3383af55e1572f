//! What a damaged session says, against what is true.

use std::panic::{AssertUnwindSafe, catch_unwind};

use rillmark::session::replay::{Replayed, Session, Summary, open};
use rillmark::session::time::ClockSet;
use rillmark_metrology::assess::Assessment;

use super::Damage;
use super::truth::{Original, Taken, replayed};

/// What became of a damaged session.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Everything is as it was.
    Unchanged,
    /// Something is missing or doubtful, and that is said.
    Told {
        /// Readings that are not handed out any more.
        lost: usize,
    },
    /// Something is handed out that was never so, or is worth less than it says.
    Invented(String),
    /// Something is missing and nothing says so.
    Silent(String),
    /// It panicked.
    Panic(String),
}

/// What came of many damages.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// How many.
    pub tried: u64,
    /// Those of them that changed nothing.
    pub unchanged: u64,
    /// Those that were told.
    pub told: u64,
    /// See [`Verdict::Invented`].
    pub invented: u64,
    /// See [`Verdict::Silent`].
    pub silent: u64,
    /// See [`Verdict::Panic`].
    pub panics: u64,
    /// The most readings that one damage cost.
    pub readings_lost_most: usize,
}

impl Counts {
    /// Counts one more.
    pub fn add(&mut self, verdict: &Verdict) {
        self.tried += 1;
        *match verdict {
            Verdict::Unchanged => &mut self.unchanged,
            Verdict::Told { lost } => {
                self.readings_lost_most = self.readings_lost_most.max(*lost);
                &mut self.told
            }
            Verdict::Invented(_) => &mut self.invented,
            Verdict::Silent(_) => &mut self.silent,
            Verdict::Panic(_) => &mut self.panics,
        } += 1;
    }

    /// True when a promise was broken.
    #[must_use]
    pub const fn is_bad(&self) -> bool {
        self.invented + self.silent + self.panics > 0
    }
}

impl Original {
    /// Damages the session and reads it back.
    #[must_use]
    pub fn verdict(&self, damage: Damage) -> Verdict {
        let bytes = damage.struck(&self.bytes);
        self.judged(&bytes)
    }

    /// Reads these bytes back as what became of it.
    pub(super) fn judged(&self, bytes: &[u8]) -> Verdict {
        catch_unwind(AssertUnwindSafe(|| self.read_back(bytes))).unwrap_or_else(|panic| {
            let text = panic.downcast_ref::<String>().cloned();
            Verdict::Panic(text.unwrap_or_else(|| "panic".into()))
        })
    }

    fn read_back(&self, bytes: &[u8]) -> Verdict {
        // Cut where a run ended it is the very file that was there before the next one began.
        if bytes == self.bytes || self.ends.contains(&bytes.len()) && self.bytes.starts_with(bytes)
        {
            return Verdict::Unchanged;
        }
        // Nothing is handed out, which is said.
        let Ok(session) = open(bytes) else { return Verdict::Told { lost: self.taken.len() } };
        let (handed, summary) = replayed(bytes, &session);
        match self.invented(&session, &handed, &summary) {
            Err(what) => return Verdict::Invented(what),
            Ok(()) if self.is_told(&summary) => {}
            Ok(()) => {
                return match self.missing(&session, &handed, &summary) {
                    Some(what) => Verdict::Silent(what),
                    None => Verdict::Unchanged,
                };
            }
        }
        match self.loss(bytes, &handed, &summary) {
            Ok(lost) => Verdict::Told { lost },
            Err(what) => Verdict::Silent(what),
        }
    }

    /// Whether the summary says that anything is wrong.
    fn is_told(&self, now: &Summary) -> bool {
        let then = &self.summary;
        let counts = |of: &Summary| {
            [
                of.damaged_bytes,
                of.torn_bytes,
                of.missing_readings,
                of.lost_readings,
                of.uncounted_readings,
                of.duplicates,
                of.contradictions,
                of.without_header,
                of.doubtful_dates,
                of.behind_end,
                of.repeated_runs,
                of.other_board,
                of.other_sensor,
                of.not_in_force,
                of.cut_short,
                of.unknown_frames,
                of.altered_records,
                of.ambiguous_records,
                of.unresolved,
                of.mismatches,
                of.missing_verifications.len() as u64,
                of.clock_sets.len() as u64,
            ]
        };
        let more = counts(now).into_iter().zip(counts(then)).any(|(now, then)| now > then);
        more || now.gaps > then.gaps || now.end != then.end
    }

    /// What is otherwise though nothing says so.
    fn missing(&self, session: &Session, handed: &[Replayed], now: &Summary) -> Option<String> {
        let then = &self.summary;
        let same_readings = handed.len() == self.taken.len()
            && handed.iter().zip(&self.taken).all(|(now, then)| *now == then.replayed);
        let what = [
            (!same_readings, "readings"),
            // What is there twice says the same.
            (self.session.notes.iter().any(|it| !session.notes.contains(it)), "notes"),
            (self.session.headers.iter().any(|it| !session.headers.contains(it)), "headers"),
            (session.records != self.session.records, "records"),
            (now != then, "the summary"),
        ];
        let what: Vec<_> = what.iter().filter(|(is_so, _)| *is_so).map(|(_, what)| *what).collect();
        (!what.is_empty()).then(|| what.join(", "))
    }

    fn invented(
        &self,
        session: &Session,
        handed: &[Replayed],
        summary: &Summary,
    ) -> Result<(), String> {
        for header in session.headers.iter() {
            if !self.session.headers.contains(header) {
                return Err(format!("a header: {header:?}"));
            }
        }
        for note in session.notes.iter() {
            if !self.session.notes.contains(note) {
                return Err(format!("a note: {note:?}"));
            }
        }
        for held in session.all() {
            if !held.altered && self.session.all().all(|other| other != held) {
                return Err(format!("a record: {}", held.id));
            }
        }
        if summary.end.is_some_and(|end| Some(end) != self.summary.end) {
            return Err("an end".into());
        }
        let mut taken = Vec::new();
        for replayed in handed {
            let found = self.found(&replayed.reading);
            taken.push(found.ok_or_else(|| format!("a reading: {:?}", replayed.reading))?);
        }
        let doubt_is_told = summary.without_header > 0
            || !summary.missing_verifications.is_empty()
            || summary.altered_records > 0
            // Those are of another run, and so under another header.
            || summary.uncounted_readings > 0
            // A run that begins once more knows nothing of how it was before.
            || summary.parts > self.summary.parts;
        // What moves depends on the order, which a gap says is another.
        let is_in_order = taken.windows(2).all(|pair| {
            let at =
                |taken: &Taken| (taken.replayed.reading.time.boot, taken.replayed.reading.running);
            at(pair[0]) < at(pair[1])
        });
        let dated: Vec<_> =
            taken.iter().zip(handed).map(|(taken, now)| (*taken, now.utc_ms)).collect();
        for ((now, then), best) in handed.iter().zip(&taken).zip(self.assessed(&dated)) {
            let number = (then.replayed.reading.time.boot, then.replayed.reading.running);
            self.utc(now, then, handed, summary).map_err(|what| format!("{number:?}: {what}"))?;
            values(now, then).map_err(|what| format!("{number:?}: {what}"))?;
            if is_in_order && !doubt_is_told {
                doubt(&now.assessment, &best).map_err(|what| format!("{number:?}: {what}"))?;
            }
        }
        Ok(())
    }

    /// UTC is that of the original or none, or it is said of this very reading that the clock may have been set,
    /// or for one before it, of the same start, that it was.
    fn utc(
        &self,
        now: &Replayed,
        then: &Taken,
        handed: &[Replayed],
        summary: &Summary,
    ) -> Result<(), String> {
        let then = then.replayed.utc_ms;
        if now.is_utc_doubtful || now.utc_ms.is_none() || now.utc_ms == then {
            return Ok(());
        }
        let number = |of: &Replayed| (of.reading.time.boot, of.reading.running);
        let (boot, running) = number(now);
        let is_new = |set: &&ClockSet| !self.summary.clock_sets.contains(set);
        let mut sets = summary.clock_sets.iter().filter(is_new);
        let is_set = sets.any(|set| set.boot == boot && set.running <= running);
        // Where whole frames are gone to the byte in front of it, its number says so; a mark among them is not
        // missed. No disk does that but by rare chance.
        let before = handed.iter().map(number).filter(|it| *it < (boot, running)).max();
        let is_gone = summary.damaged_bytes == 0
            && before.is_none_or(|it| it.0 != boot || it.1 + 1 < running);
        match is_set || is_gone {
            true => Ok(()),
            false => Err(format!("UTC {:?}, and it was {then:?}", now.utc_ms)),
        }
    }
}

/// Each value is that of the original, or its record is missing.
fn values(now: &Replayed, then: &Taken) -> Result<(), String> {
    let is_same = now.values().same_bits(then.replayed.values());
    let (now, then) = (&now.assessment, &then.replayed.assessment);
    let unresolved = now.unresolved;
    let same = |now: Option<f32>, then: Option<f32>, is_missing: bool| {
        now.map(f32::to_bits) == then.map(f32::to_bits) || is_missing
    };
    let is_computed =
        same(now.computed.temperature_c, then.computed.temperature_c, unresolved.temperature)
            && same(now.computed.ph, then.computed.ph, unresolved.ph || unresolved.temperature)
            && same(
                now.computed.conductivity_us_cm,
                then.computed.conductivity_us_cm,
                unresolved.conductivity,
            )
            && same(
                now.computed.specific_conductance_us_cm,
                then.computed.specific_conductance_us_cm,
                unresolved.conductivity || unresolved.temperature,
            );
    if is_same && is_computed { Ok(()) } else { Err(format!("{:?}", now.computed)) }
}

/// No uncertainty is smaller than the best that can be said, and no remark is left out.
fn doubt(now: &Assessment, best: &Assessment) -> Result<(), String> {
    let of = |it: &Assessment| {
        let u = &it.uncertainty;
        [u.ph, u.temperature_k, u.conductivity_us_cm, u.specific_conductance_us_cm]
    };
    // Of a pH without the cell's record the water is not known, which is taken for an ordinary one then.
    let is_water_unknown = now.unresolved.conductivity || now.unresolved.temperature;
    for (now, best) in of(now).into_iter().zip(of(best)).skip(usize::from(is_water_unknown)) {
        let is_less = match (now, best) {
            (Some(now), Some(best)) => now < best * (1.0 - 1e-9),
            (Some(_), None) => true,
            (None, _) => false,
        };
        if is_less {
            return Err(format!("u {now:?}, and the least is {best:?}"));
        }
    }
    for remark in &best.remarks {
        let is_said = now.remarks.iter().any(|said| said.is_like(remark));
        // Without its record nothing is said of a value but that.
        if !is_said && !now.unresolved.any() {
            return Err(format!("not said: {remark:?}"));
        }
    }
    Ok(())
}
