//! Carries frames in one direction, and keeps them.

use std::io::Read;
use std::net::TcpStream;
use std::path::PathBuf;
use std::sync::atomic::Ordering::SeqCst;
use std::thread;
use std::time::{Duration, Instant};

use rillmark_proto::wire::frame::{DELIMITER, MAX_FRAME, unpack};
use rillmark_proto::wire::message::{Order, Sampling};
use rillmark_proto::wire::{Incoming, decode};

use super::{Line, locked};
use crate::cable::Strand;
use crate::truth::readings;

/// How long a paced line waits for a reading to be in the file.
const PACE: Duration = Duration::from_millis(500);

/// Carries frames until an end is gone or the cable is cut.
pub(super) fn pump(
    mut from: &TcpStream,
    to: &TcpStream,
    line: &Line,
    mut strand: Strand,
    number: usize,
    is_probe: bool,
) {
    let Ok(mut to) = to.try_clone() else { return };
    let ready = from.set_nonblocking(false).and(from.set_nodelay(true)).and(to.set_nodelay(true));
    let ready = ready.and(from.set_read_timeout(Some(Duration::from_millis(5))));
    let ready = ready.and(to.set_write_timeout(Some(Duration::from_secs(2))));
    let (mut space, mut segment) = ([0; 4096], Vec::new());
    while ready.is_ok() && !line.ended.load(SeqCst) && line.cut.load(SeqCst) != number {
        let count = match from.read(&mut space) {
            Ok(0) => return,
            Ok(count) => count,
            Err(error) if matches!(error.kind(), std::io::ErrorKind::ConnectionReset) => return,
            Err(_) => continue,
        };
        for &byte in &space[..count] {
            segment.push(byte);
            if byte != DELIMITER {
                continue;
            }
            let frame = std::mem::take(&mut segment);
            {
                let mut travelled = locked(&line.travelled);
                let sent = match is_probe {
                    true => &mut travelled.from_probe,
                    false => &mut travelled.to_probe,
                };
                sent.extend(&frame);
            }
            match if is_probe { None } else { order(&frame) } {
                Some(Order::Sample(Sampling::Full { .. })) => {
                    locked(&line.travelled).delivered[number - 1].sample();
                }
                Some(Order::Keep(_) | Order::KeepEarlier(_) | Order::Equip(_)) => {
                    let until = Instant::now() + PACE;
                    while line.hold.load(SeqCst) && Instant::now() < until {
                        line.is_held.store(true, SeqCst);
                        thread::sleep(Duration::from_micros(200));
                    }
                }
                _ => {}
            }
            // What an earlier sampling left under way is written by nobody.
            let is_awaited = is_probe && locked(&line.travelled).delivered[number - 1].is_awaited();
            let paced = if is_awaited { locked(&line.pace).clone() } else { None };
            let paced = paced.filter(|_| !readings(&frame).is_empty()).map(|file| {
                let size = size(&file) + frame.len() as u64;
                (file, size)
            });
            let cable = locked(&line.cable).clone();
            let Ok(Some(arrived)) = strand.carry(&cable, frame, &mut to) else { return };
            if is_probe {
                locked(&line.travelled).delivered[number - 1].arrive(&arrived);
            }
            let until = Instant::now() + PACE;
            while let Some((file, enough)) = &paced {
                let over = line.ended.load(SeqCst) || line.cut.load(SeqCst) == number;
                if size(file) >= *enough || over || Instant::now() > until {
                    break;
                }
                thread::sleep(Duration::from_micros(200));
            }
        }
    }
}

fn order(frame: &[u8]) -> Option<Order> {
    let mut space = [0; MAX_FRAME];
    match decode(&unpack(frame, &mut space)?) {
        Ok(Incoming::Command(command)) => Some(command.order),
        _ => None,
    }
}

fn size(file: &PathBuf) -> u64 {
    std::fs::metadata(file).map_or(0, |metadata| metadata.len())
}
