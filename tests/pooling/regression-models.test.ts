import { describe, expect, it } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import {
  type RegressionResult,
  regressionResultSchema,
  regressionSpecificationSchema,
} from '../../shared/regression.ts';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import type { ShotColumns, ShotRow } from '../../src/pooling/columns.ts';
import { runRegression } from '../../src/pooling/run-regression.ts';
import { synthesis } from '../../src/statistics/synthesis.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { rowByRow } from '../statistics/row-by-row.ts';
import { inventedShots, seededUniform, shuffled, uncertainties } from './invented-shots.ts';

const base = { specificationDigest: 'question', dataVersion: 'data', methodVersion: '1' };
const speed = [{ variable: 'cueSpeed' }];
const acceleration = [{ variable: 'cueAcceleration' }];
const offset = [{ variable: 'tipOffset' }];
const tightly = 1e-8;

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
    if (error instanceof Refusal) return `${error.code}: ${error.message}`;
    throw error;
  }
  throw new Error('the question was answered');
}

const warning = (result: RegressionResult, code: string) => result.warnings.find((each) => each.code === code)?.text;
const codes = (result: RegressionResult) => result.warnings.map(({ code }) => code);

const labs = ['east', 'north', 'south', 'west', 'centre', 'hill'];
/** Two rigs, three players and four dates a lab. */
const rows = inventedShots(labs, 24).map(
  (row): ShotRow => ({
    ...row,
    rig: row.ordinal % 2 === 0 ? 'one@1' : 'two@1',
    player: `P${row.ordinal % 3}`,
    sessionDate: `2026-03-0${1 + (row.ordinal % 4)}`,
  }),
);
const columns = assembleColumns(rows);
const value = (row: ShotRow, name: 'cueSpeed' | 'contactTime' | 'tipOffset') => row.variables[name] as number;

/** The same shots with slopes that differ between labs, and levels that differ between sessions. */
const uneven = rows.map((row): ShotRow => {
  const lab = labs.indexOf(row.lab);
  const session = Number(row.sessionDate?.at(-1));
  const extra = 4e-5 * (lab - 2.5) * (value(row, 'cueSpeed') - 3) + 3e-5 * (((session * 7 + lab * 3) % 5) - 2);
  return { ...row, variables: { ...row.variables, contactTime: value(row, 'contactTime') + extra } };
});

describe('clusters of standard errors', () => {
  it.each(['rig', 'player'] as const)(
    'by %s are those of dummies for labs and full matrices for clusters',
    (clusterBy) => {
      const small = rows.filter(({ ordinal }) => ordinal <= 12);
      const clusterOf = (row: ShotRow) =>
        labs.indexOf(row.lab) * 10 + (clusterBy === 'rig' ? row.ordinal % 2 : row.ordinal % 3);
      const expected = rowByRow(
        small.map((row) => [value(row, 'cueSpeed'), value(row, 'tipOffset')]),
        small.map((row) => value(row, 'contactTime')),
        small.map((row) => labs.indexOf(row.lab)),
        true,
        small.map(clusterOf),
      );
      const result = ask(assembleColumns(small), { terms: [speed, offset], clusterBy });
      result.coefficients.forEach((found, j) => {
        expectRelative(found.estimate, expected.coefficients[j] as number, tightly);
        expectRelative(found.standardError, Math.sqrt(expected.cr2[j] as number), tightly);
        expectRelative(found.degreesOfFreedom, expected.satterthwaite[j] as number, tightly);
      });
      expect(warning(result, 'CLUSTERS_WITHIN_LABS')).toContain(`one ${clusterBy}`);
      expect(result.estimator).toContain(`CR2 by ${clusterBy}`);
    },
  );

  it('take shots without a player as one player of their lab, and say so', () => {
    const some = assembleColumns(rows.map((row) => (row.ordinal % 3 === 0 ? { ...row, player: null } : row)));
    const known = ask(columns, { clusterBy: 'player' });
    const result = ask(some, { clusterBy: 'player' });
    expectRelative(
      result.coefficients[0]?.standardError as number,
      known.coefficients[0]?.standardError as number,
      1e-12,
    );
    expect(warning(result, 'PART_UNKNOWN')).toContain('48 shots name no player');
  });

  it('give the same bits whatever the order of arrival', () => {
    const other = assembleColumns(shuffled(uneven, 8));
    for (const question of [{ clusterBy: 'rig' }, { labs: 'sessionsInLabs' }, { labs: 'synthesis' }]) {
      expect(JSON.stringify(ask(other, question))).toBe(JSON.stringify(ask(assembleColumns(uneven), question)));
    }
  });
});

