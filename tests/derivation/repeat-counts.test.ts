/** Repeat counts of one film: their interval holds the truth as often as it says, and no longer than it needs. */
import { describe, expect, it } from 'vitest';
import { deriveContact } from '../../src/derivation/derive-contact.ts';
import { methodOne, methodTwo } from '../../src/derivation/method-choices.ts';
import { settleGear } from '../../src/derivation/settle-gear.ts';
import { seededUniform } from '../kinematics/simulated-strokes.ts';
import { exampleGear } from './example-shot.ts';

const gear = settleGear(exampleGear());
const interval = 1 / gear.captureRate;
const counted = (frames: number) => ({ frames, trimmedStart: 0, trimmedEnd: 0, trimmed: frames });

/** A frame is judged wrongly at either end now and then. */
function judged(frames: number, next: () => number): number {
  const slip = () => (next() < 0.12 ? (next() < 0.5 ? -1 : 1) : 0);
  return frames + slip() + slip();
}

describe('repeat counts', () => {
  it.each([2, 3, 5])('of %i observers cover the true contact time in at least 93 % of films', (observers) => {
    const next = seededUniform(observers);
    let inside = 0;
    const films = 2000;
    for (let film = 0; film < films; film += 1) {
      const time = (6 + 4 * next()) * interval;
      const phase = next();
      const frames = Math.floor(phase + time / interval) - Math.floor(phase);
      const [first, ...others] = Array.from({ length: observers }, () => counted(judged(frames, next)));
      const { contactTime } = deriveContact(first as ReturnType<typeof counted>, gear, others, methodTwo);
      if (contactTime !== null && contactTime.lower <= time && time <= contactTime.upper) inside += 1;
    }
    expect(inside / films).toBeGreaterThan(0.93);
  });

  it('that differ by one frame no longer leave everything open', () => {
    const of = (choices: typeof methodOne) => deriveContact(counted(9), gear, [counted(10)], choices).contactTime;
    const [first, second] = [of(methodOne), of(methodTwo)];
    expect(second?.value).toBe(first?.value);
    expect(second?.standardUncertainty).toBeCloseTo(first?.standardUncertainty ?? 0, 15);
    const width = (each: typeof first) => ((each?.upper ?? 0) - (each?.lower ?? 0)) / interval;
    expect(width(first)).toBeGreaterThan(12);
    expect(width(second)).toBeLessThan(5);
    expect(width(second)).toBeGreaterThan(2 * 1.96 * 0.54);
  });

  it('that agree say the same in both versions', () => {
    const of = (choices: typeof methodOne) => deriveContact(counted(9), gear, [counted(9)], choices);
    expect(of(methodTwo)).toEqual(of(methodOne));
  });
});
