import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type BallMotion, motionAfterTravel, slideToRoll } from '../../src/physics/ball-on-cloth.ts';
import { cueImpact } from '../../src/physics/cue-impact.ts';
import { fullHit } from '../../src/physics/full-hit.ts';
import { expectedOutcome } from '../../src/physics/outcome-distance.ts';
import { deepestUsefulStop, leastStopSpeed, stopShot } from '../../src/physics/stop-shot.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { integrateFullHit, integrateSlide } from './integrate.ts';

const friction = 0.2;
const deceleration = friction * 9.80665;
const step = 1e-6;
/** One step of time over the shortest slide below. */
const integration = 2e-5;

describe('slideToRoll', () => {
  it.each([
    [4, 0],
    [4, -4],
    [2, 5],
    [0.06, -1.6],
    [-0.5, 1],
  ])('is what integrating the slide gives, speed %f and spin %f m/s', (speed, surfaceSpin) => {
    const integrated = integrateSlide(speed, surfaceSpin, deceleration, step);
    const slide = slideToRoll({ speed, surfaceSpin }, friction);
    expectRelative(integrated.time, slide.time, integration);
    expect(Math.abs(integrated.distance - slide.distance)).toBeLessThan(integration);
    expect(Math.abs(integrated.speed - slide.rollSpeed)).toBeLessThan(integration);
  });

  it('keeps the angular momentum about the line of contact with the table', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -5, max: 5, noNaN: true }),
        fc.double({ min: -5, max: 5, noNaN: true }),
        (speed, surfaceSpin) => {
          const { rollSpeed } = slideToRoll({ speed, surfaceSpin }, friction);
          // m v R + I omega, I = (2/5) m R^2
          expect(Math.abs(rollSpeed * 1.4 - (speed + 0.4 * surfaceSpin))).toBeLessThan(1e-14);
        },
      ),
      { seed: 31 },
    );
  });
});

describe('motionAfterTravel', () => {
  it.each([
    [3, -3, 0.8],
    [3, 1, 0.4],
    [2, 4, 0.2],
  ])('is what integrating the slide gives, speed %f, spin %f, travel %f', (speed, surfaceSpin, distance) => {
    const integrated = integrateSlide(speed, surfaceSpin, deceleration, step, distance);
    const motion = motionAfterTravel({ speed, surfaceSpin }, distance, friction, 0.01);
    expect(Math.abs(integrated.speed - (motion?.speed ?? Number.NaN))).toBeLessThan(integration);
    expect(Math.abs(integrated.surfaceSpin - (motion?.surfaceSpin ?? Number.NaN))).toBeLessThan(integration);
  });

  it('passes smoothly from sliding to rolling', () => {
    const start = { speed: 3, surfaceSpin: 0 };
    const slide = slideToRoll(start, friction);
    const before = motionAfterTravel(start, slide.distance * (1 - 1e-9), friction, 0.01);
    const after = motionAfterTravel(start, slide.distance * (1 + 1e-9), friction, 0.01);
    expectRelative(before?.speed ?? 0, slide.rollSpeed, 1e-8);
    expectRelative(before?.surfaceSpin ?? 0, slide.rollSpeed, 1e-8);
    expectRelative(after?.speed ?? 0, slide.rollSpeed, 1e-8);
  });

  it('is null where the ball does not get to: it stops rolling or spins back first', () => {
    expect(motionAfterTravel({ speed: 0.5, surfaceSpin: 0.5 }, 2, friction, 0.01)).toBeNull();
    // Spin beyond -5/2 of the speed brings the ball back before it rolls.
    const start = { speed: 1, surfaceSpin: -3 };
    const farthest = 1 / (2 * deceleration);
    expect(motionAfterTravel(start, farthest * 1.001, friction, 0.01)).toBeNull();
    const last = motionAfterTravel(start, farthest * 0.999, friction, 0.01);
    expect(last?.surfaceSpin).toBeLessThan(0);
    expectRelative(last?.speed ?? 0, Math.sqrt(0.001), 1e-9);
  });
});

