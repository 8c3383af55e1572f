//! How large the image is, and how large it may be.

use rillmark_pico::partition::{
    FLASH_ADDRESS, PROGRAM_BUDGET, RAM_ADDRESS, RAM_BUDGET, RAM_BYTES, STACK_BYTES,
};

use crate::elf::Segment;

/// Bytes that the image takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Sizes {
    /// Of the flash, from its start.
    pub(crate) program: u32,
    /// Of RAM, from its start, for variables.
    pub(crate) variables: u32,
}

impl Sizes {
    pub(crate) fn of(segments: &[Segment<'_>]) -> Self {
        let loaded = segments.iter().filter(|segment| !segment.bytes.is_empty());
        let program = loaded
            .map(|segment| segment.load_address.saturating_add(segment.bytes.len() as u32))
            .max();
        let ram = RAM_ADDRESS..RAM_ADDRESS + RAM_BYTES;
        let in_ram = segments.iter().filter(|segment| ram.contains(&segment.address));
        let variables = in_ram.map(|segment| segment.address.saturating_add(segment.size)).max();
        Self {
            program: program.unwrap_or(0).saturating_sub(FLASH_ADDRESS),
            variables: variables.unwrap_or(0).saturating_sub(RAM_ADDRESS),
        }
    }

    /// What is over its budget, and what to do.
    pub(crate) fn check(&self) -> Result<(), String> {
        let budgets = [
            ("program", self.program, PROGRAM_BUDGET, "PROGRAM_BUDGET"),
            ("variables", self.variables, RAM_BUDGET, "RAM_BUDGET"),
        ];
        for (what, bytes, budget, name) in budgets {
            if bytes > budget {
                return Err(format!(
                    "{what}: {bytes} bytes, {} over the budget of {budget}. Make it smaller, or raise \
                     {name} in firmware/pico/src/partition.rs and say why.",
                    bytes - budget
                ));
            }
        }
        Ok(())
    }

    /// The sizes for a person, one a line.
    pub(crate) fn table(&self) -> String {
        let row = |what: &str, bytes: u32, budget: u32| {
            let percent = 100.0 * f64::from(bytes) / f64::from(budget);
            format!("{what:10} {bytes:>7} of {budget} bytes ({percent:.0} %)\n")
        };
        format!(
            "{}{}{:10} {STACK_BYTES:>7} bytes, guarded\n",
            row("program", self.program, PROGRAM_BUDGET),
            row("variables", self.variables, RAM_BUDGET),
            "stack",
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_the_farthest_ends() {
        let flash = |at, bytes| Segment {
            address: FLASH_ADDRESS + at,
            load_address: FLASH_ADDRESS + at,
            size: 4,
            bytes,
        };
        let variables = |at, size| Segment {
            address: RAM_ADDRESS + at,
            load_address: RAM_ADDRESS + at,
            size,
            bytes: &[],
        };
        // With a value: in flash too.
        let valued = Segment {
            address: RAM_ADDRESS,
            load_address: FLASH_ADDRESS + 104,
            size: 8,
            bytes: &[1; 8],
        };
        let segments = [flash(100, &[0; 4]), flash(0, &[0; 4]), valued, variables(8, 30)];
        let sizes = Sizes::of(&segments);
        assert_eq!(sizes, Sizes { program: 112, variables: 38 });
    }

    #[test]
    fn one_byte_over_a_budget_is_too_much() {
        let full = Sizes { program: PROGRAM_BUDGET, variables: RAM_BUDGET };
        assert_eq!(full.check(), Ok(()));
        let over = Sizes { program: PROGRAM_BUDGET + 1, ..full }.check().expect_err("over");
        assert!(over.starts_with("program: 262145 bytes, 1 over"), "{over}");
        let over = Sizes { variables: RAM_BUDGET + 1, ..full }.check().expect_err("over");
        assert!(over.starts_with("variables: 65537 bytes, 1 over"), "{over}");
    }
}
