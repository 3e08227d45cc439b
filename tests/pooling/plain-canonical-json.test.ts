/** The short way to canonical JSON gives what the library gives, or leaves the value to it. */
import canonicalize from 'canonicalize';
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { plainCanonicalJson } from '../../src/pooling/plain-canonical-json.ts';

it('gives the text of the library for generated values, or none', () => {
  let taken = 0;
  fc.assert(
    fc.property(fc.jsonValue({ maxDepth: 4 }), (value) => {
      const text = plainCanonicalJson(value);
      if (text === null) return;
      taken += 1;
      expect(text).toBe(canonicalize(value));
    }),
    { seed: 3, numRuns: 2000 },
  );
  expect(taken).toBeGreaterThan(1000);
});

it.each([
  [{ b: 1e21, a: -0, c: 5e-324, ä: 0.1, A: [1.5, null, true, ''] }],
  [{ text: 'line\nend "quoted" \u20ac \u0007 \ud83d\ude00', inner: { z: 1, y: undefined } }],
])('writes %j as the library does', (value) => {
  expect(plainCanonicalJson(value)).toBe(canonicalize(value));
});

it.each([
  [{ '10': 1, '9': 2 }],
  [{ value: Number.NaN }],
  [[Number.POSITIVE_INFINITY]],
  [{ text: '\ud800' }],
  [[undefined]],
  [undefined],
  [new Date(0)],
  [{ call: () => 1 }],
])('leaves what is unusual to the library', (value) => {
  expect(plainCanonicalJson(value)).toBeNull();
});
