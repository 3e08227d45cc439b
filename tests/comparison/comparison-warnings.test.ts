/** Every warning of a matched comparison: the data that call it, and what it says. */
import { describe, expect, it } from 'vitest';
import type { ComparisonResult } from '../../shared/comparison.ts';
import { runComparison } from '../../src/comparison/run-comparison.ts';
import { base, type MadeShot, madeColumns, plannedRepeats, specify } from './made-shots.ts';

const bySign = { contrast: { kind: 'sign', variable: 'cueAcceleration' }, response: 'outcomeDistance' };
const received = Date.UTC(2026, 2, 1);

function ask(shots: readonly MadeShot[], more: Record<string, unknown> = {}, size: number | null = null) {
  const margin = { id: 'margin', declaredAt: '2026-02-01T00:00:00.000Z', receivedAfter: { times: true } as const };
  return runComparison(
    madeColumns(shots),
    specify({ ...bySign, ...more, ...(size === null ? {} : { margin: 'margin' }) }),
    base,
    size === null ? null : { ...margin, value: size },
  );
}
const textOf = ({ warnings }: ComparisonResult, code: string): string =>
  warnings.find((warning) => warning.code === code)?.text ?? `no ${code}`;
const inLabs = (labs: Readonly<Record<string, MadeShot[]>>): MadeShot[] =>
  Object.entries(labs).flatMap(([lab, shots]) => shots.map((shot, place) => ({ ...shot, lab, ordinal: place + 1 })));
const noisy = (shots: MadeShot[], times: number): MadeShot[] =>
  shots.map((shot, place) => ({
    ...shot,
    variables: {
      ...shot.variables,
      outcomeDistance: (shot.variables?.outcomeDistance as number) + times * 0.02 * (((place * 7) % 11) - 5),
    },
  }));
const quiet = plannedRepeats(40, 0.02, 3).map((shot) => ({ ...shot, variables: { ...shot.variables } }));
const narrow = [
  { variable: 'cueSpeed', caliper: 0.07 },
  { variable: 'tipOffset', caliper: 0.02 },
];

