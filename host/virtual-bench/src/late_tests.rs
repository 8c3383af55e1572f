//! Conversions that are started late, as when interrupts keep the processor, on the simulated chip.

use std::cell::RefCell;
use std::rc::Rc;

use rillmark_firmware::adc::AdcError;
use rillmark_firmware::constants::ADC_ADDRESS;
use rillmark_firmware::front_end::thermometer::Thermometer;
use rillmark_firmware::front_end::{FrontEnd, Patience};

use super::*;
use crate::executor::Executor;
use crate::faults::Faults;
use crate::time::{NS_PER_MS, NS_PER_S};
use crate::truth::Truth;
use crate::water::{Beaker, Content};
use crate::world::World;

/// The bus, on which some conversions are started late.
struct Late {
    bus: Bus,
    started: usize,
    late: fn(usize) -> u64,
}

impl I2cErrorType for Late {
    type Error = ErrorKind;
}

impl I2c for Late {
    async fn transaction(
        &mut self,
        address: u8,
        operations: &mut [Operation<'_>],
    ) -> Result<(), ErrorKind> {
        if let (ADC_ADDRESS, [Operation::Write([1, _, _])]) = (address, &*operations) {
            let late_ns = (self.late)(self.started);
            self.started += 1;
            self.bus.handle.clock.clone().sleep(late_ns).await;
        }
        self.bus.transaction(address, operations).await
    }
}

type Found = (Result<Thermometer, AdcError>, Result<Option<i32>, AdcError>);

/// Thermometer (three averages of 50 conversions), then potential (one), without noise, the converter's
/// clock as slow as it may be.
fn measured(late: fn(usize) -> u64) -> Found {
    let truth = Truth {
        adc_noise_codes: 0.0,
        wander_mv: 0.0,
        hum_mv: 0.0,
        adc_rate: 0.9,
        offset_mv: 150.0,
        ..Truth::seeded(1).with_exact_input()
    };
    let clock = Clock::new();
    let mut world = World::new(1, truth, None, Faults::default()).unwrap();
    let content = Content::Sample { ph: 7.0, specific_us_cm: 100.0, per_kelvin: 0.02 };
    world.front.place(Beaker { content, temperature_c: 20.0 }, 0).unwrap();
    let handle = Handle { clock: clock.clone(), world: Rc::new(RefCell::new(world)) };
    let Parts { i2c, pins, excitation, uptime, delay } = parts(&handle);
    let i2c = Late { bus: i2c, started: 0, late };
    let mut front_end = FrontEnd::new(Parts { i2c, pins, excitation, uptime, delay });
    let found = Rc::new(RefCell::new(None));
    let into = Rc::clone(&found);
    let mut executor = Executor::new(async move {
        let thermometer = front_end.thermometer().await;
        let potential = front_end.potential(1, Patience::Take).await.map(|it| it.nv);
        *into.borrow_mut() = Some((thermometer, potential));
    });
    executor.run(&clock, 20 * NS_PER_S, || false);
    found.take().expect("twenty seconds are plenty")
}

#[test]
fn a_conversion_started_late_is_read_when_it_is_done() {
    let on_time = measured(|_| 0);
    let (Ok(Thermometer::Milliohm(expected_milliohm)), Ok(Some(expected_nv))) = on_time else {
        panic!("{on_time:?}")
    };
    // The first of each average, one in the middle, one after the other; by 0.4 to 1.2 ms.
    let cases: [fn(usize) -> u64; 5] = [
        |n| if n % 50 == 0 { 800_000 } else { 0 },
        |n| if n == 150 { 1_200_000 } else { 0 },
        |n| if n % 50 == 20 { 400_000 } else { 0 },
        |n| if n % 50 == 49 { 1_000_000 } else { 0 },
        |n| if n % 10 < 2 { 400_000 } else { 0 },
    ];
    for (case, late) in cases.into_iter().enumerate() {
        let (thermometer, potential) = measured(late);
        let Ok(Thermometer::Milliohm(milliohm)) = thermometer else { panic!("{thermometer:?}") };
        // What is left of a tap change is part of a code: one of fifty may be rounded the other way, which
        // is a fiftieth of 240 mΩ. The code of another tap would move the mean by ohms.
        assert!(milliohm.abs_diff(expected_milliohm) <= 5, "case {case}: {milliohm}");
        // The drive before it ends in another phase, which moves the electrode by some 20 µV; the code
        // of another input would move the mean by millivolts.
        let moved_nv = potential.unwrap().unwrap() - expected_nv;
        assert!(moved_nv.abs() < 30_000, "case {case}: {moved_nv} nV");
    }
}

#[test]
fn a_conversion_started_much_too_late_gives_nothing() {
    let (thermometer, potential) = measured(|n| if n == 170 { 2 * NS_PER_MS } else { 0 });
    assert!(matches!(thermometer, Ok(Thermometer::Milliohm(_))));
    assert_eq!(potential, Err(AdcError::Late));
    // Nor does a converter that falls behind with every one of them.
    let (thermometer, _) = measured(|_| 500_000);
    assert_eq!(thermometer, Err(AdcError::Late));
}
