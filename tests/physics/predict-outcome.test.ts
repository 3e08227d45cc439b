import { describe, expect, it } from 'vitest';
import { predictOutcome } from '../../src/physics/predict-outcome.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { integrateContact, integrateFullHit, integrateSlide } from './integrate.ts';

const gravity = 9.80665;
const inputs = {
  speed: 3,
  tipOffset: -0.4,
  cueMass: 0.54,
  ballMass: 0.17,
  massRatio: 1,
  tipRestitution: 0.75,
  slidingFriction: 0.2,
  rollingResistance: 0.01,
  ballRestitution: 0.95,
  ballFriction: 0.06,
  objectBallDistance: 0.8,
};

interface Motion {
  readonly speed: number;
  readonly surfaceSpin: number;
}

/** A rolling ball to rest, step by step, signed. */
function integrateRoll(speed: number, resistance: number): number {
  const step = 1e-4;
  let v = Math.abs(speed);
  let x = 0;
  while (v > 0) {
    const next = Math.max(0, v - resistance * gravity * step);
    x += ((v + next) / 2) * step;
    v = next;
  }
  return Math.sign(speed) * x;
}

/** A ball that may have to roll on for `distance` m, step by step. */
function integrateRollOn(from: Motion, distance: number, resistance: number): Motion {
  const step = 1e-5;
  let [v, x] = [from.speed, 0];
  if (distance <= 1e-5) return from;
  while (x < distance) {
    x += v * step;
    v -= resistance * gravity * step;
  }
  return { speed: v, surfaceSpin: v };
}

/** The chain from the cue to rest by integration alone. */
function integrateShot(values: typeof inputs, speed: number, surfaceSpin: number): number {
  const deceleration = values.slidingFriction * gravity;
  const slid = integrateSlide(speed, surfaceSpin, deceleration, 1e-6, values.objectBallDistance);
  const way = integrateRollOn(slid, values.objectBallDistance - slid.distance, values.rollingResistance);
  const after = integrateFullHit(way, {
    ...values,
    cueBallMass: values.ballMass,
    objectBallMass: values.ballMass * values.massRatio,
  });
  const slide = integrateSlide(after.speed, after.surfaceSpin, deceleration, 1e-6);
  return slide.distance + integrateRoll(slide.speed, values.rollingResistance);
}

describe('predictOutcome', () => {
  it('by constant restitution is what integrating tip, cloth, hit, slide and roll gives', () => {
    const stiffness = 6.5e5;
    const { ballSpeed, surfaceSpin } = integrateContact({
      cueSpeed: inputs.speed,
      cueMass: inputs.cueMass,
      ballMass: inputs.ballMass,
      tipOffset: inputs.tipOffset,
      // A tip that gives back with stiffness k/e^2 from where its force is gone: restitution e.
      force: (squeeze, loading, greatest) =>
        loading
          ? stiffness * squeeze
          : stiffness * greatest - (stiffness / inputs.tipRestitution ** 2) * (greatest - squeeze),
      step: 1e-7,
    });
    const found = predictOutcome('constantRestitution', inputs);
    expectRelative(found?.start.speed ?? 0, ballSpeed, 1e-4);
    expectRelative(found?.outcomeDistance ?? 0, integrateShot(inputs, ballSpeed, surfaceSpin), 2e-3);
  });

  it('from a measured ball speed is what integrating from there gives, for draw and follow', () => {
    for (const [speed, tipOffset] of [
      [3.1, -0.4],
      [2.5, 0.2],
      [2.2, -0.1],
    ] as const) {
      const values = { ...inputs, speed, tipOffset };
      const found = predictOutcome('measuredBallSpeed', values);
      expectRelative(found?.outcomeDistance ?? 0, integrateShot(values, speed, 2.5 * tipOffset * speed), 2e-3);
    }
  });

  it('by constant energy fraction agrees at a central hit and gives a slower ball off centre', () => {
    const central = { ...inputs, tipOffset: 0 };
    expectRelative(
      predictOutcome('constantEnergyFraction', central)?.start.speed ?? 0,
      predictOutcome('constantRestitution', central)?.start.speed ?? 1,
      1e-12,
    );
    // 3.06156 against 2.89586 m/s at 0.4 R: 5.4 %.
    const ratio =
      (predictOutcome('constantEnergyFraction', inputs)?.start.speed ?? 0) /
      (predictOutcome('constantRestitution', inputs)?.start.speed ?? 1);
    expectRelative(ratio, 2.89586 / 3.06156, 1e-5);
  });

  it('is null when the cue ball stands still or does not arrive', () => {
    expect(predictOutcome('measuredBallSpeed', { ...inputs, speed: 0 })).toBeNull();
    expect(predictOutcome('constantRestitution', { ...inputs, objectBallDistance: 500 })).toBeNull();
  });
});
