import { describe, expect, it } from 'vitest';
import type { ShotInput } from '../../shared/shot.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { captureRate, closedFrame, exampleGear, exampleShot } from './example-shot.ts';

/** A stroke of 3 m/s and 20 m/s2 that loses 1.2 m/s over the 9 frames from contact on, in mm; contact at frame 999.7. */
const contactFrame = 999.7;
const duration = 9 / captureRate;

function film(withGaps: boolean): NonNullable<ShotInput['cueTrack']> {
  let state = 11;
  const rough = () => {
    state = (state * 16_807) % 2_147_483_647;
    return 0.04 * (state / 2_147_483_647 - 0.5);
  };
  const frames = Array.from({ length: 440 }, (_, i) => 600 + i);
  const stroke = (t: number) => 1000 * t * (3 + 10 * t);
  const fall = (t: number) => {
    const s = t / duration;
    if (s <= 0) return 0;
    return 600 * duration * (s < 1 ? s - Math.sin(Math.PI * s) / Math.PI : 1 + 2 * (s - 1));
  };
  const times = frames.map((frame) => (frame - contactFrame) / captureRate);
  return {
    unit: 'mm',
    firstFrame: 600,
    positions: times.map((t) => stroke(t) - fall(t) + rough()),
    ...(withGaps ? { gaps: times.map((t) => (t < 0 && t > -0.006 ? -stroke(t) + rough() : null)) } : {}),
  };
}
const derive = (changes: Partial<ShotInput>, rig = {}) => deriveShot(exampleShot(changes), exampleGear(rig)).derived;
const declared = (frame: number) => ({ closedFrame: frame, openFrame: frame + 9 });

describe('first contact', () => {
  it('is found in the track and agrees with the declared frame', () => {
    const shot = derive({ cueTrack: film(false) });
    expect(shot.firstContact).toMatchObject({ source: 'declared', frame: closedFrame - 0.5 });
    const found = shot.firstContact?.fromBreak;
    expect(Math.abs((found?.frame ?? 0) - contactFrame)).toBeLessThan(3 * (found?.standardUncertainty ?? 0));
    expect(found?.speedLoss).toBeCloseTo(1.2, 1);
    expect(shot.flags).not.toContain('firstContactDiffers');
  });

  it.each([-10, 10])('raises a flag when the declared frame is %i frames off', (shift) => {
    const shot = derive({ cueTrack: film(false), contact: declared(closedFrame + shift) });
    expect(shot.flags).toContain('firstContactDiffers');
    expect(shot.firstContact?.frame).toBe(closedFrame + shift - 0.5);
  });

  it('replaces the half-frame rule and its uncertainty by the gap of tip and ball where that was tracked', () => {
    const plain = derive({ cueTrack: film(false) });
    const shot = derive({ cueTrack: film(true) });
    expect(shot.firstContact?.source).toBe('gap');
    expect(Math.abs((shot.firstContact?.frame ?? 0) - contactFrame)).toBeLessThan(0.1);
    expect(shot.firstContact?.fromGap?.closingSpeed).toBeCloseTo(3, 1);
    const line = (each: typeof shot) => each.budget.find(({ input }) => input === 'instant of first contact');
    expect(line(shot)?.standardUncertainty).toBeLessThan(0.2 * (line(plain)?.standardUncertainty ?? 0));
  });

  it('keeps the declared frame, and says so, when the gap contradicts it', () => {
    const shot = derive({ cueTrack: film(true), contact: declared(closedFrame + 10) });
    expect(shot.firstContact).toMatchObject({ source: 'declared', frame: closedFrame + 9.5 });
    expect(shot.flags).toContain('firstContactDiffers');
  });

  it('takes hostile gaps without harm', () => {
    const track = film(true);
    const all = track.positions.length;
    for (const gaps of [
      [],
      [1, 2],
      Array(all).fill(0),
      Array(all).fill(-1),
      Array(all).fill(1e300),
      Array(all).fill(null),
    ]) {
      const shot = derive({ cueTrack: { ...track, gaps: gaps as (number | null)[] } });
      expect(shot.firstContact?.source).toBe('declared');
      expect(Number.isFinite(shot.cueSpeed?.value)).toBe(true);
    }
  });
});

describe('the contact time under other conventions', () => {
  it('is shown for every meaning of trims and criterion of exposure, beside the one that is used', () => {
    const contact = { closedFrame, openFrame: closedFrame + 12, trimmedStart: 2, trimmedEnd: 1 };
    const rig = { exposure: { value: 60, unit: 'us' }, exposureCriterion: 'anyPartOfExposure' };
    const shot = derive({ contact }, rig);
    expect(shot.contactTimeReadings).toHaveLength(9);
    const used = shot.contactTimeReadings.filter((reading) => reading.used);
    expect(used).toHaveLength(1);
    expect(used[0]?.value).toBe(shot.contactTime?.value);
    const value = (trimMeaning: string, exposureCriterion: string) =>
      shot.contactTimeReadings.find(
        (reading) => reading.trimMeaning === trimMeaning && reading.exposureCriterion === exposureCriterion,
      )?.value ?? 0;
    expect(value('undecided', 'unknown') * captureRate).toBeCloseTo(10.5, 9);
    expect(value('correction', 'unknown') * captureRate).toBeCloseTo(9, 9);
    expect(value('correction', 'wholeExposure') - value('correction', 'anyPartOfExposure')).toBeCloseTo(120e-6, 9);
  });

  it('shows one reading where no convention matters, and none where contact is not resolved', () => {
    expect(derive({}).contactTimeReadings).toHaveLength(1);
    expect(derive({ contact: { closedFrame, openFrame: closedFrame + 1 } }).contactTimeReadings).toEqual([]);
  });

  it('averages repeat counts and adds their scatter as a type A uncertainty', () => {
    const again = (frames: number) => ({ contact: { closedFrame, openFrame: closedFrame + frames } });
    const shot = derive({ repeats: [again(10), again(11)] });
    expect((shot.contactTime?.value ?? 0) * captureRate).toBeCloseTo(10, 9);
    const line = shot.budget.find(({ input }) => input === 'repeat counts');
    expect(line).toMatchObject({ kind: 'A', commonTo: 'shot' });
    expect((line?.contribution ?? 0) * captureRate).toBeCloseTo(1 / Math.sqrt(3), 9);
    expect(shot.contactTime?.standardUncertainty).toBeGreaterThan(derive({}).contactTime?.standardUncertainty ?? 1);
  });
});
