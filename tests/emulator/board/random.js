// Numbers that look random and are the same in every run.

/** A stream of numbers 0 ≤ x < 1 (xorshift with 13, 17, 5: Marsaglia, J. Stat. Softw. 8, 2003). */
export function random(seed) {
  let state = seed >>> 0 || 1;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) / 2 ** 32;
  };
}
