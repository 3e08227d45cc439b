/** What shots of a rig, cue or table err by in common, in the answer of a regression. */
import { describe, expect, it } from 'vitest';
import { type RegressionResult, regressionSpecificationSchema } from '../../shared/regression.ts';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import { type CommonPartName, commonPartNames, type ShotRow } from '../../src/pooling/columns.ts';
import { runRegression } from '../../src/pooling/run-regression.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { inventedShots, shuffled, uncertainties } from './invented-shots.ts';

const base = { specificationDigest: '', dataVersion: '', methodVersion: '1' };

type Parts = Partial<Record<CommonPartName, (row: ShotRow) => number>>;
const value = (row: ShotRow, name: keyof ShotRow['variables']) => row.variables[name] as number;

/** The shots with common parts, and uncertainties just large enough to hold them. */
function stating(rows: readonly ShotRow[], parts: Parts): ShotRow[] {
  return rows.map((row) => ({
    ...row,
    uncertainties: uncertainties({ cueSpeed: 0.3, cueAcceleration: 2, contactTime: 1e-4, tipOffset: 0.1 }),
    commonUncertainties: Object.fromEntries(
      commonPartNames.map((name) => [name, parts[name]?.(row) ?? null]),
    ) as Record<CommonPartName, number | null>,
  }));
}

function ask(rows: readonly ShotRow[], question: object = {}): RegressionResult {
  const specification = regressionSpecificationSchema.parse({
    response: 'contactTime',
    terms: [[{ variable: 'cueSpeed' }]],
    ...question,
  });
  return runRegression(assembleColumns(rows), specification, base);
}

const slope = (result: RegressionResult, term = 'cueSpeed') => {
  const found = result.coefficients.find((each) => each.term === term);
  if (found === undefined) throw new Error(term);
  return found;
};

const scaled = (share: number): Parts => ({ cueSpeedRig: (row) => share * value(row, 'cueSpeed') });

describe('a wrong scale of one rig', () => {
  it('makes a slope uncertain by the same share, however many shots there are', () => {
    for (const shots of [30, 3000]) {
      const found = slope(ask(stating(inventedShots(['east'], shots), scaled(0.03))));
      expectRelative(found.commonError, 0.03 * Math.abs(found.estimate), 1e-9);
      expectRelative(found.standardError, Math.hypot(found.statisticalError, found.commonError), 1e-12);
    }
    const many = slope(ask(stating(inventedShots(['east'], 3000), scaled(0.03))));
    expect(many.commonError).toBeGreaterThan(5 * many.statisticalError);
    expect(many.interval.upper - many.interval.lower).toBeGreaterThan(2 * 1.9 * many.commonError);
  });

  it('averages over rigs: two rigs of one lab, with half of the shots each, have seven tenths of it', () => {
    const rows = inventedShots(['east'], 2000).map((row) => ({ ...row, rig: row.ordinal % 2 === 0 ? 'a@1' : 'b@1' }));
    const found = slope(ask(stating(rows, scaled(0.03))));
    expectRelative(found.commonError, (0.03 * Math.abs(found.estimate)) / Math.SQRT2, 0.02);
    const arrived = slope(ask(shuffled(stating(rows, scaled(0.03)), 5)));
    expect(arrived).toEqual(found);
  });

  it('of speed and acceleration together is the same share of both slopes', () => {
    const rows = inventedShots(['east'], 200).map((row) => ({
      ...row,
      variables: { ...row.variables, contactTime: value(row, 'contactTime') + 1e-5 * value(row, 'cueAcceleration') },
    }));
    const result = ask(
      stating(rows, { ...scaled(0.02), cueAccelerationRig: (row) => 0.02 * Math.abs(value(row, 'cueAcceleration')) }),
      { terms: [[{ variable: 'cueSpeed' }], [{ variable: 'cueAcceleration' }]] },
    );
    for (const term of ['cueSpeed', 'cueAcceleration']) {
      const found = slope(result, term);
      expectRelative(found.commonError, 0.02 * Math.abs(found.estimate), 1e-6);
    }
  });

  it('of a clock goes into speed and contact time, in opposite directions', () => {
    const clock = { contactTimeRig: (row: ShotRow) => 0.01 * value(row, 'contactTime') };
    const rows = inventedShots(['east'], 200);
    const alone = slope(ask(stating(rows, clock)));
    expectRelative(alone.commonError, 0.01 * Math.abs(alone.estimate), 1e-6);
    const both = slope(ask(stating(rows, { ...clock, ...scaled(0.01) })));
    expectRelative(both.commonError, 0.02 * Math.abs(both.estimate), 1e-3);
    // A scale on top of the clock is another error.
    const more = slope(ask(stating(rows, { ...clock, ...scaled(0.05) })));
    expectRelative(
      more.commonError,
      Math.hypot(0.02, Math.sqrt(0.05 ** 2 - 0.01 ** 2)) * Math.abs(more.estimate),
      1e-3,
    );
  });
});

