//! UF2: the file that the boot ROM takes when it shows itself as a drive.
//!
//! Blocks of 512 bytes, each with 256 bytes of program and the address that they go to (magic numbers
//! and layout: UF2 specification, seen in descriptions of it; family: RP2040 data sheet, 2.8.4.2).

use std::ops::Range;

use rillmark_pico::partition::{FLASH_ADDRESS, SECTOR_BYTES};

const BLOCK: usize = 512;
const PAYLOAD: usize = 256;
const MAGIC: [u32; 2] = [0x0a32_4655, 0x9e5d_5157];
const MAGIC_END: u32 = 0x0ab1_6f30;
/// Flag: the last word of the header is the family.
const HAS_FAMILY: u32 = 0x2000;
const RP2040: u32 = 0xe48b_ff56;

/// The file that writes a program to this address. The boot ROM erases whole sectors, so the last one
/// is filled up as erased flash.
pub(crate) fn of(program: &[u8], address: u32) -> Vec<u8> {
    let mut program = program.to_vec();
    program.resize(program.len().next_multiple_of(SECTOR_BYTES as usize), 0xff);
    let blocks = (program.len() / PAYLOAD) as u32;
    let mut file = Vec::with_capacity(blocks as usize * BLOCK);
    for (number, payload) in (0..).zip(program.chunks_exact(PAYLOAD)) {
        let end = file.len() + BLOCK;
        let at = address + number * PAYLOAD as u32;
        let [first, second] = MAGIC;
        let header = [first, second, HAS_FAMILY, at, PAYLOAD as u32, number, blocks, RP2040];
        file.extend(header.iter().flat_map(|word| word.to_le_bytes()));
        file.extend(payload);
        file.resize(end - 4, 0);
        file.extend(MAGIC_END.to_le_bytes());
    }
    file
}

/// The file that leaves this part of the flash erased.
pub(crate) fn erased(part: &Range<u32>) -> Vec<u8> {
    of(&vec![0xff; part.len()], FLASH_ADDRESS + part.start)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rillmark_pico::partition::{LOG, PROGRAM, PROGRAM_BUDGET, STORE};

    fn words(block: &[u8]) -> Vec<u32> {
        let word = |bytes: &[u8]| u32::from_le_bytes(bytes.try_into().expect("four"));
        block.chunks_exact(4).map(word).collect()
    }

    #[test]
    fn every_block_says_where_its_bytes_go() {
        let program: Vec<u8> = (0..5_000u32).map(|at| (at % 251) as u8).collect();
        let file = of(&program, FLASH_ADDRESS);
        assert_eq!(file.len(), 32 * 512, "two sectors of sixteen blocks");
        for (number, block) in file.chunks_exact(512).enumerate() {
            let at = FLASH_ADDRESS + number as u32 * 256;
            // Literal numbers of the specification.
            assert_eq!(
                words(block)[..8],
                [0x0a324655, 0x9e5d5157, 0x2000, at, 256, number as u32, 32, 0xe48bff56]
            );
            assert_eq!(words(block)[127], 0x0ab16f30);
            for (index, byte) in block[32..32 + 256].iter().enumerate() {
                let expected = program.get(number * 256 + index).unwrap_or(&0xff);
                assert_eq!(byte, expected);
            }
        }
    }

    #[test]
    fn the_file_that_erases_the_store_writes_all_of_it_and_nothing_else() {
        let file = erased(&STORE);
        let places: Vec<u32> = file.chunks_exact(512).map(|block| words(block)[3]).collect();
        let all = STORE.step_by(256).map(|at| FLASH_ADDRESS + at);
        assert!(places.iter().copied().eq(all));
        assert!(file.chunks_exact(512).all(|block| block[32..32 + 256] == [0xff; 256]));
    }

    #[test]
    fn the_largest_program_leaves_store_and_log_alone() {
        let file = of(&vec![0; PROGRAM_BUDGET as usize], FLASH_ADDRESS);
        let ends = file.chunks_exact(512).map(|block| words(block)[3] - FLASH_ADDRESS + 256);
        let end = ends.max().expect("blocks");
        assert!(end <= PROGRAM.end && end <= LOG.start && end <= STORE.start, "{end:#x}");
    }
}
