import { describe, expect, it } from 'vitest';
import type { ComparisonResult } from '../../shared/comparison.ts';
import { Refusal } from '../../shared/refusal.ts';
import { runComparison } from '../../src/comparison/run-comparison.ts';
import { canonicalJson } from '../../src/pooling/canonical.ts';
import { certificateFaults, textsOf } from './check-answer.ts';
import { base, deviates, type MadeShot, madeColumns, plannedRepeats, specify } from './made-shots.ts';

const bySign = { contrast: { kind: 'sign', variable: 'cueAcceleration' }, response: 'outcomeDistance' };
const margin = (value: number) => ({
  id: 'margin',
  value,
  declaredAt: '2026-02-01T00:00:00.000Z',
  receivedAfter: { times: true } as const,
});
const ask = (shots: readonly MadeShot[], more: Record<string, unknown> = {}, size: number | null = null) =>
  runComparison(
    madeColumns(shots),
    specify({ ...bySign, ...more, ...(size === null ? {} : { margin: 'margin' }) }),
    base,
    size === null ? null : margin(size),
  );
const inLab = (lab: string, shots: MadeShot[]): MadeShot[] =>
  shots.map((shot, place) => ({ ...shot, lab, ordinal: place + 1, label: `${lab}-${String(place).padStart(3, '0')}` }));

/** Shots scattered so that some find no partner and candidates compete. */
function crowd(count: number, seed: number): MadeShot[] {
  const deviate = deviates(seed);
  return Array.from({ length: count }, (_, place) => ({
    label: `shot-${String(place).padStart(4, '0')}`,
    ordinal: place + 1,
    table: place % 5 === 0 ? 'other@1' : 'club@1',
    variables: {
      cueSpeed: 2.5 + 0.25 * deviate(),
      tipOffset: -0.3 + 0.08 * deviate(),
      cueAcceleration: (place % 5 < 2 ? 1 : -1) * (5 + Math.abs(deviate())),
      outcomeDistance: -0.5 + 0.05 * deviate(),
    },
    uncertainties: { cueSpeed: 0.01 * (1 + (place % 3)), tipOffset: 0.004 * (1 + (place % 2)) },
  }));
}

describe('the certificate stored with an answer', () => {
  it('proves from the answer alone that no pairing has more pairs or less total distance', () => {
    const answer = ask(crowd(160, 3));
    expect(answer.unmatched.shots.length).toBe(answer.unmatched.first + answer.unmatched.second);
    expect(new Set(answer.unmatched.shots.map(({ reason }) => reason)).size).toBe(3);
    expect(certificateFaults(answer)).toEqual([]);
  });

  it('does so for calipers in combined standard uncertainties, which differ from pair to pair', () => {
    const calipers = [
      { variable: 'cueSpeed', caliper: { combinedUncertainties: 3 } },
      { variable: 'tipOffset', caliper: { combinedUncertainties: 4 } },
    ];
    const answer = ask(crowd(160, 4), { match: calipers, exact: ['lab'] });
    expect(answer.pairs.length).toBeGreaterThan(20);
    expect(certificateFaults(answer)).toEqual([]);
    expect(answer.sentence).toContain('cue speed at impact within 3 combined standard uncertainties');
  });

  it('falls when a pair is exchanged for another or a price is changed', () => {
    const answer = structuredClone(ask(crowd(160, 3))) as ComparisonResult;
    const [one, other] = answer.pairs;
    if (one === undefined || other === undefined) throw new Error('two pairs');
    [one.second, other.second] = [other.second, one.second];
    expect(certificateFaults(answer).length).toBeGreaterThan(0);
    const priced = structuredClone(ask(crowd(160, 3))) as ComparisonResult;
    (priced.pairs[0] as ComparisonResult['pairs'][number]).first.price += 1;
    expect(certificateFaults(priced).length).toBeGreaterThan(0);
  });
});

