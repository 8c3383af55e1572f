// SEV does nothing but log, so a task that wakes another one from thread mode leaves it asleep at the
// next WFE. Here it sets the event register (ARMv6-M, B1.5.18).

export function repair(mcu) {
  const { core, logger } = mcu;
  const log = logger.info.bind(logger);
  logger.info = (component, text) => {
    if (text === 'SEV') core.eventRegistered = true;
    else log(component, text);
  };
}
