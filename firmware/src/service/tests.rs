//! The whole service in simulated time, talked to over its line.

use super::*;
use crate::constants::ALIVE_US;
use crate::simulated::{Line as Wire, Shared, parts, poll_until, world};
use crate::store::strict_flash::StrictFlash;
use core::future::Future;
use core::pin::Pin;
use rillmark_proto::reading::{Flags, Reading};
use rillmark_proto::record::RecordBytes;
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::wire::frame::{Decoder, Event, MAX_FRAME, encode, kind};
use rillmark_proto::wire::hello::Hello;
use rillmark_proto::wire::message::{Answer, Command, Done, FromProbe, Order, Refusal, Sampling};
use rillmark_proto::wire::{Incoming, decode, encode_command, encode_hello};
use std::boxed::Box;
use std::rc::Rc;
use std::vec::Vec;

const BOARD: BoardId = BoardId([1, 2, 3, 4, 5, 6, 7, 8]);
const HELLO: Hello = Hello { wire_min: 1, wire_max: 1 };

/// A probe with a host at the other end of its line.
struct Bench<'a> {
    world: Shared,
    probe: Pin<Box<dyn Future<Output = Infallible> + 'a>>,
    decoder: Decoder,
}

impl<'a> Bench<'a> {
    fn new(flash: &'a mut StrictFlash) -> Self {
        let world = world();
        let identity = Identity { board: BOARD, firmware: [1, 2, 3], start: Start::POWER_ON };
        let (parts, region) = (parts(&world), 0..flash.bytes.len() as u32);
        let (rx, tx) = (Wire(Rc::clone(&world)), Wire(Rc::clone(&world)));
        let probe = async move { run(identity, parts, flash, region, rx, tx).await };
        Self { world, probe: Box::pin(probe), decoder: Decoder::new() }
    }

    fn send(&mut self, bytes: &[u8]) {
        self.world.borrow_mut().to_probe.extend(bytes);
    }

    fn hello(&mut self) {
        let mut frame = [0; MAX_FRAME];
        let len = encode_hello(HELLO, &mut frame).unwrap();
        self.send(&frame[..len]);
    }

    fn command(&mut self, id: u32, order: Order) {
        let mut frame = [0; MAX_FRAME];
        let len = encode_command(&Command { id, order }, &mut frame).unwrap();
        self.send(&frame[..len]);
    }

    /// Lets time pass; what the probe said meanwhile.
    fn run_ms(&mut self, ms: u64) -> Vec<Incoming<'static>> {
        let until = self.world.borrow().now_us + ms * 1_000;
        let probe = &mut self.probe;
        let _ = poll_until(&self.world, until, |context| probe.as_mut().poll(context));
        let bytes: Vec<u8> = self.world.borrow_mut().from_probe.drain(..).collect();
        let mut said = Vec::new();
        for byte in bytes {
            match self.decoder.push(byte) {
                Some(Event::Payload(payload)) => said.push(match decode(&payload).unwrap() {
                    Incoming::HelloAnswer(answer) => Incoming::HelloAnswer(answer),
                    Incoming::FromProbe(message) => Incoming::FromProbe(message),
                    other => panic!("a probe does not say {other:?}"),
                }),
                Some(Event::Damage { bytes }) => panic!("{bytes} bytes damaged"),
                None => {}
            }
        }
        said
    }
}

fn answers(said: &[Incoming<'_>]) -> Vec<Answer> {
    let answer = |incoming: &Incoming<'_>| match incoming {
        Incoming::FromProbe(FromProbe::Answer(answer)) => Some(answer.clone()),
        _ => None,
    };
    said.iter().filter_map(answer).collect()
}

fn readings(said: &[Incoming<'_>]) -> Vec<Reading> {
    let reading = |incoming: &Incoming<'_>| match incoming {
        Incoming::FromProbe(FromProbe::Reading(reading)) => Some(*reading),
        _ => None,
    };
    said.iter().filter_map(reading).collect()
}

fn done(id: u32, done: Done) -> Answer {
    Answer { id, outcome: Ok(done) }
}

#[test]
fn the_hello_is_answered_at_once_also_while_a_sample_is_under_way() {
    let mut flash = StrictFlash::new(4);
    let mut bench = Bench::new(&mut flash);
    let expected = HelloAnswer {
        wire_min: 1,
        wire_max: 1,
        record_max: RECORD_VERSION,
        board: BOARD,
        boot: 1,
        firmware: [1, 2, 3],
        start: Start::POWER_ON,
    };
    bench.hello();
    assert_eq!(bench.run_ms(5), [Incoming::HelloAnswer(expected)]);
    bench.command(1, Order::Sample(Sampling::Full { interval_ms: 0 }));
    bench.run_ms(2_300);
    for _ in 0..100 {
        bench.hello();
        let said = bench.run_ms(37);
        assert!(said.contains(&Incoming::HelloAnswer(expected)));
    }
}

