import { describe, expect, it } from 'vitest';
import { comparisonSpecificationSchema } from '../../shared/comparison.ts';
import { regressionSpecificationSchema } from '../../shared/regression.ts';
import { analysisId, canonicalJson, sha256Hex, specificationDigest } from '../../src/pooling/canonical.ts';
import { canonicalComparison, canonicalRegression, termName } from '../../src/pooling/canonical-specification.ts';

const regression = (specification: unknown) => regressionSpecificationSchema.parse(specification);
const one = (variable: string, power = 1) => ({ variable, power });

describe('one question', () => {
  it('has one digest, whichever way terms, factors, filters and defaults are written', () => {
    const plain = regression({
      response: 'contactTime',
      terms: [[one('cueSpeed')], [one('cueSpeed', 2)], [one('cueSpeed'), one('tipOffset')]],
      filter: {
        ranges: [
          { variable: 'cueSpeed', min: 1, max: 5 },
          { variable: 'tipOffset', max: 0 },
        ],
        groups: [{ grouping: 'lab', values: ['a', 'b'] }],
        includeFlags: ['miscue', 'push'],
      },
    });
    const otherwise = regression({
      confidence: 0.95,
      standardErrors: 'clusterRobust',
      labs: 'fixed',
      scope: 'shared',
      source: 'live',
      terms: [
        [{ variable: 'tipOffset' }, { variable: 'cueSpeed' }],
        [one('cueSpeed'), one('cueSpeed')],
        [{ variable: 'cueSpeed' }],
        [{ variable: 'cueSpeed' }],
      ],
      response: 'contactTime',
      filter: {
        includeFlags: ['push', 'miscue', 'push'],
        groups: [
          { values: ['b', 'a', 'b'], grouping: 'lab' },
          { values: ['a', 'b'], grouping: 'lab' },
        ],
        ranges: [
          { variable: 'tipOffset', max: 0 },
          { variable: 'cueSpeed', min: 1, max: 9 },
          { variable: 'cueSpeed', max: 5 },
        ],
      },
    });
    expect(specificationDigest(otherwise)).toBe(specificationDigest(plain));
    expect(canonicalRegression(canonicalRegression(otherwise))).toEqual(canonicalRegression(plain));
    expect(canonicalRegression(otherwise).terms.map(termName)).toEqual([
      'cueSpeed',
      'cueSpeed^2',
      'cueSpeed*tipOffset',
    ]);
  });

  it('has one digest, whatever is said of choices that do not bear on the answer', () => {
    const digest = (more: object) =>
      specificationDigest(
        regression({ response: 'contactTime', terms: [[one('cueSpeed')], [one('tipOffset')]], ...more }),
      );
    for (const labs of ['randomIntercept', 'sessionsInLabs', 'synthesis']) {
      expect(digest({ labs, standardErrors: 'clusterRobust', clusterBy: 'rig' })).toBe(digest({ labs }));
    }
    expect(digest({ standardErrors: 'classical', clusterBy: 'player' })).toBe(digest({ standardErrors: 'classical' }));
    expect(digest({ curve: { variable: 'cueSpeed' } })).toBe(digest({}));
    const held = [
      { variable: 'tipOffset', value: 0.4 },
      { variable: 'cueSpeed', value: 2 },
      { variable: 'tipOffset', value: 0.1 },
    ];
    expect(digest({ curve: { variable: 'cueSpeed', at: held } })).toBe(
      digest({ curve: { variable: 'cueSpeed', at: [{ variable: 'tipOffset', value: 0.1 }] } }),
    );
  });

  it('has another digest when anything that matters differs', () => {
    const base = { response: 'contactTime', terms: [[one('cueSpeed')]] };
    const variants = [
      base,
      { ...base, labs: 'ignored' },
      { ...base, labs: 'ignored', intercept: false },
      { ...base, labs: 'randomIntercept' },
      { ...base, labs: 'sessionsInLabs' },
      { ...base, labs: 'synthesis' },
      { ...base, clusterBy: 'rig' },
      { ...base, clusterBy: 'player' },
      { ...base, measurementError: 'corrected' },
      { ...base, curve: { variable: 'cueSpeed', points: 10 } },
      { ...base, standardErrors: 'classical' },
      { ...base, confidence: 0.9 },
      { ...base, source: { release: 'all@1' } },
      { ...base, scope: 'lab:a' },
      { ...base, filter: { includeReported: true } },
      { ...base, filter: { ranges: [{ variable: 'cueSpeed', min: 1 }] } },
      { ...base, filter: { ranges: [{ variable: 'cueSpeed', max: 1 }] } },
      { ...base, terms: [[one('cueSpeed', 2)]] },
      { ...base, response: 'tipOffset' },
    ];
    const digests = variants.map((variant) => specificationDigest(regression(variant)));
    expect(new Set(digests).size).toBe(variants.length);
  });

  it('of a comparison does not depend on the order of calipers and exact groupings', () => {
    const base = { contrast: { kind: 'sign', variable: 'cueAcceleration' }, response: 'outcomeDistance' };
    const match = [
      { variable: 'tipOffset', caliper: 0.03 },
      { variable: 'cueSpeed', caliper: 0.1 },
      { variable: 'objectBallDistance', caliper: 0.03 },
    ];
    const digest = (more: object) => specificationDigest(comparisonSpecificationSchema.parse({ ...base, ...more }));
    expect(digest({ match: [...match].reverse(), exact: ['setUp', 'lab'] })).toBe(
      digest({ match, exact: ['lab', 'setUp'] }),
    );
    expect(digest({ exact: ['lab'] })).not.toBe(digest({}));
  });

  it('asked of a release is always asked of what is shared', () => {
    const base = { response: 'contactTime', terms: [[one('cueSpeed')]], source: { release: 'all@1' } };
    expect(specificationDigest(regression({ ...base, scope: 'lab:a' }))).toBe(specificationDigest(regression(base)));
  });

  it('with a power above 5 after merging factors is refused', () => {
    const asked = regression({ response: 'contactTime', terms: [[one('cueSpeed', 3), one('cueSpeed', 3)]] });
    expect(() => canonicalRegression(asked)).toThrow(/cueSpeed to the power 6/);
  });
});

