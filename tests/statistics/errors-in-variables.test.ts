import { describe, expect, it } from 'vitest';
import { errorsInVariables } from '../../src/statistics/errors-in-variables.ts';
import { leastSquares } from '../../src/statistics/least-squares.ts';
import { momentsByGroup } from '../../src/statistics/moments.ts';
import { seededUniform } from '../pooling/invented-shots.ts';

/** About normal: the sum of twelve uniforms on [-1, 1), halved. */
function normals(seed: number): () => number {
  const next = seededUniform(seed);
  return () => {
    let sum = 0;
    for (let k = 0; k < 12; k += 1) sum += next();
    return sum / 2;
  };
}

/** True slopes of speed and acceleration, and errors of the two that correlate at 0.968. */
const slopes = [2, 0.5];
const errorOf = { speed: 0.5, acceleration: 0.6, correlation: 0.968 };

function simulate(seed: number, labs: number, shots: number) {
  const next = normals(seed);
  const rows = Array.from({ length: labs * shots }, (_, row) => {
    const lab = Math.floor(row / shots);
    const [speed, acceleration] = [next(), next()];
    const shared = next();
    const own = next();
    const errors = [
      errorOf.speed * shared,
      errorOf.acceleration *
        (errorOf.correlation * shared + Math.sqrt(1 - errorOf.correlation * errorOf.correlation) * own),
    ];
    const response = lab + (slopes[0] as number) * speed + (slopes[1] as number) * acceleration + 0.5 * next();
    return [speed + (errors[0] as number), acceleration + (errors[1] as number), response];
  });
  const groups = momentsByGroup(
    3,
    (block, from, to) => {
      for (let at = from; at < to; at += 1) {
        for (let j = 0; j < 3; j += 1) (block[j] as Float64Array)[at - from] = (rows[at] as number[])[j] as number;
      }
    },
    Array.from({ length: labs }, (_, group) => ({ group, from: group * shots, to: (group + 1) * shots })),
    labs,
  );
  const outcome = leastSquares(groups, 'within');
  if (!outcome.ok) throw new Error(outcome.reason);
  return { groups, fit: outcome.fit };
}

function covariances(correlation: number): Float64Array {
  const shared = correlation * errorOf.speed * errorOf.acceleration;
  const [first, second] = [errorOf.speed * errorOf.speed, errorOf.acceleration * errorOf.acceleration];
  return Float64Array.of(first, shared, 0, shared, second, 0, 0, 0, 0);
}

describe('slopes corrected for errors that speed and acceleration share', () => {
  it('are the true ones on average, where the naive slopes and those that take the errors as separate are not', () => {
    const runs = 60;
    const sums = { naive: [0, 0], separate: [0, 0], full: [0, 0] };
    for (let run = 0; run < runs; run += 1) {
      const { groups, fit } = simulate(run + 1, 10, 200);
      const corrected = (correlation: number) => {
        const found = errorsInVariables(
          fit,
          groups,
          groups.map(() => covariances(correlation)),
        );
        if (!found.ok) throw new Error('not corrected');
        return found.fit.slopes;
      };
      const [separate, full] = [corrected(0), corrected(errorOf.correlation)];
      for (let j = 0; j < 2; j += 1) {
        sums.naive[j] = (sums.naive[j] as number) + (fit.slopes[j] as number) / runs;
        sums.separate[j] = (sums.separate[j] as number) + (separate[j] as number) / runs;
        sums.full[j] = (sums.full[j] as number) + (full[j] as number) / runs;
      }
    }
    slopes.forEach((slope, j) => {
      // The standard deviation of a corrected slope over the runs is about 0.02.
      expect(Math.abs((sums.full[j] as number) - slope)).toBeLessThan(0.015);
      expect(Math.abs((sums.naive[j] as number) - slope)).toBeGreaterThan(0.05);
      expect(Math.abs((sums.separate[j] as number) - slope)).toBeGreaterThan(0.03);
    });
  });

  it('have standard errors by lab and without labs that cover the truth at about the nominal rate', () => {
    const runs = 300;
    const inside = { clustered: 0, classical: 0 };
    for (let run = 0; run < runs; run += 1) {
      const { groups, fit } = simulate(1000 + run, 10, 60);
      const found = errorsInVariables(
        fit,
        groups,
        groups.map(() => covariances(errorOf.correlation)),
      );
      if (!found.ok || found.fit.clustered === null) throw new Error('not corrected');
      const away = Math.abs((found.fit.slopes[0] as number) - (slopes[0] as number));
      // t with 9 degrees of freedom, and the normal.
      if (away < 2.262 * Math.sqrt(found.fit.clustered[0] as number)) inside.clustered += 1;
      if (away < 1.96 * Math.sqrt(found.fit.classical[0] as number)) inside.classical += 1;
    }
    expect(inside.clustered / runs).toBeGreaterThan(0.91);
    expect(inside.clustered / runs).toBeLessThan(0.985);
    expect(inside.classical / runs).toBeGreaterThan(0.91);
    expect(inside.classical / runs).toBeLessThan(0.985);
  });

  it('are not given where a combination of the predictors is nothing but error', () => {
    const { groups, fit } = simulate(5, 4, 50);
    const found = errorsInVariables(
      fit,
      groups,
      groups.map(() => covariances(0.968).map((value) => value * 8)),
    );
    expect(found.ok).toBe(false);
    expect(found.ok ? 1 : found.worstReliability).toBeLessThanOrEqual(0);
  });
});
