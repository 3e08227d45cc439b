import { describe, expect, it } from 'vitest';
import { fitTrack } from '../../src/kinematics/fit-track.ts';
import { serialCorrelation } from '../../src/kinematics/serial-correlation.ts';
import type { TrackFit, TrackFitInput } from '../../src/kinematics/track-fit.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { normalDeviates, seededUniform } from './simulated-strokes.ts';

function fitted(input: Partial<TrackFitInput> & Pick<TrackFitInput, 'times' | 'positions'>): TrackFit {
  const fit = fitTrack({ order: null, window: 0.04, firstContactUncertainty: 0, ...input });
  if (!fit.ok) throw new Error(fit.reason);
  return fit;
}

/** A stroke of 3 m/s, 20 m/s2 and the given jerk, with 0.05 mm of noise. */
function stroke(points: number, interval: number, seed: number, jerk = 900, noise = 5e-5) {
  const normal = normalDeviates(seededUniform(seed));
  const times = Float64Array.from({ length: points }, (_, i) => (i - points + 0.5) * interval);
  return { times, positions: times.map((t) => t * (3 + t * (10 + (t * jerk) / 6)) + noise * normal()) };
}

describe('the diagnosis of a track fit', () => {
  // The worked example: x = 0.1 + 2.8 t + 12.5 t^2 + (800/6) t^3 + 5e-5 sin(7 i^2), 41 points at 1000/s.
  it('tabulates orders 1 to 5 with AICc, nested F and leave-one-out errors', () => {
    const times = Float64Array.from({ length: 41 }, (_, i) => (i - 40) / 1000);
    const positions = times.map((t, i) => 0.1 + t * (2.8 + t * (12.5 + t * (800 / 6))) + 5e-5 * Math.sin(7 * i * i));
    const { orders } = fitted({ times, positions });
    expect(orders.map(({ order }) => order)).toEqual([1, 2, 3, 4, 5]);
    const expected = [
      { speed: 2.49292, aicc: -604.171, press: 1.58582e-5 },
      { speed: 2.67014, aicc: -699.088, press: 1.63665e-6, f: 370.582 },
      { speed: 2.79721, aicc: -827.56, press: 6.28854e-8, f: 867.962 },
      { speed: 2.80653, aicc: -826.417, press: 6.28894e-8, f: 1.44483 },
      { speed: 2.80953, aicc: -823.563, press: 6.58876e-8, f: 0.0589108 },
    ];
    expected.forEach(({ speed, aicc, press, f }, k) => {
      const row = orders[k];
      expectRelative(row?.speed ?? 0, speed, 5e-6, 'speed');
      expectRelative(row?.aicc ?? 0, aicc, 5e-6, 'AICc');
      expectRelative(row?.press ?? 0, press, 5e-6, 'PRESS');
      if (f !== undefined) expectRelative(row?.fStatistic ?? 0, f, 5e-6, 'F');
    });
  });

  it('leaves AICc open where there are too few points for it', () => {
    const { orders } = fitted(stroke(8, 5e-3, 1));
    expect(orders.map(({ aicc }) => aicc === null)).toEqual([false, false, false, false, true]);
  });

  it('names the window that would resolve an acceleration, and that window does', () => {
    const track = stroke(2000, 1e-4, 2, 0);
    const short = fitted({ ...track, order: 2, window: 0.004 });
    const needed = short.resolvingWindow ?? 0;
    expect(Math.abs(short.acceleration ?? 0)).toBeLessThan(2 * (short.accelerationUncertainty ?? 0));
    expect(needed).toBeGreaterThan(0.004);
    const long = fitted({ ...track, order: 2, window: 0.04 });
    expect(long.resolvingWindow).toBeNull();
    // u falls as T^(-5/2).
    expectRelative((long.accelerationUncertainty ?? 0) / (short.accelerationUncertainty ?? 1), 10 ** -2.5, 0.3);
  });

  it('shows orders 2 to 4 at three windows, as far as the track reaches', () => {
    const track = stroke(400, 2.5e-4, 3);
    const { sensitivity, window } = fitted(track);
    expect(sensitivity.map(({ order }) => order)).toEqual([2, 3, 4, 2, 3, 4, 2, 3, 4]);
    expectRelative((sensitivity[0]?.window ?? 0) / window, 0.75, 0.01);
    expectRelative((sensitivity[8]?.window ?? 0) / window, 1.25, 0.01);
    expect(fitted({ times: track.times.slice(240), positions: track.positions.slice(240) }).sensitivity).toHaveLength(
      6,
    );
  });

  it('counts a change with window or order whole when noise does not explain it, and not at all when it does', () => {
    const fits = fitted({ ...stroke(400, 2.5e-4, 4), order: 3 });
    expect(fits.model).toEqual({ exceedsNoise: false, speedUncertainty: 0, accelerationUncertainty: 0 });
    const bent = stroke(400, 2.5e-4, 4, 4000);
    const tooLow = fitted({ ...bent, order: 2 });
    expect(tooLow.model.exceedsNoise).toBe(true);
    // Order 2 is off by j T^2 / 10 in speed; the uncertainty holds that now.
    expect(Math.abs(tooLow.speed - 3)).toBeGreaterThan(0.3);
    expect(tooLow.speedUncertainty).toBeGreaterThan(0.8 * Math.abs(tooLow.speed - 3));
    expect(tooLow.accelerationUncertainty).toBeGreaterThan(0.5 * Math.abs((tooLow.acceleration ?? 0) - 20));
  });

  it('finds tracker jumps that hide one another, and only reports them when asked to', () => {
    const track = stroke(100, 4e-4, 5);
    const jumps = [30, 31, 32, 33, 34, 60, 61, 62];
    for (const index of jumps) track.positions[index] = (track.positions[index] ?? 0) + (index < 50 ? 1.2e-3 : -1e-3);
    const left = fitted(track);
    expect(left.outlyingIndices).toEqual(jumps);
    expect(left.points).toBe(100 - jumps.length);
    const reported = fitted({ ...track, outlyingPoints: 'report' });
    expect(reported.outlyingIndices).toEqual(jumps);
    expect(reported.points).toBe(100);
    expect(reported.residualStandardDeviation).toBeGreaterThan(3 * left.residualStandardDeviation);
  });

  it('widens by the normal error of a contact extrapolated from the gap', () => {
    const track = stroke(200, 2.5e-4, 6);
    const u = 1e-4;
    const normal = fitted({ ...track, order: 3, firstContactUncertainty: u, firstContactShape: 'normal' });
    const sharp = fitted({ ...track, order: 3 });
    expect(normal.speedInterval.rectangular).toBe(0);
    expectRelative(
      normal.speedInterval.normal ** 2,
      sharp.speedInterval.normal ** 2 + ((sharp.acceleration ?? 0) * u) ** 2,
      1e-12,
    );
  });
});

describe('serialCorrelation', () => {
  it('is 2 (1 - r) for Durbin and Watson, up to the ends', () => {
    const normal = normalDeviates(seededUniform(7));
    const residuals = Float64Array.from({ length: 500 }, normal);
    const { lagOne, durbinWatson } = serialCorrelation(residuals, 3);
    expect(Math.abs(durbinWatson - 2 * (1 - lagOne))).toBeLessThan(0.02);
  });

  it('has nothing to say about an exact fit', () => {
    expect(serialCorrelation(new Float64Array(10), 3)).toMatchObject({ lagOne: 0, durbinWatson: 2, inflation: 1 });
  });

  it('keeps a quarter of the points as degrees of freedom however strong the correlation', () => {
    const residuals = Float64Array.from({ length: 40 }, (_, i) => Math.sin(i / 8));
    const { inflation, degreesOfFreedom } = serialCorrelation(residuals, 5);
    // kappa at most 6 = 0.75 * 40 / 5.
    expectRelative(inflation, Math.sqrt((6 * 35) / 10), 1e-12);
    expect(degreesOfFreedom).toBeGreaterThanOrEqual(1.5);
  });
});
