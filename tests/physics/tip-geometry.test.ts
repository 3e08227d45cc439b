import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type TipGear, type TipInput, type TipReading, tipContact } from '../../src/physics/tip-geometry.ts';
import { domeLimit, levelCueClearance, miscueLimit } from '../../src/physics/tip-limits.ts';
import { expectRelative } from '../harness/expect-relative.ts';

const gears: fc.Arbitrary<TipGear> = fc.record({
  ballRadius: fc.double({ min: 0.024, max: 0.031, noNaN: true }),
  tipRadius: fc.double({ min: 0.006, max: 0.015, noNaN: true }),
  shaftRadius: fc.double({ min: 0.0045, max: 0.007, noNaN: true }),
  elevation: fc.double({ min: -0.05, max: 0.3, noNaN: true }),
});
const station = fc.double({ min: 0.03, max: 0.1, noNaN: true });
const height = fc.double({ min: -0.012, max: 0.012, noNaN: true });
const readings: fc.Arbitrary<TipReading> = fc.oneof(
  fc.record({ method: fc.constant('shaftTopEdge' as const), topEdge: height, station }),
  fc.record({ method: fc.constant('shaftEdges' as const), topEdge: height, bottomEdge: height, station }),
  fc.record({ method: fc.constant('contactMark' as const), height }),
);

/** The same reading and gear with one input moved. */
function moved(reading: TipReading, gear: TipGear, input: TipInput, by: number): [TipReading, TipGear] {
  if (input in reading) {
    const value = (reading as unknown as Record<string, number>)[input] ?? Number.NaN;
    return [{ ...reading, [input]: value + by }, gear];
  }
  return [reading, { ...gear, [input]: gear[input as keyof TipGear] + by }];
}

describe('tipContact', () => {
  it('is where a dome moved along the cue axis first touches the ball (brute force)', () => {
    const gear = { ballRadius: 0.028575, tipRadius: 0.0106, shaftRadius: 0.0065, elevation: 0.08 };
    const contact = tipContact({ method: 'shaftTopEdge', topEdge: -0.004, station: 0.05 }, gear);
    if (!contact.ok) throw new Error(contact.reason);
    // The axis passes below the read edge by r_s across it, descending towards the ball.
    const [cosine, sine] = [Math.cos(0.08), Math.sin(0.08)];
    const axisPoint = { x: -0.05 - 0.0065 * sine, z: -0.004 - 0.0065 * cosine };
    let near = 0;
    let far = 0.05;
    const at = (s: number) => ({ x: axisPoint.x + s * cosine, z: axisPoint.z - s * sine });
    for (let i = 0; i < 100; i += 1) {
      const middle = (near + far) / 2;
      const { x, z } = at(middle);
      if (Math.sqrt(x * x + z * z) > gear.ballRadius + gear.tipRadius) near = middle;
      else far = middle;
    }
    const centre = at(near);
    const share = gear.ballRadius / (gear.ballRadius + gear.tipRadius);
    expectRelative(contact.tipHeight, centre.z * share, 1e-12);
    // Lever arm of a force along the axis through the contact point.
    const arm = centre.z * share * cosine + centre.x * share * sine;
    expectRelative(contact.tipOffset, arm / gear.ballRadius, 1e-12);
  });

  it('gives lever arm and height that agree with each other at any elevation', () => {
    fc.assert(
      fc.property(readings, gears, (reading, gear) => {
        const contact = tipContact(reading, gear);
        if (!contact.ok) return;
        const { tipOffset, tipHeight } = contact;
        const [cosine, sine] = [Math.cos(gear.elevation), Math.sin(gear.elevation)];
        const along = Math.sqrt(gear.ballRadius ** 2 - tipHeight ** 2);
        expect(Math.abs(tipOffset - (tipHeight * cosine - along * sine) / gear.ballRadius)).toBeLessThan(1e-12);
      }),
      { seed: 41 },
    );
  });

  it('has the partial derivatives that small changes show, for every input it uses', () => {
    fc.assert(
      fc.property(readings, gears, (reading, gear) => {
        const contact = tipContact(reading, gear);
        if (!contact.ok) return;
        for (const { input, tipOffset, tipHeight } of contact.sensitivities) {
          const by = 1e-6;
          const above = tipContact(...moved(reading, gear, input, by));
          const below = tipContact(...moved(reading, gear, input, -by));
          if (!above.ok || !below.ok) continue;
          expect(Math.abs((above.tipOffset - below.tipOffset) / (2 * by) - tipOffset)).toBeLessThan(1e-4);
          expect(Math.abs((above.tipHeight - below.tipHeight) / (2 * by) - tipHeight)).toBeLessThan(1e-6);
        }
      }),
      { seed: 42 },
    );
  });

  it('does not need the shaft radius when both edges are read', () => {
    const gear = { ballRadius: 0.028575, tipRadius: 0.0106, shaftRadius: 0.0065, elevation: 0 };
    const top = tipContact({ method: 'shaftTopEdge', topEdge: -0.003, station: 0.045 }, gear);
    const both = tipContact({ method: 'shaftEdges', topEdge: -0.003, bottomEdge: -0.016, station: 0.045 }, gear);
    if (!top.ok || !both.ok) throw new Error('outside');
    expectRelative(both.tipOffset, top.tipOffset, 1e-14);
    expect(both.sensitivities.map((line) => line.input)).not.toContain('shaftRadius');
  });

  it('of an elevated cue that looks centred is a draw hit', () => {
    const gear = { ballRadius: 0.028575, tipRadius: 0.0106, shaftRadius: 0.0065, elevation: Math.PI / 60 };
    const contact = tipContact({ method: 'contactMark', height: 0 }, gear);
    if (!contact.ok) throw new Error(contact.reason);
    expect(contact.tipOffset.toFixed(3)).toBe('-0.052');
  });

  it('says so when the tip passes the ball', () => {
    const gear = { ballRadius: 0.028575, tipRadius: 0.0106, shaftRadius: 0.0065, elevation: 0 };
    for (const reading of [
      { method: 'shaftTopEdge', topEdge: 0.05, station: 0.045 },
      { method: 'shaftEdges', topEdge: -0.033, bottomEdge: -0.046, station: 0.045 },
      { method: 'contactMark', height: -0.0286 },
      { method: 'contactMark', height: Number.NaN },
    ] as const) {
      expect(tipContact(reading, gear)).toEqual({ ok: false, reason: 'outsideBall' });
    }
  });
});