describe('arrival and names', () => {
  it('the order in which shots arrive changes not one character of the answer', () => {
    const shots = crowd(120, 9);
    const answer = canonicalJson(ask(shots, {}, 0.03));
    for (const turn of [37, 61]) {
      expect(canonicalJson(ask([...shots.slice(turn), ...shots.slice(0, turn)], {}, 0.03))).toBe(answer);
    }
  });

  it('other labels change neither the number of pairs nor the total distance, also with identical shots', () => {
    for (let seed = 1; seed <= 12; seed += 1) {
      const shots = crowd(60, seed);
      // Doubles of some shots: which of two is used may depend on their labels, nothing else.
      const doubled = [...shots, ...shots.slice(0, 15)].map((shot, place) => ({ ...shot, ordinal: place + 1 }));
      const named = (rename: (place: number) => string) =>
        doubled.map((shot, place) => ({ ...shot, label: rename(place) }));
      const plain = ask(named((place) => `shot-${String(place).padStart(4, '0')}`));
      const other = ask(named((place) => `shot-${String((place * 47) % 75).padStart(4, '0')}`));
      expect(other.pairs).toHaveLength(plain.pairs.length);
      expect(other.optimality.totalCost).toBe(plain.optimality.totalCost);
    }
  });
});

describe('calipers', () => {
  const applied = (shots: readonly MadeShot[], caliper: unknown, variable = 'tipOffset') =>
    ask(shots, {
      match: [{ variable: 'cueSpeed' }, { variable, ...(caliper === undefined ? {} : { caliper }) }],
    }).calipers.find((each) => each.variable === variable) as ComparisonResult['calipers'][number];
  const uncertain = (u: number, more: MadeShot = {}) =>
    plannedRepeats(12, 0, 5).map((shot) => ({ ...shot, ...more, uncertainties: { tipOffset: u } }));

  it('are proposed as the usual figure, and never below two standard uncertainties of a shot', () => {
    expect(applied(uncertain(0.005), undefined)).toMatchObject({ caliper: 0.03, standardUncertainty: 0.005 });
    const wide = applied(uncertain(0.023), undefined);
    expect(wide.caliper).toBe(0.046);
    expect(wide.sentence).toBe(
      'tip offset within 0.046 R: proposed, 2 standard uncertainties; the usual figure of 0.03 R would match on noise, as the standard uncertainty of one shot is 0.023 R, without what shots of an exact group share.',
    );
  });

  it('leave out of the uncertainty what all shots of an exact group share, such as an unknown tip radius', () => {
    const shared = { commonUncertainties: { tipOffsetCue: 0.02 } } as unknown as MadeShot;
    const own = applied(uncertain(Math.sqrt(0.02 * 0.02 + 0.005 * 0.005), shared), undefined);
    expect(own.standardUncertainty).toBeCloseTo(0.005, 12);
    expect(own.caliper).toBe(0.03);
    // Two cues in one exact group: the error no longer cancels.
    const two = uncertain(Math.sqrt(0.02 * 0.02 + 0.005 * 0.005), shared).map((shot, place) => ({
      ...shot,
      cue: place % 4 < 2 ? 'maple@1' : 'ash@1',
    }));
    expect(applied(two, undefined).standardUncertainty).toBeGreaterThan(0.02);
  });

  it('may be given in SI, in standard deviations, or in combined standard uncertainties of the two shots', () => {
    expect(applied(uncertain(0.005), 0.02).caliper).toBe(0.02);
    const byDeviation = applied(uncertain(0.005), { standardDeviations: 0.3 });
    expect(byDeviation.caliper).toBeCloseTo(0.3 * (byDeviation.standardDeviation as number), 12);
    const combined = applied(uncertain(0.005), { combinedUncertainties: 4 });
    expect(combined.caliper).toBeCloseTo(4 * 0.005 * Math.SQRT2, 12);
    expect(combined.combinedUncertainties).toBe(4);
  });

  it('are refused in combined uncertainties where the service keeps none, and shots without one are left out', () => {
    const match = [{ variable: 'objectBallDistance', caliper: { combinedUncertainties: 2 } }];
    expect(() => ask(uncertain(0.005), { match })).toThrow(Refusal);
    const shots = uncertain(0.005).map((shot, place) =>
      place < 3 ? { ...shot, uncertainties: { tipOffset: null } } : shot,
    );
    const answer = ask(shots, { match: [{ variable: 'tipOffset', caliper: { combinedUncertainties: 4 } }] });
    expect(answer.provenance.leftOut).toContainEqual({ reason: 'no uncertainty of tip offset stated', shots: 3 });
  });
});

