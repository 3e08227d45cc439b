/** Sensitivities of the draw distance, derived beforehand by two independent numerical routes (not from this code). */
import { describe, expect, it } from 'vitest';
import { fullHit } from '../../src/physics/full-hit.ts';
import { distanceToRest } from '../../src/physics/outcome-distance.ts';
import { type OutcomeInputs, predictOutcome } from '../../src/physics/predict-outcome.ts';
import { expectRelative } from '../harness/expect-relative.ts';

/** 3 m/s, 0.4 R below centre, 0.8 m to the object ball. */
const inputs: OutcomeInputs = {
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

function distance(changes: Partial<OutcomeInputs> = {}): number {
  return predictOutcome('constantRestitution', { ...inputs, ...changes })?.outcomeDistance ?? Number.NaN;
}

/** d ln|D| / d ln x. */
function elasticity(name: keyof OutcomeInputs): number {
  const share = 1e-5;
  const value = inputs[name];
  const change = distance({ [name]: value * (1 + share) }) - distance({ [name]: value * (1 - share) });
  return change / (2 * share * distance());
}

describe('the draw distance at 3 m/s, 0.4 R low, 0.8 m', () => {
  it('is -0.556 m with ball-ball friction 0.06', () => {
    expect(distance()).toBeCloseTo(-0.556, 3);
  });

  it.each([
    ['speed', 7.1],
    ['ballRestitution', 5],
    ['tipRestitution', 3],
    ['slidingFriction', -2.6],
    ['objectBallDistance', -2.6],
    ['tipOffset', 2.1],
    ['cueMass', 1.3],
    ['ballMass', -1.3],
    ['rollingResistance', -0.95],
    ['ballFriction', -0.65],
  ] as const)('goes with %s to the power %f', (name, power) => {
    // Printed to two digits.
    expect(Math.abs(elasticity(name) - power)).toBeLessThan(Math.abs(power) < 1 ? 0.0051 : 0.051);
  });

  it('shortens by 4 to 5 % when the cue ball is 1 % heavier than the object ball', () => {
    const shorter = 1 - distance({ massRatio: 1 / 1.01 }) / distance();
    expect(shorter).toBeGreaterThan(0.035);
    expect(shorter).toBeLessThan(0.055);
  });
});

describe('ball-ball friction', () => {
  it('of 0.06 cuts the draw of a ball at 2.5 m/s with 2 m/s of backspin from 1.48462 to 0.953832 m', () => {
    const hitWith = (friction: number) =>
      fullHit({
        cueBall: { speed: 2.5, surfaceSpin: -2 },
        cueBallMass: 0.17,
        objectBallMass: 0.17,
        restitution: 0.95,
        friction,
      }).cueBall;
    const table = {
      slidingFriction: 0.2,
      rollingFriction: 0.01,
      ballRestitution: 0.95,
      ballFriction: 0,
      cueBallMass: 0.17,
      objectBallMass: 0.17,
    };
    expectRelative(distanceToRest(hitWith(0), table), -1.48462, 5e-6);
    expectRelative(distanceToRest(hitWith(0.06), table), -0.953832, 5e-6);
  });
});