describe('limits of the tip offset', () => {
  it('the rim of a level tip rests on the cloth at the clearance limit', () => {
    const [ballRadius, tipRadius, tipDiameter] = [0.028575, 0.0106, 0.013];
    // Axis as low as half the tip diameter above the cloth.
    const topEdge = -ballRadius + tipDiameter / 2 + 0.0065;
    const contact = tipContact(
      { method: 'shaftTopEdge', topEdge, station: 0.045 },
      { ballRadius, tipRadius, shaftRadius: 0.0065, elevation: 0 },
    );
    if (!contact.ok) throw new Error(contact.reason);
    expectRelative(contact.tipOffset, levelCueClearance(ballRadius, tipDiameter, tipRadius), 1e-13);
  });

  it('a tip begins to slip where the cue axis leaves the friction cone at the contact (brute force)', () => {
    for (const friction of [0.5, 0.6, 0.7]) {
      // Offset by offset: force along the axis against the normal of the ball there.
      let offset = 0;
      for (; offset < 1; offset += 1e-5) {
        const normal = Math.sqrt(1 - offset * offset);
        if (offset / normal > friction) break;
      }
      expect(Math.abs(miscueLimit(friction) - offset)).toBeLessThan(2e-5);
    }
  });

  it('the contact leaves the dome for its rim at the dome limit (brute force)', () => {
    const shape: TipGear = { ballRadius: 0.028575, tipRadius: 0.0106, shaftRadius: 0.0065, elevation: 0 };
    let last = 0;
    for (let top = 0.0065; top < 0.045; top += 1e-5) {
      const contact = tipContact({ method: 'shaftTopEdge', topEdge: top, station: 0.045 }, shape);
      if (!contact.ok) break;
      // Height of the contact above the cue axis, on the dome while it is within the radius of the tip.
      const aboveAxis = top - 0.0065 - contact.tipHeight;
      if (aboveAxis > 0.0065) break;
      last = contact.tipOffset;
    }
    expect(Math.abs(last - domeLimit(0.013, 0.0106))).toBeLessThan(1e-3);
  });

  it('a half-sphere tip has no dome limit below one', () => {
    expect(domeLimit(0.02, 0.01)).toBe(1);
    expect(domeLimit(0.02, 0.009)).toBe(1);
  });
});
