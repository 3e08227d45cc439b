/**
 * Random-intercept models by restricted maximum likelihood on public data sets. Printed values with their source beside
 * each; R's own values, from fixtures/make-fixtures.R, where they carry more digits than were printed.
 */
import { describe, expect, it } from 'vitest';
import { studentQuantile, studentTwoSided } from '../../src/statistics/distributions.ts';
import {
  labPredictions,
  type MixedModel,
  mixedContrast,
  mixedModel,
  varianceInterval,
} from '../../src/statistics/mixed-model.ts';
import { type Moments, momentsByGroup } from '../../src/statistics/moments.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import fixture from './fixtures/mixed-models.json' with { type: 'json' };

/** lme4's optimiser stops at about 1e-8 in variances. */
const optimiserTolerance = 2e-7;
const criterionTolerance = 1e-11;
const degreesTolerance = 1e-6;

type SetName = keyof typeof fixture.sets;

interface DataSet {
  readonly groups: Record<string, number[]>;
  readonly columns: Record<string, number[]>;
  readonly reference: {
    readonly criterion: number;
    readonly variances: Record<string, number>;
    readonly coefficients: number[];
    readonly standardErrors: number[];
    readonly kenwardRoger?: { readonly standardErrors: number[]; readonly degreesOfFreedom: number[] };
  };
}

function dataSet(name: SetName): DataSet {
  return fixture.sets[name] as unknown as DataSet;
}

/** Moments of the cells of each lab; columns keep a constant near their mean apart. */
function cellsOf({ groups, columns }: DataSet): { labs: Moments[][]; offsets: number[] } {
  const lab = groups.lab as number[];
  const session = groups.session ?? lab;
  const values = Object.values(columns);
  const offsets = values.map((column) => column[0] as number);
  const cells = [...new Set(session)];
  const order = [...lab.keys()].sort((a, b) => (session[a] as number) - (session[b] as number));
  const segments = cells
    .sort((a, b) => a - b)
    .map((cell, group) => ({
      group,
      from: order.findIndex((row) => session[row] === cell),
      to: order.findLastIndex((row) => session[row] === cell) + 1,
    }));
  const fill = (block: readonly Float64Array[], from: number, to: number) => {
    values.forEach((column, j) => {
      for (let at = from; at < to; at += 1) {
        (block[j] as Float64Array)[at - from] = (column[order[at] as number] as number) - (offsets[j] as number);
      }
    });
  };
  const moments = momentsByGroup(values.length, fill, segments, cells.length);
  const labs = [...new Set(lab)].map((name) =>
    cells.flatMap((cell, at) => (lab[session.indexOf(cell)] === name ? [moments[at] as Moments] : [])),
  );
  return { labs, offsets };
}

function fitted(name: SetName): { model: MixedModel; offsets: number[]; reference: DataSet['reference'] } {
  const set = dataSet(name);
  const { labs, offsets } = cellsOf(set);
  const model = mixedModel(labs, set.groups.session !== undefined);
  if (model === null) throw new Error('not fitted');
  expect(model.converged).toBe(true);
  return { model, offsets, reference: set.reference };
}

const variance = (model: MixedModel, name: string) =>
  model.variances.find((each) => each.name === name)?.variance ?? Number.NaN;

/** Estimate, standard error and degrees of freedom of the intercept and each slope, in raw columns. */
function coefficients({ model, offsets }: { model: MixedModel; offsets: number[] }) {
  const p = model.slopes.length;
  const centres = Float64Array.from({ length: p }, (_, j) => (model.means[j] as number) + (offsets[j] as number));
  const intercept = mixedContrast(model, { atMeans: 1, slopes: centres.map((value) => -value) });
  const level = (model.means[p] as number) + (offsets[p] as number);
  return [
    { ...intercept, estimate: intercept.estimate + level },
    ...Array.from({ length: p }, (_, j) =>
      mixedContrast(model, { atMeans: 0, slopes: Float64Array.from({ length: p }, (_, k) => (k === j ? 1 : 0)) }),
    ),
  ];
}

function agreesWithR(name: SetName): { model: MixedModel; offsets: number[] } {
  const { model, offsets, reference } = fitted(name);
  expectRelative(model.criterion, reference.criterion, criterionTolerance, 'REML criterion');
  coefficients({ model, offsets }).forEach((found, j) => {
    const error = reference.kenwardRoger?.standardErrors[j] ?? reference.standardErrors[j];
    expectRelative(found.estimate, reference.coefficients[j] as number, optimiserTolerance, `coefficient ${j}`);
    expectRelative(Math.sqrt(found.variance), error as number, optimiserTolerance, `standard error ${j}`);
    const degrees = reference.kenwardRoger?.degreesOfFreedom[j];
    if (degrees !== undefined) expectRelative(found.degreesOfFreedom, degrees, degreesTolerance, `degrees ${j}`);
  });
  return { model, offsets };
}

/** Printed to so many decimals. */
function printed(found: number, value: number, decimals: number): void {
  expect(Math.abs(found - value)).toBeLessThanOrEqual(0.5000001 * 10 ** -decimals);
}

