import { describe, expect, it } from 'vitest';
import { fitTrack, interval95 } from '../../src/kinematics/fit-track.ts';
import type { TrackFit, TrackFitInput } from '../../src/kinematics/track-fit.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { normalDeviates, seededUniform, simulateTrack, strokeFamilies } from './simulated-strokes.ts';

function fitted(input: Partial<TrackFitInput> & Pick<TrackFitInput, 'times' | 'positions'>): TrackFit {
  const fit = fitTrack({ order: null, window: 0.04, firstContactUncertainty: 0, ...input });
  if (!fit.ok) throw new Error(fit.reason);
  return fit;
}

/** Points every `interval` s, the last one half an interval before contact. */
function timesBefore(points: number, interval: number): Float64Array {
  return Float64Array.from({ length: points }, (_, i) => (i - points + 0.5) * interval);
}

const cubic = (t: number) => t * (3 + t * (10 + t * 150));

function noisyCubic(points: number, interval: number, noise: number, seed: number) {
  const normal = normalDeviates(seededUniform(seed));
  const times = timesBefore(points, interval);
  return { times, positions: times.map((t) => cubic(t) + noise * normal()) };
}

describe('fitTrack', () => {
  it('finds speed, acceleration and jerk of a noiseless stroke exactly, with the simplest order that describes it', () => {
    const times = timesBefore(60, 1e-3);
    const straight = fitted({ times, positions: times.map((t) => 0.3 + t * (3 + 10 * t)) });
    expect(straight.order).toBe(2);
    expectRelative(straight.speed, 3, 1e-11);
    expectRelative(straight.acceleration ?? 0, 20, 1e-9);
    const bent = fitted({ times, positions: times.map(cubic) });
    expect(bent.order).toBe(3);
    expectRelative(bent.speed, 3, 1e-11);
    expectRelative(bent.acceleration ?? 0, 20, 1e-8);
    expectRelative(bent.jerk, 900, 1e-6);
  });

  it('uses the points of the window, and says how long it is', () => {
    const track = noisyCubic(200, 1e-3, 5e-5, 1);
    const fit = fitted(track);
    expect(fit.points).toBe(40);
    expectRelative(fit.window, 0.0395, 1e-12);
    // 50 points: the window and the quarter beyond it that shows how much the result depends on it.
    const cut = { times: track.times.slice(150), positions: track.positions.slice(150) };
    expect(fitted(cut)).toEqual(fit);
  });

  it('goes further back for 8 points when the window holds fewer', () => {
    const fit = fitted({ ...noisyCubic(30, 1e-2, 5e-5, 2), window: 0.04 });
    expect(fit.points).toBe(8);
    expectRelative(fit.window, 0.075, 1e-12);
  });

  it('says so when the track has fewer than 8 points before contact, or 9 for a fixed order 5', () => {
    const seven = noisyCubic(7, 1e-3, 5e-5, 3);
    const eight = noisyCubic(8, 1e-3, 5e-5, 3);
    const nothing = { order: null, window: 0.04, firstContactUncertainty: 0 } as const;
    expect(fitTrack({ ...seven, ...nothing })).toEqual({ ok: false, reason: 'tooFewPoints' });
    expect(fitTrack({ ...eight, ...nothing }).ok).toBe(true);
    expect(fitTrack({ ...eight, ...nothing, order: 5 })).toEqual({ ok: false, reason: 'tooFewPoints' });
    expect(fitTrack({ ...nothing, times: new Float64Array(0), positions: new Float64Array(0) }).ok).toBe(false);
  });

  it('leaves out points after contact', () => {
    const track = noisyCubic(60, 1e-3, 5e-5, 4);
    const times = Float64Array.from([...track.times, 0.5e-3, 1.5e-3]);
    const positions = Float64Array.from([...track.positions, 0.4, 0.4]);
    expect(fitted({ times, positions })).toEqual(fitted(track));
  });

  it('calls a cue motionless that rests, that only shows noise, or that moves away from the ball', () => {
    const times = timesBefore(60, 1e-3);
    const normal = normalDeviates(seededUniform(5));
    const nothing = { times, order: null, window: 0.04, firstContactUncertainty: 3e-4 } as const;
    for (const positions of [
      times.map(() => 0),
      times.map(() => 0.25),
      times.map(() => 0.25 + 5e-5 * normal()),
      times.map((t) => 0.25 - 2 * t + 5e-5 * normal()),
    ]) {
      expect(fitTrack({ ...nothing, positions })).toEqual({ ok: false, reason: 'motionless' });
    }
    // A slow cue that still covers 0.8 mm in the window is not.
    expect(fitTrack({ ...nothing, positions: times.map((t) => 0.02 * t + 5e-5 * normal()) }).ok).toBe(true);
  });

  it('has no acceleration at a fixed order 1', () => {
    const fit = fitted({ ...noisyCubic(60, 1e-3, 5e-5, 6), order: 1 });
    expect(fit.acceleration).toBeNull();
    expect(fit.accelerationUncertainty).toBeNull();
    expect(fit.accelerationInterval).toBeNull();
    expect(fit.covariance).toBeNull();
    expect(fit.candidates).toHaveLength(1);
    expect(fit.candidates[0]?.weight).toBe(1);
  });

  it('averages the candidate orders by their Akaike weights', () => {
    const fit = fitted(noisyCubic(60, 1e-3, 5e-5, 7));
    expect(fit.candidates.map((candidate) => candidate.order)).toEqual([2, 3, 4]);
    let weight = 0;
    let speed = 0;
    let acceleration = 0;
    for (const candidate of fit.candidates) {
      weight += candidate.weight;
      speed += candidate.weight * candidate.cueSpeed;
      acceleration += candidate.weight * (candidate.cueAcceleration ?? Number.NaN);
    }
    expectRelative(weight, 1, 1e-14);
    expectRelative(fit.speed, speed, 1e-14);
    expectRelative(fit.acceleration ?? 0, acceleration, 1e-14);
    const best = fit.candidates.reduce((a, b) => (b.aicc < a.aicc ? b : a));
    expect(fit.order).toBe(best.order);
  });

  it('adds what an uncertain instant of contact does to speed and acceleration, and to their covariance', () => {
    const track = noisyCubic(60, 1e-3, 5e-5, 8);
    const u = 1e-3 / Math.sqrt(12);
    const sharp = fitted({ ...track, order: 3 });
    const blurred = fitted({ ...track, order: 3, firstContactUncertainty: u });
    const a = sharp.acceleration ?? Number.NaN;
    expectRelative(blurred.speedUncertainty ** 2, sharp.speedUncertainty ** 2 + (a * u) ** 2, 1e-12);
    expectRelative(
      (blurred.accelerationUncertainty ?? 0) ** 2,
      (sharp.accelerationUncertainty ?? 0) ** 2 + (sharp.jerk * u) ** 2,
      1e-12,
    );
    expectRelative(blurred.covariance ?? 0, (sharp.covariance ?? 0) + a * sharp.jerk * u * u, 1e-12);
    expectRelative(blurred.speedInterval.rectangular, (Math.abs(a) * 1e-3) / 2, 1e-12);
  });

  it('errs in speed and acceleration together: correlation near 0.97 at order 2 and 3', () => {
    for (const order of [2, 3]) {
      const fit = fitted({ ...noisyCubic(400, 1e-4, 5e-5, 9), order });
      const correlation = (fit.covariance ?? 0) / (fit.speedUncertainty * (fit.accelerationUncertainty ?? 0));
      expect(Math.abs(correlation - 0.968)).toBeLessThan(0.005);
    }
  });

  it('takes out tracker jumps, names them, and gives the fit without them', () => {
    const track = noisyCubic(80, 5e-4, 5e-5, 10);
    const spoilt = { times: track.times, positions: Float64Array.from(track.positions) };
    const jumps = [12, 40, 71];
    for (const index of jumps) spoilt.positions[index] = (spoilt.positions[index] ?? 0) + 2e-3;
    const fit = fitted(spoilt);
    expect(fit.outlyingIndices).toEqual(jumps);
    expect(fit.points).toBe(77);
    const keep = (_: number, i: number) => !jumps.includes(i);
    const clean = fitted({ times: track.times.filter(keep), positions: track.positions.filter(keep) });
    expect(fit.speed).toBe(clean.speed);
    expect(fit.acceleration).toBe(clean.acceleration);
  });

  it('takes out a tenth of the points at most', () => {
    const track = noisyCubic(40, 1e-3, 5e-5, 11);
    const sizes = [1e-3, 1.8e-3, 3.2e-3, 5.8e-3, 10.5e-3, 19e-3, 34e-3];
    sizes.forEach((size, k) => {
      const index = 2 + 5 * k;
      track.positions[index] = (track.positions[index] ?? 0) + (k % 2 === 0 ? size : -size);
    });
    expect(fitted(track).outlyingIndices).toEqual([17, 22, 27, 32]);
  });

  it('calls a resting cue motionless though the tracker jumped once', () => {
    const times = timesBefore(60, 1e-3);
    const normal = normalDeviates(seededUniform(15));
    const positions = times.map((_, i) => 0.25 + 5e-5 * normal() + (i === 40 ? 5e-3 : 0));
    const fit = fitTrack({ times, positions, order: null, window: 0.04, firstContactUncertainty: 0 });
    expect(fit).toEqual({ ok: false, reason: 'motionless' });
  });

  it('seldom finds outlying points in white noise', () => {
    let tracks = 0;
    for (let seed = 0; seed < 1000; seed += 1) {
      tracks += Number(fitted(noisyCubic(60, 7e-4, 5e-5, seed)).outlyingIndices.length > 0);
    }
    expect(tracks).toBeLessThan(25);
  });

  it('widens the uncertainty for serially correlated residuals and never narrows it', () => {
    const normal = normalDeviates(seededUniform(12));
    const times = timesBefore(200, 2e-4);
    let error = 0;
    const correlated = times.map((t) => {
      error = 0.7 * error + 5e-5 * normal();
      return cubic(t) + error;
    });
    const fit = fitted({ times, positions: correlated, order: 3 });
    expect(fit.seriallyCorrelated).toBe(true);
    expect(fit.lagOneCorrelation).toBeGreaterThan(0.5);
    expect(fit.durbinWatson).toBeLessThan(1);
    // The noise has 0.7; the residuals show less, because the fit has taken its share.
    expect(fit.autoregression).toBeGreaterThan(fit.lagOneCorrelation);
    expect(Math.abs(fit.autoregression - 0.7)).toBeLessThan(0.12);
    const kappa = (1 + fit.autoregression) / (1 - fit.autoregression);
    expectRelative(fit.uncertaintyInflation, Math.sqrt((kappa * 196) / (200 - 4 * kappa)), 1e-14);
    const alternating = times.map((t, i) => cubic(t) + (i % 2 === 0 ? 5e-5 : -5e-5));
    expect(fitted({ times, positions: alternating, order: 3 }).lagOneCorrelation).toBeLessThan(-0.9);
    expect(fitted({ times, positions: alternating, order: 3 }).uncertaintyInflation).toBe(1);
  });

  it('gives the same bits for the same track', () => {
    const track = noisyCubic(400, 1e-4, 5e-5, 13);
    expect(fitted(track)).toEqual(fitted({ times: track.times.slice(), positions: track.positions.slice() }));
  });

  it('refuses times that do not increase and orders outside 1 to 5', () => {
    const track = noisyCubic(40, 1e-3, 5e-5, 14);
    expect(() => fitted({ ...track, order: 6 })).toThrow(RangeError);
    expect(() => fitted({ ...track, order: 2.5 })).toThrow(RangeError);
    track.times[20] = track.times[19] as number;
    expect(() => fitted(track)).toThrow('times must increase');
  });
});

