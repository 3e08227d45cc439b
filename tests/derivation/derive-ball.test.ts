import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ballResults, derivedShotSchema } from '../../shared/derivation.ts';
import type { ShotInput } from '../../shared/shot.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { explainDerivation } from '../../src/derivation/explain/explain-derivation.ts';
import { type BallTruth, simulateBallTrack } from '../kinematics/simulated-ball-tracks.ts';
import { exampleGear, exampleShot } from './example-shot.ts';

const rate = 120;
const truth: BallTruth = {
  slidingFriction: 0.2,
  rollingFriction: 0.01,
  speed: 3.1,
  spin: -3.1,
  distance: 0.8,
  restitution: 0.95,
};
const simulated = simulateBallTrack(truth, rate, 3e-4, 11);
const firstFrame = 40;

/** In mm, on a camera of its own with frames from 40. */
function ballTrack(changes: Partial<NonNullable<ShotInput['ballTrack']>> = {}): NonNullable<ShotInput['ballTrack']> {
  return {
    unit: 'mm',
    firstFrame,
    positions: Array.from(simulated.positions, (place) => Math.round(place * 1e5) / 100),
    captureRate: { value: rate, unit: 'Hz' },
    ...changes,
  };
}

function derived(changes: Partial<ShotInput> = {}, table: Record<string, unknown> = {}) {
  const result = deriveShot(exampleShot({ ballTrack: ballTrack(), ...changes }), exampleGear({}, {}, table)).derived;
  expect(derivedShotSchema.safeParse(result).error).toBeUndefined();
  return result;
}

const calibration = {
  method: 'ballTracks',
  slidingFriction: { value: 0.2, standardUncertainty: 0.005 },
  rollingResistance: { value: 0.01, standardUncertainty: 0.0003, definition: 'deceleration' },
  ballRestitution: { value: 0.95, standardUncertainty: 0.005 },
  ballFriction: { value: 0.06, standardUncertainty: 0.005 },
} as const;