describe('digests', () => {
  it('are SHA-256 of UTF-8 text (FIPS 180-4 example "abc") and of RFC 8785 JSON', () => {
    expect(sha256Hex('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
    expect(sha256Hex(new TextEncoder().encode('abc'))).toBe(sha256Hex('abc'));
    // Number forms and member order of RFC 8785 section 3.2.2 and 3.2.3.
    expect(canonicalJson({ b: JSON.parse('333333333.33333329'), a: [1e30, 4.5, 2e-3, 1e-27, -0] })).toBe(
      '{"a":[1e+30,4.5,0.002,1e-27,0],"b":333333333.3333333}',
    );
    expect(() => canonicalJson({ a: Number.NaN })).toThrow();
  });

  it('of an analysis depend on question, scope and data', () => {
    const base = { specificationDigest: 'a', scope: 'shared', dataVersion: 'b' };
    const ids = [
      base,
      { ...base, scope: 'lab:a' },
      { ...base, dataVersion: 'c' },
      { ...base, specificationDigest: 'd' },
    ];
    expect(new Set(ids.map(analysisId)).size).toBe(4);
  });

  it('holds the object-ball distance equal when the same set-up is asked for', () => {
    const comparison = (more: object) =>
      canonicalComparison(
        comparisonSpecificationSchema.parse({
          contrast: { kind: 'sign', variable: 'cueAcceleration' },
          response: 'outcomeDistance',
          match: [{ variable: 'cueSpeed', caliper: 0.1 }],
          ...more,
        }),
      ).match.map(({ variable }) => variable);
    expect(comparison({})).toEqual(['cueSpeed', 'objectBallDistance']);
    expect(comparison({ exact: ['lab'] })).toEqual(['cueSpeed']);
    expect(comparison({ contrast: { kind: 'threshold', variable: 'objectBallDistance', at: 1 } })).toEqual([
      'cueSpeed',
    ]);
  });

  it('does not let a response explain itself', () => {
    expect(() => canonicalRegression(regression({ response: 'tipOffset', terms: [[one('tipOffset')]] }))).toThrow(
      /cannot explain itself/,
    );
  });
});
