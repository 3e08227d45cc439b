import { describe, expect, it } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import {
  type RegressionResult,
  regressionResultSchema,
  regressionSpecificationSchema,
} from '../../shared/regression.ts';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import { coefficientUnit } from '../../src/pooling/coefficient-words.ts';
import type { ShotColumns, ShotRow } from '../../src/pooling/columns.ts';
import { runRegression } from '../../src/pooling/run-regression.ts';
import { studentQuantile } from '../../src/statistics/distributions.ts';
import { rowByRow } from '../statistics/row-by-row.ts';
import { inventedRow, inventedShots, seededUniform, shuffled, uncertainties } from './invented-shots.ts';

const base = { specificationDigest: 'question', dataVersion: 'data', methodVersion: '1' };
const speed = [{ variable: 'cueSpeed' }];
const acceleration = [{ variable: 'cueAcceleration' }];
const offset = [{ variable: 'tipOffset' }];
const tightly = 1e-9;

function ask(columns: ShotColumns, question: object): RegressionResult {
  const specification = regressionSpecificationSchema.parse({ response: 'contactTime', terms: [speed], ...question });
  const result = runRegression(columns, specification, base);
  // What is answered is what the interface promises, and it survives JSON.
  expect(regressionResultSchema.parse(JSON.parse(JSON.stringify(result)))).toEqual(result);
  return result;
}

function refusal(columns: ShotColumns, question: object): string {
  try {
    ask(columns, question);
  } catch (error) {
    if (error instanceof Refusal && error.code === 'not-estimable') return error.message;
    throw error;
  }
  throw new Error('the question was answered');
}

const codes = (result: RegressionResult) => result.warnings.map(({ code }) => code);
const warning = (result: RegressionResult, code: string) => result.warnings.find((each) => each.code === code)?.text;
const relative = (found: number, expected: number) => Math.abs(found - expected) / Math.abs(expected);

const labs = ['east', 'north', 'south', 'west', 'centre', 'hill'];
const rows = inventedShots(labs, 40);
const columns = assembleColumns(rows);

/** The same data written out in full, for the row-by-row reference. */
function reference(sample: readonly ShotRow[], terms: (row: ShotRow) => number[], dummies: boolean) {
  return rowByRow(
    sample.map(terms),
    sample.map((row) => row.variables.contactTime as number),
    sample.map((row) => labs.indexOf(row.lab)),
    dummies,
  );
}

