//! A host small enough for these tests: it says hello, gives commands and collects what comes.
#![allow(dead_code, unreachable_pub)] // every test file uses its own part

use rillmark_bench::{Beaker, Content, Setup, VirtualProbe};
use rillmark_proto::circuit::timing::LONGEST_ANSWER_US;
use rillmark_proto::reading::Reading;
use rillmark_proto::wire::frame::{Decoder, Event, MAX_FRAME};
use rillmark_proto::wire::hello::{Hello, HelloAnswer};
use rillmark_proto::wire::message::{Answer, Command, Done, FromProbe, Order, Refusal, Sampling};
use rillmark_proto::wire::{Incoming, decode, encode_command, encode_hello};

/// A probe with its line.
pub struct Conversation {
    pub probe: VirtualProbe,
    pub bytes: Vec<u8>,
    pub readings: Vec<Reading>,
    pub answers: Vec<Answer>,
    pub hellos: Vec<HelloAnswer>,
    pub damaged: u64,
    decoder: Decoder,
    next_id: u32,
}

impl Conversation {
    pub fn new(setup: Setup) -> Self {
        Self {
            probe: VirtualProbe::new(setup).expect("the bench can be built"),
            bytes: Vec::new(),
            readings: Vec::new(),
            answers: Vec::new(),
            hellos: Vec::new(),
            damaged: 0,
            decoder: Decoder::new(),
            next_id: 1,
        }
    }

    pub fn seeded(seed: u64) -> Self {
        Self::new(Setup { seed, ..Setup::default() })
    }

    /// Puts the sensors into a named solution.
    pub fn place(&mut self, name: &str, temperature_c: f64) {
        let beaker = Beaker::named(name, temperature_c).expect("a known solution");
        self.probe.place(beaker).expect("a temperature in its range");
    }

    /// Puts the sensors into a sample of pH 7 with this conductivity at 25 °C, at 25 °C.
    pub fn place_sample(&mut self, specific_us_cm: f64) {
        let content = Content::Sample { ph: 7.0, specific_us_cm, per_kelvin: 0.0191 };
        self.probe.place(Beaker { content, temperature_c: 25.0 }).expect("a sample in range");
    }

    /// Lets time pass and takes in whatever comes.
    pub fn listen(&mut self, ms: u64) {
        let end = self.probe.now_ms() + ms;
        while self.probe.now_ms() < end {
            if self.probe.run_until_output(end - self.probe.now_ms()) {
                self.take_in();
            }
        }
    }

    fn take_in(&mut self) {
        let mut buffer = [0; 512];
        loop {
            let count = self.probe.receive(&mut buffer);
            if count == 0 {
                return;
            }
            self.bytes.extend_from_slice(&buffer[..count]);
            for &byte in &buffer[..count] {
                // Not every damaged frame ends with its byte; one byte may end several.
                if let Some(event) = self.decoder.push(byte) {
                    let Event::Payload(payload) = event else {
                        self.damaged += 1;
                        continue;
                    };
                    match decode(&payload) {
                        Ok(Incoming::HelloAnswer(answer)) => self.hellos.push(answer),
                        Ok(Incoming::FromProbe(FromProbe::Reading(reading))) => {
                            self.readings.push(reading);
                        }
                        Ok(Incoming::FromProbe(FromProbe::Answer(answer))) => {
                            self.answers.push(answer);
                        }
                        other => panic!("a probe does not say {other:?}"),
                    }
                }
            }
        }
    }

    pub fn hello(&mut self) -> Option<HelloAnswer> {
        let mut frame = [0; MAX_FRAME];
        let hello = Hello { wire_min: 1, wire_max: 1 };
        let length = encode_hello(hello, &mut frame).expect("a hello fits");
        self.probe.send(&frame[..length]);
        self.listen(1_000);
        self.hellos.last().copied()
    }

    /// Gives a command and waits for its one answer, as long as one may take.
    pub fn order(&mut self, order: Order) -> Option<Result<Done, Refusal>> {
        let id = self.next_id;
        self.next_id += 1;
        let mut frame = [0; MAX_FRAME];
        let length =
            encode_command(&Command { id, order }, &mut frame).expect("an order of the tests fits");
        self.probe.send(&frame[..length]);
        for _ in 0..LONGEST_ANSWER_US / 10_000 {
            self.listen(10);
            if let Some(answer) = self.answers.iter().find(|answer| answer.id == id) {
                return Some(answer.outcome.clone());
            }
        }
        None
    }

    /// Samples for a while, from an empty list on, and stops.
    pub fn sample(&mut self, sampling: Sampling, ms: u64) -> Vec<Reading> {
        assert_eq!(self.order(Order::Sample(sampling)), Some(Ok(Done::Plain)));
        self.readings.clear();
        self.listen(ms);
        let readings = std::mem::take(&mut self.readings);
        assert_eq!(self.order(Order::Sample(Sampling::Off)), Some(Ok(Done::Plain)));
        readings
    }
}
