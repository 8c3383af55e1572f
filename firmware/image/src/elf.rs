//! As much of an ELF file as an image needs: its loadable segments.
//!
//! Offsets and numbers are those of the ELF specification for 32-bit little-endian files (recalled, not
//! checked).

/// A part of memory, and what the file has for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Segment<'a> {
    /// Where the processor sees it.
    pub(crate) address: u32,
    /// Where it is loaded to; variables with a value lie in flash until they are copied.
    pub(crate) load_address: u32,
    /// Bytes in memory.
    pub(crate) size: u32,
    /// What to load; shorter than `size` for what begins as zeros or is left alone.
    pub(crate) bytes: &'a [u8],
}

fn word(bytes: &[u8], at: usize) -> Option<u32> {
    let bytes = bytes.get(at..at.checked_add(4)?)?;
    Some(u32::from_le_bytes(bytes.try_into().ok()?))
}

fn half(bytes: &[u8], at: usize) -> Option<usize> {
    let bytes = bytes.get(at..at.checked_add(2)?)?;
    Some(u16::from_le_bytes(bytes.try_into().ok()?).into())
}

/// The loadable segments; `None` when it is no whole 32-bit little-endian ELF for ARM.
pub(crate) fn segments(elf: &[u8]) -> Option<Vec<Segment<'_>>> {
    const IDENTITY: &[u8] = b"\x7fELF\x01\x01\x01";
    const ARM: usize = 40;
    const LOAD: u32 = 1;
    if !elf.starts_with(IDENTITY) || half(elf, 18)? != ARM {
        return None;
    }
    let (table, size, count) = (word(elf, 28)? as usize, half(elf, 42)?, half(elf, 44)?);
    let mut segments = Vec::new();
    for index in 0..count {
        let header = elf.get(table.checked_add(index * size)?..)?;
        if word(header, 0)? != LOAD {
            continue;
        }
        let (offset, in_file) = (word(header, 4)? as usize, word(header, 16)? as usize);
        segments.push(Segment {
            address: word(header, 8)?,
            load_address: word(header, 12)?,
            size: word(header, 20)?,
            bytes: elf.get(offset..offset.checked_add(in_file)?)?,
        });
    }
    Some(segments)
}

/// What the flash holds from its start to the end of the program, gaps as erased flash; `None` when a
/// segment lies before the flash, or so far behind that this is no program.
pub(crate) fn program(segments: &[Segment<'_>], flash: u32) -> Option<Vec<u8>> {
    const MOST: usize = 16 << 20;
    let mut program = Vec::new();
    for segment in segments.iter().filter(|segment| !segment.bytes.is_empty()) {
        let start = segment.load_address.checked_sub(flash)? as usize;
        let end = start + segment.bytes.len();
        if end > MOST {
            return None;
        }
        if end > program.len() {
            program.resize(end, 0xff);
        }
        program[start..end].copy_from_slice(segment.bytes);
    }
    Some(program)
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use proptest::prelude::*;

    /// An ELF of these segments.
    fn elf(segments: &[Segment<'_>]) -> Vec<u8> {
        let mut elf = b"\x7fELF\x01\x01\x01".to_vec();
        elf.resize(52, 0);
        elf[18] = 40;
        elf[28] = 52;
        elf[42] = 32;
        elf[44] = segments.len() as u8;
        let mut offset = 52 + 32 * segments.len();
        for segment in segments {
            let fields = [
                1,
                offset as u32,
                segment.address,
                segment.load_address,
                segment.bytes.len() as u32,
                segment.size,
                0,
                4,
            ];
            elf.extend(fields.iter().flat_map(|field| field.to_le_bytes()));
            offset += segment.bytes.len();
        }
        for segment in segments {
            elf.extend(segment.bytes);
        }
        elf
    }

    const BOOT: Segment<'static> =
        Segment { address: 0x1000_0000, load_address: 0x1000_0000, size: 3, bytes: &[1, 2, 3] };
    const DATA: Segment<'static> =
        Segment { address: 0x2000_0000, load_address: 0x1000_0006, size: 2, bytes: &[8, 9] };
    const ZEROS: Segment<'static> =
        Segment { address: 0x2000_0010, load_address: 0x2000_0010, size: 100, bytes: &[] };

    #[test]
    fn segments_and_the_program_are_found() {
        let elf = elf(&[DATA, BOOT, ZEROS]);
        let found = segments(&elf).expect("an ELF");
        assert_eq!(found, [DATA, BOOT, ZEROS]);
        let program = program(&found, 0x1000_0000).expect("in flash");
        assert_eq!(program, [1, 2, 3, 0xff, 0xff, 0xff, 8, 9]);
        assert_eq!(super::program(&found, 0x1000_0001), None);
    }

    proptest! {
        #[test]
        fn a_damaged_file_is_refused_or_read_but_never_a_panic(at in 0usize..128, byte: u8) {
            let mut elf = elf(&[BOOT, DATA, ZEROS]);
            let at = at % elf.len();
            elf[at] = byte;
            if let Some(segments) = segments(&elf) {
                let _ = program(&segments, 0x1000_0000);
            }
            let _ = segments(&elf[..at]);
        }
    }
}