describe('a pooled regression', () => {
  it('within labs gives the slopes, CR2 errors and degrees of freedom of dummies and full matrices', () => {
    const small = rows.filter(({ ordinal }) => ordinal <= 8);
    const { coefficients, ...rest } = ask(assembleColumns(small), { terms: [speed, offset, [...speed, ...offset]] });
    const expected = reference(
      small,
      ({ variables }) => {
        const [v, b] = [variables.cueSpeed as number, variables.tipOffset as number];
        return [v, b, v * b];
      },
      true,
    );
    expect(coefficients.map(({ term }) => term)).toEqual(['cueSpeed', 'tipOffset', 'cueSpeed*tipOffset']);
    coefficients.forEach((found, j) => {
      expect(relative(found.estimate, expected.coefficients[j] as number)).toBeLessThan(tightly);
      expect(relative(found.standardError, Math.sqrt(expected.cr2[j] as number))).toBeLessThan(1e-8);
      expect(relative(found.degreesOfFreedom, expected.satterthwaite[j] as number)).toBeLessThan(1e-8);
      const reach = studentQuantile(0.975, found.degreesOfFreedom) * found.standardError;
      expect(relative(found.interval.upper - found.estimate, reach)).toBeLessThan(tightly);
      const detectable = reach + studentQuantile(0.8, found.degreesOfFreedom) * found.standardError;
      expect(relative(found.smallestDetectable, detectable)).toBeLessThan(tightly);
    });
    expect(rest.degreesOfFreedom).toBe(expected.degreesOfFreedom);
    expect(
      relative(rest.residualStandardDeviation ** 2 * rest.degreesOfFreedom, expected.residualSumOfSquares),
    ).toBeLessThan(1e-8);
  });

  it('that ignores labs gives the intercept and slopes in raw powers, with CR2 or classical errors', () => {
    const small = rows.filter(({ ordinal }) => ordinal <= 8);
    const question = { labs: 'ignored', terms: [speed, [{ variable: 'cueSpeed', power: 2 }]] };
    const expected = reference(
      small,
      ({ variables: { cueSpeed: v } }) => [v as number, (v as number) * (v as number)],
      false,
    );
    const inOrder = [2, 0, 1];
    const robust = ask(assembleColumns(small), question).coefficients;
    const classical = ask(assembleColumns(small), { ...question, standardErrors: 'classical' }).coefficients;
    expect(robust.map(({ term }) => term)).toEqual(['intercept', 'cueSpeed', 'cueSpeed^2']);
    inOrder.forEach((j, place) => {
      expect(
        relative((robust[place] as { estimate: number }).estimate, expected.coefficients[j] as number),
      ).toBeLessThan(1e-7);
      expect(
        relative((robust[place] as { standardError: number }).standardError ** 2, expected.cr2[j] as number),
      ).toBeLessThan(1e-6);
      expect(
        relative((classical[place] as { standardError: number }).standardError ** 2, expected.classical[j] as number),
      ).toBeLessThan(1e-6);
    });
  });

  it('answers with the same bits whatever the order of arrival and of the terms', () => {
    const question = { terms: [speed, offset, acceleration] };
    const expected = JSON.stringify(ask(columns, question));
    expect(JSON.stringify(ask(assembleColumns(shuffled(rows, 5)), { terms: [...question.terms].reverse() }))).toBe(
      expected,
    );
  });

  it('finds the slope that is there and says in words what it is', () => {
    const [slope] = ask(columns, {}).coefficients;
    expect(slope?.interval.lower).toBeLessThan(-1e-4);
    expect(slope?.interval.upper).toBeGreaterThan(-1e-4);
    expect(slope?.unit).toBe('s/(m/s)');
    expect(slope?.sentence).toMatch(
      /^Contact time falls by 0\.\d+ ms per m\/s of cue speed at impact \(95 % interval -0\.\d+ to -0\.\d+ ms per m\/s\)\.$/,
    );
  });

  it('says of a slope that is not there that it is not resolved, and which slope would have been', () => {
    const found = ask(columns, { terms: [speed, offset] }).coefficients.find(({ term }) => term === 'tipOffset');
    expect(found?.interval.lower).toBeLessThan(0);
    expect(found?.interval.upper).toBeGreaterThan(0);
    expect(found?.sentence).toMatch(
      /^Not resolved: whether contact time changes with tip offset at equal cue speed at impact \(.* ms per R, which covers 0\); these 240 shots would show a slope of 0\.\d+ ms per R or more with 80 % power\.$/,
    );
  });

  it('gives slopes of each lab, its shots and its share of the information', () => {
    const result = ask(columns, {});
    expect(result.labs.map(({ lab, shots }) => `${lab} ${shots}`)).toEqual([...labs].sort().map((lab) => `${lab} 40`));
    expect(result.labs.reduce((sum, { shareOfInformation }) => sum + shareOfInformation, 0)).toBeCloseTo(1, 12);
    const east = rows.filter(({ lab }) => lab === 'east');
    const expected = reference(east, ({ variables }) => [variables.cueSpeed as number], false);
    const own = result.labs[1]?.coefficients?.[0];
    expect(relative(own?.estimate as number, expected.coefficients[0] as number)).toBeLessThan(tightly);
    expect(relative((own?.standardError as number) ** 2, expected.classical[0] as number)).toBeLessThan(1e-8);
  });

  it('states where it comes from and whom it left out', () => {
    const result = ask(columns, { filter: { groups: [{ grouping: 'lab', values: ['east', 'west'] }] } });
    expect(result.provenance).toEqual({
      ...base,
      shots: 80,
      labs: [
        { lab: 'east', shots: 40 },
        { lab: 'west', shots: 40 },
      ],
      leftOut: [{ reason: 'outside the filter', shots: 160 }],
    });
  });
});