describe('pairs that may err together', () => {
  const labs = (count: number, pairs: number, effects: (lab: number) => number): MadeShot[] =>
    Array.from({ length: count }, (_, lab) =>
      inLab(`lab-${lab}`, plannedRepeats(pairs, effects(lab), 50 + lab)),
    ).flat();

  it('are clustered by lab as soon as three labs give pairs, with the independent figure beside', () => {
    const answer = ask(
      labs(6, 8, (lab) => 0.03 * lab),
      {},
      0.1,
    );
    expect(answer.clustered).toMatchObject({ by: 'lab', clusters: 6 });
    expect(answer.quoted).toMatchObject({ of: 'adjusted', clusteredBy: 'lab' });
    expect(answer.quoted.estimate).toBe(answer.adjusted?.estimate);
    expect(answer.quoted.degreesOfFreedom).toBeLessThan(6);
    expect(answer.quoted.standardError).toBeGreaterThan(answer.adjusted?.standardError as number);
    expect(answer.equivalence?.interval.lower).not.toBe(answer.quoted.interval.lower);
    expect(answer.sentence).toContain('pairs clustered by lab');
  });

  it('are clustered by player where one lab has three players who repeat, and not where none repeats', () => {
    const shots = plannedRepeats(15, 0, 6).map((shot, place) => ({ ...shot, player: `P${Math.floor(place / 2) % 5}` }));
    expect(ask(shots).clustered).toMatchObject({ by: 'player', clusters: 5 });
    const alone = plannedRepeats(15, 0, 6).map((shot, place) => ({ ...shot, player: `P${Math.floor(place / 2)}` }));
    expect(ask(alone, { exact: ['lab', 'setUp', 'player'] }).clustered).toBeNull();
    expect(ask(shots, { clusterBy: 'none' }).quoted.clusteredBy).toBeNull();
  });

  it('join in one cluster where pairs go across players', () => {
    // Each pair has two players; a chain of them leaves a single cluster, and one cluster gives no spread.
    const shots = plannedRepeats(15, 0, 6).map((shot, place) => ({ ...shot, player: `P${Math.ceil(place / 2) % 15}` }));
    const answer = ask(shots, { clusterBy: 'player' });
    expect(answer.clustered).toMatchObject({ clusters: 1, raw: null, adjusted: null });
    expect(answer.quoted.clusteredBy).toBeNull();
  });

  it('are told lab by lab, with how far labs differ', () => {
    const { labs: each, heterogeneity } = ask(labs(4, 10, (lab) => (lab === 3 ? 0.2 : 0)));
    expect(each.map(({ lab, pairs }) => [lab, pairs])).toEqual([0, 1, 2, 3].map((lab) => [`lab-${lab}`, 10]));
    expect(each.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1, 12);
    expect(heterogeneity?.pValue).toBeLessThan(0.001);
    expect(heterogeneity?.tau).toBeGreaterThan(0.05);
    expect(heterogeneity?.sentence).toMatch(/^Between 4 labs the difference varies with a standard deviation of \d/);
    expect(ask(plannedRepeats(10, 0, 1)).heterogeneity).toBeNull();
  });
});

describe('measurement uncertainty of the difference', () => {
  const withParts = (parts: Record<string, number>, rigOf: (place: number) => string) =>
    plannedRepeats(20, 0, 8).map((shot, place) => ({
      ...shot,
      rig: rigOf(place),
      uncertainties: { outcomeDistance: 0.013, cueSpeed: 0.01, tipOffset: 0.005 },
      commonUncertainties: parts,
    })) as unknown as MadeShot[];
  const parts = { outcomeDistanceRig: 0.012 };

  it('lets errors of one rig cancel within its pairs, and keeps them between two rigs', () => {
    const { measurement: within, pairs } = ask(withParts(parts, () => 'main@1'));
    const row = within?.contributions.find(({ variable }) => variable === 'outcomeDistance');
    // Own part sqrt(0.013^2 - 0.012^2) = 0.005 of two shots a pair.
    expect(row?.independent).toBeCloseTo((0.005 * Math.SQRT2) / Math.sqrt(pairs.length), 12);
    expect(row?.common).toBe(0);
    expect(row?.uncancelled).toBeCloseTo(0.012 * Math.SQRT2, 12);
    expect(within?.sentence).toContain('cancel within pairs');

    // First shots from one rig, second ones from the other: nothing cancels.
    const across = ask(withParts(parts, (place) => (place % 2 === 0 ? 'main@1' : 'second@1')));
    const mixed = across.measurement?.contributions.find(({ variable }) => variable === 'outcomeDistance');
    expect(mixed?.common).toBeCloseTo(0.012 * Math.SQRT2, 12);
    expect(across.warnings.map(({ code }) => code)).toContain('COMMON_ERROR');
  });
});

