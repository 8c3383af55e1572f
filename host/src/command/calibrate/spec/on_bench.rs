//! What stands on the virtual bench under a standard's label: how mistakes are played.

use rillmark_bench::{BEAKER_RANGE, Content};

use super::keys::number;
use crate::words::en::standard as words;

/// A beaker of the virtual bench. Each list is gone through as the standard is taken and taken
/// again; its last entry stays.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::command) struct OnBench {
    /// What is really in it; nothing: what the label says.
    contents: Vec<String>,
    /// Its temperature in °C; nothing: as the bench likes.
    celsius: Vec<f64>,
    /// True where no label says what the bench has to place: a water bath.
    in_bath: bool,
}

impl OnBench {
    /// Understands `NAME/NAME…`; the error is a sentence.
    pub(super) fn holds(&mut self, text: &str) -> Result<(), String> {
        let known = |name: &str| Content::by_name(name).map(|_| name.to_owned());
        self.contents = text
            .split('/')
            .map(known)
            .collect::<Result<_, _>>()
            .map_err(|error| words::bad_beaker(&error))?;
        Ok(())
    }

    /// Understands `C/C…`; the error is a sentence.
    pub(super) fn stands_at(&mut self, text: &str) -> Result<(), String> {
        let (min, max) = BEAKER_RANGE;
        let celsius = |text| match number(text)? {
            celsius if (min..=max).contains(&celsius) => Ok(celsius),
            celsius => Err(words::bad_beaker_temperature(celsius, min, max)),
        };
        self.celsius = text.split('/').map(celsius).collect::<Result<_, _>>()?;
        Ok(())
    }

    /// A water bath, at this temperature in °C unless another one was stated.
    pub(super) fn bath(&mut self, celsius: Option<f64>) {
        self.in_bath = true;
        if self.celsius.is_empty() {
            self.celsius.extend(celsius);
        }
    }

    /// Content, and temperature in °C, when the standard called `label` is taken after it was taken
    /// `before` times.
    pub(in crate::command) fn at<'a>(
        &'a self,
        label: &'a str,
        before: usize,
    ) -> (&'a str, Option<f64>) {
        let content = self.contents.get(before).or(self.contents.last());
        let celsius = self.celsius.get(before).or(self.celsius.last());
        let label = if self.in_bath { Content::Bath.name() } else { label };
        (content.map_or(label, String::as_str), celsius.copied())
    }

    /// True when something else than the label says is in it, which only a bench can arrange.
    pub(in crate::command) const fn plays_a_mistake(&self) -> bool {
        !self.contents.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_beaker_holds_one_thing_after_the_other() {
        let mut beaker = OnBench::default();
        assert_eq!(beaker.at("borax", 3), ("borax", None));
        beaker.stands_at("8/21.5").expect("temperatures");
        assert!(!beaker.plays_a_mistake());
        beaker.holds("phthalate-1977/air/borax").expect("contents");
        assert!(beaker.plays_a_mistake());
        let times: Vec<_> = (0..4).map(|before| beaker.at("borax", before)).collect();
        let right = ("borax", Some(21.5));
        assert_eq!(times, [("phthalate-1977", Some(8.0)), ("air", Some(21.5)), right, right]);
    }

    #[test]
    fn what_no_beaker_holds_is_a_sentence() {
        for text in ["", "20/", "20/300", "-273", "warm"] {
            assert!(OnBench::default().stands_at(text).expect_err(text).ends_with('.'), "{text}");
        }
        for text in ["", "tea", "borax/tea"] {
            assert!(OnBench::default().holds(text).expect_err(text).ends_with('.'), "{text}");
        }
    }
}
