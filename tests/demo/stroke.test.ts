import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { strokeOf } from '../../src/demo/stroke.ts';

describe('the stroke of the demo', () => {
  it('reaches first contact at its place with the planned speed, acceleration and jerk', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 6, noNaN: true }),
        fc.double({ min: -12, max: 20, noNaN: true }),
        fc.double({ min: -60, max: 60, noNaN: true }),
        fc.double({ min: 0.3, max: 0.5, noNaN: true }),
        (speed, acceleration, jerk, duration) => {
          const stroke = strokeOf({ speed, acceleration, jerk, duration });
          expect(stroke.position(0)).toBe(0);
          expect(stroke.speedAt(0)).toBeCloseTo(speed, 12);
          expect(Math.abs(stroke.speedAt(-duration))).toBe(0);
          const step = 1e-4;
          const slope = (stroke.speedAt(0) - stroke.speedAt(-step)) / step;
          expect(Math.abs(slope + (jerk * step) / 2 - acceleration)).toBeLessThan(1e-3);
          const movement = (stroke.position(0) - stroke.position(-2 * step)) / (2 * step);
          expect(movement).toBeCloseTo(stroke.speedAt(-step), 5);
        },
      ),
      { seed: 12, numRuns: 50 },
    );
  });

  it('has its highest speed before contact when it is slowing, and at contact when it is gaining', () => {
    const fastest = (acceleration: number) => {
      const stroke = strokeOf({ speed: 3, acceleration, jerk: 0, duration: 0.4 });
      let best = { time: 0, speed: 0 };
      for (let time = -0.4; time <= 0; time += 0.001) {
        const speed = stroke.speedAt(time);
        if (speed > best.speed) best = { time, speed };
      }
      return best;
    };
    expect(fastest(-8).time).toBeLessThan(-0.02);
    expect(fastest(10).time).toBeGreaterThan(-0.002);
  });
});
