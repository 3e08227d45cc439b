import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { integrateImpact } from '../../src/demo/impact.ts';

const base = {
  cueSpeed: 3,
  cueAcceleration: 0,
  cueMass: 0.54,
  ballMass: 0.17,
  tipOffset: 0,
  stiffness: 3.9e7,
  loss: 0.5,
};
/** Integration step against closed forms. */
const modelTolerance = 2e-3;

describe('the impact of the demo', () => {
  it('lasts about a millisecond and gets shorter as the cue gets faster, as the trade says', () => {
    const times = [1, 2, 3, 4, 5, 6].map((cueSpeed) => integrateImpact({ ...base, cueSpeed }).contactTime);
    for (const [index, time] of times.entries()) {
      if (index > 0) expect(time).toBeLessThan(times[index - 1] ?? 0);
      expect(time).toBeGreaterThan(0.0009);
      expect(time).toBeLessThan(0.0014);
    }
  });

  it('shortens as the fifth root of the speed, because the force grows as the 3/2 power of the squeeze', () => {
    const slow = integrateImpact({ ...base, cueSpeed: 1.5 }).contactTime;
    const fast = integrateImpact({ ...base, cueSpeed: 3 }).contactTime;
    // 2^(1/5) = 1.148698354997035
    expect(Math.abs(slow / fast / 1.148698354997035 - 1)).toBeLessThan(modelTolerance);
  });

  it('keeps momentum and gives the ball the speed that its own restitution implies', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 6, noNaN: true }),
        fc.double({ min: -0.45, max: 0.45, noNaN: true }),
        (cueSpeed, tipOffset) => {
          const hit = integrateImpact({ ...base, cueSpeed, tipOffset });
          const momentum = base.cueMass * hit.cueSpeedAfter + base.ballMass * hit.ballSpeed;
          expect(Math.abs(momentum / (base.cueMass * cueSpeed) - 1)).toBeLessThan(1e-9);
          const expected =
            (cueSpeed * (1 + hit.restitution)) / (1 + base.ballMass / base.cueMass + 2.5 * tipOffset * tipOffset);
          expect(Math.abs(hit.ballSpeed / expected - 1)).toBeLessThan(modelTolerance);
          expect(hit.ballSpin).toBeCloseTo(2.5 * tipOffset * hit.ballSpeed, 12);
          expect(hit.restitution).toBeGreaterThan(0.6);
          expect(hit.restitution).toBeLessThan(0.9);
        },
      ),
      { seed: 11, numRuns: 40 },
    );
  });

  it('is shorter off centre than in the centre', () => {
    const central = integrateImpact(base).contactTime;
    expect(integrateImpact({ ...base, tipOffset: -0.4 }).contactTime).toBeLessThan(0.95 * central);
    expect(integrateImpact({ ...base, tipOffset: 0.4 }).contactTime).toBeCloseTo(
      integrateImpact({ ...base, tipOffset: -0.4 }).contactTime,
      12,
    );
  });

  it('gives a hand that goes on accelerating only a tiny part of a per cent', () => {
    const free = integrateImpact(base);
    const pushed = integrateImpact({ ...base, cueAcceleration: 40 });
    expect(pushed.contactTime / free.contactTime - 1).toBeGreaterThan(0.001);
    expect(pushed.contactTime / free.contactTime - 1).toBeLessThan(0.005);
    expect(pushed.ballSpeed / free.ballSpeed - 1).toBeGreaterThan(0.003);
    expect(pushed.ballSpeed / free.ballSpeed - 1).toBeLessThan(0.012);
  });

  it('follows the cue through contact and on afterwards without a jump', () => {
    const hit = integrateImpact(base);
    expect(hit.cuePosition(0)).toBe(0);
    for (let time = 0; time < 0.004; time += 1e-5) {
      const travelled = hit.cuePosition(time + 1e-5) - hit.cuePosition(time);
      expect(travelled).toBeGreaterThan(0);
      expect(travelled).toBeLessThanOrEqual(3.0001 * 1e-5);
    }
  });

  it('refuses a push that never parts from the ball', () => {
    expect(() => integrateImpact({ ...base, cueSpeed: 0.05, cueAcceleration: 500 })).toThrow(/20 ms/);
  });
});
