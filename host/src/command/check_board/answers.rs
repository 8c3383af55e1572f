//! Where the answers come from: a script, or a person.

use std::io::BufRead;

use super::super::input;
use crate::exit::{Exit, Failure};
use crate::words::en::check_board as words;

/// What is answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Answer {
    Done,
    Skip,
    Cancel,
    NotUnderstood,
}

/// Answers, in the order in which they are asked for.
pub(super) struct Answers<'a> {
    /// Lines of the script that are left, with their numbers.
    script: Option<std::vec::IntoIter<(usize, String)>>,
    person: &'a mut dyn BufRead,
}

impl<'a> Answers<'a> {
    pub(super) fn new(script: Option<&str>, person: &'a mut dyn BufRead) -> Self {
        let script = script.map(|text| {
            let lines = (1..).zip(text.lines().map(str::trim));
            let used = lines.filter(|(_, line)| !line.is_empty() && !line.starts_with('#'));
            used.map(|(n, line)| (n, line.to_owned())).collect::<Vec<_>>().into_iter()
        });
        Self { script, person }
    }

    /// The next answer. Where the bench has connected by itself only a script is asked, and one that has
    /// ended has nothing against it: one script fits a real board and the bench.
    pub(super) fn next(&mut self, moved: bool, may_skip: bool) -> Result<Answer, Failure> {
        let none_left = || Failure::new(Exit::Cancelled, words::CANCELLED);
        match &mut self.script {
            Some(lines) => match lines.next() {
                Some((n, line)) => match understand(&line, may_skip) {
                    // A script cannot think again.
                    Answer::NotUnderstood => {
                        let sentence = words::bad_answer(n, may_skip);
                        Err(Failure::new(Exit::BadInput, sentence))
                    }
                    answer => Ok(answer),
                },
                None if moved => Ok(Answer::Done),
                None => Err(none_left()),
            },
            None if moved => Ok(Answer::Done),
            None => match input::line(self.person) {
                Ok(Some(line)) => Ok(understand(&line, may_skip)),
                Ok(None) | Err(_) => Err(none_left()),
            },
        }
    }
}

fn understand(line: &str, may_skip: bool) -> Answer {
    match line {
        "" | "done" => Answer::Done,
        "skip" if may_skip => Answer::Skip,
        "cancel" => Answer::Cancel,
        _ => Answer::NotUnderstood,
    }
}