describe('random intercepts by restricted maximum likelihood', () => {
  it('Dyestuff (Bates, lme4: Mixed-effects Modeling with R, ch. 1): criterion, variances, mean', () => {
    const { model, offsets } = agreesWithR('Dyestuff');
    printed(model.criterion, 319.6543, 4);
    printed(variance(model, 'lab'), 1764, 0);
    printed(variance(model, 'residual'), 2451, 0);
    const [mean] = coefficients({ model, offsets });
    printed(mean?.estimate as number, 1527.5, 2);
    printed(Math.sqrt(mean?.variance as number), 19.38, 2);
    // Balanced: (mean square between - mean square within) / 5, exactly.
    expectRelative(variance(model, 'lab'), 1764.05, 1e-13);
    expectRelative(variance(model, 'residual'), 2451.25, 1e-13);
  });

  it('Dyestuff2 (same source): the variance between batches is exactly 0', () => {
    const { model, offsets } = agreesWithR('Dyestuff2');
    printed(model.criterion, 161.8283, 4);
    expect(variance(model, 'lab')).toBe(0);
    printed(Math.sqrt(variance(model, 'residual')), 3.715684, 6);
    printed(coefficients({ model, offsets })[0]?.estimate as number, 5.6656, 4);
    expect(varianceInterval(model, 1, 0.95).lower).toBe(0);
  });

  it('sleepstudy (lme4 test suites and tutorials): criterion, standard deviations, coefficients, t; KR degrees 161', () => {
    const { model, offsets } = agreesWithR('sleepstudy');
    printed(model.criterion, 1786.465085, 6);
    printed(Math.sqrt(variance(model, 'lab')), 37.123827, 6);
    printed(Math.sqrt(variance(model, 'residual')), 30.991234, 6);
    const [intercept, days] = coefficients({ model, offsets });
    printed(intercept?.estimate as number, 251.4051, 4);
    printed(days?.estimate as number, 10.46729, 5);
    printed((intercept?.estimate as number) / Math.sqrt(intercept?.variance as number), 25.79383, 5);
    printed((days?.estimate as number) / Math.sqrt(days?.variance as number), 13.01543, 5);
    expectRelative(days?.degreesOfFreedom as number, 161, 1e-9);
  });

  it('Pastes, casks within batches (Bates, same book, ch. 2): three variances', () => {
    const { model, offsets } = agreesWithR('Pastes');
    printed(model.criterion, 246.9907, 4);
    printed(variance(model, 'session'), 8.434, 3);
    printed(variance(model, 'lab'), 1.657, 3);
    printed(variance(model, 'residual'), 0.678, 3);
    const [mean] = coefficients({ model, offsets });
    printed(mean?.estimate as number, 60.0533, 4);
    printed(Math.sqrt(mean?.variance as number), 0.6769, 4);
  });

  it('Rail (Pinheiro & Bates 2000, ch. 1): log likelihood, standard deviations, mean', () => {
    const { model, offsets } = agreesWithR('Rail');
    printed(model.criterion / -2, -61.0885, 4);
    printed(Math.sqrt(variance(model, 'lab')), 24.80547, 5);
    printed(Math.sqrt(variance(model, 'residual')), 4.020779, 6);
    printed(Math.sqrt(coefficients({ model, offsets })[0]?.variance as number), 10.17104, 5);
  });

  it('Orthodont (nlme; computed by lme4 only): criterion, variances, slope', () => {
    const { model } = agreesWithR('Orthodont');
    printed(model.criterion, 447.0025156, 7);
    printed(variance(model, 'lab'), 4.472056, 5);
  });

  it('beets (Halekoh & Hojsgaard 2014): harvest has F 15.21 on 1 and 2 degrees of freedom, p .0599', () => {
    const harvest = coefficients(agreesWithR('beets')).at(-1);
    const t = (harvest?.estimate as number) / Math.sqrt(harvest?.variance as number);
    printed(t * t, 15.21, 2);
    printed(harvest?.degreesOfFreedom as number, 2, 4);
    printed(studentTwoSided(t, harvest?.degreesOfFreedom as number), 0.0599, 4);
  });

  it('intervals of variances end where the profile criterion has risen by the chi-square quantile', () => {
    const { model } = fitted('Dyestuff');
    const { lower, upper } = varianceInterval(model, 1, 0.95);
    // Balanced one-way data: the profile over the residual variance s2 at tau2 = v is explicit.
    const [between, within] = [4 * 5 * (2451.25 / 5 + 1764.05), 24 * 2451.25];
    const criterion = (s2: number, v: number) =>
      24 * Math.log(s2) + within / s2 + 5 * Math.log(s2 + 5 * v) + (5 * (between / 4)) / (s2 + 5 * v);
    const profiled = (v: number) => {
      let [low, high] = [100, 100_000];
      for (let step = 0; step < 300; step += 1) {
        const [a, b] = [low + (high - low) / 3, high - (high - low) / 3];
        if (criterion(a, v) < criterion(b, v)) high = b;
        else low = a;
      }
      return criterion(low, v);
    };
    const rise = 3.841458820694124;
    expectRelative(profiled(lower) - profiled(1764.05), rise, 1e-7);
    expectRelative(profiled(upper as number) - profiled(1764.05), rise, 1e-7);
  });

  it('predictions of the lab levels shrink each batch mean by the share of its variance that is real', () => {
    const { model } = fitted('Dyestuff');
    const predicted = labPredictions(model);
    // Batch A has the mean 1505; shrink = n tau2 / (s2 + n tau2).
    const shrink = (5 * 1764.05) / (2451.25 + 5 * 1764.05);
    expectRelative(predicted[0] as number, (1505 - 1527.5) * shrink, 1e-12);
    expect(predicted.reduce((sum, value) => sum + value, 0)).toBeCloseTo(0, 9);
    expect(studentQuantile(0.975, 5)).toBeGreaterThan(2.5);
  });
});