describe('questions that the data cannot answer are refused with the reason', () => {
  it('no shot takes part', () => {
    expect(refusal(columns, { filter: { ranges: [{ variable: 'cueSpeed', min: 19 }] } })).toContain(
      'no shot takes part (left out: outside the filter: 240)',
    );
    expect(refusal(assembleColumns([]), {})).toContain('no shot takes part');
  });

  it('too few shots', () => {
    const few = assembleColumns(rows.filter(({ ordinal }) => ordinal === 1));
    expect(refusal(few, {})).toContain('6 shots take part; this question needs at least 8');
    const single = assembleColumns(rows.slice(0, 1));
    expect(refusal(single, {})).toContain('1 shot takes part; this question needs at least');
  });

  it('a variable that does not vary', () => {
    const still = assembleColumns(rows.map((row) => ({ ...row, variables: { ...row.variables, tipOffset: 0.1 } })));
    expect(refusal(still, { terms: [speed, offset] })).toContain('tipOffset is constant within every lab');
    expect(refusal(still, { response: 'tipOffset' })).toContain('tipOffset is constant within every lab');
    expect(refusal(still, { terms: [offset], labs: 'ignored' })).toContain('tipOffset is constant among the 240 shots');
  });

  it('terms that are combinations of one another, by name', () => {
    const bound = assembleColumns(
      rows.map((row) => ({
        ...row,
        variables: { ...row.variables, ballSpeed: 1.5 * (row.variables.cueSpeed as number) + 0.2 },
      })),
    );
    const message = refusal(bound, { terms: [speed, offset, [{ variable: 'ballSpeed' }]] });
    expect(message).toContain('ballSpeed is a linear combination of cueSpeed within every lab');
    expect(message).toContain('1e-8');
  });
});

