import { describe, expect, it } from 'vitest';
import { comparisonResultSchema } from '../../shared/comparison.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { ComparisonMargin } from '../../src/comparison/judge-difference.ts';
import { runComparison } from '../../src/comparison/run-comparison.ts';
import { canonicalJson } from '../../src/pooling/canonical.ts';
import { bareAnswer, base, deviates, type MadeShot, madeColumns, plannedRepeats, specify } from './made-shots.ts';

const bySign = { contrast: { kind: 'sign', variable: 'cueAcceleration' }, response: 'outcomeDistance' };
const halfBall = 0.028575;
const declaredBefore = '2026-02-01T00:00:00.000Z';
const declaredAfter = '2026-04-01T00:00:00.000Z';

function marginOf(value: number, declaredAt = declaredBefore): ComparisonMargin {
  return { id: 'half-ball', value, declaredAt, receivedAfter: { times: true } };
}
function refusal(run: () => unknown): Refusal {
  try {
    run();
  } catch (error) {
    if (error instanceof Refusal) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}
const codes = (result: { warnings: { code: string }[] }): string[] => result.warnings.map(({ code }) => code);

describe('runComparison', () => {
  it('recovers a true difference that leftover speed differences shift in the raw one', () => {
    // The first side is 0.024 m/s faster within pairs, worth -0.4 * 0.024 = -0.0096 m.
    const runs = 60;
    let raw = 0;
    let adjusted = 0;
    let covered = 0;
    for (let run = 0; run < runs; run++) {
      const { variant, estimates } = bareAnswer(plannedRepeats(60, 0.05, 7 + 7919 * run), specify(bySign), null);
      raw += estimates.raw.estimate / runs;
      adjusted += (estimates.adjusted?.estimate ?? Number.NaN) / runs;
      const { lower, upper } = variant.interval ?? { lower: Number.NaN, upper: Number.NaN };
      if (lower < 0.05 && upper > 0.05) covered += 1;
    }
    // Standard errors of the two means over the runs are about 0.0006.
    expect(Math.abs(raw - 0.0404)).toBeLessThan(0.0025);
    expect(Math.abs(adjusted - 0.05)).toBeLessThan(0.0025);
    expect(covered).toBeGreaterThanOrEqual(52);
  });

  it('gives an answer that its own schema accepts and canonical JSON can hold', () => {
    const result = runComparison(
      madeColumns(plannedRepeats(20, 0, 4)),
      specify({ ...bySign, margin: 'half-ball' }),
      base,
      marginOf(halfBall),
    );
    expect(comparisonResultSchema.parse(JSON.parse(canonicalJson(result)))).toEqual(result);
  });

  it('gives the same bits in whatever order the shots were put in', () => {
    const shots = plannedRepeats(20, 0.01, 5).map((shot, place) => ({
      ...shot,
      ordinal: place + 1,
      label: `repeat-${place}`,
    }));
    const once = runComparison(madeColumns(shots), specify(bySign), base, null);
    const again = runComparison(madeColumns([...shots].reverse()), specify(bySign), base, null);
    expect(canonicalJson(again)).toBe(canonicalJson(once));
  });

  it('leaves out and counts shots that lack a value, an exact grouping or a side', () => {
    const shots: MadeShot[] = [
      ...plannedRepeats(12, 0, 6),
      { variables: { outcomeDistance: null } },
      { table: null },
      { variables: { cueAcceleration: 0 } },
    ];
    const { provenance } = runComparison(madeColumns(shots), specify(bySign), base, null);
    expect(provenance.leftOut).toEqual([
      { reason: 'no outcomeDistance', shots: 1 },
      { reason: 'no set-up known: give the shot a table', shots: 1 },
      { reason: 'on neither side of the contrast', shots: 1 },
    ]);
    expect(provenance.shots).toBe(24);
    expect(provenance.labs).toEqual([{ lab: 'north', shots: 24 }]);
  });

  it('never pairs two labs or two set-ups unless exact groupings allow it', () => {
    const north = plannedRepeats(10, 0, 7).filter((_, place) => place % 2 === 0);
    const south = plannedRepeats(10, 0, 8)
      .filter((_, place) => place % 2 === 1)
      .map((shot, place) => ({ ...shot, lab: 'south', ordinal: place + 1 }));
    const columns = madeColumns([...north, ...south]);
    const refused = refusal(() => runComparison(columns, specify(bySign), base, null));
    expect(refused.code).toBe('not-estimable');
    expect(refused.message).toContain('0 pairs');
    expect(refused.message).toContain('20 shots: no shot of the other side with the same lab and set-up');
    const mixed = runComparison(columns, specify({ ...bySign, exact: [] }), base, null);
    expect(mixed.pairs.length).toBeGreaterThan(3);
    expect(codes(mixed)).toContain('CROSS_LAB_PAIRS');
  });

  it('refuses fewer than three pairs and says why shots stayed single', () => {
    const shots: MadeShot[] = [1, 2, 3, 4].flatMap((speed) => [
      { variables: { cueSpeed: speed, cueAcceleration: 5, outcomeDistance: speed } },
      { variables: { cueSpeed: speed + 0.5, cueAcceleration: -5, outcomeDistance: speed } },
    ]);
    const refused = refusal(() => runComparison(madeColumns(shots), specify(bySign), base, null));
    expect(refused.code).toBe('not-estimable');
    expect(refused.message).toContain('4 shots on the first side, 4 on the second');
    expect(refused.message).toContain(
      '8 shots: none of the other side with the same lab and set-up within the calipers',
    );
  });

  it('refuses differences that are all the same number, whose spread nobody can judge', () => {
    const shots: MadeShot[] = [1, 2, 3, 4].flatMap((speed) => [
      { variables: { cueSpeed: speed, cueAcceleration: 5, outcomeDistance: 0.1 * speed + 0.05 } },
      { variables: { cueSpeed: speed, cueAcceleration: -5, outcomeDistance: 0.1 * speed } },
    ]);
    const refused = refusal(() => runComparison(madeColumns(shots), specify(bySign), base, null));
    expect(refused.code).toBe('not-estimable');
    expect(refused.message).toContain('same number');
  });
});

describe('contrasts', () => {
  it('divides at a threshold, by two ranges and by two values of a grouping', () => {
    const shots = plannedRepeats(15, 0.1, 9).map((shot, place) => ({
      ...shot,
      grip: place % 2 === 0 ? 'firm' : 'loose',
    }));
    const columns = madeColumns(shots);
    const ask = (contrast: Record<string, unknown>) =>
      runComparison(columns, specify({ contrast, response: 'outcomeDistance' }), base, null);
    const threshold = ask({ kind: 'threshold', variable: 'cueAcceleration', at: 1 });
    const ranges = ask({ kind: 'ranges', variable: 'cueAcceleration', first: [0, 50], second: [-50, 0] });
    const grouping = ask({ kind: 'grouping', grouping: 'grip', first: 'north/firm', second: 'north/loose' });
    expect(ranges.raw).toEqual(threshold.raw);
    expect(grouping.raw).toEqual(threshold.raw);
    expect(threshold.contrastAchieved?.first).toBeGreaterThan(4);
    expect(threshold.contrastAchieved?.second).toBeLessThan(-4);
    expect(grouping.contrastAchieved).toBeNull();
    expect(grouping.pairs[0]?.first.contrast).toBe('north/firm');
  });

  it('refuses to hold equal what the sides differ in', () => {
    const columns = madeColumns(plannedRepeats(5, 0, 1));
    const faultsOf = (specification: Record<string, unknown>) => {
      const refused = refusal(() => runComparison(columns, specify(specification), base, null));
      expect(refused.code).toBe('request-invalid');
      return refused.faults.map(({ pointer }) => pointer);
    };
    const onSpeed = { kind: 'threshold', variable: 'cueSpeed', at: 2 };
    expect(faultsOf({ contrast: onSpeed, response: 'outcomeDistance' })).toEqual(['/match/1/variable']);
    expect(faultsOf({ ...bySign, response: 'tipOffset' })).toEqual(['/match/0/variable']);
    expect(faultsOf({ ...bySign, response: 'cueAcceleration' })).toEqual(['/response']);
    const byLab = { kind: 'grouping', grouping: 'lab', first: 'north', second: 'south' };
    expect(faultsOf({ contrast: byLab, response: 'outcomeDistance' })).toEqual(['/exact/0']);
    const overlapping = { kind: 'ranges', variable: 'cueAcceleration', first: [0, 5], second: [3, 8] };
    expect(faultsOf({ contrast: overlapping, response: 'outcomeDistance' })).toEqual(['/contrast']);
  });
});

describe('verdict', () => {
  const judged = (effect: number, margin: ComparisonMargin | null, seed = 11) =>
    runComparison(madeColumns(plannedRepeats(40, effect, seed)), specify(bySign), base, margin);

  it('is equivalent when the interval lies inside the margin and includes zero', () => {
    const { verdict, equivalence, sentence } = judged(0, marginOf(halfBall));
    expect(verdict).toBe('equivalent');
    expect(equivalence?.prior).toBe(true);
    expect(equivalence?.interval.upper).toBeLessThan(halfBall);
    expect(sentence).toMatch(
      /^40 pairs, same lab and set-up, cue speed at impact within 0\.10 m\/s, tip offset within 0\.03 R, object-ball distance within 0\.03 m; accelerating against slowing strokes: draw\/follow distance differs by -?\d\.\d+ ± \d\.\d+ cm \(95 % interval, adjusted for leftover differences\); equivalent: differences over 2\.9 cm \(half a ball of 57\.15 mm\) are ruled out\.$/,
    );
  });

  it('is a difference within the margin when the interval leaves out zero but not the margin', () => {
    const { verdict, sentence } = judged(0.05, marginOf(0.1));
    expect(verdict).toBe('differentWithinMargin');
    expect(sentence).toContain('different, but within the margin: differences over');
  });

  it('is a difference beyond the margin when the whole interval lies outside on one side', () => {
    expect(judged(0.2, marginOf(halfBall)).verdict).toBe('differentBeyondMargin');
    expect(judged(-0.2, marginOf(halfBall)).verdict).toBe('differentBeyondMargin');
  });

  it('is undecided when the interval crosses the margin, and says how many pairs would settle it', () => {
    const columns = madeColumns(plannedRepeats(8, 0, 12));
    const { verdict, equivalence, sentence } = runComparison(columns, specify(bySign), base, marginOf(0.01));
    expect(verdict).toBe('undecided');
    const needed = equivalence?.pairsNeeded as number;
    expect(needed).toBeGreaterThan(8);
    expect(equivalence?.furtherPairs).toMatchObject({ power: 0.8, ifNoDifference: needed - 8 });
    expect(sentence).toContain(`about ${needed - 8} more pairs would settle it if there is no difference`);
    expect(equivalence?.sentence).toContain(`about ${needed - 8} more pairs would establish equivalence at 80 % power`);
    expect(sentence).toContain('are ruled out, but not those down to the margin of 1.0 cm');
  });

  it('claims nothing about equality without a margin', () => {
    const { verdict, equivalence, sentence, warnings } = judged(0, null);
    expect(verdict).toBe('noMargin');
    expect(equivalence).toBeNull();
    expect(sentence).toContain('no margin was declared, so nothing is claimed');
    expect(sentence).not.toMatch(/no difference|ruled out/);
    expect(warnings.map(({ code }) => code)).toContain('NO_MARGIN');
  });

  it('is exploratory, with the share received after, unless every judged shot came after the margin', () => {
    const shots = plannedRepeats(40, 0, 11).map((shot, place) => ({
      ...shot,
      receivedAt: Date.parse(place < 60 ? declaredAfter : declaredBefore) + 1,
    }));
    const mixed = runComparison(madeColumns(shots), specify(bySign), base, marginOf(halfBall, declaredAfter));
    expect(mixed.equivalence?.prior).toBe(false);
    expect(mixed.equivalence?.shareReceivedAfter).toBe(0.75);
    expect(mixed.sentence).toContain('exploratory, as only 75 % of these shots were received after the margin');
    const late = judged(0, marginOf(halfBall, declaredAfter));
    expect(late.equivalence?.shareReceivedAfter).toBe(0);
    const recorded = judged(0, { ...marginOf(halfBall), declaredAt: null, receivedAfter: { recordedShare: 1 } });
    expect(recorded.equivalence?.prior).toBe(true);
    expect(recorded.equivalence?.margin.declaredAt).toBeNull();
  });

  it('errs in 5 % of experiments when the true difference lies on the margin', () => {
    const runs = 400;
    let claimed = 0;
    for (let run = 0; run < runs; run++) {
      const { verdict } = bareAnswer(
        plannedRepeats(14, halfBall, 1000 + 7919 * run),
        specify(bySign),
        halfBall,
      ).variant;
      if (verdict === 'equivalent' || verdict === 'differentWithinMargin') claimed += 1;
    }
    // Standard error of a share of 0.05 in 400 runs is 0.011.
    expect(Math.abs(claimed / runs - 0.05)).toBeLessThan(0.03);
  });
});

describe('warnings', () => {
  it('name shots that found no partner, tolerances on noise, few pairs and leftover imbalance', () => {
    const shots = [
      ...plannedRepeats(8, 0, 21),
      ...plannedRepeats(10, 0, 22)
        .map((shot) => ({ ...shot, table: 'other@1' }))
        .filter((_, place) => place % 2 === 0),
      ...plannedRepeats(10, 0, 22)
        .map((shot) => ({ ...shot, table: 'third@1' }))
        .filter((_, place) => place % 2 === 1),
    ];
    const noisy = shots.map((shot) => ({ ...shot, uncertainties: { cueSpeed: 0.08 } }));
    const calipers = [{ variable: 'cueSpeed', caliper: 0.1 }, { variable: 'tipOffset' }];
    const result = runComparison(madeColumns(noisy), specify({ ...bySign, match: calipers }), base, null);
    expect(codes(result)).toEqual(expect.arrayContaining(['FEW_PAIRS', 'UNMATCHED', 'CALIPER_NARROW']));
    expect(result.unmatched.first).toBe(10);
    expect(result.unmatched.second).toBe(10);
    expect(result.warnings.find(({ code }) => code === 'UNMATCHED')?.text).toContain('56 % of the smaller side');
  });

  it('count shots of unsettled acceleration and give the answer without them', () => {
    const shots = plannedRepeats(30, 0, 23).map((shot, place) => ({
      ...shot,
      variables: {
        ...shot.variables,
        cueAcceleration: (place % 2 === 0 ? 1 : -1) * (place < 20 ? 0.5 : 6),
      },
      uncertainties: { cueAcceleration: 0.5 },
    }));
    const result = runComparison(madeColumns(shots), specify(bySign), base, null);
    const text = result.warnings.find(({ code }) => code === 'ACCEL_UNRESOLVED')?.text;
    // Twenty shots one standard uncertainty from zero: 20 * 0.1587 expected on the wrong side.
    expect(text).toContain('20 of 60 shots (33 %');
    expect(text).toContain('about 3.2 are expected on the wrong side');
    expect(text).toMatch(/Without such shots: 20 pairs, difference -?\d/);
  });

  it('print the built-in bias of matching on speed what is divided by the acceleration of the same fit', () => {
    // True acceleration and its error are both normal with 1 m/s2: reliability one half. The error of speed is
    // 0.05 m/s, fully correlated, so the hidden difference is 2 * 0.798 * 0.05 * sqrt(0.5) = 0.0564 m/s.
    const deviate = deviates(77);
    const shots: MadeShot[] = Array.from({ length: 4000 }, () => {
      const speed = 3 + 0.3 * deviate();
      const error = deviate();
      return {
        variables: {
          cueSpeed: speed + 0.05 * error,
          cueAcceleration: deviate() + error,
          // Keeps the number of candidates down; the outcome does not depend on it.
          tipOffset: -0.3 + 0.2 * deviate(),
          outcomeDistance: -0.5 * speed + 0.005 * deviate(),
        },
        uncertainties: { cueSpeed: 0.05, cueAcceleration: 1 },
        covarianceSpeedAcceleration: 0.05,
      };
    });
    const result = runComparison(madeColumns(shots), specify(bySign), base, null);
    const text = result.warnings.find(({ code }) => code === 'ERR_CORR')?.text ?? '';
    const hidden = Number(/differs from the second's by about (-?[\d.]+) m\/s/.exec(text)?.[1]);
    const bias = Number(/worth about (-?[\d.]+) cm/.exec(text)?.[1]) / 100;
    expect(Math.abs(hidden + 0.0564)).toBeLessThan(0.003);
    expect(text).toContain('correlation 1');
    // Acceleration does nothing here: what is found is the bias alone.
    expect(Math.abs(bias - (result.adjusted?.estimate ?? Number.NaN))).toBeLessThan(0.004);
    expect(bias).toBeGreaterThan(0.02);
  });

  it('say from how many labs the pairs come, what each gives, and that they disagree', () => {
    const shots = [
      ...plannedRepeats(15, 0, 31),
      ...plannedRepeats(15, 0.2, 32).map((shot, place) => ({ ...shot, lab: 'south', ordinal: place + 1 })),
    ];
    const result = runComparison(madeColumns(shots), specify(bySign), base, null);
    expect(result.sentence).toMatch(/^30 pairs from 2 labs, /);
    const text = result.warnings.find(({ code }) => code === 'VERY_FEW')?.text;
    expect(text).toContain('Two labs');
    expect(text).toMatch(/north -?[\d.]+ cm \(15 pairs\) and south -?[\d.]+ cm \(15 pairs\)/);
    expect(result.warnings.find(({ code }) => code === 'LABS_DIFFER')?.text).toContain('beyond what chance explains');
    expect(codes(result)).not.toContain('CROSS_LAB_PAIRS');
  });

  it('count ties of shots at the very same values', () => {
    const shots: MadeShot[] = Array.from({ length: 12 }, (_, place) => ({
      variables: { cueAcceleration: place % 2 === 0 ? 5 : -5, outcomeDistance: 0.1 * ((place * 5) % 7) },
    }));
    const result = runComparison(madeColumns(shots), specify(bySign), base, null);
    expect(result.ties).toBe(6);
    expect(codes(result)).toContain('MATCHING_TIES');
    expect(result.balance.every(({ before }) => before === null)).toBe(true);
  });
});