/** Root mean square without the largest twentieth, which chance has inflated. */
function trimmedSize(values: number[]): number {
  const kept = values.sort((a, b) => a - b).slice(0, Math.floor(0.95 * values.length));
  return Math.sqrt(kept.reduce((sum, value) => sum + value * value, 0) / kept.length);
}

describe('the 95 % intervals of fitTrack', () => {
  const tracks = 1500;

  it.each(
    strokeFamilies.flatMap((family) => [
      { family, captureRate: 1000, noise: 5e-5 },
      { family, captureRate: 4000, noise: 5e-5 },
    ]),
  )('hold the true speed and acceleration: $family, $captureRate frames/s', ({ family, captureRate, noise }) => {
    const uniform = seededUniform(20_262);
    let speeds = 0;
    let accelerations = 0;
    const squares = { speed: 0, acceleration: 0 };
    const speedUncertainties: number[] = [];
    const accelerationUncertainties: number[] = [];
    for (let n = 0; n < tracks; n += 1) {
      const track = simulateTrack(family, captureRate, noise, 0.04, uniform);
      const fit = fitted(track);
      if (fit.acceleration === null || fit.accelerationInterval === null) throw new Error('no acceleration');
      const speed = interval95(fit.speed, fit.speedInterval);
      const acceleration = interval95(fit.acceleration, fit.accelerationInterval);
      speeds += Number(speed.lower <= track.speed && track.speed <= speed.upper);
      accelerations += Number(acceleration.lower <= track.acceleration && track.acceleration <= acceleration.upper);
      squares.speed += (fit.speed - track.speed) ** 2;
      speedUncertainties.push(fit.speedUncertainty);
      accelerationUncertainties.push(fit.accelerationUncertainty ?? Number.NaN);
      squares.acceleration += (fit.acceleration - track.acceleration) ** 2;
    }
    for (const share of [speeds / tracks, accelerations / tracks]) {
      expect(share).toBeGreaterThan(0.93);
      expect(share).toBeLessThan(0.97);
    }
    // The standard uncertainty of a typical track is the size of the error of the averaged value.
    expectRelative(trimmedSize(speedUncertainties) / Math.sqrt(squares.speed / tracks), 1, 0.2);
    expectRelative(trimmedSize(accelerationUncertainties) / Math.sqrt(squares.acceleration / tracks), 1, 0.2);
  });

  it('hold the truth at a fixed order that is high enough, with few points', () => {
    const uniform = seededUniform(20_263);
    let speeds = 0;
    let accelerations = 0;
    for (let n = 0; n < tracks; n += 1) {
      const track = simulateTrack('constantJerk', 300, 5e-5, 0.04, uniform);
      const fit = fitted({ ...track, order: 3 });
      if (fit.acceleration === null || fit.accelerationInterval === null) throw new Error('no acceleration');
      const speed = interval95(fit.speed, fit.speedInterval);
      const acceleration = interval95(fit.acceleration, fit.accelerationInterval);
      speeds += Number(speed.lower <= track.speed && track.speed <= speed.upper);
      accelerations += Number(acceleration.lower <= track.acceleration && track.acceleration <= acceleration.upper);
    }
    for (const share of [speeds / tracks, accelerations / tracks]) {
      expect(share).toBeGreaterThan(0.93);
      expect(share).toBeLessThan(0.97);
    }
  });
});
