import { describe, expect, it } from 'vitest';
import {
  energyOverDeceleration,
  rollingFromRollOut,
  slidingFromStopShots,
  slidingOf,
} from '../../src/physics/calibration-series.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { normalDeviates, seededUniform } from '../kinematics/simulated-strokes.ts';
import { integrateFullHit, integrateSlide } from './integrate.ts';

const gravity = 9.80665;
const exact = (value: number) => ({ value, standardUncertainty: 1e-6 });

/** A rolling ball, step by step: distance until its speed is gone. */
function integrateRoll(speed: number, resistance: number, step: number): number {
  let v = speed;
  let x = 0;
  while (v > 0) {
    const next = v - resistance * gravity * step;
    x += ((v + Math.max(0, next)) / 2) * step;
    v = next;
  }
  return x;
}

/** A drawn ball, step by step: distance until its backspin is gone. */
function integrateStop(speed: number, depth: number, friction: number, step: number): number {
  let low = 0;
  let high = 10;
  for (let bisection = 0; bisection < 40; bisection += 1) {
    const middle = (low + high) / 2;
    const { surfaceSpin } = integrateSlide(speed, -2.5 * depth * speed, friction * gravity, step, middle);
    if (surfaceSpin < 0) low = middle;
    else high = middle;
  }
  return low;
}

/** Distance at which a drawn ball, slid and then integrated through the hit, rolls neither on nor back. */
function integrateDeadStop(
  speed: number,
  depth: number,
  friction: number,
  balls: { ballRestitution: number; ballFriction: number },
  step: number,
): number {
  let low = 0;
  let high = 3;
  for (let bisection = 0; bisection < 40; bisection += 1) {
    const middle = (low + high) / 2;
    const arrival = integrateSlide(speed, -2.5 * depth * speed, friction * gravity, step, middle);
    const after = integrateFullHit(arrival, { ...balls, cueBallMass: 0.17, objectBallMass: 0.17 });
    const rolling = integrateSlide(after.speed, after.surfaceSpin, friction * gravity, step).speed;
    if (rolling < 0) low = middle;
    else high = middle;
  }
  return low;
}

describe('rolling resistance from roll-outs', () => {
  it('is the one with which the ball was integrated to rest', () => {
    const series = [0.5, 1, 1.8].map((speed) => ({
      speed: exact(speed),
      distance: exact(integrateRoll(speed, 0.011, 1e-4)),
    }));
    expectRelative(rollingFromRollOut(series)?.value ?? 0, 0.011, 1e-5);
  });

  it('is 5/7 of the energy definition: all kinetic energy over weight and distance', () => {
    const [speed, distance] = [1.2, (1.2 * 1.2) / (2 * 0.01 * gravity)];
    const energy = (speed * speed) / 2 + (0.4 * speed * speed) / 2;
    const found = rollingFromRollOut([{ speed: exact(speed), distance: exact(distance) }])?.value ?? 0;
    expectRelative(energy / (gravity * distance), energyOverDeceleration * found, 1e-12);
  });

  it('has no value without a shot that moves', () => {
    expect(rollingFromRollOut([{ speed: exact(0), distance: exact(0) }])).toBeNull();
  });
});

describe('sliding friction from stop shots', () => {
  it('is the one with which the backspin was integrated away', () => {
    const series = [
      { speed: 2, depth: 0.2 },
      { speed: 3, depth: 0.3 },
    ].map(({ speed, depth }) => ({
      ballSpeed: exact(speed),
      tipOffset: exact(-depth),
      distance: exact(integrateStop(speed, depth, 0.21, 1e-5)),
    }));
    expectRelative(slidingFromStopShots(series)?.value ?? 0, 0.21, 1e-4);
  });

  it('of balls that are not elastic is the one with which tip, cloth, hit and cloth again leave the ball where it hit', () => {
    for (const balls of [
      { ballRestitution: 0.95, ballFriction: 0.06 },
      { ballRestitution: 0.9, ballFriction: 0.01 },
    ]) {
      const distance = integrateDeadStop(3, 0.3, 0.21, balls, 1e-5);
      const shot = { ballSpeed: exact(3), tipOffset: exact(-0.3), distance: exact(distance) };
      expectRelative(slidingOf(shot, balls)?.value ?? 0, 0.21, 2e-4);
      // Taking them for elastic would be wrong by several per cent.
      expect((slidingOf(shot)?.value ?? 0) / 0.21).toBeGreaterThan(1.02);
    }
  });

  it('passes over shots that were not struck below centre', () => {
    expect(slidingFromStopShots([{ ballSpeed: exact(2), tipOffset: exact(0.1), distance: exact(1) }])).toBeNull();
  });
});

describe('the uncertainty of a series', () => {
  it('covers the true friction in 93 to 97 % of simulated series of six shots', () => {
    const normal = normalDeviates(seededUniform(2));
    let rolling = 0;
    let sliding = 0;
    const trials = 2000;
    for (let trial = 0; trial < trials; trial += 1) {
      const noisy = (value: number, standardUncertainty: number) => ({
        value: value + standardUncertainty * normal(),
        standardUncertainty,
      });
      const six = [0.8, 1, 1.2, 1.4, 1.6, 1.8];
      const roll = rollingFromRollOut(
        six.map((v) => ({ speed: noisy(v, 0.01), distance: noisy((v * v) / (2 * 0.01 * gravity), 0.01) })),
      );
      const stop = slidingFromStopShots(
        six.map((v) => {
          const beta = 0.3;
          const distance = ((4 * v * v) / (0.2 * gravity)) * (beta - (beta * beta) / 2);
          return { ballSpeed: noisy(2 * v, 0.02), tipOffset: noisy(-beta, 0.008), distance: noisy(distance, 0.005) };
        }),
      );
      if (Math.abs((roll?.value ?? 0) - 0.01) <= 1.96 * (roll?.standardUncertainty ?? 0)) rolling += 1;
      if (Math.abs((stop?.value ?? 0) - 0.2) <= 1.96 * (stop?.standardUncertainty ?? 0)) sliding += 1;
    }
    // Widening by the scatter makes the interval a little longer than needed in lucky series, never shorter.
    expect(rolling / trials).toBeGreaterThan(0.93);
    expect(rolling / trials).toBeLessThan(0.985);
    expect(sliding / trials).toBeGreaterThan(0.93);
    expect(sliding / trials).toBeLessThan(0.985);
  });
});