describe('a shot with a ball track', () => {
  it('takes outcome distance and ball speed from the track, with the scale of its camera in the budget', () => {
    const { ball, outcomeDistance, ballSpeed, ended, budget } = derived();
    if (ball?.read !== true) throw new Error('not read');
    expect(outcomeDistance?.value).toBeCloseTo(simulated.outcomeDistance, 2);
    expect(outcomeDistance).toMatchObject({ value: ball.outcomeDistance?.value });
    expect(ballSpeed).toBe(ball.ballSpeed?.value);
    expect(ballSpeed).toBeCloseTo(3.1, 1);
    expect(ended).toBe('atRest');
    expect(ball.slidingFriction?.value).toBeCloseTo(0.2, 1);
    expect(ball.rollingResistance?.value).toBeCloseTo(0.01, 3);
    expect(budget.filter(({ result }) => result === 'outcomeDistance').map(({ input, kind }) => [input, kind])).toEqual(
      [
        ['ball track', 'A'],
        ['scale of the ball track', 'B'],
      ],
    );
    const parts = outcomeDistance?.parts;
    expect(parts?.rig).toBeCloseTo(0.005 * Math.abs(outcomeDistance?.value ?? 0), 12);
  });

  it('states a budget of every result of the track, which adds up, and tells it step by step', () => {
    const result = derived({}, { calibration });
    const { ball, budget } = result;
    if (ball?.read !== true) throw new Error('not read');
    for (const name of ballResults) {
      // An instant on the clock of the camera: of this shot alone, with a line from the next version on.
      if (name === 'impactTime') continue;
      const estimate = name === 'turningPoint' ? (ball.turningPoint?.distance ?? null) : ball[name];
      const lines = budget.filter((line) => line.result === name);
      expect(lines.length > 0, name).toBe(estimate !== null);
      if (estimate === null) continue;
      const variance = lines.reduce((sum, { contribution }) => sum + contribution * contribution, 0);
      expect(Math.sqrt(variance) / estimate.standardUncertainty, name).toBeCloseTo(1, 9);
      expect(estimate.parts?.rig, name).toBeGreaterThan(0);
      expect(lines.map(({ group }) => group)).toContain('rig north@1');
    }
    const shot = exampleShot({ ballTrack: ballTrack() });
    const { steps } = explainDerivation(shot, exampleGear({}, {}, { calibration }), result);
    const numbersOf = (section: string) => steps.find(({ methods }) => methods.endsWith(`#${section}`))?.numbers ?? [];
    const speed = numbersOf('ball-track').find(({ name }) => name === 'ball speed off the tip');
    expect(speed?.value).toBe(ball.ballSpeed?.value);
    expect(numbersOf('expected-outcome').map(({ name }) => name)).toContain('constant restitution: outcome distance');
  });

  it('compares the outcome distance and ball speed of the lab with those of the track', () => {
    const away = derived({
      outcome: { distance: { value: -0.4, unit: 'm' }, ended: 'atRest' },
      ballSpeed: { value: 3.1, unit: 'm/s' },
    });
    expect(away.compared.map(({ quantity }) => quantity)).toEqual(['ballSpeed', 'outcomeDistance']);
    expect(away.flags).toContain('reportedDiffers');
    const near = derived({ outcome: { distance: { value: simulated.outcomeDistance, unit: 'm' }, ended: 'atRest' } });
    expect(near.flags).not.toContain('reportedDiffers');
  });

  it('reads pixels with the scale of the ball camera and times on its clock', () => {
    const pixels = derived({
      ballTrack: ballTrack({
        unit: 'px',
        positions: Array.from(simulated.positions, (place) => place / 0.0025),
        scale: { value: 2.5, unit: 'mm/px' },
      }),
    });
    expect(pixels.outcomeDistance?.value).toBeCloseTo(simulated.outcomeDistance, 2);
    const unscaled = derived({ ballTrack: ballTrack({ unit: 'px' }) });
    expect(unscaled.ball).toEqual({ read: false, reason: 'scaleMissing' });
    expect(unscaled.outcomeDistance?.value).toBe(-0.55);
  });

  it('keeps an outcome a bound when a rail was touched or the ball was stopped, whatever lies still on film', () => {
    const stopped = derived({ outcome: { distance: { value: -0.7, unit: 'm' }, ended: 'stoppedByHand' } });
    expect([stopped.outcomeDistance, stopped.outcomeBound, stopped.ended]).toEqual([null, -0.7, 'stoppedByHand']);
    const railed = derived({
      outcome: {
        distance: { value: -0.5, unit: 'm' },
        ended: 'atRest',
        firstCushionDistance: { value: -0.3, unit: 'm' },
      },
    });
    expect([railed.outcomeDistance, railed.ended]).toEqual([null, 'cushion']);
    expect(railed.outcomeBound).toBeCloseTo(-0.3, 1);
    expect(railed.flags).toContain('outcomeCensored');
    expect(railed.reasons).toMatchObject({ outcomeDistance: 'censored' });
  });

  it('a film without a lab value that ends before rest gives a bound', () => {
    const { outcome: _, ...bare } = exampleShot();
    const cut = simulated.times.findIndex((time) => time > simulated.impactTime + 1);
    const shot = {
      ...bare,
      ballTrack: exampleShot({
        ballTrack: ballTrack({ positions: Array.from(simulated.positions.slice(0, cut), (place) => place * 1000) }),
      }).ballTrack,
    };
    const result = deriveShot(shot as ReturnType<typeof exampleShot>, exampleGear()).derived;
    expect([result.outcomeDistance, result.ended]).toEqual([null, 'outOfView']);
    expect(result.outcomeBound).toBeLessThan(-0.1);
  });
});