describe('an answer without a margin', () => {
  it('never says that there is no difference, in any of its texts', () => {
    const several = [0, 1, 2].flatMap((lab) => inLab(`lab-${lab}`, plannedRepeats(8, 0, 70 + lab)));
    const answers = [
      ask(plannedRepeats(40, 0, 11)),
      ask(several),
      ask(crowd(90, 2), { exact: [] }),
      ask(plannedRepeats(5, 0, 3)),
      ask(plannedRepeats(40, 0.2, 11)),
    ];
    for (const answer of answers) {
      expect(answer.verdict).toBe('noMargin');
      expect(answer.sensitivity.calipers.every(({ verdict }) => verdict === 'noMargin' || verdict === null)).toBe(true);
      const texts = textsOf({ ...answer, specification: null });
      expect(texts.length).toBeGreaterThan(30);
      for (const [pointer, text] of texts) {
        const claim =
          /no (?:real |true |significant )?difference|ruled out|equivalent\b|the same effect|does not (?:matter|differ)|no effect/i;
        expect([pointer, text.match(claim)?.[0]]).toEqual([pointer, undefined]);
      }
    }
  });
});

describe('balance', () => {
  it('is told before and after by mean and spread, over the spread before matching', () => {
    const { balance, worstProduct } = ask(crowd(160, 5));
    const speed = balance.find(({ variable }) => variable === 'cueSpeed');
    expect(Math.abs(speed?.after as number)).toBeLessThan(Math.abs(speed?.before as number) + 0.2);
    expect(speed?.varianceRatioBefore).toBeGreaterThan(0);
    expect(speed?.varianceRatioAfter).toBeGreaterThan(0);
    expect(worstProduct?.term).toMatch(/^(cueSpeed|tipOffset)(\^2|\*tipOffset)$/);
  });
});

describe('sensitivity', () => {
  it('gives the answer at other caliper widths and without the pairs that cost most', () => {
    const { sensitivity, pairs, quoted, optimality } = ask(crowd(200, 6), {}, 0.05);
    expect(sensitivity.calipers.map(({ factor }) => factor)).toEqual([0.5, 0.75, 1, 1.5, 2]);
    const counts = sensitivity.calipers.map((row) => row.pairs);
    expect([...counts].sort((a, b) => a - b)).toEqual(counts);
    expect(sensitivity.calipers[2]).toMatchObject({ pairs: pairs.length, estimate: quoted.estimate });
    for (const row of sensitivity.lastPairs) {
      expect(row.pairs).toBeLessThanOrEqual(pairs.length);
      expect(row.totalDistance).toBeLessThanOrEqual(optimality.totalDistance);
      // What is given up cost more than it was worth.
      if (row.distancePerPair !== null) expect(row.distancePerPair).toBeGreaterThanOrEqual(row.worth - 1e-6);
    }
    expect(sensitivity.lastPairs.some(({ distancePerPair }) => distancePerPair !== null)).toBe(true);
  });

  it('bounds a hidden bias for the difference and for the finding that it lies inside the margin', () => {
    const large = ask(plannedRepeats(30, 0.1, 7), {}, 0.3);
    expect(large.verdict).toBe('differentWithinMargin');
    const { difference, equivalence, rows, sentence } = large.sensitivity.hiddenBias;
    expect(difference).toBeGreaterThan(3);
    expect(equivalence).toBeGreaterThan(3);
    expect(rows.map(({ gamma }) => gamma)).toEqual([1, 1.25, 1.5, 2, 3]);
    expect(rows[0]?.estimates.lower).toBe(rows[0]?.estimates.upper);
    expect(sentence).toContain('stands up to a hidden bias of odds');
    const none = ask(plannedRepeats(30, 0, 7));
    expect(none.sensitivity.hiddenBias).toMatchObject({ difference: null, equivalence: null });
  });
});