describe('a line through the origin', () => {
  it('is that of rows written out, with raw powers', () => {
    const small = rows.filter(({ ordinal }) => ordinal <= 6);
    const terms = [speed, [{ variable: 'cueSpeed', power: 2 }]];
    const expected = rowByRow(
      small.map((row) => [value(row, 'cueSpeed'), value(row, 'cueSpeed') * value(row, 'cueSpeed')]),
      small.map((row) => value(row, 'contactTime')),
      small.map((row) => labs.indexOf(row.lab)),
      'none',
    );
    const result = ask(assembleColumns(small), { terms, labs: 'ignored', intercept: false });
    expect(result.coefficients.map(({ term }) => term)).toEqual(['cueSpeed', 'cueSpeed^2']);
    result.coefficients.forEach((found, j) => {
      expectRelative(found.estimate, expected.coefficients[j] as number, 1e-7);
      expectRelative(found.standardError, Math.sqrt(expected.cr2[j] as number), 1e-6);
    });
  });
});

describe('random lab levels', () => {
  it('give variances with intervals, a level, Kenward-Roger errors, and say what they take for granted', () => {
    const result = ask(columns, { labs: 'randomIntercept' });
    expect(result.coefficients.map(({ term }) => term)).toEqual(['intercept', 'cueSpeed']);
    const components = result.varianceComponents?.components ?? [];
    expect(components.map(({ component }) => component)).toEqual(['residual', 'lab']);
    // Errors are uniform on +-2e-5; labs lie 5e-5 apart.
    for (const [place, truth] of [2e-5 / Math.sqrt(3), 5e-5 * Math.sqrt(3.5)].entries()) {
      const { interval } = components[place] as (typeof components)[number];
      expect(interval.lower).toBeLessThan(truth);
      expect(interval.upper).toBeGreaterThan(truth);
    }
    expect(warning(result, 'EQUAL_SLOPES')).toContain('take the slopes of all labs as equal');
    // With labs this far apart the slope is nearly that within labs.
    const within = ask(columns, { standardErrors: 'classical' }).coefficients[0];
    expectRelative(result.coefficients[1]?.estimate as number, within?.estimate as number, 0.02);
    expectRelative(result.coefficients[1]?.standardError as number, within?.standardError as number, 0.02);
  });

  it('without terms give the mean of an average lab', () => {
    const result = ask(columns, { terms: [], labs: 'randomIntercept' });
    expect(result.coefficients.map(({ term }) => term)).toEqual(['intercept']);
    expect(result.curve).toBeNull();
    // Balanced: the mean of all shots, on five degrees of freedom.
    const mean = rows.reduce((sum, row) => sum + value(row, 'contactTime'), 0) / rows.length;
    expectRelative(result.coefficients[0]?.estimate as number, mean, 1e-12);
    expectRelative(result.coefficients[0]?.degreesOfFreedom as number, 5, 1e-9);
  });

  it('with sessions find the spread of sessions that is there', () => {
    const result = ask(assembleColumns(uneven), { labs: 'sessionsInLabs' });
    const session = result.varianceComponents?.components.find(({ component }) => component === 'session');
    expect(session?.standardDeviation).toBeGreaterThan(1e-5);
    expect(session?.interval.lower).toBeGreaterThan(0);
    expect(result.varianceComponents?.converged).toBe(true);
  });

  it('are refused where one lab, or one session a lab, cannot show them', () => {
    const one = assembleColumns(rows.filter(({ lab }) => lab === 'east'));
    expect(refusal(one, { labs: 'randomIntercept' })).toMatch(/^not-estimable: .*one lab alone/);
    const days = assembleColumns(rows.map((row) => ({ ...row, sessionDate: '2026-03-01' })));
    expect(refusal(days, { labs: 'sessionsInLabs' })).toContain('no lab has two sessions');
  });
});