describe('stopShot', () => {
  it('brings the ball to the object ball without spin', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 6, noNaN: true }),
        fc.double({ min: 0.05, max: 2.5, noNaN: true }),
        (ballSpeed, distance) => {
          const stop = stopShot(ballSpeed, distance, friction);
          if (stop === null) {
            expect(ballSpeed * ballSpeed).toBeLessThan(2 * deceleration * distance);
            return;
          }
          const start = { speed: ballSpeed, surfaceSpin: 2.5 * ballSpeed * stop.tipOffset };
          const arrival = motionAfterTravel(start, distance, friction, 0.01);
          expect(Math.abs(arrival?.surfaceSpin ?? Number.NaN)).toBeLessThan(1e-7 * ballSpeed);
          expect(Math.abs((arrival?.speed ?? Number.NaN) - stop.arrivalSpeed)).toBeLessThan(1e-7 * ballSpeed);
        },
      ),
      { seed: 32 },
    );
  });

  it('is what integrating the slide gives: the spin is gone where the object ball lies', () => {
    for (const [ballSpeed, distance] of [
      [3, 1.2],
      [2.2, 0.6],
    ] as const) {
      const stop = stopShot(ballSpeed, distance, friction);
      const offset = stop?.tipOffset ?? Number.NaN;
      const slid = integrateSlide(ballSpeed, 2.5 * ballSpeed * offset, deceleration, step, distance);
      expect(Math.abs(slid.surfaceSpin)).toBeLessThan(integration);
      expectRelative(slid.speed, stop?.arrivalSpeed ?? 0, integration);
      expectRelative(slid.time, stop?.time ?? 0, integration);
    }
  });

  it('needs the speed at which a ball struck as deep as allowed, integrated, has lost its spin', () => {
    let [low, high] = [1, 6];
    for (let bisection = 0; bisection < 30; bisection += 1) {
      const middle = (low + high) / 2;
      const { surfaceSpin } = integrateSlide(middle, -1.25 * middle, deceleration, 1e-5, 1.2);
      if (surfaceSpin < 0) high = middle;
      else low = middle;
    }
    expectRelative(leastStopSpeed(1.2, 0.5, friction), low, 1e-4);
  });

  it('needs the least speed at the deepest tip offset allowed', () => {
    const least = leastStopSpeed(1.2, 0.5, friction);
    expectRelative(stopShot(least, 1.2, friction)?.tipOffset ?? 0, -0.5, 1e-12);
  });

  it('reaches farthest at the deepest useful tip offset, for a cue of given speed', () => {
    const peak = deepestUsefulStop(0.54, 0.17);
    const reach = (depth: number) => {
      const { ballSpeed } = cueImpact({
        cueSpeed: 3,
        tipOffset: -depth,
        cueMass: 0.54,
        ballMass: 0.17,
        ballRadius: 0.028575,
        restitution: 0.75,
      });
      return ballSpeed ** 2 * (depth - depth ** 2 / 2);
    };
    expect(reach(peak)).toBeGreaterThan(reach(peak - 1e-3));
    expect(reach(peak)).toBeGreaterThan(reach(peak + 1e-3));
  });
});

