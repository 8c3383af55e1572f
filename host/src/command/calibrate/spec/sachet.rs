//! A sachet: in which water, by which vessel and when it was dissolved. What was not said is asked.

use std::io::{BufRead, Write};

use rillmark_proto::record::{Dissolved, Vessel, Water};

use super::super::super::{input, output};
use super::keys;
use crate::words::en::sachet as words;

/// What is known of how a sachet was dissolved.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::command) struct Sachet {
    pub(super) water: Option<Water>,
    pub(super) vessel: Option<Vessel>,
    /// Days since 1970-01-01.
    pub(super) days: Option<i32>,
}

/// Understands a water; the error is a sentence.
pub(super) fn water(text: &str) -> Result<Water, String> {
    match text {
        "deionised" => Ok(Water::Deionised),
        "boiled" => Ok(Water::Boiled),
        "tap" => Ok(Water::Tap),
        _ => Err(words::no_water(text)),
    }
}

/// Understands a vessel; the error is a sentence.
pub(super) fn vessel(text: &str) -> Result<Vessel, String> {
    match text {
        "flask" => Ok(Vessel::Flask),
        "cylinder" => Ok(Vessel::Cylinder),
        "by-eye" => Ok(Vessel::ByEye),
        _ => Err(words::no_vessel(text)),
    }
}

impl Sachet {
    /// How it was dissolved, when all of it is known.
    pub(super) fn dissolved(self) -> Option<Dissolved> {
        let Self { water: Some(water), vessel: Some(vessel), days: Some(days) } = self else {
            return None;
        };
        Some(Dissolved { water, vessel, days })
    }

    /// The same with what stands in `over` in place of its own.
    pub(super) fn overridden(self, over: Self) -> Self {
        Self {
            water: over.water.or(self.water),
            vessel: over.vessel.or(self.vessel),
            days: over.days.or(self.days),
        }
    }

    /// What to add to what was written.
    pub(super) fn missing(self) -> String {
        let all = [
            (self.water.is_none(), words::WATER),
            (self.vessel.is_none(), words::VESSEL),
            (self.days.is_none(), words::DISSOLVED),
        ];
        let missing: Vec<_> =
            all.iter().filter(|(missing, _)| *missing).map(|(_, form)| *form).collect();
        missing.join(",")
    }

    /// Asks a person for what is missing, until it is understood; `None` when nobody answers.
    pub(super) fn ask(
        mut self,
        name: &str,
        person: &mut dyn BufRead,
        out: &mut dyn Write,
    ) -> Option<Dissolved> {
        loop {
            if let Some(dissolved) = self.dissolved() {
                return Some(dissolved);
            }
            let question = match self {
                Self { water: None, .. } => words::which_water(name),
                Self { vessel: None, .. } => words::which_vessel(name),
                Self { .. } => words::which_day(name),
            };
            // Who reads nothing any more does not answer either.
            output::line(out, &question).ok()?;
            let line = input::line(person).ok()??;
            let line = line.as_str();
            let understood = match self {
                Self { water: None, .. } => water(line).map(|water| self.water = Some(water)),
                Self { vessel: None, .. } => vessel(line).map(|vessel| self.vessel = Some(vessel)),
                Self { .. } => keys::days_of(line).map(|days| self.days = Some(days)),
            };
            if let Err(sentence) = understood {
                output::line(out, &sentence).ok()?;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(sachet: Sachet, typed: &str) -> (Option<Dissolved>, String) {
        let mut said = Vec::new();
        let dissolved = sachet.ask("borax", &mut typed.as_bytes(), &mut said);
        (dissolved, String::from_utf8(said).expect("UTF-8"))
    }

    #[test]
    fn what_is_missing_is_asked_until_it_is_understood() {
        let (dissolved, said) =
            asked(Sachet::default(), "rain\ndeionised\ncylinder\n3.4.\n2027-04-03\n");
        // 2027-04-03 is 20 912 days after 1970-01-01: 57 years with 14 leap days, then 92 days.
        let days = 57 * 365 + 14 + 92;
        let right = Dissolved { water: Water::Deionised, vessel: Vessel::Cylinder, days };
        assert_eq!(dissolved, Some(right));
        assert_eq!(said.lines().count(), 7, "{said}");
        let known = Sachet { vessel: Some(Vessel::Flask), days: Some(days), water: None };
        let (dissolved, said) = asked(known, "boiled\n");
        assert_eq!(dissolved.map(|it| it.water), Some(Water::Boiled));
        assert_eq!(said.lines().count(), 1, "{said}");
        assert_eq!(asked(known, "").0, None);
    }

    #[test]
    fn what_is_missing_is_named() {
        assert_eq!(
            Sachet { water: Some(Water::Tap), ..Sachet::default() }.missing(),
            "vessel=flask|cylinder|by-eye,dissolved=YYYY-MM-DD"
        );
    }
}