describe('the expected outcome', () => {
  it('is not judged where the table is not calibrated', () => {
    const { expected } = derived();
    expect(expected).toMatchObject({ judged: false, reason: 'noCalibration', models: [] });
  });

  it('is given by each model by name, with residual, class probabilities and inputs that add up', () => {
    const { expected, outcomeDistance } = derived({}, { calibration });
    expect(expected.models.map(({ model }) => model)).toEqual([
      'measuredBallSpeed',
      'constantRestitution',
      'constantEnergyFraction',
    ]);
    for (const { inputs, outcomeDistance: found, probability, residual } of expected.models) {
      const sum = inputs.reduce((total, { contribution }) => total + contribution * contribution, 0);
      expect(Math.sqrt(sum)).toBeCloseTo(found.standardUncertainty, 12);
      expect(probability.draw + probability.stop + probability.follow).toBeCloseTo(1, 12);
      expect(residual?.value).toBeCloseTo((outcomeDistance?.value ?? 0) - found.value, 12);
      expect(residual?.standardised).toBeCloseTo((residual?.value ?? 0) / (residual?.standardUncertainty ?? 1), 12);
    }
    expect(expected.observedClass).toBe('draw');
    expect(expected.stopBand).toBeCloseTo(0.028575, 12);
  });

  it('names what is missing, and is not judged on shots that are not straight', () => {
    const without = derived({ objectBallDistance: undefined } as Partial<ShotInput>, { calibration });
    expect(without.expected).toMatchObject({ reason: 'inputMissing', missing: ['objectBallDistance'] });
    expect(derived({ straight: false }, { calibration }).expected.reason).toBe('notStraight');
    const far = derived({ objectBallDistance: { value: 60, unit: 'm' } }, { calibration });
    expect(far.expected.reason).toBe('doesNotReach');
  });

  it('takes the energy definition of rolling resistance as 7/5 of the other', () => {
    const energy = {
      ...calibration,
      rollingResistance: { value: 0.014, standardUncertainty: 0.00042, definition: 'energy' },
    };
    const [one] = derived({}, { calibration }).expected.models;
    const [two] = derived({}, { calibration: energy }).expected.models;
    expect(two?.outcomeDistance.value).toBeCloseTo(one?.outcomeDistance.value ?? 0, 10);
  });

  it('uses the stop band that the lab declared', () => {
    const wide = derived({}, { calibration, stopBand: { value: 300, unit: 'mm' } }).expected;
    expect(wide.stopBand).toBeCloseTo(0.3, 12);
  });

  it('gives restitution and effective cue mass from a measured ball speed', () => {
    const { expected, cueSpeed, tipOffset, ballSpeed, cueMass } = derived();
    const k = 1 + 2.5 * (tipOffset?.value ?? 0) ** 2;
    const [speed, v, mass] = [cueSpeed?.value ?? 0, ballSpeed ?? 0, cueMass ?? 0];
    expect(expected.restitution?.value).toBeCloseTo((v * (k + 0.163 / mass)) / speed - 1, 9);
    expect(expected.effectiveCueMass?.value).toBeCloseTo(0.163 / ((1.75 * speed) / v - k), 9);
  });
});

describe('hostile ball tracks in a shot', () => {
  it('give numbers of the contract or a reason, never NaN or an exception', () => {
    const place = fc.oneof(
      fc.double({ min: -1e4, max: 1e4, noNaN: true }),
      fc.constantFrom(0, 1e6, -1e6, 1e300, -1e300, 1e-300, 5),
    );
    fc.assert(
      fc.property(
        fc.array(place, { maxLength: 50 }),
        fc.constantFrom('mm', 'm', 'px', 'R', 'diamond', 's', 'nonsense'),
        fc.constantFrom(0, -1, 30, 1e-9, 240, 1e9),
        fc.option(fc.array(fc.integer({ min: -10, max: 80 }), { maxLength: 50 }), { nil: undefined }),
        fc.option(fc.integer({ min: -1e9, max: 1e9 }), { nil: undefined }),
        (positions, unit, captureRate, frames, impactFrame) => {
          const shot = exampleShot({
            ballTrack: {
              unit,
              positions,
              captureRate: { value: captureRate, unit: 'Hz' },
              ...(frames === undefined ? {} : { frames: frames.toSorted((a, b) => a - b) }),
              ...(impactFrame === undefined ? {} : { impactFrame }),
            },
          });
          const { derived: result } = deriveShot(shot, exampleGear({}, {}, { calibration }));
          expect(derivedShotSchema.safeParse(result).error).toBeUndefined();
          expect(JSON.stringify(result)).not.toMatch(/NaN|Infinity/);
        },
      ),
      { seed: 43, numRuns: 200 },
    );
  });

  it('a constant track, two points and 100,000 points are read or refused', () => {
    const constant = derived({ ballTrack: ballTrack({ positions: Array.from({ length: 200 }, () => 5) }) });
    expect(constant.ball).toMatchObject({ read: true, ballSpeed: null, outcomeDistance: null });
    const two = derived({ ballTrack: ballTrack({ positions: [1, 2] }) });
    expect(two.ball).toEqual({ read: false, reason: 'tooFewPoints' });
    const fast = simulateBallTrack(truth, 12_000, 3e-4, 5);
    const long = derived({
      ballTrack: ballTrack({
        positions: Array.from(fast.positions.slice(0, 100_000), (place) => place * 1000),
        captureRate: { value: 12_000, unit: 'Hz' },
      }),
    });
    expect(long.outcomeDistance?.value).toBeCloseTo(fast.outcomeDistance, 2);
  });
});
