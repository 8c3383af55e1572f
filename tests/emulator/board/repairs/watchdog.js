// The watchdog's alarm arms itself again at once when it goes off, and time stands still. Here it
// stops, and the board is told that the chip resets.

const WATCHDOG = 0x40058;

export function repair(mcu, onReset) {
  const watchdog = mcu.peripherals[WATCHDOG];
  watchdog.onWatchdogTrigger = () => {
    watchdog.timer.enable = false;
    onReset(watchdog.reason);
  };
  return watchdog;
}
