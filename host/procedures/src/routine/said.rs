//! What has been said at one step of a routine.

use heapless::Vec;

use super::judgement::{Judgement, Severity};
use rillmark_proto::record::{Override, Reason};

/// The most judgements of one step.
pub const MAX_SAID: usize = 16;

/// The judgements of one step, in the order in which they were found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Said(Vec<Judgement, MAX_SAID>);

impl Said {
    /// Nothing.
    pub const fn new() -> Self {
        Self(Vec::new())
    }

    /// Adds a judgement. The heaviest are never lost: when there is no room, a lighter one makes
    /// way.
    pub fn say(&mut self, judgement: Judgement) {
        if self.0.is_full() {
            let lighter = self.0.iter().position(|said| said.severity() < judgement.severity());
            match lighter {
                Some(at) => drop(self.0.remove(at)),
                None => return,
            }
        }
        // There is room now.
        let _ = self.0.push(judgement);
    }

    /// Adds all of them.
    pub fn say_all(&mut self, judgements: impl IntoIterator<Item = Judgement>) {
        judgements.into_iter().for_each(|judgement| self.say(judgement));
    }

    /// The judgements.
    pub fn all(&self) -> &[Judgement] {
        &self.0
    }

    /// The weight of the heaviest, if there is any.
    pub fn heaviest(&self) -> Option<Severity> {
        self.0.iter().map(Judgement::severity).max()
    }

    /// The warnings, each overridden for this reason.
    pub(super) fn overridden<'a>(
        &'a self,
        reason: &'a Reason,
    ) -> impl Iterator<Item = Override> + 'a {
        self.warnings()
            .map(|warning| Override { judgement: warning.number(), reason: reason.clone() })
    }

    /// The warnings, which an operator may override.
    pub fn warnings(&self) -> impl Iterator<Item = &Judgement> {
        self.0.iter().filter(|judgement| judgement.severity() == Severity::Warning)
    }
}
