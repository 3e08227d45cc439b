/**
 * Seeded random numbers for the demo: the same numbers on every machine and Node version, because only 32-bit integer
 * arithmetic, + - * / and square roots enter, and the logarithm comes from plain JavaScript.
 */
import logarithm from '@stdlib/math-base-special-ln';

export interface Random {
  /** Uniform in [0, 1) with 32 bits. */
  uniform(): number;
  /** Uniform in [low, high). */
  between(low: number, high: number): number;
  /** Normal with the given mean and standard deviation. */
  normal(mean: number, standardDeviation: number): number;
  /** Whole number in [0, count). */
  index(count: number): number;
  /** True with the given probability. */
  chance(probability: number): boolean;
}

/** 32-bit hash of a text (FNV-1a), so that every stream is named by what it is for. */
function hashText(text: string): number {
  let hash = 0x811c9dc5;
  for (let index = 0; index < text.length; index += 1) {
    hash = Math.imul(hash ^ text.charCodeAt(index), 0x01000193);
  }
  return hash >>> 0;
}

/**
 * A stream of random numbers that belongs to a seed and a name; streams of different names do not depend on each
 * other, so adding a shot to one lab leaves the others as they were.
 */
export function randomStream(seed: number, name: string): Random {
  let state = hashText(`${seed}/${name}`);
  let spare: number | null = null;

  // A Weyl sequence through a 32-bit finaliser: a full period of 2^32 per stream, ample for some 10^5 draws.
  const uniform = (): number => {
    state = (state + 0x9e3779b9) >>> 0;
    let mixed = state;
    mixed = Math.imul(mixed ^ (mixed >>> 16), 0x21f0aaad);
    mixed = Math.imul(mixed ^ (mixed >>> 15), 0x735a2d97);
    return ((mixed ^ (mixed >>> 15)) >>> 0) / 4294967296;
  };

  // The polar method: exact normals from uniform points in the unit disc.
  const standardNormal = (): number => {
    if (spare !== null) {
      const kept = spare;
      spare = null;
      return kept;
    }
    for (;;) {
      const first = 2 * uniform() - 1;
      const second = 2 * uniform() - 1;
      const square = first * first + second * second;
      if (square > 0 && square < 1) {
        const factor = Math.sqrt((-2 * logarithm(square)) / square);
        spare = second * factor;
        return first * factor;
      }
    }
  };

  return {
    uniform,
    between: (low, high) => low + (high - low) * uniform(),
    normal: (mean, standardDeviation) => mean + standardDeviation * standardNormal(),
    index: (count) => Math.floor(count * uniform()),
    chance: (probability) => uniform() < probability,
  };
}
