/** Warnings of a regression, each raised by shots that deserve it and told with its threshold; more in run-regression and regression-models. */
import { describe, expect, it } from 'vitest';
import { type RegressionResult, regressionSpecificationSchema } from '../../shared/regression.ts';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import type { ShotColumns, ShotRow } from '../../src/pooling/columns.ts';
import { runRegression } from '../../src/pooling/run-regression.ts';
import { inventedShots, seededUniform, uncertainties } from './invented-shots.ts';

const base = { specificationDigest: '', dataVersion: '', methodVersion: '1' };
const speed = [{ variable: 'cueSpeed' }];
const offset = [{ variable: 'tipOffset' }];
const acceleration = [{ variable: 'cueAcceleration' }];

function ask(columns: ShotColumns, question: object = {}): RegressionResult {
  return runRegression(
    columns,
    regressionSpecificationSchema.parse({ response: 'contactTime', terms: [speed], ...question }),
    base,
  );
}
const warning = (result: RegressionResult, code: string) => result.warnings.find((each) => each.code === code)?.text;

const rows = inventedShots(['east', 'north', 'south', 'west', 'hill'], 40);
const columns = assembleColumns(rows);
const changed = (change: (row: ShotRow) => Partial<ShotRow['variables']>) =>
  assembleColumns(rows.map((row) => ({ ...row, variables: { ...row.variables, ...change(row) } })));

describe('several slopes at once', () => {
  it('carry p-values adjusted by Holm, and the warning says that other questions count too', () => {
    const result = ask(columns, { terms: [speed, acceleration, offset] });
    const plain = result.coefficients.map(({ pValue }) => pValue);
    const adjusted = result.coefficients.map(({ holmPValue }) => holmPValue as number);
    const order = [...plain.keys()].sort((a, b) => (plain[a] as number) - (plain[b] as number));
    expect(adjusted[order[0] as number]).toBeCloseTo(3 * (plain[order[0] as number] as number), 12);
    expect(adjusted[order[2] as number]).toBeGreaterThanOrEqual(plain[order[2] as number] as number);
    expect(warning(result, 'MULTIPLE')).toMatch(/3 slopes are tested at once \(more than 1\).*Holm/);
    expect(ask(columns).coefficients[0]?.holmPValue).toBeNull();
    expect(warning(ask(columns), 'MULTIPLE')).toBeUndefined();
  });
});

describe('a declared range', () => {
  it('carries the curve and the terms, and is told as declared; without one the range is that of the shots', () => {
    const declared = [{ variable: 'cueSpeed', min: 1, max: 6 }];
    const terms = [speed, [{ variable: 'cueSpeed', power: 2 }]];
    const [own, asked] = [ask(columns, { terms }), ask(columns, { terms, declaredRanges: declared })];
    expect(own.ranges[1]?.basis).toEqual({ min: own.ranges[1]?.min, max: own.ranges[1]?.max, declared: false });
    expect(own.ranges[0]?.basis).toBeNull();
    expect(asked.ranges[1]?.basis).toEqual({ min: 1, max: 6, declared: true });
    expect(asked.curve?.points[0]?.at).toBe(1);
    expect(asked.curve?.points.at(-1)?.at).toBe(6);
    // The coefficients of raw powers do not depend on it.
    asked.coefficients.forEach(({ estimate, standardError }, place) => {
      expect(Math.abs(estimate / (own.coefficients[place]?.estimate as number) - 1)).toBeLessThan(1e-9);
      expect(Math.abs(standardError / (own.coefficients[place]?.standardError as number) - 1)).toBeLessThan(1e-7);
    });
    expect(warning(asked, 'EXTRAPOLATION')).toContain('points of the curve over cueSpeed, data');
    expect(warning(own, 'EXTRAPOLATION')).toBeUndefined();
  });

  it('with shots outside it says how many', () => {
    const asked = ask(columns, { declaredRanges: [{ variable: 'cueSpeed', min: 2, max: 4 }] });
    const outside = rows.filter(({ variables: { cueSpeed } }) => (cueSpeed as number) < 2 || (cueSpeed as number) > 4);
    expect(warning(asked, 'OUTSIDE_DECLARED')).toContain(`${outside.length} shots for cueSpeed (declared 2 to 4)`);
  });

  it('of a variable that no term holds, or upside down, is refused', () => {
    const of = (variable: string, min: number, max: number) => () =>
      ask(columns, { declaredRanges: [{ variable, min, max }] });
    expect(of('tipOffset', 0, 1)).toThrow('a range is declared for tipOffset, which no term holds');
    expect(of('cueSpeed', 4, 2)).toThrow('max must be above min');
  });
});

describe('a curve', () => {
  it('through combinations that no lab played says so, although each variable alone is within its data', () => {
    const next = seededUniform(4);
    // Offset goes with speed: fast and low never occurs.
    const tied = changed((row) => ({ tipOffset: 0.2 * ((row.variables.cueSpeed as number) - 3) + 0.02 * next() }));
    const held = (value: number) =>
      ask(tied, { terms: [speed, offset], curve: { variable: 'cueSpeed', at: [{ variable: 'tipOffset', value }] } });
    expect(warning(held(-0.2), 'NO_SUCH_SHOTS')).toMatch(/outside 99.9 % of the shots of every lab/);
    expect(warning(held(-0.2), 'EXTRAPOLATION')).toBeUndefined();
    expect(warning(ask(columns, { terms: [speed, offset] }), 'NO_SUCH_SHOTS')).toBeUndefined();
  });
});

