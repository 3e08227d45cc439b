/** Simulated experiments of accelerating and slowing strokes, each answered by a matched comparison. */

import { hodgesLehmann } from '../../src/statistics/hodges-lehmann.ts';
import { studentInterval } from '../../src/statistics/paired-difference.ts';
import { bareAnswer, type MadeShot, specify } from '../comparison/made-shots.ts';
import { type Random, randomOf } from './generated-shots.ts';

export interface VerdictCell {
  readonly labs: number;
  /** Shots of each lab; half of them accelerate. */
  readonly shotsPerLab: number;
  /** Standard deviation of the true effect between labs, m. */
  readonly between: number;
  /** Mean true effect, m. */
  readonly effect: number;
  readonly margin: number;
}

export interface VerdictRates {
  readonly experiments: number;
  readonly meanPairs: number;
  /** Share that claims the difference lies inside the margin. */
  readonly within: number;
  /** Share that claims a difference larger than the margin. */
  readonly beyond: number;
  /** Share of 95 % intervals that hold the mean true effect. */
  readonly quoted: number;
  readonly independent: number;
  readonly raw: number;
  readonly hodgesLehmann: number;
}

/** Speeds and tip offsets are scattered over the pairs' targets; the outcome depends on both, with 2 cm of noise. */
function shotsOf(random: Random, { labs, shotsPerLab, between, effect }: VerdictCell): MadeShot[] {
  return Array.from({ length: labs }, (_, lab) => {
    const own = effect + random.normal(between);
    const level = random.normal(0.1);
    return Array.from({ length: shotsPerLab }, (_shot, place): MadeShot => {
      const accelerates = place % 2 === 0;
      const target = Math.floor(place / 2);
      const cueSpeed = 2 + 0.12 * (target % 8) + random.normal(0.02);
      const tipOffset = -0.4 + 0.05 * (target % 5) + random.normal(0.007);
      const outcomeDistance =
        level - 0.4 * (cueSpeed - 2.5) + 3 * tipOffset + (accelerates ? own : 0) + random.normal(0.02);
      return {
        lab: `lab-${String(lab).padStart(2, '0')}`,
        ordinal: place + 1,
        label: `shot-${String(place).padStart(3, '0')}`,
        variables: { cueSpeed, tipOffset, outcomeDistance, cueAcceleration: (accelerates ? 1 : -1) * 8 },
      };
    });
  }).flat();
}

const question = specify({
  contrast: { kind: 'sign', variable: 'cueAcceleration' },
  response: 'outcomeDistance',
  match: [
    { variable: 'cueSpeed', caliper: 0.1 },
    { variable: 'tipOffset', caliper: 0.03 },
  ],
});

/** Rates over so many seeded experiments. */
export function verdictRates(cell: VerdictCell, experiments: number, seed: number): VerdictRates {
  const random = randomOf(seed);
  const counts = { within: 0, beyond: 0, quoted: 0, independent: 0, raw: 0, hodgesLehmann: 0 };
  let pairs = 0;
  const holds = ({ lower, upper }: { lower: number; upper: number }): number =>
    Number(lower <= cell.effect && upper >= cell.effect);
  for (let run = 0; run < experiments; run += 1) {
    const { variant, estimates } = bareAnswer(shotsOf(random, cell), question, cell.margin);
    pairs += variant.pairs;
    if (variant.verdict === 'equivalent' || variant.verdict === 'differentWithinMargin') counts.within += 1;
    if (variant.verdict === 'differentBeyondMargin') counts.beyond += 1;
    if (variant.interval !== null) counts.quoted += holds(variant.interval);
    counts.independent += holds(studentInterval(estimates.adjusted ?? estimates.raw, 0.95));
    counts.raw += holds(studentInterval(estimates.raw, 0.95));
    counts.hodgesLehmann += holds(hodgesLehmann(estimates.rankable, 0.95).interval);
  }
  const share = (count: number): number => count / experiments;
  return {
    experiments,
    meanPairs: pairs / experiments,
    within: share(counts.within),
    beyond: share(counts.beyond),
    quoted: share(counts.quoted),
    independent: share(counts.independent),
    raw: share(counts.raw),
    hodgesLehmann: share(counts.hodgesLehmann),
  };
}

/** Design of the table: margin 3 cm; true effects of none, half the margin and the margin. */
export const verdictCells: readonly VerdictCell[] = [
  { labs: 1, shotsPerLab: 20, between: 0 },
  { labs: 1, shotsPerLab: 60, between: 0 },
  { labs: 2, shotsPerLab: 24, between: 0 },
  { labs: 4, shotsPerLab: 24, between: 0 },
  { labs: 8, shotsPerLab: 24, between: 0 },
  { labs: 4, shotsPerLab: 24, between: 0.02 },
  { labs: 8, shotsPerLab: 24, between: 0.02 },
].flatMap((design) => [0, 0.015, 0.03].map((effect) => ({ ...design, effect, margin: 0.03 })));
