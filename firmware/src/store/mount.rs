//! Mounting: what is found in the flash, which copies of it count, and what is mended.

use super::copies::Copies;
use super::layout::{Kind, Layout};
use super::*;

impl<S: NorFlash> Store<S> {
    /// Reads the store of this board and counts this start. Never fails: what is wrong shows in
    /// [`Self::has_fault`] and in refusals.
    ///
    /// Of a region larger than [`STORE_MAX_PAGES`] pages the first ones are used.
    ///
    /// [`STORE_MAX_PAGES`]: crate::constants::STORE_MAX_PAGES
    pub async fn mount(flash: S, region: Range<u32>, board: BoardId) -> Self {
        let mut this = Self {
            board,
            maps: Maps::new(flash, region),
            catalogue: Catalogue::default(),
            boot: 0,
            broken: None,
            is_without_witness: false,
            is_damaged: false,
            damaged_slots: 0,
            coefficients: Coefficients::default(),
            used: CalibrationsUsed::default(),
            turns_left: TURNS_AHEAD,
        };
        if let Err(failure) = this.load().await {
            let broken = match failure {
                Failure::Broken(broken) => broken,
                Failure::Full | Failure::Shut => Broken::Corrupt,
            };
            #[cfg(feature = "defmt")]
            defmt::error!("store unusable: {}", broken == Broken::Corrupt);
            if let Some(maps) = &mut this.maps {
                maps.set_open(false);
            }
            this.broken = Some(broken);
        }
        this
    }

    async fn load(&mut self) -> Result<(), Failure> {
        const CORRUPT: Failure = Failure::Broken(Broken::Corrupt);
        let maps = self.maps()?;
        let main = maps.layout(Place::Main).await?;
        let witness = maps.layout(Place::Witness).await?;
        let is_new = |layout: &Layout| matches!(layout.kind, Kind::Blank | Kind::Begun);
        let is_ours = match (main.kind, witness.kind) {
            // The main map is written first.
            (Kind::Blank, witness) => witness == Kind::Blank,
            (Kind::Begun, witness) => witness != Kind::Foreign,
            (main, _) => main != Kind::Foreign,
        };
        if !is_ours {
            return Err(CORRUPT);
        }
        maps.erase(&main.erase).await?;
        maps.erase(&witness.erase).await?;
        self.is_damaged = main.is_damaged || witness.is_damaged;
        let mut boots = [0; 3];
        for (boot, (place, key)) in boots[..2].iter_mut().zip(BOOT) {
            *boot = self.fetch_boot(place, key).await?;
        }
        // The boot count is written before all else, so where there is anything, but no boot count, it is
        // not ours.
        if boots[..2] == [0; 2] && !is_new(&main) {
            return Err(CORRUPT);
        }
        let (place, key) = BOOT[2];
        match self.fetch_boot(place, key).await {
            Ok(boot) if boot > 0 || is_new(&witness) => boots[2] = boot,
            _ if is_new(&main) => return Err(CORRUPT),
            // Not written, so that it goes on being seen.
            _ => self.is_without_witness = true,
        }
        let mut changes = [0; 3];
        for (change, copy) in changes.iter_mut().zip(CATALOGUE) {
            *change = self.take_up(copy).await?;
        }
        self.maps()?.set_open(true);
        self.mend(boots, changes).await;
        let entries = self.catalogue.entries().iter();
        let listed: Vec<_, MAX_LISTED> = entries.map(|entry| (entry.id, entry.slot)).collect();
        for (id, slot) in listed {
            self.is_whole(id, slot).await;
        }
        self.put_in_force().await;
        Ok(())
    }

    /// 0 when there is none.
    async fn fetch_boot(&mut self, place: Place, key: u8) -> Result<u32, Failure> {
        match self.maps()?.fetch(place, key).await?.map(<[u8; 4]>::try_from) {
            None => Ok(0),
            Some(Ok(bytes)) => Ok(u32::from_le_bytes(bytes)),
            Some(Err(_)) => Err(Failure::Broken(Broken::Corrupt)),
        }
    }

    /// Takes up a copy of the catalogue if it is newer, and returns its number; 0 when there is none.
    async fn take_up(&mut self, (place, key): (Place, u8)) -> Result<u32, Failure> {
        if place == Place::Witness && self.is_without_witness {
            return Ok(0);
        }
        let Some(bytes) = self.maps()?.fetch(place, key).await? else { return Ok(0) };
        // Its CRC was right, so somebody else wrote it: a later firmware.
        let found = Catalogue::from_bytes(bytes).ok_or(Failure::Broken(Broken::Corrupt))?;
        let change = found.change;
        if change > self.catalogue.change {
            self.catalogue = found;
        } else {
            // Two that are counted alike are alike.
            self.is_damaged |= change == self.catalogue.change && found != self.catalogue;
        }
        Ok(change)
    }

    /// Counts this start, and writes the newest to the copies that are older.
    async fn mend(&mut self, mut boots: [u32; 3], mut changes: [u32; 3]) {
        if self.is_without_witness {
            self.is_damaged = true;
            (boots[2], changes[2]) = (boots[1], changes[1]);
        }
        let (boots, changes) = (Copies(boots), Copies(changes));
        self.is_damaged |= boots.contradict() || changes.contradict();
        // The older ones catch up first, so that no two copies are more than one apart even when one
        // start after another is cut short.
        self.boot = boots.newest();
        for (boot, copy) in boots.0.into_iter().zip(BOOT) {
            if boot < self.boot {
                self.is_damaged |= self.write_boot(copy).await.is_err();
            }
        }
        self.boot = self.boot.saturating_add(1);
        for copy in BOOT {
            self.is_damaged |= self.write_boot(copy).await.is_err();
        }
        for (change, copy) in changes.0.into_iter().zip(CATALOGUE) {
            if change < changes.newest() {
                self.is_damaged |= self.write_catalogue(copy).await.is_err();
            }
        }
    }
}
