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
            used(text).map(|(n, line)| (n, line.to_owned())).collect::<Vec<_>>().into_iter()
        });
        Self { script, person }
    }

    /// The next answer. Where the bench has connected by itself only a script is asked: one script fits a
    /// real board and the bench.
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

/// The lines of a script that are answers, with their numbers.
fn used(script: &str) -> impl Iterator<Item = (usize, &str)> {
    let lines = (1..).zip(script.lines().map(str::trim));
    lines.filter(|(_, line)| !line.is_empty() && !line.starts_with('#'))
}

/// Looks whether a script answers every step, and nothing more; the error is a sentence.
pub(super) fn check(script: &str, steps: usize) -> Result<(), String> {
    let mut lines = used(script);
    for answered in 0..steps {
        match lines.next() {
            Some((_, "cancel")) => return Ok(()),
            Some(_) => {}
            None => return Err(words::too_few_answers(answered, steps)),
        }
    }
    match lines.next() {
        Some((n, _)) => Err(words::answer_too_many(n, steps)),
        None => Ok(()),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_script_answers_every_step_and_no_more() {
        assert_eq!(check("# a word\ndone\n\nskip\n", 2), Ok(()));
        assert_eq!(check("done\ncancel\ndone\n", 8), Ok(()));
        let few = check("done\ndone\n", 3).expect_err("one is missing");
        assert!(few.contains("answers 2") && few.contains("3 steps"), "{few}");
        let many = check("done\n# a word\ndone\n", 1).expect_err("one too many");
        assert!(many.contains("line 3") && many.contains("1 step"), "{many}");
    }
}
