//! What the tool says about itself.

/// Under `rillmark --help`; the codes are those of `exit::Exit`.
pub const EXAMPLE: &str = "\
Example:
  rillmark --port virtual log --count 5 --out trial.session
  rillmark replay trial.session

Exit codes:
  0  done
  2  the arguments are not of the command's form
  3  an input (file, number, answer) cannot be used
  4  no probe, several probes, or the port cannot be opened
  5  the probe does not answer, or speaks another protocol
  6  the probe, the routine or a fit refused; nothing was changed
  7  a file could not be written or read
  8  a replay found readings that do not match their raw values, or records missing,
     unreadable, altered or not to be told apart
  9  the operator cancelled; nothing was changed
  10  a verification failed, and its record is kept; or a board check
  11  a verification could not be decided, and its record is kept; or a board check; or
     a replay met records of a later release";

/// A picture, a program or the like where a text is expected.
pub const NO_TEXT: &str = "it is no plain text (UTF-8)";

/// More than there is any sense in.
pub fn too_large(most: u64) -> String {
    format!("it is larger than {most} bytes")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exit::Exit;

    #[test]
    fn the_help_tells_every_exit_code() {
        use Exit as E;
        for exit in [
            E::Success,
            E::Usage,
            E::BadInput,
            E::Port,
            E::Probe,
            E::Refused,
            E::Storage,
            E::Mismatch,
            E::Cancelled,
            E::Fails,
            E::CannotTell,
        ] {
            assert!(EXAMPLE.contains(&format!("\n  {}  ", exit as u8)), "{}", exit.name());
        }
    }
}