const cases: Readonly<Record<string, { answer: () => ComparisonResult; says: RegExp }>> = {
  NO_MARGIN: {
    answer: () => ask(quiet),
    says: /no claim that the two sides are equal can be made\. A difference that is not significant is not evidence of equality/,
  },
  MARGIN_LATE: {
    answer: () => ask(plannedRepeats(40, 0, 3, { receivedAt: Date.UTC(2026, 0, 1) }), {}, 0.05),
    says: /only 0 % of the judged shots \(fewer than all\) came after it\. The verdict is exploratory/,
  },
  FEW_PAIRS: { answer: () => ask(plannedRepeats(6, 0, 3)), says: /Only 6 pairs \(fewer than 10\)/ },
  UNMATCHED: {
    answer: () => ask(plannedRepeats(40, 0, 3), { match: [{ variable: 'cueSpeed', caliper: 0.015 }] }),
    says: /of the smaller side \(\d+ of 40 shots; more than 20 %\) found no partner: the comparison is about the matched shots only\. Single shots of both sides: /,
  },
  IMBALANCE: {
    answer: () =>
      ask(
        quiet.map((shot, place) => ({
          ...shot,
          variables: {
            ...shot.variables,
            cueSpeed: (shot.variables?.cueSpeed as number) + (place % 2 === 0 ? 0.15 : 0),
          },
        })),
        { match: [{ variable: 'cueSpeed', caliper: 0.3 }, { variable: 'tipOffset' }] },
      ),
    says: /beyond a standardised mean difference of 0\.1 or in spread: cue speed at impact \(standardised mean difference 0\.\d+, beyond 0\.25\)\. Narrow the calipers/,
  },
  CALIPER_WIDE: {
    answer: () => ask(quiet, {}, 0.03),
    says: /^A pair may differ by 0\.10 m\/s in cue speed at impact, worth about \d[\d.]* cm in the response\. That is wide: more than 0\.2 standard deviations/,
  },
  CALIPER_NARROW: {
    answer: () => ask(quiet, { match: [{ variable: 'cueSpeed', caliper: 0.015 }] }),
    says: /is below 2 standard uncertainties of a shot \(0\.010 m\/s each\): part of the matching is on noise/,
  },
  COLLINEAR: {
    answer: () =>
      ask(
        quiet.map((shot) => ({
          ...shot,
          variables: { ...shot.variables, elevation: 0.1 * (shot.variables?.cueSpeed as number) },
        })),
        { match: [{ variable: 'cueSpeed' }, { variable: 'elevation', caliper: 1 }] },
      ),
    says: /Leftover differences in cue elevation .* could not be adjusted for them separately/,
  },
  TIES: {
    answer: () =>
      ask(
        quiet.map((shot, place) => ({
          ...shot,
          variables: { ...shot.variables, outcomeDistance: 0.05 * (place % 3) },
        })),
      ),
    says: /^Of the 40 pair differences \d+ (?:is|are) zero and \d+ share their size with another: for the signed-rank test zeros are dropped/,
  },
  MATCHING_TIES: {
    answer: () => ask([...quiet, ...quiet].map((shot, place) => ({ ...shot, ordinal: place + 1 }))),
    says: /of \d+ pairs could have taken another shot at the same total distance/,
  },
  MISSING: {
    answer: () =>
      ask([
        ...quiet,
        ...plannedRepeats(4, 0, 9).map((shot) => ({
          ...shot,
          variables: { ...shot.variables, outcomeDistance: null },
        })),
      ]),
    says: /^8 of 88 shots \(more than 5 %\) lack a value and were left out: 8 without outcome distance in north\.$/,
  },
  REPORTED_INCLUDED: {
    answer: () =>
      ask(
        quiet.map((shot, place) => ({ ...shot, fromTrack: place > 3 })),
        { filter: { includeReported: true } },
      ),
    says: /^4 of 80 shots are as reported by their lab/,
  },
  CROSS_LAB_PAIRS: {
    answer: () => {
      const half = (side: number): MadeShot[] => plannedRepeats(20, 0, 3).filter((_, place) => place % 2 === side);
      return ask(inLabs({ north: half(0), south: half(1) }), { exact: [] });
    },
    says: /^100 % of the pairs mix two labs/,
  },
  VERY_FEW: {
    answer: () => ask(inLabs({ north: plannedRepeats(10, 0, 1), south: plannedRepeats(10, 0, 2) })),
    says: /^Two labs \(fewer than 3\): see both .* The interval counts pairs as independent/,
  },
  FEW_LABS: {
    answer: () =>
      ask(inLabs({ a: plannedRepeats(10, 0, 1), b: plannedRepeats(10, 0, 2), c: plannedRepeats(10, 0, 4) })),
    says: /^Only 3 labs \(fewer than 5\)\..* t with [\d.]+ degrees of freedom\. The interval allows for pairs of one lab erring together \(3 clusters\)/,
  },
  LOW_DF: {
    answer: () =>
      ask(inLabs({ a: plannedRepeats(10, 0, 1), b: plannedRepeats(10, 0, 2), c: plannedRepeats(10, 0, 4) })),
    says: /^Effective degrees of freedom [\d.]+ \(below 4\): the p-value is unreliable; do not quote p below 0\.01/,
  },
  DOMINANT_LAB: {
    answer: () => ask(inLabs({ north: plannedRepeats(30, 0, 1), south: plannedRepeats(10, 0, 2) })),
    says: /^Lab north supplies 75 % of the pairs \(more than 50 %\)\.$/,
  },
  LAB_DROPPED: {
    answer: () =>
      ask(
        inLabs({
          north: plannedRepeats(20, 0, 1),
          south: plannedRepeats(5, 0, 2).filter((_, place) => place % 2 === 0),
        }),
      ),
    says: /^south has shots on a side of the contrast but no pair: the answer says nothing about it\.$/,
  },
  LABS_DIFFER: {
    answer: () => ask(inLabs({ north: plannedRepeats(15, 0, 1), south: plannedRepeats(15, 0.2, 2) })),
    says: /^The difference varies between labs beyond what chance explains: standard deviation \d+ cm \(above 0;.*Q test p = \S+ \(below 0\.1\)/,
  },
  TAU_BOUNDARY: {
    answer: () => ask(inLabs({ north: plannedRepeats(15, 0, 1), south: plannedRepeats(15, 0, 1) })),
    says: /estimated as 0 with 2 labs \(fewer than 10\): that is absence of evidence/,
  },
  HETEROSC: {
    answer: () => ask(inLabs({ north: plannedRepeats(20, 0, 1), south: noisy(plannedRepeats(20, 0, 2), 4) })),
    says: /^Labs differ in noise: pair differences of south have [\d.]+ times the variance of those of north \(more than 4 times\)/,
  },
  ACCEL_UNRESOLVED: {
    answer: () => ask(quiet.map((shot) => ({ ...shot, uncertainties: { cueAcceleration: 3.5 } }))),
    says: /^More than 10 % of the shots: .*are expected on the wrong side, which shrinks the difference\. Without such shots/,
  },
  CONTRAST_UNRESOLVED: {
    answer: () =>
      ask(quiet, {
        contrast: { kind: 'threshold', variable: 'cueSpeed', at: 2.6 },
        match: [{ variable: 'tipOffset', caliper: 0.1 }],
        exact: ['lab'],
        filter: { ranges: [{ variable: 'cueSpeed', min: 2.5, max: 2.7 }] },
      }),
    says: /^More than 10 % of the shots: .*boundary in cue speed at impact/,
  },
  ERR_CORR: {
    answer: () => ask(quiet.map((shot) => ({ ...shot, covarianceSpeedAcceleration: 0.0045 }))),
    says: /err together \(correlation 0\.9\)\. .* No correction is applied\.$/,
  },
  COMMON_ERROR: {
    answer: () =>
      ask(
        quiet.map((shot, place) => ({
          ...shot,
          rig: place % 2 === 0 ? 'main@1' : 'second@1',
          uncertainties: { outcomeDistance: 0.02 },
          commonUncertainties: { outcomeDistanceRig: 0.019 },
        })) as unknown as MadeShot[],
      ),
    says: /do not cancel within these pairs: 2\.7 cm, more than half the standard error .* The interval does not contain them/,
  },
  QUANTISED: {
    answer: () =>
      ask(
        quiet.map((shot, place) => ({
          ...shot,
          variables: { ...shot.variables, contactTime: 0.001 + 0.00025 * ((place * 3) % 5) },
        })),
        { response: 'contactTime' },
      ),
    says: /^contact time has 5 distinct values \(steps of 0\.25 ms\) among 80 shots \(fewer than 10, .*treat it as ordinal/,
  },
  FRAGILE: {
    answer: () => ask(plannedRepeats(40, 0.007, 3)),
    says: /^A hidden bias of odds 1\.14 \(below 1\.25\) would remove the finding of a difference\.$/,
  },
  VERDICT_SENSITIVE: {
    answer: () => {
      const match = [
        { variable: 'cueSpeed', caliper: 0.05 },
        { variable: 'tipOffset', caliper: 0.015 },
      ];
      return ask(plannedRepeats(30, 0, 2), { match }, 0.02);
    },
    says: /^The verdict is another in 2 of 7 variants with other calipers or without the pairs that cost most\. .*it depends on the caliper/,
  },
};

describe('warnings of a matched comparison', () => {
  for (const [code, { answer, says }] of Object.entries(cases)) {
    it(`${code} is raised, with its threshold and figures`, () => {
      expect(textOf(answer(), code)).toMatch(says);
    });
  }

  it('are few where the data give no cause: narrow calipers, a prior margin, one lab, many pairs', () => {
    const answer = ask(plannedRepeats(60, 0, 3, { receivedAt: received }), { match: narrow }, 0.05);
    expect(answer.verdict).toBe('equivalent');
    const expected = ['CALIPER_WIDE'];
    expect(answer.warnings.map(({ code }) => code).filter((code) => !expected.includes(code))).toEqual([]);
  });
});
