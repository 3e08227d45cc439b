import { describe, expect, it } from 'vitest';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { generateShot, randomOf } from './generated-shots.ts';

const shots = 2400;
const seed = 20260;
const quantities = ['cueSpeed', 'cueAcceleration', 'contactTime', 'tipOffset'] as const;

interface Tally {
  inside: number;
  judged: number;
}

/** A contact of which fewer than two frames were seen has no contact time, and nothing to judge. */
function judgeShots() {
  const random = randomOf(seed);
  const tallies = new Map<string, Tally>(quantities.map((quantity) => [quantity, { inside: 0, judged: 0 }]));
  let faults = 0;
  for (let i = 0; i < shots; i++) {
    const { shot, gear, truth } = generateShot(random, `S${i}`);
    const { derived, faults: found } = deriveShot(shot, gear);
    faults += found.length;
    for (const quantity of quantities) {
      const estimate = derived[quantity];
      const tally = tallies.get(quantity);
      if (estimate === null || tally === undefined) continue;
      tally.judged += 1;
      if (truth[quantity] >= estimate.lower && truth[quantity] <= estimate.upper) tally.inside += 1;
    }
  }
  return { tallies, faults };
}

describe('the truth behind generated shots', () => {
  const { tallies, faults } = judgeShots();

  it('is found without refusing a single shot', () => {
    expect(faults).toBe(0);
  });

  it.each(quantities)('lies inside the interval of %s in 93 to 97 of 100 shots', (quantity) => {
    const { inside, judged } = tallies.get(quantity) ?? { inside: 0, judged: 0 };
    const percent = (100 * inside) / judged;
    console.log(`${quantity}: ${percent.toFixed(1)} % of ${judged}`);
    expect(judged).toBeGreaterThanOrEqual(2000);
    expect(percent).toBeGreaterThanOrEqual(93);
    expect(percent).toBeLessThanOrEqual(97);
  });
});
