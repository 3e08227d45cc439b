import { beforeAll, expect, test } from 'vitest';
import { type PlanningInput, planningInputSchema } from '../../shared/planning.ts';
import { Refusal } from '../../shared/refusal.ts';
import { anonymous } from '../../src/access/principal.ts';
import { askComparison } from '../../src/comparison/ask-comparison.ts';
import { declareMargin } from '../../src/comparison/margins.ts';
import { planPairs } from '../../src/comparison/plan-pairs.ts';
import { pairsForDifference, pairsForEquivalence } from '../../src/statistics/equivalence-pairs.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { fillTwoLabs, type TwoLabs } from '../releases/two-labs.ts';
import { specify } from './made-shots.ts';

const plan = (more: object): PlanningInput => planningInputSchema.parse(more);
const outcome = { variable: 'outcomeDistance', size: 0.02858, pairSpread: 0.04 };

onEachDatabase((open) => {
  let labs: TwoLabs;
  const db = () => open().db;
  beforeAll(async () => {
    labs = await fillTwoLabs(db());
  });

  async function faultOf(more: object): Promise<string> {
    const error: unknown = await planPairs(db(), anonymous, plan(more)).catch((reason: unknown) => reason);
    if (!(error instanceof Refusal)) throw new Error('nothing was refused');
    return error.faults[0]?.pointer ?? error.code;
  }

  test('from a size and a spread: the least number of pairs whose power reaches what is asked for', async () => {
    const answer = await planPairs(db(), anonymous, plan(outcome));
    const exact = { pairSpread: 0.04, alpha: 0.05, power: 0.8, difference: 0 };
    expect(answer.pairs).toBe(pairsForEquivalence(exact, 0.02858));
    expect(answer.achievedPower).toBeGreaterThanOrEqual(0.8);
    expect(answer.furtherPairs).toBeNull();
    expect(answer.halfWidth).toBeLessThan(0.02858);
    expect(answer.sentence).toBe(
      `${answer.pairs} pairs in all would rule out differences of 2.9 cm (half a ball of 57.15 mm) or more with 80 % power at 95 % confidence, if there is truly no difference and pair differences go on varying by 4.0 cm (standard deviation).`,
    );
    const same = answer.alternatives.find(({ size, power }) => size === 0.02858 && power === 0.8);
    expect(same?.pairs).toBe(answer.pairs);
    const counts = answer.alternatives.filter(({ power }) => power === 0.9).map(({ pairs }) => pairs as number);
    expect(counts).toEqual([...counts].sort((a, b) => b - a));
  });

  test('to find a difference, or to allow for one', async () => {
    const found = await planPairs(
      db(),
      anonymous,
      plan({ goal: 'difference', variable: 'outcomeDistance', difference: 0.03, pairSpread: 0.04, power: 0.9 }),
    );
    expect(found.pairs).toBe(pairsForDifference({ pairSpread: 0.04, alpha: 0.05, power: 0.9, difference: 0.03 }));
    expect(found.size).toBeNull();
    const none = await planPairs(db(), anonymous, plan(outcome));
    const some = await planPairs(db(), anonymous, plan({ ...outcome, difference: 0.01 }));
    expect(some.pairs as number).toBeGreaterThan(none.pairs as number);
    const beyond = await planPairs(db(), anonymous, plan({ ...outcome, difference: 0.03 }));
    expect(beyond.pairs).toBeNull();
    expect(beyond.sentence).toMatch(/^No number of pairs up to a million would rule out/);
  });

  test('from the pairs at hand and a declared margin: how many more', async () => {
    const margin = await declareMargin(db(), labs.curator, {
      variable: 'outcomeDistance',
      value: 0.002,
      reason: 'invented: a tight margin for a test',
    });
    const asked = specify({
      contrast: { kind: 'sign', variable: 'cueAcceleration' },
      response: 'outcomeDistance',
      match: [{ variable: 'cueSpeed', caliper: 0.1 }],
    });
    const { id, result } = await askComparison(db(), anonymous, asked);
    const answer = await planPairs(db(), anonymous, plan({ analysis: id, margin: margin.id }));
    const { standardError } = result.adjusted ?? result.raw;
    expect(answer.pairSpread).toBe(standardError * Math.sqrt(result.pairs.length));
    expect(answer).toMatchObject({ variable: 'outcomeDistance', size: 0.002, pairsAtHand: result.pairs.length });
    expect(answer.furtherPairs).toBe(Math.max(0, (answer.pairs as number) - result.pairs.length));
    expect(answer.where).toBe('/v1/coverage?variable=cueAcceleration');
    const byMargin = await planPairs(db(), anonymous, plan({ margin: margin.id, pairSpread: 0.01 }));
    expect(byMargin.variable).toBe('outcomeDistance');
    expect(await faultOf({ analysis: id, size: 0.01, variable: 'contactTime' })).toBe('/variable');
  });

  test('what is missing or said twice is named', async () => {
    expect(await faultOf({ variable: 'outcomeDistance', size: 0.02 })).toBe('/pairSpread');
    expect(await faultOf({ ...outcome, analysis: 'a'.repeat(64) })).toBe('/pairSpread');
    expect(await faultOf({ pairSpread: 0.02, variable: 'outcomeDistance' })).toBe('/size');
    expect(await faultOf({ pairSpread: 0.02, size: 0.02 })).toBe('/variable');
    expect(await faultOf({ ...outcome, goal: 'difference', difference: 0.01 })).toBe('/size');
    expect(await faultOf({ variable: 'outcomeDistance', pairSpread: 0.02, goal: 'difference' })).toBe('/difference');
  });
});