describe('warnings of a pooled regression', () => {
  const only = (names: string[]) => assembleColumns(rows.filter(({ lab }) => names.includes(lab)));

  it('one lab: errors are classical and the answer says so', () => {
    const result = ask(only(['east']), {});
    expect(warning(result, 'ONE_LAB')).toContain('classical, not cluster-robust');
    expect(result.coefficients[0]?.degreesOfFreedom).toBe(38);
  });

  it('a coefficient that one lab alone can give is not dressed up with the other labs', () => {
    const fixed = rows.map((row) =>
      row.lab === 'east' ? row : { ...row, variables: { ...row.variables, tipOffset: 0.05 } },
    );
    expect(codes(ask(assembleColumns(fixed), { terms: [speed, offset] }))).toContain('ONE_LAB');
  });

  it('two labs, fewer than five, five or more', () => {
    expect(codes(ask(only(['east', 'west']), {}))).toContain('VERY_FEW');
    const four = ask(only(['east', 'west', 'north', 'south']), {});
    expect(warning(four, 'FEW_LABS')).toContain('Only 4 labs (fewer than 5)');
    expect(warning(four, 'LOW_DF')).toContain('below 4');
    expect(codes(ask(only(labs), {}))).not.toContain('FEW_LABS');
  });

  it('a lab with most of the information, and labs that give no slope alone', () => {
    const uneven = rows.filter(({ lab, ordinal }) => lab === 'east' || ordinal <= (lab === 'west' ? 2 : 4));
    const result = ask(assembleColumns(uneven), {});
    expect(warning(result, 'DOMINANT_LAB')).toMatch(/^Lab east supplies \d+ % of the information \(more than 50 %\)/);
    expect(warning(result, 'LAB_DROPPED')).toContain('west (2 shots)');
    expect(result.labs.find(({ lab }) => lab === 'west')?.coefficients).toBeNull();
  });

  it('differences between labs that are mixed up with the predictor', () => {
    const tilted = rows.map((row) => ({
      ...row,
      variables: {
        ...row.variables,
        cueSpeed: (row.variables.cueSpeed as number) + labs.indexOf(row.lab),
        contactTime: (row.variables.contactTime as number) + 3e-4 * labs.indexOf(row.lab),
      },
    }));
    expect(warning(ask(assembleColumns(tilted), {}), 'BETWEEN_WITHIN')).toContain('those within labs');
    expect(warning(ask(assembleColumns(tilted), { labs: 'ignored' }), 'BETWEEN_WITHIN')).toContain('use labs: fixed');
  });

  it('predictors that are hard to tell apart, and powers above 3', () => {
    const next = seededUniform(9);
    const close = rows.map((row) => ({
      ...row,
      variables: { ...row.variables, ballSpeed: 1.5 * (row.variables.cueSpeed as number) + 0.1 * next() },
    }));
    const result = ask(assembleColumns(close), { terms: [speed, [{ variable: 'ballSpeed' }]] });
    expect(warning(result, 'COLLINEAR')).toContain('variance inflation above 10');
    expect(codes(ask(columns, { terms: [[{ variable: 'cueSpeed', power: 4 }]] }))).toContain('HIGH_POWER');
  });

  it('errors of speed and acceleration that go together', () => {
    const result = ask(columns, { terms: [speed, acceleration] });
    expect(warning(result, 'ERR_CORR')).toContain('correlate at about 0.97');
    expect(codes(ask(columns, {}))).not.toContain('ERR_CORR');
  });

  it('measurement error that shrinks a slope, in three degrees', () => {
    const blurred = (error: number) =>
      ask(assembleColumns(rows.map((row) => ({ ...row, uncertainties: uncertainties({ cueSpeed: error }) }))), {});
    // The spread of cue speed within labs is about 0.58 m/s.
    expect(codes(blurred(0.1))).not.toContain('ATTENUATION');
    expect(warning(blurred(0.2), 'ATTENUATION')).toMatch(/reliability 0\.8\d+, below 0\.95.*about 1\d %/);
    expect(warning(blurred(0.5), 'ATTENUATION')).toContain('below 0.3');
    expect(warning(blurred(0.7), 'ATTENUATION')).toContain('says nothing about the true one');
  });

  it('missing values, reported shots and counted contact times', () => {
    const patchy = rows.map((row) => ({
      ...row,
      fromTrack: row.ordinal !== 5,
      variables: {
        ...row.variables,
        contactTime: row.lab === 'east' ? null : Math.round((row.variables.contactTime as number) * 2e4) / 2e4,
      },
    }));
    const result = ask(assembleColumns(patchy), { filter: { includeReported: true } });
    expect(warning(result, 'MISSING')).toContain('40 of 240 shots (more than 5 %)');
    expect(warning(result, 'MISSING')).toContain('40 without contactTime in east');
    expect(warning(result, 'REPORTED_INCLUDED')).toContain('5 of 200 shots are as reported');
    expect(warning(result, 'QUANTISED')).toMatch(/fewer than 10 distinct values, .*west \(\d values, steps of/);
    expect(codes(ask(columns, {}))).not.toContain('QUANTISED');
  });

  it('contact times in many steps, each longer than half their spread', () => {
    const next = seededUniform(12);
    // Steps of 0.1 ms, mostly two values, with rare ones far out so that there are more than ten.
    const stepped = rows.map((row, at) => ({
      ...row,
      variables: { ...row.variables, contactTime: (8 + (at % 10 === 0 ? Math.round(5 * next()) : at % 2)) * 1e-4 },
    }));
    const all = assembleColumns(stepped.map((row, at) => ({ ...row, lab: 'east', ordinal: at + 1 })));
    expect(warning(ask(all, {}), 'QUANTISED')).toMatch(
      /in east \(1\d values, steps of 0.1 ms: counting both ends adds tick\^2\/12 each/,
    );
  });

  it('of which six even labs with one clean question call only those on what six labs cannot know', () => {
    const result = ask(columns, {});
    const always = ['BETWEEN_WITHIN', 'TAU_BOUNDARY', 'THIN_COVERAGE'];
    expect(codes(result).filter((code) => !always.includes(code))).toEqual([]);
    expect(warning(result, 'TAU_BOUNDARY')).toContain('6 labs (fewer than 10)');
  });
});

describe('units of coefficients', () => {
  it('are those of the response over those of the term, in UCUM', () => {
    const unit = (
      response: 'contactTime' | 'tipOffset',
      ...term: ['cueSpeed' | 'cueAcceleration' | 'tipOffset' | 'cueMass', number][]
    ) =>
      coefficientUnit(
        response,
        term.map(([variable, power]) => ({ variable, power })),
      );
    expect(unit('contactTime', ['cueAcceleration', 1])).toBe('s/(m/s2)');
    expect(unit('contactTime', ['cueSpeed', 2])).toBe('s/(m/s)2');
    expect(unit('contactTime', ['tipOffset', 3])).toBe('s');
    expect(unit('contactTime', ['cueMass', 2])).toBe('s/kg2');
    expect(unit('tipOffset', ['cueSpeed', 1], ['cueMass', 1])).toBe('1/((m/s).kg)');
  });
});

describe('a perfect fit', () => {
  it('has no residual and an interval without width', () => {
    const exact = ['a', 'b', 'c'].flatMap((lab, place) =>
      [1, 2, 3, 4].map((v) => inventedRow(lab, v, { cueSpeed: v, contactTime: 0.25 + place + 0.5 * v })),
    );
    const result = ask(assembleColumns(exact), {});
    expect(result.coefficients[0]?.estimate).toBeCloseTo(0.5, 14);
    expect(result.residualStandardDeviation).toBeLessThan(1e-7);
    expect(result.determination).toBeCloseTo(1, 14);
  });
});
