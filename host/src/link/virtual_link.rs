//! The virtual bench as a line, in this process: bytes and simulated time in lock step.

use std::ops::Range;
use std::path::{Path, PathBuf};

use rillmark_bench::{Beaker, BenchError, BuildFault, Faults, Loads, Setup, VirtualProbe};

use super::{Link, LinkError};

/// The flash file of `--port virtual`, in the current folder.
pub const DEFAULT_FLASH: &str = "virtual-probe.flash";
/// The seed of `--port virtual`: the same sensors in every run.
pub const DEFAULT_SEED: u64 = 1;
/// When simulated time starts: 2027-05-03T08:00:00Z, an invented date, in s since 1970-01-01 UTC.
const START_UNIX_S: i64 = 1_809_331_200;
/// Temperature in °C of a beaker when nobody asks for another.
const ROOM_C: f64 = 25.0;

/// A virtual probe as a [`Link`]. Its sensors begin in the invented lake.
///
/// Simulated time passes only inside [`Link::receive`] and [`Link::wait`].
pub struct VirtualLink {
    probe: VirtualProbe,
    name: String,
    pulled: Vec<Range<u64>>,
    lost: bool,
}

impl VirtualLink {
    /// Opens the bench with the usual seed. A flash file that exists already is a probe that was
    /// used before, so its clock chip has kept the time.
    ///
    /// # Errors
    /// [`LinkError::CannotOpen`] when the flash file cannot be used.
    pub fn open(flash: Option<&Path>) -> Result<Self, LinkError> {
        let used = flash.is_some_and(|path| path.metadata().is_ok_and(|meta| meta.len() > 0));
        let setup = Setup {
            seed: DEFAULT_SEED,
            flash: flash.map(PathBuf::from),
            clock_unix_s: used.then_some(START_UNIX_S),
            ..Setup::default()
        };
        let name = match flash {
            Some(path) if path != Path::new(DEFAULT_FLASH) => format!("virtual:{}", path.display()),
            _ => "virtual".to_owned(),
        };
        Self::with(setup, name)
    }

    /// A bench of one's own making, under a name for people.
    ///
    /// # Errors
    /// [`LinkError::CannotOpen`] when the flash file cannot be used.
    pub fn with(setup: Setup, name: impl Into<String>) -> Result<Self, LinkError> {
        let name = name.into();
        let failed = |error: BenchError| LinkError::CannotOpen {
            name: name.clone(),
            cause: error.to_string(),
        };
        let mut probe = VirtualProbe::new(setup).map_err(failed)?;
        let lake = Beaker::named("lake", ROOM_C).map_err(failed)?;
        probe.place(lake).map_err(failed)?;
        Ok(Self { probe, name, pulled: Vec::new(), lost: false })
    }

    /// The bench itself: faults, power, truth.
    pub fn bench(&mut self) -> &mut VirtualProbe {
        &mut self.probe
    }

    /// Has the cable pulled during these milliseconds of simulated time.
    pub fn pull_cable(&mut self, during_ms: Range<u64>) {
        self.pulled.push(during_ms);
    }

    /// Brings the plug into the state that it has now.
    fn plug_as_told(&mut self) {
        if self.pulled.is_empty() {
            return;
        }
        let now = self.probe.now_ms();
        let pulled = self.pulled.iter().any(|during| during.contains(&now));
        if pulled && self.probe.is_plugged() {
            self.probe.unplug();
        } else if !pulled && !self.probe.is_plugged() {
            self.probe.plug();
            self.pulled.retain(|during| during.end > now);
        }
    }

    /// Milliseconds until the next pull or plug, at most `ms`.
    fn until_event(&self, ms: u64) -> u64 {
        let now = self.probe.now_ms();
        let edges = self.pulled.iter().flat_map(|during| [during.start, during.end]);
        edges
            .filter(|&edge| edge > now)
            .map(|edge| edge - now)
            .min()
            .map_or(ms, |next| next.min(ms))
    }

    fn check_line(&mut self) -> Result<(), LinkError> {
        self.plug_as_told();
        self.lost |= !self.probe.is_plugged();
        if self.lost {
            return Err(LinkError::Lost { name: self.name.clone(), cause: UNPLUGGED.to_owned() });
        }
        Ok(())
    }
}

/// What the system would say.
const UNPLUGGED: &str = "the virtual cable is pulled";

