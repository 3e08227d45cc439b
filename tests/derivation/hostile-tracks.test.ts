import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { derivedShotSchema } from '../../shared/derivation.ts';
import { type ShotInput, shotInputSchema } from '../../shared/shot.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { methodOne } from '../../src/derivation/method-choices.ts';
import { captureRate, closedFrame, exampleGear, exampleShot, strokePositions } from './example-shot.ts';

const track = (changes: Partial<NonNullable<ShotInput['cueTrack']>>) => ({
  cueTrack: { unit: 'mm', firstFrame: 600, positions: strokePositions(), ...changes },
});
const derive = (changes: Partial<ShotInput>, rig = {}) => deriveShot(exampleShot(changes), exampleGear(rig));

/** Each is a fault or finite numbers of the contract. */
function expectSound({ derived, faults }: ReturnType<typeof deriveShot>): void {
  expect(derivedShotSchema.safeParse(derived).error).toBeUndefined();
  expect(JSON.stringify(derived)).not.toMatch(/NaN|Infinity/);
  if (derived.cueSpeed === null) expect(faults.length + Object.keys(derived.reasons).length).toBeGreaterThan(0);
}

describe('hostile tracks', () => {
  it('constant ones are refused as motionless', () => {
    const { faults } = derive(track({ positions: Array(411).fill(12.5) }));
    expect(faults.map(({ code }) => code)).toEqual(['track-motionless']);
  });

  it('of two points are refused as too short', () => {
    const { faults } = derive(track({ firstFrame: 998, positions: [0, 1] }));
    expect(faults.map(({ code }) => code)).toEqual(['track-too-short']);
  });

  it.each([1e6, -1e6, 4e6])('far from their origin give the same speed: %f mm', (offset) => {
    const near = derive(track({})).derived;
    const far = derive(track({ positions: strokePositions().map((x) => x + offset) })).derived;
    // A double holds 1e-10 mm at 1e6 mm.
    expect(Math.abs((far.cueSpeed?.value ?? 0) - (near.cueSpeed?.value ?? 1))).toBeLessThan(1e-6);
    expect(far.flags).toEqual(near.flags);
  });

  it('with a repeated frame are refused', () => {
    const positions = strokePositions();
    const frames = positions.map((_, i) => 600 + i - (i > 200 ? 1 : 0));
    const { faults } = derive({ cueTrack: { unit: 'mm', positions, frames } });
    expect(faults.map(({ code }) => code)).toEqual(['frames-not-increasing']);
  });

  it('whose every second frame repeats its neighbour are derived with a flag', () => {
    const positions = strokePositions();
    const doubled = positions.map((_, i) => positions[i - (i % 2)] ?? 0);
    const { derived, faults } = derive(track({ positions: doubled }));
    expectSound({ derived, faults });
    expect(derived.flags).toContain('trackFrozen');
    expect(derived.cueSpeed?.lower).toBeLessThan(3.01);
    expect(derived.cueSpeed?.upper).toBeGreaterThan(2.99);
  });

  it('with every fifth frame repeated are flagged, and those in whole steps or with much noise are not', () => {
    const flagged = (positions: number[]) => derive(track({ positions })).derived.flags.includes('trackFrozen');
    for (const roughness of [0.002, 0.02, 0.3]) {
      const positions = strokePositions(3, 20, roughness);
      expect(flagged(positions), `${roughness}`).toBe(false);
      expect(flagged(positions.map((x, i) => positions[i % 5 === 4 ? i - 1 : i] ?? x)), `${roughness}`).toBe(true);
      for (const step of [0.001, 0.01, 0.05, 0.09, 0.1, 0.2, 0.375, 0.5]) {
        for (const offset of [0, 1e6]) {
          const stepped = positions.map((x) => offset + Math.round(x / step) * step);
          expect(flagged(stepped), `${roughness} in steps of ${step} from ${offset}`).toBe(false);
        }
      }
    }
    // A method version that is published keeps its flags.
    const doubled = strokePositions().map((_, i, all) => all[i - (i % 2)] ?? 0);
    const first = deriveShot(exampleShot(track({ positions: doubled })), exampleGear(), methodOne);
    expect(first.derived.flags).not.toContain('trackFrozen');
  });

  it('with NaN, infinity or text in place of a number never get past the contract', () => {
    for (const bad of [Number.NaN, Number.POSITIVE_INFINITY, 'NaN', '', null]) {
      const input = { label: 'A1', rig: 'north', cueTrack: { unit: 'mm', firstFrame: 0, positions: [0, bad, 2] } };
      expect(shotInputSchema.safeParse(input).success).toBe(false);
    }
  });

  it('of reversed sign are refused as not moving towards the ball', () => {
    const { faults } = derive(track({}), { positiveTowardsBall: false });
    expect(faults.map(({ code }) => code)).toEqual(['track-motionless']);
  });

  it('of any numbers give a fault or sound numbers, with gaps, few frames and long windows too', () => {
    const number = fc.oneof(
      fc.double({ min: -1e6, max: 1e6, noNaN: true }),
      fc.constantFrom(0, 1, -1, 1e6, 5e-324, 1e-300, 1e300, -1e300),
    );
    let sound = 0;
    fc.assert(
      fc.property(
        fc.oneof(
          fc.array(number, { minLength: 0, maxLength: 80 }),
          fc.array(fc.integer({ min: -10_000, max: 10_000 }), { minLength: 12, maxLength: 80 }),
        ),
        fc.integer({ min: 1, max: 20 }),
        fc.boolean(),
        fc.constantFrom<number | undefined>(undefined, 1, 2, 3, 4, 5),
        fc.integer({ min: -2, max: 15 }).map((tenths) => tenths / 10),
        (noise, step, withGaps, order, slope) => {
          const frames = noise.map((_, i) => closedFrame - (noise.length - i - 5) * step);
          const positions = noise.map((value, i) => value * (i % 3 === 0 ? 1e-9 : 1e-6) + slope * i);
          const shot = exampleShot({
            cueTrack: { unit: 'mm', frames, positions, ...(withGaps ? { gaps: noise } : {}) },
          });
          const fit = order === undefined ? {} : { order };
          const result = deriveShot(shot, exampleGear({ fit, captureRate: { value: captureRate, unit: 'fps' } }));
          expectSound(result);
          sound += Number(result.derived.cueSpeed !== null);
        },
      ),
      { seed: 28_575, numRuns: 800 },
    );
    expect(sound).toBeGreaterThan(50);
  });
});
