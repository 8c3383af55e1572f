//! Where the pads of each package are, from a few plain sizes.
//!
//! Sizes are those of the usual packages (JEDEC MS-012, MS-013, MO-187, TO-236; chip sizes by their
//! name; the Pico's data sheet): **recalled, not checked**. Lands reach a bit beyond the leads, for an
//! iron. Whoever orders a board holds each part's own drawing against it first.

use rillmark_net_list::Package;

/// Every package, for the library of footprints.
pub(crate) const PACKAGES: [Package; 12] = [
    Package::Chip0805,
    Package::Chip1206,
    Package::Chip1210,
    Package::Sot23,
    Package::So8,
    Package::So16,
    Package::So16Wide,
    Package::Msop10,
    Package::CoinCell20,
    Package::Contacts2,
    Package::Contacts3,
    Package::Pico,
];

/// Where a pad is, from the middle of the footprint; y counts downwards. All in mm.
pub(crate) struct Pad {
    pub(crate) number: u8,
    pub(crate) at: (f64, f64),
    pub(crate) size: (f64, f64),
    pub(crate) hole: Option<f64>,
}

/// A footprint.
pub(crate) struct Footprint {
    /// Its name in the library.
    pub(crate) name: &'static str,
    pub(crate) about: &'static str,
    pub(crate) pads: Vec<Pad>,
    pub(crate) body: (f64, f64),
}

/// Of a contact with a lead of some 0.6 mm · 0.6 mm, in mm.
const CONTACT: (f64, f64) = (1.7, 1.0);

impl Footprint {
    /// That of a package.
    pub(crate) fn of(package: Package) -> Self {
        let (name, about, body, pads) = match package {
            Package::Chip0805 => (
                "chip_0805",
                "chip of 2.0 mm · 1.25 mm",
                (2.0, 1.25),
                row(&[1, 2], 1.9, (1.1, 1.4), None),
            ),
            Package::Chip1206 => (
                "chip_1206",
                "chip of 3.2 mm · 1.6 mm",
                (3.2, 1.6),
                row(&[1, 2], 3.0, (1.2, 1.8), None),
            ),
            Package::Chip1210 => (
                "chip_1210",
                "chip of 3.2 mm · 2.5 mm",
                (3.2, 2.5),
                row(&[1, 2], 3.0, (1.2, 2.7), None),
            ),
            Package::Sot23 => (
                "sot_23",
                "leads 1 and 2 1.9 mm apart, 3 opposite, 2.4 mm over all",
                (1.3, 2.9),
                vec![
                    Pad { number: 1, at: (-1.05, -0.95), size: (1.2, 0.7), hole: None },
                    Pad { number: 2, at: (-1.05, 0.95), size: (1.2, 0.7), hole: None },
                    Pad { number: 3, at: (1.05, 0.0), size: (1.2, 0.7), hole: None },
                ],
            ),
            Package::So8 => (
                "so_8",
                "1.27 mm apart, body 3.9 mm wide, 6.0 mm over all",
                (3.9, 4.9),
                two_rows(8, 1.27, 5.4, (1.6, 0.6), None),
            ),
            Package::So16 => (
                "so_16",
                "1.27 mm apart, body 3.9 mm wide, 6.0 mm over all",
                (3.9, 9.9),
                two_rows(16, 1.27, 5.4, (1.6, 0.6), None),
            ),
            Package::So16Wide => (
                "so_16_wide",
                "1.27 mm apart, body 7.5 mm wide, 10.3 mm over all",
                (7.5, 10.3),
                two_rows(16, 1.27, 9.3, (2.0, 0.6), None),
            ),
            Package::Msop10 => (
                "msop_10",
                "0.5 mm apart, body 3.0 mm wide, 4.9 mm over all",
                (3.0, 3.0),
                two_rows(10, 0.5, 4.4, (1.4, 0.28), None),
            ),
            Package::CoinCell20 => (
                "coin_cell_20",
                "holder of a coin cell of 20 mm, contacts 20 mm apart: no two holders are alike, draw yours",
                (20.0, 20.0),
                row(&[1, 2], 20.0, (2.5, 2.5), Some(1.3)),
            ),
            Package::Contacts2 => {
                ("contacts_2", "two contacts 2.54 mm apart", (2.54, 5.08), column(2))
            }
            Package::Contacts3 => {
                ("contacts_3", "three contacts 2.54 mm apart", (2.54, 7.62), column(3))
            }
            Package::Pico => (
                "pico",
                "a Pico on sockets: two rows of twenty, 2.54 mm and 17.78 mm apart, board 21 mm · 51 mm",
                (21.0, 51.0),
                two_rows(40, 2.54, 17.78, (CONTACT.0, CONTACT.0), Some(CONTACT.1)),
            ),
        };
        Self { name, about, pads, body }
    }
}

/// Pads side by side.
fn row(numbers: &[u8], apart: f64, size: (f64, f64), hole: Option<f64>) -> Vec<Pad> {
    let middle = (numbers.len() - 1) as f64 / 2.0;
    let place = |(at, number): (usize, &u8)| {
        let x = (at as f64 - middle) * apart;
        Pad { number: *number, at: (x, 0.0), size, hole }
    };
    numbers.iter().enumerate().map(place).collect()
}

/// Contacts one below the other.
fn column(count: u8) -> Vec<Pad> {
    let middle = f64::from(count + 1) / 2.0;
    let place = |number: u8| {
        let y = (f64::from(number) - middle) * 2.54;
        Pad { number, at: (0.0, y), size: (CONTACT.0, CONTACT.0), hole: Some(CONTACT.1) }
    };
    (1..=count).map(place).collect()
}

/// Pads of a chip: down at the left, up at the right.
fn two_rows(count: u8, pitch: f64, apart: f64, size: (f64, f64), hole: Option<f64>) -> Vec<Pad> {
    let half = count / 2;
    let middle = f64::from(half + 1) / 2.0;
    let place = |number: u8| {
        let (x, down) =
            if number <= half { (-apart / 2.0, number) } else { (apart / 2.0, count + 1 - number) };
        Pad { number, at: (x, (f64::from(down) - middle) * pitch), size, hole }
    };
    (1..=count).map(place).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chip_counts_down_at_the_left_and_up_at_the_right() {
        let chip = Footprint::of(Package::So8);
        let at = |number: u8| chip.pads[usize::from(number) - 1].at;
        assert_eq!(at(1), (-2.7, -1.905));
        assert_eq!(at(4), (-2.7, 1.905));
        assert_eq!(at(5), (2.7, 1.905));
        assert_eq!(at(8), (2.7, -1.905));
    }

    #[test]
    fn every_package_of_the_table_is_in_the_library() {
        for (part, package) in rillmark_net_list::PACKAGES {
            assert!(PACKAGES.contains(package), "{part}");
        }
    }

    #[test]
    fn pads_of_no_footprint_come_nearer_than_the_rules_allow() {
        for package in PACKAGES {
            let footprint = Footprint::of(package);
            for (at, one) in footprint.pads.iter().enumerate() {
                for other in &footprint.pads[at + 1..] {
                    let gap = |a: f64, b: f64, w: f64, v: f64| (a - b).abs() - (w + v) / 2.0;
                    let x = gap(one.at.0, other.at.0, one.size.0, other.size.0);
                    let y = gap(one.at.1, other.at.1, one.size.1, other.size.1);
                    assert!(
                        x.max(y) > 0.2,
                        "{}: {} and {}",
                        footprint.name,
                        one.number,
                        other.number
                    );
                }
            }
        }
    }
}
