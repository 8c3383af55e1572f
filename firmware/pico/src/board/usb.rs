//! The line: a serial port over USB.

use core::fmt::Write as _;

use embassy_rp::peripherals::USB;
use embassy_rp::usb::{Driver, InterruptHandler};
use embassy_rp::{Peri, bind_interrupts};
use embassy_usb::class::cdc_acm::{BufferedReceiver, CdcAcmClass, Sender as PacketSender, State};
use embassy_usb::driver::EndpointError;
use embassy_usb::{Builder, Config, UsbDevice};
use embedded_io_async::{ErrorKind, ErrorType, Read, Write};
use rillmark_proto::identity::BoardId;
use rillmark_proto::wire::usb::{MANUFACTURER_NAME, PRODUCT, PRODUCT_NAME, VENDOR};
use static_cell::StaticCell;

bind_interrupts!(struct Irqs {
    USBCTRL_IRQ => InterruptHandler<USB>;
});

type Bus = Driver<'static, USB>;

/// Full speed, bulk.
const PACKET: usize = 64;

/// Starts the USB device under the board's id.
pub(super) fn start(
    usb: Peri<'static, USB>,
    board: BoardId,
) -> (UsbDevice<'static, Bus>, Receiver, Sender) {
    static SERIAL: StaticCell<heapless::String<16>> = StaticCell::new();
    static CONFIGURATION: StaticCell<[u8; 128]> = StaticCell::new();
    static CONTROL: StaticCell<[u8; 64]> = StaticCell::new();
    static STATE: StaticCell<State> = StaticCell::new();
    static BUFFER: StaticCell<[u8; PACKET]> = StaticCell::new();

    let serial = SERIAL.init(heapless::String::new());
    // Sixteen digits, its capacity.
    let _ = write!(serial, "{board}");
    let mut config = Config::new(VENDOR, PRODUCT);
    config.manufacturer = Some(MANUFACTURER_NAME);
    config.product = Some(PRODUCT_NAME);
    config.serial_number = Some(serial);
    // Under the limit of a board that is not configured; the front end takes 2 mA, the chip 30.
    config.max_power = 100;
    let mut builder = Builder::new(
        Driver::new(usb, Irqs),
        config,
        CONFIGURATION.init([0; 128]),
        &mut [],
        &mut [],
        CONTROL.init([0; 64]),
    );
    let class = CdcAcmClass::new(&mut builder, STATE.init(State::new()), PACKET as u16);
    let (sender, receiver) = class.split();
    let receiver = receiver.into_buffered(BUFFER.init([0; PACKET]));
    (builder.build(), Receiver(receiver), Sender(sender))
}

#[embassy_executor::task]
pub(super) async fn run(mut device: UsbDevice<'static, Bus>) -> ! {
    device.run().await
}

/// What the host sends. A read that is dropped has taken no bytes.
pub(super) struct Receiver(BufferedReceiver<'static, Bus>);

impl ErrorType for Receiver {
    type Error = ErrorKind;
}

impl Read for Receiver {
    async fn read(&mut self, into: &mut [u8]) -> Result<usize, ErrorKind> {
        self.0.wait_connection().await;
        self.0.read(into).await.map_err(|_| ErrorKind::NotConnected)
    }
}

/// What the host is sent.
pub(super) struct Sender(PacketSender<'static, Bus>);

impl ErrorType for Sender {
    type Error = ErrorKind;
}

impl Write for Sender {
    async fn write(&mut self, bytes: &[u8]) -> Result<usize, ErrorKind> {
        // One byte short of a full packet: a host goes on waiting after a full one.
        let len = bytes.len().min(PACKET - 1);
        match self.0.write_packet(&bytes[..len]).await {
            Ok(()) => Ok(len),
            Err(EndpointError::Disabled | EndpointError::BufferOverflow) => {
                Err(ErrorKind::NotConnected)
            }
        }
    }

    async fn flush(&mut self) -> Result<(), ErrorKind> {
        Ok(())
    }
}