#[test]
fn the_same_command_again_is_answered_again_and_not_done_again() {
    let mut flash = StrictFlash::new(4);
    let equip = |utc_ms| Order::Equip(Equipment { fitted: Fitted::default(), utc_ms });
    let mut bench = Bench::new(&mut flash);
    for _ in 0..3 {
        bench.command(7, equip(1));
        assert_eq!(answers(&bench.run_ms(5)), [done(7, Done::Plain)]);
    }
    bench.command(8, Order::TellEquipment);
    let equipment = Equipment { fitted: Fitted::default(), utc_ms: 1 };
    assert_eq!(answers(&bench.run_ms(5)), [done(8, Done::Equipment(Some(equipment)))]);
    // The same id with other bytes is another command.
    bench.command(8, Order::ListRecords);
    assert_eq!(answers(&bench.run_ms(5)), [done(8, Done::Records(Default::default()))]);
    drop(bench);
    let written = flash.done;
    let mut bench = Bench::new(&mut flash);
    bench.command(7, equip(2));
    bench.command(7, equip(2));
    bench.run_ms(10);
    drop(bench);
    let once = flash.done - written;
    let mut flash_of_one = StrictFlash::new(4);
    let mut bench = Bench::new(&mut flash_of_one);
    bench.command(7, equip(2));
    bench.run_ms(10);
    drop(bench);
    assert!(once <= flash_of_one.done + 8, "{once} words written");
}

#[test]
fn commands_in_one_burst_are_all_answered_in_their_order_between_samples() {
    let mut flash = StrictFlash::new(4);
    let mut bench = Bench::new(&mut flash);
    bench.command(1, Order::Sample(Sampling::Conductivity));
    bench.run_ms(2_500);
    for id in 2..12 {
        bench.command(id, Order::ListRecords);
    }
    let said = bench.run_ms(20_000);
    let ids: Vec<u32> = answers(&said).iter().map(|answer| answer.id).collect();
    assert_eq!(ids, (2..12).collect::<Vec<_>>());
    let running: Vec<u32> = readings(&said).iter().map(|reading| reading.running).collect();
    assert!(running.len() > 10 && running.windows(2).all(|pair| pair[1] == pair[0] + 1));
}

/// A Pt1000 until a calibration says otherwise: what a thermistor has is an open circuit for it, but the
/// resistance is kept.
#[test]
fn a_resistance_that_the_thermometer_in_force_cannot_have_is_flagged_and_kept() {
    for (ohm, flags) in [
        (1_100.0, Flags::NONE),
        (100.0, Flags::THERMOMETER_SHORT),
        (10_000.0, Flags::THERMOMETER_OPEN),
        (60_000.0, Flags::THERMOMETER_OPEN),
    ] {
        let mut flash = StrictFlash::new(4);
        let mut bench = Bench::new(&mut flash);
        bench.world.borrow_mut().thermometer_ohm = ohm;
        bench.command(1, Order::Sample(Sampling::Conductivity));
        let readings = readings(&bench.run_ms(10_000));
        let last = readings.last().expect("a reading");
        let thermometer = Flags::THERMOMETER_OPEN.with(Flags::THERMOMETER_SHORT);
        assert_eq!(last.flags.0 & thermometer.0, flags.0, "{ohm}");
        let kept = last.raw.resistance().expect("kept").get();
        assert!((kept / ohm - 1.0).abs() < 0.001, "{kept} for {ohm}");
        assert_eq!(last.computed.temperature_c.is_some(), flags == Flags::NONE, "{ohm}");
    }
}

#[test]
fn refusals_say_why() {
    let mut flash = StrictFlash::new(4);
    let mut bench = Bench::new(&mut flash);
    let refused = |id, refusal| [Answer { id, outcome: Err(refusal) }];
    let mut frame = [0; MAX_FRAME];
    // Id 5, order 200.
    let len = encode(kind::COMMAND, 1, &[5, 200, 1], &mut frame).unwrap();
    bench.send(&frame[..len]);
    assert_eq!(answers(&bench.run_ms(5)), refused(5, Refusal::UnknownOrder));
    let cases = [
        (Order::Keep(RecordBytes::new()), Refusal::RecordUnreadable),
        // The simulated clock chip has a status and nothing else.
        (Order::SetClock { utc_ms: 1_709_210_096_000 }, Refusal::ClockSilent),
        (Order::SetClock { utc_ms: 0 }, Refusal::ClockRange),
        (Order::TellClock, Refusal::ClockSilent),
    ];
    for (id, (order, refusal)) in (6..).zip(cases) {
        bench.command(id, order);
        assert_eq!(answers(&bench.run_ms(5)), refused(id, refusal));
    }
}

#[test]
fn a_corrupt_store_is_refused_and_flagged_and_sampling_goes_on() {
    let mut flash = StrictFlash::new(4);
    flash.bytes.fill(0x5a);
    let mut bench = Bench::new(&mut flash);
    bench.world.borrow_mut().clock_status = 0x80;
    bench.command(1, Order::ListRecords);
    let refused = Answer { id: 1, outcome: Err(Refusal::StoreCorrupt) };
    assert_eq!(answers(&bench.run_ms(5)), [refused]);
    bench.command(2, Order::Sample(Sampling::Ph));
    let said = bench.run_ms(10_000);
    assert!(readings(&said).len() > 20);
    for reading in readings(&said) {
        assert!(reading.flags.has(Flags::STORE_FAULT.with(Flags::CLOCK_LOST)));
        assert_eq!((reading.time.boot, reading.raw.potential_nv), (0, Some(15_625_000)));
    }
}

