//! For tests: a bus that plays a script and fails on anything else.

use embedded_hal_async::i2c::{ErrorKind, ErrorType, I2c, NoAcknowledgeSource, Operation};
use std::collections::VecDeque;
use std::vec::Vec;

pub(crate) use embassy_futures::block_on;

/// One transaction that the script expects.
pub(crate) struct Step {
    address: u8,
    write: Vec<u8>,
    read: Vec<u8>,
    silent: bool,
}

impl Step {
    pub(crate) fn write(address: u8, write: Vec<u8>) -> Self {
        Self { address, write, read: Vec::new(), silent: false }
    }

    pub(crate) fn write_read(address: u8, write: Vec<u8>, read: Vec<u8>) -> Self {
        Self { address, write, read, silent: false }
    }

    /// The chip does not answer; what was to be written is not compared.
    pub(crate) fn silent(self) -> Self {
        Self { silent: true, ..self }
    }
}

pub(crate) struct Bus(VecDeque<Step>);

pub(crate) fn i2c(steps: impl IntoIterator<Item = Step>) -> Bus {
    Bus(steps.into_iter().collect())
}

impl Bus {
    /// Asserts that the script has been played to its end.
    pub(crate) fn done(&self) {
        assert!(self.0.is_empty(), "{} steps left", self.0.len());
    }
}

impl ErrorType for Bus {
    type Error = ErrorKind;
}

impl I2c for Bus {
    async fn transaction(
        &mut self,
        address: u8,
        operations: &mut [Operation<'_>],
    ) -> Result<(), ErrorKind> {
        let step = self.0.pop_front().expect("the script has ended");
        assert_eq!(address, step.address);
        if step.silent {
            return Err(ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address));
        }
        let (mut written, mut read) = (Vec::new(), step.read.into_iter());
        for operation in operations {
            match operation {
                Operation::Write(bytes) => written.extend_from_slice(bytes),
                Operation::Read(bytes) => {
                    bytes.fill_with(|| read.next().expect("the script has fewer bytes"));
                }
            }
        }
        assert_eq!(written, step.write);
        assert!(read.next().is_none(), "the script has more bytes");
        Ok(())
    }
}
