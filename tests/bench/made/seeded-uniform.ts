/**
 * Numbers in [0, 1) that are the same on every machine: a 32-bit counter whose bits are mixed as in the finaliser of
 * MurmurHash3 (A. Appleby, public domain).
 */
export function seededUniform(seed: number): () => number {
  let counter = Math.imul(seed + 1, 0x9e3779b1);
  return () => {
    counter = (counter + 0x6d2b79f5) | 0;
    let mixed = counter ^ (counter >>> 16);
    mixed = Math.imul(mixed, 0x85ebca6b);
    mixed ^= mixed >>> 13;
    mixed = Math.imul(mixed, 0xc2b2ae35);
    mixed ^= mixed >>> 16;
    return (mixed >>> 0) / 4_294_967_296;
  };
}
