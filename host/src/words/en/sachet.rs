//! What is asked and said about a sachet that is to be dissolved.

/// How the water is written.
pub const WATER: &str = "water=deionised|boiled|tap";
/// How the vessel is written.
pub const VESSEL: &str = "vessel=flask|cylinder|by-eye";
/// How the day is written.
pub const DISSOLVED: &str = "dissolved=YYYY-MM-DD";

/// A water that is not known.
pub fn no_water(text: &str) -> String {
    format!("'{text}' is no water known here; answer deionised, boiled or tap.")
}

/// A vessel that is not known.
pub fn no_vessel(text: &str) -> String {
    format!("'{text}' is no vessel known here; answer flask, cylinder or by-eye.")
}

/// Asks for the water.
pub fn which_water(name: &str) -> String {
    format!(
        "The sachet {name}: in which water was it dissolved? deionised (or distilled) | boiled \
         (deionised, boiled and cooled in a closed vessel) | tap"
    )
}

/// Asks for the vessel.
pub fn which_vessel(name: &str) -> String {
    format!(
        "The sachet {name}: what measured the water? flask (within 0.2 %) | cylinder (within 1 %) | \
         by-eye (5 %)"
    )
}

/// Asks for the day.
pub fn which_day(name: &str) -> String {
    format!("The sachet {name}: when was it dissolved? YYYY-MM-DD")
}

/// Nobody is there to be asked.
pub fn unfinished(name: &str, missing: &str) -> String {
    format!("the sachet {name} is not fully described; add to it: {missing}.")
}

/// A sachet is not opened.
pub const NOT_OPENED: &str =
    "a sachet is dissolved, not opened: leave opened= out and say dissolved=.";
/// Two ways to make one solution.
pub const SACHET_OR_WEIGHED: &str = "a solution is either a sachet's or weighed in, not both.";
