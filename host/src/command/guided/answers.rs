//! Where the answers to a routine's questions come from: a script, or a person.

use std::io::BufRead;
use std::path::Path;

use rillmark_procedures::routine::step::{Choice, Step};
use rillmark_proto::record::Reason;

use super::super::input;
use super::{Answer, Question};
use crate::command::typed::plain;
use crate::exit::{Exit, Failure};
use crate::words::en::{routine as words, typed as typed_words};

/// The script of answers that the command line names, if it does.
///
/// # Errors
/// [`Exit::BadInput`] when it cannot be read.
pub(in crate::command) fn script(path: Option<&Path>) -> Result<Option<String>, Failure> {
    path.map(|path| {
        input::text(path).map_err(|error| {
            let name = path.display().to_string();
            Failure::new(Exit::BadInput, words::cannot_read_answers(&name, &error))
        })
    })
    .transpose()
}

/// Answers, in the order in which they are asked for.
pub(in crate::command) struct Answers<'a> {
    /// Lines of the script that are left, with their numbers.
    script: Option<std::vec::IntoIter<(usize, String)>>,
    person: &'a mut dyn BufRead,
}

impl<'a> Answers<'a> {
    pub(in crate::command) fn new(script: Option<&str>, person: &'a mut dyn BufRead) -> Self {
        let script = script.map(|text| {
            let lines = (1..).zip(text.lines().map(str::trim));
            let used = lines.filter(|(_, line)| !line.is_empty() && !line.starts_with('#'));
            used.map(|(n, line)| (n, line.to_owned())).collect::<Vec<_>>().into_iter()
        });
        Self { script, person }
    }

    /// The bench has placed the probe, so a script's `done` is answered: one script fits a real
    /// probe and the bench.
    pub(in crate::command) fn placed_already(&mut self) {
        if let Some(lines) = &mut self.script
            && lines.as_slice().first().is_some_and(|(_, line)| line == "done")
        {
            lines.next();
        }
    }

    /// The bench has read its reference, so a script's number for it is answered likewise.
    pub(in crate::command) fn read_already(&mut self) {
        if let Some(lines) = &mut self.script
            && lines.as_slice().first().is_some_and(|(_, line)| line.parse::<f64>().is_ok())
        {
            lines.next();
        }
    }

    /// The next line, with its number in a script; an end of answers cancels.
    fn line(&mut self) -> Result<(Option<usize>, String), Failure> {
        let none_left = || Failure::new(Exit::Cancelled, words::NO_ANSWER_LEFT);
        match &mut self.script {
            Some(lines) => lines.next().map(|(n, line)| (Some(n), line)).ok_or_else(none_left),
            None => match input::line(self.person) {
                Ok(Some(line)) => Ok((None, line)),
                Ok(None) => Err(none_left()),
                Err(_) => Err(Failure::new(Exit::Cancelled, words::CANCELLED)),
            },
        }
    }

    /// Answers a question of the routine.
    pub(in crate::command) fn next<R>(
        &mut self,
        step: &Step<R>,
        question: Question,
    ) -> Result<Answer, Failure> {
        let (number, line) = self.line()?;
        let answer = match understand(&line, question) {
            Ok(answer) if !fits(&answer, step) => Err(words::not_allowed(&line)),
            other => other,
        };
        match (answer, number) {
            (Ok(answer), _) => Ok(answer),
            (Err(sentence), None) => Ok(Answer::NotUnderstood(sentence)),
            // A script cannot think again.
            (Err(sentence), Some(n)) => {
                Err(Failure::new(Exit::BadInput, words::bad_answer(n, &sentence)))
            }
        }
    }
}

pub(in crate::command) fn understand(line: &str, question: Question) -> Result<Answer, String> {
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    Ok(match (word, question) {
        ("cancel", _) => Answer::Choice(Choice::Cancel),
        ("done" | "", Question::Place) => Answer::Placed,
        ("retry", Question::Reference) => Answer::Choice(Choice::Retry),
        (number, Question::Reference) => {
            // A comma is a decimal point in half of the world.
            let number = if rest.is_empty() { number.replace(',', ".") } else { String::new() };
            Answer::Reference(number.parse().map_err(|_| words::not_celsius(line))?)
        }
        ("continue" | "adjust", Question::Decide) => Answer::Choice(Choice::Continue),
        ("wait", Question::Decide) => Answer::Choice(Choice::Wait),
        ("retry", Question::Decide) => Answer::Choice(Choice::Retry),
        ("leave", Question::Decide) => Answer::Choice(Choice::Leave),
        ("override", Question::Decide) => {
            let reason = rest.trim();
            if reason.is_empty() {
                return Err(words::REASON_MISSING.to_owned());
            }
            plain(typed_words::REASON, reason)?;
            let most = Reason::new().capacity();
            let reason =
                Reason::try_from(reason).map_err(|_| words::reason_too_long(reason.len(), most))?;
            Answer::Choice(Choice::Override(reason))
        }
        _ => return Err(words::not_understood(line)),
    })
}

/// Whether the step has this answer.
fn fits<R>(answer: &Answer, step: &Step<R>) -> bool {
    match (answer, step) {
        (Answer::Choice(Choice::Cancel), _)
        | (Answer::Placed, Step::Place { .. } | Step::Air)
        | (Answer::Reference(_) | Answer::Choice(Choice::Retry), Step::Reference { .. }) => true,
        (Answer::Choice(choice), Step::Decide(allowed)) => match choice {
            Choice::Continue => allowed.go_on,
            Choice::Override(_) => allowed.override_,
            Choice::Retry => allowed.retry,
            Choice::Wait => allowed.wait,
            Choice::Leave => allowed.leave,
            Choice::Cancel => true,
        },
        _ => false,
    }
}