#[test]
fn damage_and_noise_on_the_line_cost_nothing_but_themselves() {
    let mut flash = StrictFlash::new(4);
    let mut bench = Bench::new(&mut flash);
    let noise: Vec<u8> = (0..5_000_u32).map(|n| (n * n % 251) as u8).collect();
    bench.send(&noise);
    bench.send(&[0]);
    bench.command(3, Order::ListRecords);
    assert_eq!(answers(&bench.run_ms(100)), [done(3, Done::Records(Default::default()))]);
}

#[test]
fn sampling_survives_a_line_that_is_dead_or_takes_nothing() {
    let mut flash = StrictFlash::new(4);
    let mut bench = Bench::new(&mut flash);
    bench.command(1, Order::Sample(Sampling::Ph));
    let before = readings(&bench.run_ms(8_000));
    let mut last = before.last().unwrap().running;
    for stalled in [false, true] {
        // Half a frame is under way when the cable is pulled.
        bench.send(&[3, 0x10]);
        bench.run_ms(1);
        let set = |bench: &mut Bench<'_>, on| {
            let world = &mut *bench.world.borrow_mut();
            (world.is_line_dead, world.is_line_stalled) = (on && !stalled, on && stalled);
        };
        set(&mut bench, true);
        assert_eq!(readings(&bench.run_ms(30_000)), []);
        set(&mut bench, false);
        let after = readings(&bench.run_ms(5_000));
        let gap = after.iter().map(|r| r.running).find(|r| *r > last + 1).unwrap() - last;
        assert!((70..150).contains(&gap), "{gap} readings lost");
        assert!(after.last().unwrap().time.ms > 40_000);
        // What is said after the cut is understood.
        if stalled {
            bench.send(&[0]);
        }
        bench.command(2 + u32::from(stalled), Order::ListRecords);
        let said = bench.run_ms(3_000);
        assert_eq!(answers(&said).len(), 1);
        last = readings(&said).last().unwrap().running;
    }
}

#[test]
fn the_watchdog_is_told_all_the_while_and_the_lamp_what_is_done() {
    let mut flash = StrictFlash::new(4);
    let mut bench = Bench::new(&mut flash);
    let samplings = [
        (Sampling::Off, 1),
        (Sampling::Ph, 2),
        (Sampling::Conductivity, 2),
        (Sampling::Full { interval_ms: 0 }, 2),
        (Sampling::Full { interval_ms: 60_000 }, 2),
    ];
    for (id, (sampling, flashes)) in (1..).zip(samplings) {
        bench.command(id, Order::Sample(sampling));
        bench.run_ms(30_000);
        let condition = bench.world.borrow().condition;
        assert_eq!(condition.flashes(), flashes, "{sampling:?}");
    }
    // The longest reading: an electrode that never comes to rest.
    (bench.world.borrow_mut().electrode_code, bench.world.borrow_mut().electrode_codes_per_s) =
        (-30_000, 200.0);
    bench.command(9, Order::Sample(Sampling::Full { interval_ms: 20_000 }));
    let said = bench.run_ms(60_000);
    assert!(readings(&said).iter().any(|reading| reading.flags.has(Flags::NOT_SETTLED)));
    let silence = bench.world.borrow().longest_silence_us;
    assert!(silence <= ALIVE_US + 1_000, "{silence} µs without a sign of life");
    assert!(bench.world.borrow().now_us - bench.world.borrow().alive_us < ALIVE_US);
}

#[test]
fn a_store_that_cannot_be_used_shows_on_the_lamp() {
    let mut flash = StrictFlash::new(1);
    let mut bench = Bench::new(&mut flash);
    bench.command(1, Order::Sample(Sampling::Ph));
    bench.run_ms(5_000);
    assert_eq!(bench.world.borrow().condition.flashes(), 3);
}

#[test]
fn the_store_is_made_ready_in_idle_time() {
    let mut flash = StrictFlash::new(4);
    let fitted = Fitted { electrode: Some("E".try_into().unwrap()), cell: None, thermometer: None };
    // The boot count alone fills pages.
    for boot in 1..200 {
        let mut bench = Bench::new(&mut flash);
        bench.hello();
        let said = bench.run_ms(200);
        assert!(matches!(said[..], [Incoming::HelloAnswer(answer)] if answer.boot == boot));
        drop(bench);
        let (mut next, region) = (flash.clone(), 0..flash.bytes.len() as u32);
        let mut store = embassy_futures::block_on(Store::mount(&mut next, region, BOARD));
        let equipped = store.equip(Equipment { fitted: fitted.clone(), utc_ms: 1 });
        embassy_futures::block_on(equipped).unwrap();
        assert_eq!(next.erasures, flash.erasures, "start {boot}");
    }
    assert!(flash.erasures.iter().sum::<usize>() > 0, "pages were erased ahead");
}
