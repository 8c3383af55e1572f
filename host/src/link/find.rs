//! Which serial ports there are, and which of them is a probe of ours.

use rillmark_proto::wire::usb;
use serialport::{SerialPortInfo, SerialPortType};

use crate::exit::{Exit, Failure};
use crate::words::en::probe as words;

/// A serial port that the system lists.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// What to open.
    pub path: String,
    /// True when its USB identity is ours; only then it is opened unasked.
    pub ours: bool,
    /// USB serial, which for our boards is the board id.
    pub usb_serial: Option<String>,
    /// USB product string.
    pub product: Option<String>,
}

/// The ports that the system lists, in the order of their paths.
///
/// # Errors
/// When the system cannot list them.
pub fn candidates() -> Result<Vec<Candidate>, Failure> {
    // The listing assumes this folder; a minimal container has none, and no ports either.
    if cfg!(target_os = "linux") && !std::path::Path::new("/sys/class/tty").is_dir() {
        return Ok(Vec::new());
    }
    let listed = serialport::available_ports()
        .map_err(|error| Failure::new(Exit::Port, words::cannot_list_ports(&error)))?;
    let mut candidates: Vec<_> = listed.into_iter().map(candidate).collect();
    candidates.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(candidates)
}

fn candidate(port: SerialPortInfo) -> Candidate {
    let path = port.port_name;
    match port.port_type {
        SerialPortType::UsbPort(usb) => {
            let named = |product: &String| {
                // Windows puts its own words before the product string.
                if cfg!(windows) {
                    product.contains(usb::PRODUCT_NAME_BEGINS)
                } else {
                    product.starts_with(usb::PRODUCT_NAME_BEGINS)
                }
            };
            let ours = (usb.vid, usb.pid) == (usb::VENDOR, usb::PRODUCT)
                && usb.product.as_ref().is_some_and(named);
            Candidate { path, ours, usb_serial: usb.serial_number, product: usb.product }
        }
        _ => Candidate { path, ours: false, usb_serial: None, product: None },
    }
}

/// The one port to open unasked.
///
/// # Errors
/// When there is no probe, not the one that `probe` names, or more than one to choose from.
pub fn choose<'a>(
    candidates: &'a [Candidate],
    probe: Option<&str>,
) -> Result<&'a Candidate, Failure> {
    let ours: Vec<_> = candidates.iter().filter(|candidate| candidate.ours).collect();
    let wanted: Vec<_> = ours
        .iter()
        .copied()
        .filter(|candidate| match (probe, &candidate.usb_serial) {
            (Some(probe), Some(serial)) => serial.eq_ignore_ascii_case(probe),
            (Some(_), None) => false,
            (None, _) => true,
        })
        .collect();
    let list = |candidates: &[&Candidate]| -> Vec<(String, Option<String>)> {
        candidates.iter().map(|c| (c.path.clone(), c.usb_serial.clone())).collect()
    };
    let sentence = match (wanted.as_slice(), probe) {
        ([only], _) => return Ok(only),
        ([], None) => words::no_probe(candidates.len()),
        ([], Some(probe)) => words::not_that_probe(probe, &list(&ours)),
        (several, _) => words::several_probes(&list(several)),
    };
    Err(Failure::new(Exit::Port, sentence))
}

#[cfg(test)]
mod tests {
    use serialport::UsbPortInfo;

    use super::*;

    fn usb(path: &str, vid: u16, pid: u16, product: Option<&str>, serial: &str) -> Candidate {
        candidate(SerialPortInfo {
            port_name: path.into(),
            port_type: SerialPortType::UsbPort(UsbPortInfo {
                vid,
                pid,
                serial_number: Some(serial.into()),
                manufacturer: None,
                product: product.map(Into::into),
            }),
        })
    }

    #[test]
    fn only_our_identity_is_ours() {
        let ours = |vid, pid, product| usb("p", vid, pid, product, "s").ours;
        assert!(ours(usb::VENDOR, usb::PRODUCT, Some(usb::PRODUCT_NAME)));
        assert!(!ours(usb::VENDOR, usb::PRODUCT, Some("Somebody's test")));
        assert!(!ours(usb::VENDOR, usb::PRODUCT, None));
        assert!(!ours(usb::VENDOR, 0x0002, Some("Rillmark probe")));
        let plain =
            SerialPortInfo { port_name: "/dev/ttyS0".into(), port_type: SerialPortType::Unknown };
        assert!(!candidate(plain).ours);
    }

    #[test]
    fn one_is_chosen_several_are_listed_and_a_serial_picks() {
        let one = usb("/dev/a", usb::VENDOR, usb::PRODUCT, Some("Rillmark"), "00AA");
        let two = usb("/dev/b", usb::VENDOR, usb::PRODUCT, Some("Rillmark"), "00bb");
        let other = usb("/dev/c", 1, 2, Some("Other"), "00aa");
        let sentence = |candidates: &[Candidate], probe| {
            let failure = choose(candidates, probe).expect_err("no single choice");
            assert_eq!(failure.exit, Exit::Port);
            failure.sentence
        };
        assert_eq!(choose(&[other.clone(), one.clone()], None), Ok(&one));
        let both = [one.clone(), two.clone(), other.clone()];
        assert_eq!(choose(&both, Some("00BB")), Ok(&two));
        let several = sentence(&both, None);
        assert!(several.contains("/dev/a") && several.contains("/dev/b"), "{several}");
        assert!(several.contains("--probe") && !several.contains("/dev/c"), "{several}");
        assert!(sentence(&both, Some("00cc")).contains("00bb"));
        assert!(sentence(&[other], None).contains("--port"));
        assert!(sentence(&[], None).contains("--port"));
    }
}
