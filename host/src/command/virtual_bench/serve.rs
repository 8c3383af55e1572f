//! The bench's thread: lines in, bytes both ways, simulated time paced by real time.

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::{Duration, Instant};

use rillmark_bench::{Beaker, BenchError, Faults, Setup, VirtualProbe};
use rillmark_proto::identity::BoardId;

use super::control::{self, Control, Reply, Status};
use super::endpoint::{Endpoint, Place};
use crate::exit::{Exit, Failure};

/// From one look at the line to the next.
const TICK: Duration = Duration::from_millis(2);
/// The most simulated time in one go, in ms, so that a high speed does not leave the line waiting
/// when the machine cannot keep up.
const LONGEST_STEP_MS: u64 = 1_000;
/// Temperature in °C of the first beaker.
const ROOM_C: f64 = 25.0;

/// What to serve.
#[derive(Debug)]
pub(super) struct Serving {
    pub(super) setup: Setup,
    pub(super) place: Place,
    pub(super) speed: f64,
    pub(super) beaker: String,
}

/// Where it is served.
#[derive(Debug)]
pub(super) struct Start {
    pub(super) at: String,
    pub(super) board: BoardId,
}

/// A control line, and where its answer goes.
#[derive(Debug)]
pub(super) struct Request {
    pub(super) line: String,
    pub(super) reply: Sender<Result<Reply, String>>,
}

struct Bench {
    probe: VirtualProbe,
    endpoint: Endpoint,
    speed: f64,
    /// Real and simulated moment from which the pacing counts.
    paced_from: (Instant, u64),
}

/// Serves until the other end of `inbox` is dropped.
pub(super) fn serve(
    serving: Serving,
    started: &Sender<Result<Start, Failure>>,
    inbox: &Receiver<Request>,
) {
    let mut bench = match open(serving) {
        Ok(bench) => bench,
        Err(failure) => {
            let _ = started.send(Err(failure)); // whoever does not listen does not want to know
            return;
        }
    };
    let start = Start { at: bench.endpoint.at(), board: bench.probe.board() };
    let _ = started.send(Ok(start));
    loop {
        match inbox.recv_timeout(TICK) {
            Ok(Request { line, reply }) => {
                let answer = control::parse(&line).and_then(|control| bench.carry_out(control));
                let _ = reply.send(answer);
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return,
        }
        bench.step();
    }
}

fn open(serving: Serving) -> Result<Bench, Failure> {
    let Serving { mut setup, place, speed, beaker } = serving;
    let used = setup.flash.as_ref().and_then(|path| path.metadata().ok());
    // A probe that was used before has kept its time on its battery.
    if used.is_some_and(|meta| meta.len() > 0) {
        setup.clock_unix_s = Some(jiff::Timestamp::now().as_second());
    }
    let failed = |error: BenchError| {
        let exit = match error {
            BenchError::UnknownContent { .. } | BenchError::OutOfRange { .. } => Exit::BadInput,
            _ => Exit::Storage,
        };
        Failure::new(exit, error.to_string())
    };
    let mut probe = VirtualProbe::new(setup).map_err(failed)?;
    let first = Beaker::named(&beaker, ROOM_C).map_err(failed)?;
    probe.place(first).map_err(failed)?;
    let endpoint = Endpoint::open(place).map_err(|why| Failure::new(Exit::Port, why))?;
    Ok(Bench { probe, endpoint, speed, paced_from: (Instant::now(), 0) })
}

impl Bench {
    fn step(&mut self) {
        let mut buffer = [0; 4_096];
        loop {
            let count = self.endpoint.receive(&mut buffer);
            if count == 0 {
                break;
            }
            self.probe.send(&buffer[..count]);
        }
        let (real, simulated) = self.paced_from;
        let due = simulated + (real.elapsed().as_secs_f64() * 1e3 * self.speed) as u64;
        let behind = due.saturating_sub(self.probe.now_ms());
        self.probe.run_for_ms(behind.min(LONGEST_STEP_MS));
        if behind > LONGEST_STEP_MS {
            // Too slow for this speed: what is missing is not made up for.
            self.pace_from_now();
        }
        loop {
            let count = self.probe.receive(&mut buffer);
            if count == 0 {
                break;
            }
            self.endpoint.send(&buffer[..count]);
        }
    }

    fn pace_from_now(&mut self) {
        self.paced_from = (Instant::now(), self.probe.now_ms());
    }

    fn carry_out(&mut self, control: Control) -> Result<Reply, String> {
        match control {
            Control::Place(beaker) => {
                self.probe.place(beaker).map_err(|error| error.to_string())?;
            }
            Control::Connect(loads) => self.probe.connect(loads),
            Control::Fault(fault) => {
                let mut faults = self.probe.faults();
                control::add(&mut faults, fault);
                self.probe.set_faults(faults);
            }
            Control::Stir(moving) => self.probe.stir(moving),
            Control::Clear => self.probe.set_faults(Faults::default()),
            Control::PowerCycle => {
                self.probe.power_cycle();
                self.pace_from_now();
            }
            Control::Unplug => {
                self.probe.unplug();
                self.endpoint.unplug();
            }
            Control::Plug => {
                self.endpoint.plug()?;
                self.probe.plug();
                return Ok(Reply::At(self.endpoint.at()));
            }
            Control::Speed(speed) => {
                self.speed = speed;
                self.pace_from_now();
            }
            Control::Status => {
                return Ok(Reply::Status(Status::of(&self.probe, &self.endpoint.at())));
            }
        }
        Ok(Reply::Done)
    }
}