describe('the synthesis of lab slopes', () => {
  it("is that of the labs' own slopes, beside the default answer and as an answer of its own", () => {
    const result = ask(assembleColumns(uneven), { terms: [speed, offset] });
    const alone = ask(assembleColumns(uneven), { terms: [speed, offset], labs: 'synthesis' });
    result.synthesis.forEach((row, place) => {
      const own = result.labs.map(
        ({ coefficients }) => coefficients?.[place] as { estimate: number; standardError: number },
      );
      const expected = synthesis(
        own.map(({ estimate }) => estimate),
        own.map(({ standardError }) => standardError * standardError),
        'REML',
        0.95,
      );
      expect(row.estimate).toBe(expected.estimate);
      expect(row.standardError).toBe(expected.hartungKnappError);
      expect(row.prediction).toEqual(expected.prediction);
      expect(alone.coefficients[place]).toMatchObject({
        estimate: row.estimate,
        interval: row.interval,
        degreesOfFreedom: 5,
      });
      expect(row.methods.map(({ method }) => method)).toEqual(['REML', 'DL', 'PM', 'ML']);
      expect(row.without).toHaveLength(6);
      expect(row.sentence).toMatch(
        /^6 labs, each with its own slope of .* \(95 % interval .* to .* per .*\); .* \(approximate\)\.$/,
      );
      const weights = result.labs.map(({ coefficients }) => coefficients?.[place]?.weight as number);
      expectRelative(
        weights.reduce((sum, weight) => sum + weight, 0),
        1,
        1e-12,
      );
    });
    expect(warning(result, 'SLOPES_DIFFER')).toMatch(
      /Slopes of cueSpeed differ between labs .* s\/\(m\/s\) \(above 0; 95 % interval/,
    );
  });

  it('of two labs shows both and gives no interval; as an answer it is refused', () => {
    const two = assembleColumns(uneven.filter(({ lab }) => lab === 'east' || lab === 'west'));
    const [row] = ask(two, {}).synthesis;
    expect(row).toMatchObject({ interval: null, pValue: null, prediction: null, labs: 2 });
    expect(row?.sentence).toContain('with two labs no interval is given, see both');
    expect(refusal(two, { labs: 'synthesis' })).toContain('at least three labs');
  });

  it('draws forest rows of labs, pooled slope, mean and further lab', () => {
    const [block] = ask(assembleColumns(uneven), {}).forest;
    expect(block?.rows.map(({ kind, label }) => `${kind} ${label}`)).toEqual([
      ...[...labs].sort().map((lab) => `lab ${lab}`),
      'pooled common slope within labs',
      'synthesis mean of lab slopes',
      'prediction a further lab',
    ]);
    expect(ask(assembleColumns(uneven), { labs: 'synthesis' }).forest[0]?.rows.map(({ kind }) => kind)).not.toContain(
      'pooled',
    );
  });
});

describe('measurement error', () => {
  const blurred = assembleColumns(
    rows.map((row) => ({
      ...row,
      uncertainties: uncertainties({ cueSpeed: 0.2, cueAcceleration: 2, contactTime: 1e-5 }),
      covarianceSpeedAcceleration: 0.968 * 0.2 * 2,
    })),
  );

  it('is stated as reliability beside the slope, and corrected only when asked', () => {
    const plain = ask(blurred, { terms: [speed, acceleration] });
    const corrected = ask(blurred, { terms: [speed, acceleration], measurementError: 'corrected' });
    const [first] = plain.measurementError?.terms ?? [];
    expect(first?.reliability).toBeGreaterThan(0.8);
    expect(first?.reliability).toBeLessThan(0.95);
    expect(first?.corrected).toBeNull();
    expect(corrected.coefficients).toEqual(plain.coefficients);
    const found = corrected.measurementError?.terms[0];
    expect(found?.naive).toBe(plain.coefficients[0]?.estimate);
    expect(Math.abs(found?.corrected?.estimate as number)).toBeGreaterThan(Math.abs(found?.naive as number));
    expect(found?.corrected?.sentence).toMatch(/^Corrected for measurement error: /);
    expect(warning(plain, 'ERR_CORR')).toContain('No correction is applied');
    expect(warning(corrected, 'ERR_CORR')).toContain('take account of it');
    expect(warning(corrected, 'ATTENUATION')).toContain('the corrected slope stands beside it');
  });

  it('of one predictor divides the slope by its reliability', () => {
    const { measurementError } = ask(blurred, { measurementError: 'corrected' });
    const [term] = measurementError?.terms ?? [];
    expectRelative(term?.corrected?.estimate as number, (term?.naive as number) / (term?.reliability as number), 1e-12);
  });

  it('as large as the spread is refused when the correction is asked for', () => {
    const lost = assembleColumns(rows.map((row) => ({ ...row, uncertainties: uncertainties({ cueSpeed: 0.9 }) })));
    expect(refusal(lost, { measurementError: 'corrected' })).toMatch(/^not-estimable: .*measurement error is as large/);
    expect(ask(lost, {}).measurementError?.terms[0]?.reliability).toBeLessThan(0);
  });
});

describe('the curve', () => {
  it('has no width at the mean of the data within labs, and goes through the held values', () => {
    const question = { terms: [speed, offset, [...speed, ...offset]] };
    const curve = ask(columns, {
      ...question,
      curve: { variable: 'tipOffset', points: 5, at: [{ variable: 'cueSpeed', value: 3 }] },
    }).curve;
    expect(curve?.held).toEqual([{ variable: 'cueSpeed', unit: 'm/s', value: 3 }]);
    expect(curve?.points).toHaveLength(5);
    const result = ask(columns, question);
    const slopeAt3 = (result.coefficients[1]?.estimate as number) + 3 * (result.coefficients[2]?.estimate as number);
    const [first, last] = [curve?.points[0], curve?.points[4]];
    expectRelative(
      ((last?.estimate as number) - (first?.estimate as number)) / ((last?.at as number) - (first?.at as number)),
      slopeAt3,
      tightly,
    );
    expect(curve?.meaning).toContain('change from the mean of the data');
    const range = ask(columns, {}).ranges.find(({ variable }) => variable === 'cueSpeed');
    const line = ask(columns, {}).curve;
    const nearest = line?.points.toSorted(
      (a, b) => Math.abs(a.at - (range?.mean ?? 0)) - Math.abs(b.at - (range?.mean ?? 0)),
    );
    const width = (point: { lower: number; upper: number } | undefined) => (point?.upper ?? 0) - (point?.lower ?? 0);
    expect(width(nearest?.[0])).toBeLessThan(0.1 * width(nearest?.at(-1)));
  });

  it('of one level has the interval of the fitted response', () => {
    const result = ask(columns, {
      labs: 'ignored',
      standardErrors: 'classical',
      curve: { variable: 'cueSpeed', points: 2 },
    });
    const [intercept, slope] = result.coefficients;
    const at = result.curve?.points[0];
    expectRelative(
      at?.estimate as number,
      (intercept?.estimate as number) + (slope?.estimate as number) * (at?.at as number),
      tightly,
    );
    expect(at?.upper as number).toBeGreaterThan(at?.estimate as number);
  });

  it('stands among bins that hold every shot, the adjusted means on the line of the common slope', () => {
    const { curve, provenance } = ask(columns, {});
    expect(curve?.bins.reduce((sum, { shots }) => sum + shots, 0)).toBe(provenance.shots);
    const line = (at: number) => {
      const [a, b] = [curve?.points[0], curve?.points.at(-1)] as { at: number; estimate: number }[];
      const first = a as { at: number; estimate: number };
      const last = b as { at: number; estimate: number };
      return first.estimate + ((last.estimate - first.estimate) * (at - first.at)) / (last.at - first.at);
    };
    for (const bin of curve?.bins ?? []) {
      expect(Math.abs(bin.adjusted - line(bin.mean))).toBeLessThan((5 * 2e-5) / Math.sqrt(3 * bin.shots));
    }
    expect(curve?.labLines.map(({ lab }) => lab)).toEqual([...labs].sort());
  });

  it('held outside the data carries a warning', () => {
    const result = ask(columns, {
      terms: [speed, offset],
      curve: { variable: 'cueSpeed', at: [{ variable: 'tipOffset', value: 0.9 }] },
    });
    expect(warning(result, 'EXTRAPOLATION')).toContain('tipOffset held at 0.9, data');
  });
});

describe('other remarks', () => {
  it('labs ignored is a diagnostic; labs that differ in noise; a lab on which the answer turns', () => {
    expect(warning(ask(columns, { labs: 'ignored' }), 'LABS_IGNORED')).toContain('diagnostic only');
    const next = seededUniform(4);
    const noisy = assembleColumns(
      rows.map((row) =>
        row.lab === 'hill'
          ? { ...row, variables: { ...row.variables, contactTime: value(row, 'contactTime') + 2e-4 * next() } }
          : row,
      ),
    );
    expect(warning(ask(noisy, {}), 'HETEROSC')).toMatch(/residual variance of hill is \d+ times that of/);
    const turned = assembleColumns(
      rows.map((row) =>
        row.lab === 'hill'
          ? { ...row, variables: { ...row.variables, contactTime: 1e-3 + 5e-4 * value(row, 'cueSpeed') } }
          : row,
      ),
    );
    expect(warning(ask(turned, { standardErrors: 'classical' }), 'LAB_INFLUENCE')).toContain('without hill');
  });

  it('no answer holds a coefficient, mean or curve without unit, interval and a sentence', () => {
    for (const labsAs of ['fixed', 'ignored', 'randomIntercept', 'sessionsInLabs', 'synthesis']) {
      const result = ask(assembleColumns(uneven), { labs: labsAs, terms: [speed, offset] });
      for (const { unit, interval, sentence } of [...result.coefficients, ...result.synthesis]) {
        expect(unit).not.toBe('');
        expect(interval).not.toBeNull();
        expect(sentence).toMatch(/interval/);
      }
      expect(result.estimator).toMatch(/\.$/);
      expect(result.curve?.unit).toBe('m/s');
      expect(result.curve?.responseUnit).toBe('s');
      for (const { text } of result.warnings) expect(text).toMatch(/\.$/);
    }
  });
});

describe('choices that do not go together are refused with what to change', () => {
  it.each([
    [{ terms: [] }, 'labs randomIntercept'],
    [{ terms: [], labs: 'ignored', intercept: false }, 'nothing to estimate'],
    [{ intercept: false }, 'with labs ignored'],
    [{ measurementError: 'corrected', labs: 'synthesis' }, 'labs fixed or ignored'],
    [{ measurementError: 'corrected', labs: 'ignored', intercept: false }, 'needs an intercept'],
    [{ measurementError: 'corrected', terms: [[{ variable: 'cueSpeed', power: 2 }]] }, 'single variables'],
    [{ curve: { variable: 'tipOffset' } }, 'which no term holds'],
  ])('%j', (question, said) => {
    expect(refusal(columns, question)).toMatch(/^request-invalid: /);
    expect(refusal(columns, question)).toContain(said);
    expect(codes(ask(columns, {}))).not.toContain('ONE_LAB');
  });
});
