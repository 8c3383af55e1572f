//! A mistake of building as a matter of nets: which pins and parts of the circuit's table it is about.

use rillmark_net_list::{Alteration, MID, part, pin};

use super::BuildFault;

impl BuildFault {
    /// What it does to the table of nets. `None` where every joint is as it is to be: a value, a type, a leak,
    /// a joint that conducts badly.
    ///
    /// Names that the table does not have do not compile.
    pub const fn alteration(self) -> Option<Alteration> {
        use Alteration::{Cut, Exchanged, Moved, Swapped, Without};
        Some(match self {
            Self::ConverterAddress => const { Cut(pin("U6", 1)) },
            Self::ClockMissing => const { Without(part("U7")) },
            Self::SupplySwitch => const { Cut(pin("Q1", 1)) },
            Self::DriveOpen => const { Cut(pin("C4", 2)) },
            Self::ReturnOpen => const { Cut(pin("C5", 2)) },
            Self::ResistorsSwapped => const { Exchanged(part("R8"), part("R9")) },
            Self::ResistorMissing => const { Without(part("R8")) },
            Self::ReferenceMissing => const { Without(part("R11")) },
            Self::RangeLow => const { Cut(pin("U3", 10)) },
            Self::RangeHigh => const { Cut(pin("U3", 9)) },
            Self::TapsSwapped => const { Swapped(pin("U4", 11), pin("U4", 10)) },
            Self::InputsSwapped => const { Swapped(pin("J1", 1), pin("J1", 2)) },
            Self::ReferenceOpen => const { Cut(pin("R17", 2)) },
            Self::GatesSwapped => const { Swapped(pin("U5", 10), pin("U5", 9)) },
            Self::HoldMissing => const { Without(part("C6")) },
            Self::MidMissing => const { Without(part("R4")) },
            Self::FilterJoint => const { Cut(pin("R3", 2)) },
            Self::ReferenceAtMid => const { Moved(pin("R17", 2), MID) },
            Self::ResistorWrong
            | Self::ReferenceWrong
            | Self::GuardJoint
            | Self::WrongAmplifier
            | Self::CellJoint
            | Self::CellLeak => return None,
        })
    }
}

#[cfg(test)]
mod tests {
    use rillmark_net_list::{
        AIN2, CELL, DRIVE, GATE_MINUS, GATE_PLUS, NETLIST, Net, Netlist, PINS, RANGE_HIGH,
        RANGE_LOW, TAP_HIGH, TAP_LOW, check, differences,
    };

    use super::*;

    /// How a mistake of nets is seen: by the rules, or else by comparison with the table.
    fn is_seen_by_rules(alteration: Alteration) -> bool {
        let built: Vec<_> = PINS.iter().filter_map(|pin| alteration.of(*pin)).collect();
        let mut findings = 0;
        check(Netlist(&built), &mut |_| findings += 1);
        assert_ne!(differences(Netlist(&built), NETLIST).count(), 0, "{alteration:?}");
        findings > 0
    }

    #[test]
    fn every_mistake_of_nets_is_seen() {
        let only_compared = BuildFault::ALL.into_iter().filter(|fault| {
            fault.alteration().is_some_and(|alteration| !is_seen_by_rules(alteration))
        });
        // One thing in another's place, where either may stand: no rule can know.
        let expected = [
            BuildFault::ResistorsSwapped,
            BuildFault::TapsSwapped,
            BuildFault::InputsSwapped,
            BuildFault::GatesSwapped,
        ];
        assert_eq!(only_compared.collect::<Vec<_>>(), expected);
    }

    /// The pins that the mistakes are about are what the bench takes them for.
    #[test]
    fn the_lines_are_those_that_the_bench_acts_on() {
        let net = |part, number| pin(part, number).net;
        let lines: [(_, _, Net); 6] = [
            ("U3", 10, RANGE_LOW),
            ("U3", 9, RANGE_HIGH),
            ("U4", 11, TAP_LOW),
            ("U4", 10, TAP_HIGH),
            ("U5", 10, GATE_PLUS),
            ("U5", 9, GATE_MINUS),
        ];
        for (part, number, line) in lines {
            assert_eq!(net(part, number), Some(line), "{part} pin {number}");
        }
        assert_eq!(net("C6", 1), Some(AIN2), "the positive half period's hold");
        assert_eq!(net("U5", 11), Some(CELL));
        assert_eq!(net("A1", 14), Some(DRIVE));
    }
}
