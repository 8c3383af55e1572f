//! Where everything is in flash and RAM. The linker script is written from these numbers.
//!
//! A firmware update writes the program's part of the flash alone, so store and log survive it;
//! therefore they never move.

/// Where the processor sees the flash.
pub const FLASH_ADDRESS: u32 = 0x1000_0000;
/// Bytes of the Pico's flash (W25Q16JV, 2 MiB; its data sheet).
pub const FLASH_BYTES: u32 = 2 * 1024 * 1024;
/// Bytes that are erased at once (the same data sheet).
pub const SECTOR_BYTES: u32 = 4096;
/// Bytes of the second boot stage, which the boot ROM loads (RP2040 data sheet, 2.8.1.2).
pub const BOOT2_BYTES: u32 = 256;

/// The most bytes of flash that the program may take, second boot stage included: its budget.
pub const PROGRAM_BUDGET: u32 = 256 * 1024;
/// The program's part of the flash, in bytes from its start: twice the budget.
pub const PROGRAM: core::ops::Range<u32> = 0..512 * 1024;
/// Room kept for the log of a deployment.
pub const LOG: core::ops::Range<u32> = PROGRAM.end..FLASH_BYTES - STORE_BYTES;
/// The store: boot count, equipment and records.
pub const STORE: core::ops::Range<u32> = FLASH_BYTES - STORE_BYTES..FLASH_BYTES;

/// As many sectors as the store can use (`STORE_MAX_PAGES` of the firmware library, compared where
/// the board is built).
pub const STORE_SECTORS: u32 = 32;
const STORE_BYTES: u32 = STORE_SECTORS * SECTOR_BYTES;

/// Where RAM begins.
pub const RAM_ADDRESS: u32 = 0x2000_0000;
/// Bytes of RAM: four banks of 64 KiB as one and two of 4 KiB (RP2040 data sheet, 2.6.2).
pub const RAM_BYTES: u32 = 264 * 1024;
/// The most bytes of RAM that variables may take: their budget.
pub const RAM_BUDGET: u32 = 64 * 1024;
/// The farthest that the stack may reach, as an address: it begins at the end of RAM and grows down.
pub const STACK_END: u32 = 0x2003_0000;
/// Bytes of the stack, 1.8 times what was measured (40 KB; a test keeps it at 1.5 times or more).
pub const STACK_BYTES: u32 = RAM_ADDRESS + RAM_BYTES - STACK_END;
/// Bytes before the stack's end that nobody may touch: more than any one function puts on the stack,
/// so that none steps over them.
pub const GUARD_BYTES: u32 = 64 * 1024;
/// Bytes of RAM that variables can take at all.
pub const VARIABLES_BYTES: u32 = STACK_END - GUARD_BYTES - RAM_ADDRESS;

const _: () = {
    assert!(PROGRAM_BUDGET <= PROGRAM.end);
    assert!(PROGRAM.end.is_multiple_of(SECTOR_BYTES) && STORE.start.is_multiple_of(SECTOR_BYTES));
    assert!(LOG.start < LOG.end && LOG.end == STORE.start && STORE.end == FLASH_BYTES);
    assert!(RAM_BUDGET <= VARIABLES_BYTES);
    // The memory protection unit guards powers of two on their own multiples.
    assert!(GUARD_BYTES.is_power_of_two() && STACK_END.is_multiple_of(GUARD_BYTES));
};