describe('what the shots of a cue share in tip offset', () => {
  it('matters to a slope as far as it goes with the offset, and to an intercept of all labs as a constant too', () => {
    const rows = inventedShots(['east', 'west'], 100).map((row) => ({
      ...row,
      variables: { ...row.variables, contactTime: value(row, 'contactTime') + 1e-4 * value(row, 'tipOffset') },
    }));
    const terms = [[{ variable: 'tipOffset' }]];
    const parts: Parts = { tipOffsetCue: (row) => 0.05 * Math.abs(value(row, 'tipOffset')) };
    const within = slope(ask(stating(rows, parts), { terms, standardErrors: 'classical' }), 'tipOffset');
    expectRelative(within.commonError, (0.05 * Math.abs(within.estimate)) / Math.SQRT2, 0.05);
    const ignored = ask(stating(rows, { tipOffsetCue: () => 0.02 }), {
      terms,
      labs: 'ignored',
      standardErrors: 'classical',
    });
    const moved = Math.abs(slope(ignored, 'tipOffset').estimate) * 0.02;
    expectRelative(slope(ignored, 'intercept').commonError, moved / Math.SQRT2, 0.2);
  });
});

describe('several labs, each with a wrong scale', () => {
  const rows = stating(inventedShots(['a', 'b', 'c', 'd'], 60), scaled(0.05));

  it('have it in every lab slope and in the mean of them, whose variance is that of the labs', () => {
    const result = ask(rows);
    for (const { coefficients } of result.labs) {
      const own = coefficients?.[0];
      expectRelative(own?.commonError as number, 0.05 * Math.abs(own?.estimate as number), 1e-9);
    }
    const mean = result.synthesis[0] as RegressionResult['synthesis'][number];
    expectRelative(mean.commonError, (0.05 * Math.abs(mean.estimate)) / 2, 0.05);
    expect(mean.standardError).toBeGreaterThanOrEqual(mean.commonError);
  });

  it('are as uncertain by half of it together, added to classical errors and to those of random levels and players', () => {
    for (const question of [{ standardErrors: 'classical' }, { clusterBy: 'player' }, { labs: 'randomIntercept' }]) {
      const found = slope(ask(rows, question));
      expectRelative(found.commonError, (0.05 * Math.abs(found.estimate)) / 2, 0.1);
      expectRelative(found.standardError, Math.hypot(found.statisticalError, found.commonError), 1e-12);
      expect(found.statisticalError).toBeGreaterThan(0);
    }
  });

  it('never have a standard error below it, also where labs seem to agree', () => {
    const found = slope(ask(rows));
    expect(found.standardError).toBeGreaterThanOrEqual(found.commonError);
    const none = slope(ask(rows.map((row) => ({ ...row, commonUncertainties: undefined as never }))));
    expect(none.commonError).toBe(0);
    expect(found.standardError).toBeGreaterThan(none.standardError);
  });

  it('has slopes corrected for measurement error carry it as well, and is no measurement error of single shots', () => {
    const small = stating(inventedShots(['a', 'b', 'c', 'd'], 60), scaled(0.05)).map((row) => ({
      ...row,
      uncertainties: uncertainties({ cueSpeed: Math.hypot(0.05 * value(row, 'cueSpeed'), 0.1) }),
    }));
    const term = ask(small, { measurementError: 'corrected', standardErrors: 'classical' }).measurementError?.terms[0];
    // Own error 0.1 against a spread of 1 / sqrt 3 in each lab.
    expect(Math.abs((term?.reliability as number) - (1 - 0.01 * 3))).toBeLessThan(0.006);
    expectRelative(
      term?.corrected?.commonError as number,
      (0.05 * Math.abs(term?.corrected?.estimate as number)) / 2,
      0.12,
    );
  });

  it('is told in a warning, with its share', () => {
    const text = ask(rows, { standardErrors: 'classical' }).warnings.find(({ code }) => code === 'COMMON_ERROR')?.text;
    expect(text).toMatch(/more than 25 %.*cueSpeed \d\d(\.\d)? %/);
    const clean = ask(stating(inventedShots(['a', 'b', 'c', 'd'], 60), scaled(1e-4)));
    expect(clean.warnings.map(({ code }) => code)).not.toContain('COMMON_ERROR');
  });
});