describe('measured values', () => {
  it('with accelerations mostly below twice their uncertainty, in the terms or as response', () => {
    const loose = assembleColumns(
      rows.map((row) => ({ ...row, uncertainties: uncertainties({ cueSpeed: 0.02, cueAcceleration: 4 }) })),
    );
    const small = rows.filter(({ variables }) => Math.abs(variables.cueAcceleration as number) < 8).length;
    const text = `${small} of 200 shots (more than 10 %)`;
    expect(warning(ask(loose, { terms: [acceleration] }), 'ACCEL_UNRESOLVED')).toContain(text);
    expect(warning(ask(loose, { response: 'cueAcceleration' }), 'ACCEL_UNRESOLVED')).toContain(text);
    expect(warning(ask(loose), 'ACCEL_UNRESOLVED')).toBeUndefined();
  });

  it('whose stated uncertainty is larger than their scatter', () => {
    const wide = assembleColumns(rows.map((row) => ({ ...row, uncertainties: uncertainties({ contactTime: 1e-4 }) })));
    expect(warning(ask(wide), 'STATED_TOO_LARGE')).toContain('is larger than the scatter about the fit');
    expect(ask(wide).unexplained?.standardDeviation).toBeNull();
    expect(warning(ask(columns), 'STATED_TOO_LARGE')).toBeUndefined();
  });

  it('counted in frames: what counting adds, and how much it shrinks a slope on it', () => {
    const counted = changed((row) => ({
      contactTime: Math.round((row.variables.contactTime as number) / 1e-4) * 1e-4,
      outcomeDistance: 0.1 * (row.variables.tipOffset as number),
    }));
    const asResponse = warning(ask(counted), 'QUANTISED');
    expect(asResponse).toContain(
      'counting both ends adds tick^2/12 each, a standard deviation of 0.041 ms, which is in the scatter',
    );
    const asPredictor = ask(counted, { response: 'outcomeDistance', terms: [[{ variable: 'contactTime' }]] });
    expect(warning(asPredictor, 'QUANTISED')).toMatch(/without it a slope on it would be \d\.\d+ times as steep/);
  });
});

describe('numbers', () => {
  it('that run out of digits say how many are left', () => {
    const next = seededUniform(8);
    const near = changed((row) => ({ ballSpeed: 1.5 * (row.variables.cueSpeed as number) + 2e-3 * next() }));
    const result = ask(near, { terms: [speed, [{ variable: 'ballSpeed' }]] });
    expect(warning(result, 'NUMERIC')).toMatch(/less than 1e-4 .* about (9|10) digits of the coefficients/);
    expect(warning(result, 'COLLINEAR')).toContain('variance inflation above 10');
  });
});

describe('variances between labs', () => {
  it('of a fit that leaves a millionth of the spread say that the search did not settle, and of ordinary shots do not', () => {
    const next = seededUniform(2);
    const exact = changed((row) => ({
      contactTime: 1e-3 + 1e-4 * (row.variables.cueSpeed as number) + 1e-10 * next(),
    }));
    const levels = { labs: 'randomIntercept' };
    const result = ask(exact, levels);
    expect(result.varianceComponents?.converged).toBe(false);
    expect(warning(result, 'NOT_CONVERGED')).toContain('do not quote more than three');
    // What is told all the same is right to the digits that may be quoted: errors even in -1e-10 to 1e-10.
    const residual = result.varianceComponents?.components[0]?.standardDeviation as number;
    expect(Math.abs(residual / (1e-10 / Math.sqrt(3)) - 1)).toBeLessThan(0.1);
    expect(ask(columns, levels).varianceComponents?.converged).toBe(true);
    expect(warning(ask(columns, levels), 'NOT_CONVERGED')).toBeUndefined();
  });

  it('of slopes that agree more closely than chance are not said to have an upper limit of 0', () => {
    // Every lab plays the same speeds and errs by the same pattern: slopes agree to rounding.
    const alike = changed(({ ordinal }) => ({
      cueSpeed: 2 + (ordinal % 8) / 4,
      contactTime: 1e-3 - 1e-4 * ((ordinal % 8) / 4) + 1e-5 * ((ordinal % 5) - 2),
    }));
    const result = ask(alike);
    expect(result.synthesis[0]?.tauInterval).toEqual({ lower: 0, upper: 0 });
    const text = 'agree more closely than their own errors lead one to expect';
    expect(warning(result, 'TAU_BOUNDARY')).toContain(`The Q profile gives no 95 % interval: the slopes ${text}`);
    expect(result.synthesis[0]?.sentence).toContain(`(no interval: they ${text})`);
    expect(ask(columns).synthesis[0]?.sentence).toMatch(
      /standard deviation of \S+ ms per m\/s \(95 % interval \S+ to \S+ ms per m\/s\)/,
    );
  });
});
