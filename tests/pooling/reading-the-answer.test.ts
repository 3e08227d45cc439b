/**
 * The answer as a researcher reads it: no number without a unit or a statement of what it is, no estimate without its
 * uncertainty, nothing of weight without a sentence. Walks whole answers beside the schema that describes them.
 */
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { regressionResultSchema, regressionSpecificationSchema } from '../../shared/regression.ts';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import { commonPartNames, type ShotRow } from '../../src/pooling/columns.ts';
import { runRegression } from '../../src/pooling/run-regression.ts';
import { inventedShots } from './invented-shots.ts';

const rows = inventedShots(['east', 'north', 'south', 'west', 'hill'], 30).map(
  (row): ShotRow => ({
    ...row,
    sessionDate: `2026-03-0${1 + (row.ordinal % 3)}`,
    commonUncertainties: Object.fromEntries(
      commonPartNames.map((name) => [name, name === 'cueSpeedRig' ? 0.003 * (row.variables.cueSpeed ?? 0) : null]),
    ) as NonNullable<ShotRow['commonUncertainties']>,
  }),
);
const columns = assembleColumns(rows);

interface Json {
  readonly $ref?: string;
  readonly description?: string;
  readonly properties?: Readonly<Record<string, Json>>;
  readonly items?: Json;
  readonly anyOf?: readonly Json[];
  readonly $defs?: Readonly<Record<string, Json>>;
}
const schema = z.toJSONSchema(regressionResultSchema) as Json;

function resolved(node: Json): Json {
  if (node.$ref !== undefined) {
    const name = node.$ref.split('/').at(-1) as string;
    const named = resolved(schema.$defs?.[name] as Json);
    return node.description === undefined ? named : { ...named, description: node.description };
  }
  const alternative = node.anyOf?.find((each) => (each as { type?: string }).type !== 'null');
  return alternative === undefined
    ? node
    : { ...resolved(alternative), ...(node.description ? { description: node.description } : {}) };
}

interface Place {
  readonly path: string;
  readonly value: unknown;
  readonly schema: Json;
  /** Objects around the value, the innermost first. */
  readonly around: readonly Record<string, unknown>[];
}

/** Every value of the answer but the question, which the caller wrote. */
function* places(value: unknown, node: Json, path: string, around: Place['around']): Generator<Place> {
  const own = resolved(node);
  yield { path, value, schema: own, around };
  if (Array.isArray(value)) {
    for (const item of value) yield* places(item, own.items as Json, `${path}[]`, around);
  } else if (value !== null && typeof value === 'object') {
    const object = value as Record<string, unknown>;
    for (const [name, each] of Object.entries(object)) {
      if (path === '' && name === 'specification') continue;
      yield* places(each, own.properties?.[name] as Json, path === '' ? name : `${path}.${name}`, [object, ...around]);
    }
  }
}

const answers = {
  'lab-fixed, three terms': {
    terms: [['cueSpeed'], ['cueAcceleration'], ['tipOffset']],
    measurementError: 'corrected',
  },
  'labs ignored, influence, one term': {
    terms: [['cueSpeed']],
    labs: 'ignored',
    influence: true,
    measurementError: 'corrected',
  },
  'random levels of labs and sessions': { terms: [['cueSpeed']], labs: 'sessionsInLabs' },
  'mean of lab slopes': { terms: [['cueSpeed']], labs: 'synthesis' },
  'a mean alone': { terms: [], labs: 'randomIntercept' },
  'a curve at held values': {
    terms: [['cueSpeed'], ['tipOffset']],
    curve: { variable: 'cueSpeed', at: [{ variable: 'tipOffset', value: 0.9 }] },
    declaredRanges: [{ variable: 'cueSpeed', min: 1, max: 4 }],
  },
} as const;

describe.each(Object.entries(answers))('%s', (_, asked) => {
  const specification = regressionSpecificationSchema.parse({
    response: 'contactTime',
    ...asked,
    terms: asked.terms.map((term) => term.map((variable) => ({ variable }))),
  });
  const result = runRegression(columns, specification, {
    specificationDigest: 'a',
    dataVersion: 'b',
    methodVersion: '1',
  });
  const all = [...places(result, schema, '', [])];

  it('has no number of which neither a unit nor a description says what it is', () => {
    const bare = all.filter(({ value, schema: own, around }) => {
      if (typeof value !== 'number') return false;
      const unit = around.some((object) => 'unit' in object || 'responseUnit' in object);
      return own.description === undefined && !unit;
    });
    expect(bare.map(({ path }) => path)).toEqual([]);
    for (const { path, value } of all) if (typeof value === 'number') expect(Number.isFinite(value), path).toBe(true);
  });

  it('has a unit beside every estimate, and beside it an interval, ends, or the change it means', () => {
    const estimates = all.filter(({ path, value }) => path.endsWith('.estimate') && value !== null);
    const lacking = estimates.filter(({ path, around: [own, ...others] }) => {
      const object = own as Record<string, unknown>;
      const unit = [object, ...others].some((each) => 'unit' in each || 'responseUnit' in each);
      const uncertain = 'interval' in object || ('lower' in object && 'upper' in object) || 'change' in object;
      // A lab's line on the curve is for drawing and stands beside that lab's slope with its interval.
      return !unit || !(uncertain || path.startsWith('curve.labLines'));
    });
    expect(lacking.map(({ path }) => path)).toEqual([]);
  });

  it('says in a sentence what each estimate, test, component, correction and the fit as a whole mean', () => {
    const spoken = [
      'coefficients[]',
      'labs[].coefficients[]',
      'labs[].without',
      'synthesis[]',
      'measurementError.terms[]',
      'measurementError.terms[].corrected',
      'measurementError.york',
      'varianceComponents.components[]',
      'jointTest',
      'labLevels',
      'influence.byDistance[]',
      'unexplained',
    ];
    for (const { path, value } of all) {
      if (!spoken.includes(path) || value === null) continue;
      expect((value as { sentence?: string }).sentence, path).toMatch(/^[A-Z0-9].*\.$/);
    }
    expect(result.fit).toMatch(/^One shot scatters .* ms .*\.$/);
    for (const { sentence } of result.coefficients) {
      expect(sentence).toMatch(/95 % interval -?[\d.e-]+ to -?[\d.e-]+ ms/);
      expect(sentence).not.toMatch(/NaN|undefined|Infinity|null/);
    }
    for (const { code, text } of result.warnings) {
      expect(text, code).toMatch(/^[A-Z0-9].*[.]$/);
      expect(text, code).not.toMatch(/NaN|undefined|Infinity|null/);
    }
  });

  it('gives the parts of every standard error', () => {
    for (const { path, value } of all) {
      if (value === null || typeof value !== 'object' || !('statisticalError' in value)) continue;
      const { standardError, statisticalError, commonError } = value as Record<string, number>;
      expect(
        Math.hypot(statisticalError as number, commonError as number) / (standardError as number),
        path,
      ).toBeCloseTo(1, 9);
    }
  });
});
