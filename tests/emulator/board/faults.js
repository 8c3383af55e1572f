// What ends a run.

/** The image did something that a chip would not forgive, or the emulator cannot do. */
export class Fault extends Error {}

/** The power went in the middle of a flash operation, as planned. */
export class PowerCut extends Error {}
