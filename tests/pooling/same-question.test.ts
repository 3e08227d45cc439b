/** The same question has one digest whichever way it is written, for random questions and random ways of writing them. */
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { flagNames } from '../../shared/flags.ts';
import { groupingNames, variableNames } from '../../shared/quantities.ts';
import { regressionSpecificationSchema } from '../../shared/regression.ts';
import { specificationDigest } from '../../src/pooling/canonical.ts';
import { canonicalRegression } from '../../src/pooling/canonical-specification.ts';

const predictors = variableNames.filter((name) => name !== 'contactTime');
const factor = fc.record({ variable: fc.constantFrom(...predictors), power: fc.integer({ min: 1, max: 2 }) });
const range = fc
  .tuple(
    fc.constantFrom(...variableNames),
    fc.double({ min: -5, max: 0, noNaN: true }),
    fc.double({ min: 0.5, max: 5, noNaN: true }),
  )
  .map(([variable, min, max]) => ({ variable, min, max }));

const question = fc.record({
  terms: fc.array(fc.array(factor, { minLength: 1, maxLength: 2 }), { minLength: 1, maxLength: 4 }),
  labs: fc.constantFrom('fixed', 'ignored', 'randomIntercept', 'synthesis'),
  standardErrors: fc.constantFrom('clusterRobust', 'classical'),
  clusterBy: fc.constantFrom('lab', 'rig', 'player'),
  confidence: fc.constantFrom(0.9, 0.95, 0.99),
  declaredRanges: fc.uniqueArray(range, { maxLength: 3, selector: ({ variable }) => variable }),
  filter: fc.record({
    ranges: fc.array(range, { maxLength: 3 }),
    groups: fc.array(
      fc.record({
        grouping: fc.constantFrom(...groupingNames),
        values: fc.array(fc.constantFrom('a', 'b', 'c', 'ä', 'B'), { minLength: 1, maxLength: 3 }),
      }),
      { maxLength: 2 },
    ),
    includeReported: fc.boolean(),
    includeFlags: fc.array(fc.constantFrom(...flagNames), { maxLength: 3 }),
  }),
});
type Question = typeof question extends fc.Arbitrary<infer Value> ? Value : never;

/** The same items in an order given by keys. */
function reordered<Item>(items: readonly Item[], keys: readonly number[]): Item[] {
  return items
    .map((item, place) => ({ item, key: keys[place % keys.length] as number, place }))
    .sort((a, b) => a.key - b.key || a.place - b.place)
    .map(({ item }) => item);
}

/** Keys of an object in another order: what JSON means does not depend on it. */
function keysReversed(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(keysReversed);
  if (value === null || typeof value !== 'object') return value;
  return Object.fromEntries(
    Object.entries(value)
      .reverse()
      .map(([key, each]) => [key, keysReversed(each)]),
  );
}

/** Another way to write the same question: other orders, squares as factors twice, things said twice. */
function rewritten(asked: Question, keys: readonly number[]): unknown {
  const terms = asked.terms.map((term) =>
    reordered(
      term.length === 1 && term[0]?.power === 2
        ? [
            { variable: term[0].variable, power: 1 },
            { variable: term[0].variable, power: 1 },
          ]
        : term,
      keys,
    ),
  );
  const { ranges, groups, includeFlags, includeReported } = asked.filter;
  const apart = ranges.flatMap(({ variable, min, max }) => [
    { variable, min },
    { variable, max },
  ]);
  return keysReversed({
    response: 'contactTime',
    ...asked,
    terms: [...reordered(terms, keys), terms[0]],
    declaredRanges: reordered(asked.declaredRanges, keys),
    filter: {
      ranges: reordered(apart, keys),
      groups: reordered(
        groups.map((group) => ({ ...group, values: reordered([...group.values, ...group.values], keys) })),
        keys,
      ),
      includeReported,
      includeFlags: reordered([...includeFlags, ...includeFlags], keys),
    },
  });
}

it('has one digest, and its one form is the form of itself', () => {
  fc.assert(
    fc.property(question, fc.array(fc.integer({ min: 0, max: 9 }), { minLength: 5, maxLength: 5 }), (asked, keys) => {
      const plain = regressionSpecificationSchema.parse({ response: 'contactTime', ...asked });
      const otherwise = regressionSpecificationSchema.parse(rewritten(asked, keys));
      expect(specificationDigest(otherwise)).toBe(specificationDigest(plain));
      const once = canonicalRegression(plain);
      expect(canonicalRegression(once)).toEqual(once);
    }),
    { seed: 23, numRuns: 300 },
  );
});

it('has another digest when a number or a choice that bears on the answer differs', () => {
  fc.assert(
    fc.property(question, fc.constantFrom('confidence', 'response', 'term', 'range', 'filter'), (asked, part) => {
      const plain = regressionSpecificationSchema.parse({ response: 'contactTime', ...asked });
      const other = { response: 'contactTime', ...asked, filter: { ...asked.filter } } as Record<string, unknown>;
      if (part === 'confidence') other.confidence = asked.confidence === 0.9 ? 0.99 : 0.9;
      if (part === 'response') {
        const used = new Set(asked.terms.flat().map(({ variable }) => variable));
        other.response = predictors.find((name) => !used.has(name));
      }
      if (part === 'term') other.terms = [...asked.terms, [{ variable: 'cueSpeed', power: 5 }]];
      if (part === 'range') other.declaredRanges = [{ variable: 'cueSpeed', min: -7, max: 7 }];
      if (part === 'filter') other.filter = { ...asked.filter, includeReported: !asked.filter.includeReported };
      expect(specificationDigest(regressionSpecificationSchema.parse(other))).not.toBe(specificationDigest(plain));
    }),
    { seed: 24, numRuns: 200 },
  );
});