impl Link for VirtualLink {
    fn receive(&mut self, into: &mut [u8], patience_ms: u64) -> Result<usize, LinkError> {
        let until = self.probe.now_ms().saturating_add(patience_ms);
        loop {
            self.check_line()?;
            let left = until.saturating_sub(self.probe.now_ms());
            if self.probe.run_until_output(self.until_event(left)) {
                return Ok(self.probe.receive(into));
            }
            if self.probe.now_ms() >= until {
                self.check_line()?;
                return Ok(0);
            }
        }
    }

    fn send(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        self.check_line()?;
        self.probe.send(bytes);
        Ok(())
    }

    fn reopen(&mut self) -> Result<(), LinkError> {
        self.plug_as_told();
        self.lost = !self.probe.is_plugged();
        if self.lost {
            return Err(LinkError::CannotOpen {
                name: self.name.clone(),
                cause: UNPLUGGED.to_owned(),
            });
        }
        Ok(())
    }

    fn monotonic_ms(&self) -> u64 {
        self.probe.now_ms()
    }

    fn utc_ms(&self) -> i64 {
        // Simulated time would have to run for 290 million years to leave an i64.
        START_UNIX_S * 1_000 + self.probe.now_ms().cast_signed()
    }

    fn wait(&mut self, ms: u64) {
        let until = self.probe.now_ms().saturating_add(ms);
        while self.probe.now_ms() < until {
            self.plug_as_told();
            let step = self.until_event(until - self.probe.now_ms());
            self.probe.run_for_ms(step);
        }
        self.plug_as_told();
    }

    /// A name or temperature that the bench does not have is left to the person.
    fn place(&mut self, standard: &str, temperature_c: Option<f64>) -> Result<bool, LinkError> {
        let beaker = Beaker::named(standard, temperature_c.unwrap_or(ROOM_C));
        Ok(beaker.and_then(|beaker| self.probe.place(beaker)).is_ok())
    }

    fn reference_c(&mut self) -> Option<f64> {
        Some(self.probe.reference_c())
    }

    fn places_by_itself(&self) -> bool {
        true
    }

    fn stir(&mut self, moving: bool) -> Result<bool, LinkError> {
        self.probe.stir(moving);
        Ok(true)
    }

    fn connect(&mut self, loads: Loads) -> Result<bool, LinkError> {
        self.probe.connect(loads);
        Ok(true)
    }

    fn misbuild(&mut self, mistake: BuildFault) -> bool {
        self.probe.set_faults(Faults { build: Some(mistake), ..self.probe.faults() });
        true
    }

    fn power_cycle(&mut self) -> bool {
        self.probe.power_cycle();
        true
    }

    fn name(&self) -> &str {
        &self.name
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_passes_in_lock_step_and_utc_with_it() {
        let mut link = VirtualLink::open(None).unwrap();
        let (monotonic, utc) = (link.monotonic_ms(), link.utc_ms());
        assert_eq!(link.receive(&mut [0; 8], 1_500).unwrap(), 0);
        link.wait(500);
        assert_eq!(link.monotonic_ms() - monotonic, 2_000);
        assert_eq!(link.utc_ms() - utc, 2_000);
    }

    #[test]
    fn a_pulled_cable_is_lost_until_it_is_opened_again() {
        let mut link = VirtualLink::open(None).unwrap();
        link.pull_cable(1_000..3_000);
        assert!(matches!(link.receive(&mut [0; 8], 5_000), Err(LinkError::Lost { .. })));
        assert_eq!(link.monotonic_ms(), 1_000);
        assert!(link.reopen().is_err());
        link.wait(2_500);
        assert!(link.send(&[0]).is_err(), "plugged, but not opened again");
        link.reopen().unwrap();
        link.send(&[0]).unwrap();
    }

    #[test]
    fn moves_the_sensors_by_itself_where_it_can() {
        let mut link = VirtualLink::open(None).unwrap();
        assert!(link.place("1413", Some(21.5)).unwrap());
        assert_eq!(link.bench().beaker().temperature_c, 21.5);
        assert!(!link.place("tea", None).unwrap());
        assert!(!link.place("phthalate-1977", Some(300.0)).unwrap());
        assert_eq!(link.bench().beaker().content.name(), "kcl-0.01-mol-per-l");
    }
}