describe('fullHit', () => {
  const equal = { cueBallMass: 0.17, objectBallMass: 0.17 };
  const small = { cueBallMass: 0.094, objectBallMass: 0.116 };
  it.each([
    ['equal balls that slip', equal, 2.5, -2, 0.95, 0.06],
    ['equal balls that stick', equal, 2.5, -0.2, 0.95, 0.06],
    ['equal balls with topspin', equal, 2, 2, 0.9, 0.1],
    ['a lighter cue ball that slips', small, 2.5, -2, 0.94, 0.06],
    ['a lighter cue ball that sticks', small, 2.5, 0.25, 0.94, 0.06],
  ] as const)('is what integrating the hit gives: %s', (_, masses, speed, surfaceSpin, restitution, ballFriction) => {
    const integrated = integrateFullHit(
      { speed, surfaceSpin },
      { ...masses, ballRestitution: restitution, ballFriction },
    );
    const hit = fullHit({
      cueBall: { speed, surfaceSpin },
      ...masses,
      restitution,
      friction: ballFriction,
      spinByMasses: true,
    });
    const close = (actual: number, expected: number) => expect(Math.abs(actual - expected)).toBeLessThan(2e-4 * speed);
    close(hit.cueBall.speed, integrated.speed);
    close(hit.cueBall.surfaceSpin, integrated.surfaceSpin);
    close(hit.objectBall.speed, integrated.objectSpeed);
    close(hit.objectBall.surfaceSpin, integrated.objectSpin);
    if (masses === equal) {
      const plain = fullHit({ cueBall: { speed, surfaceSpin }, ...masses, restitution, friction: ballFriction });
      expectRelative(plain.cueBall.surfaceSpin, hit.cueBall.surfaceSpin, 1e-12);
    }
  });

  it('conserves momentum, parts the balls with the restitution, and never reverses the spin by friction', () => {
    fc.assert(
      fc.property(
        fc.record({
          speed: fc.double({ min: 0.1, max: 8, noNaN: true }),
          surfaceSpin: fc.double({ min: -8, max: 8, noNaN: true }),
          cueBallMass: fc.double({ min: 0.09, max: 0.22, noNaN: true }),
          objectBallMass: fc.double({ min: 0.09, max: 0.22, noNaN: true }),
          restitution: fc.double({ min: 0.5, max: 1, noNaN: true }),
          friction: fc.double({ min: 0, max: 0.3, noNaN: true }),
        }),
        ({ speed, surfaceSpin, ...balls }) => {
          const hit = fullHit({ cueBall: { speed, surfaceSpin }, ...balls });
          const { cueBallMass, objectBallMass, restitution } = balls;
          const momentum = cueBallMass * hit.cueBall.speed + objectBallMass * hit.objectBall.speed;
          expectRelative(momentum, cueBallMass * speed, 1e-12);
          expectRelative(hit.objectBall.speed - hit.cueBall.speed, restitution * speed, 1e-12);
          expect(hit.cueBall.surfaceSpin * surfaceSpin).toBeGreaterThanOrEqual(0);
          // The surfaces turn against each other like gears: equal and opposite change.
          expect(Math.abs(surfaceSpin - hit.cueBall.surfaceSpin + hit.objectBall.surfaceSpin)).toBeLessThan(1e-12);
        },
      ),
      { seed: 33 },
    );
  });
});

describe('expectedOutcome', () => {
  const table = {
    slidingFriction: friction,
    rollingFriction: 0.01,
    ballRestitution: 0.95,
    ballFriction: 0.06,
    cueBallMass: 0.17,
    objectBallMass: 0.17,
  };
  const lowHit = (cueSpeed: number): BallMotion => {
    const impact = cueImpact({
      cueSpeed,
      tipOffset: -0.35,
      cueMass: 0.54,
      ballMass: 0.17,
      ballRadius: 0.028575,
      restitution: 0.75,
    });
    return { speed: impact.ballSpeed, surfaceSpin: impact.surfaceSpin };
  };

  it('a low hit with too little speed for the distance ends as a follow (common practice)', () => {
    const fast = expectedOutcome(lowHit(3.5), 1, table);
    const slow = expectedOutcome(lowHit(1.2), 1, table);
    expect(fast?.arrival.surfaceSpin).toBeLessThan(0);
    expect(fast?.outcomeDistance).toBeLessThan(0);
    expect(slow?.arrival.surfaceSpin).toBeGreaterThan(0);
    expect(slow?.outcomeDistance).toBeGreaterThan(0);
  });

  it('is null when the cue ball does not reach the object ball', () => {
    expect(expectedOutcome(lowHit(0.2), 2, table)).toBeNull();
  });

  it('of an ideal draw is -(2/49)(s^2/g)(1/mu_s + 1/mu_r)', () => {
    const ideal = { ...table, ballRestitution: 1, ballFriction: 0 };
    const outcome = expectedOutcome(lowHit(3.5), 1, ideal);
    const spin = outcome?.arrival.surfaceSpin ?? Number.NaN;
    expectRelative(outcome?.outcomeDistance ?? 0, ((-2 / 49) * spin ** 2 * (1 / friction + 100)) / 9.80665, 1e-12);
  });

  it('of a ball that rolls in is 8.2 % of its un-hit roll, plus the slide', () => {
    const ideal = { ...table, ballRestitution: 1, ballFriction: 0 };
    const outcome = expectedOutcome({ speed: 1, surfaceSpin: 1 }, 0, ideal);
    const slide = slideToRoll(outcome?.hit.cueBall ?? { speed: 0, surfaceSpin: 0 }, friction).distance;
    const unhit = 1 / (2 * 0.01 * 9.80665);
    expectRelative(((outcome?.outcomeDistance ?? 0) - slide) / unhit, (2 / 7) ** 2, 1e-12);
  });
});
