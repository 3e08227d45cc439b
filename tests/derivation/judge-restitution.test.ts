/** Ball speeds that one clean impulse of tip and ball can give, and those that it cannot. */
import { describe, expect, it } from 'vitest';
import type { ShotInput } from '../../shared/shot.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { cueImpact } from '../../src/physics/cue-impact.ts';
import { exampleGear, exampleShot } from './example-shot.ts';

const ballMass = 0.17;
const cueMass = 0.539;
const heavy = exampleGear(
  { playbackRate: { value: 25, unit: 'fps' } },
  { mass: { value: cueMass, unit: 'kg' } },
  { ballMass: { value: ballMass, unit: 'kg' } },
);
const centre = { method: 'contactMark', height: { value: -6, unit: 'mm' } } as const;

function judge(value: number, change: Partial<ShotInput> = {}, gear = heavy) {
  const shot = exampleShot({ tipHeight: centre, ballSpeed: { value, unit: 'm/s' }, ...change });
  const { derived, faults } = deriveShot(shot, gear);
  return { codes: faults.map(({ code, pointer }) => [code, pointer]), flags: derived.flags, remedy: faults[0]?.remedy };
}

/** The speed of the ball when the stroke of the example, 3 m/s, meets it with a restitution. */
const speedAt = (restitution: number) =>
  cueImpact({ cueSpeed: 3, tipOffset: -6 / 28.575, cueMass, ballMass, ballRadius: 0.028575, restitution }).ballSpeed;

describe('a ball speed', () => {
  it('of a usual restitution passes without a remark', () => {
    for (const restitution of [0.62, 0.75, 0.88]) {
      const { codes, flags } = judge(speedAt(restitution));
      expect(codes).toEqual([]);
      expect(flags).not.toContain('restitutionUnusual');
    }
  });
  it('of an unusual restitution is flagged', () => {
    for (const restitution of [0.1, 0.4]) {
      const { codes, flags } = judge(speedAt(restitution));
      expect(codes).toEqual([]);
      expect(flags).toContain('restitutionUnusual');
    }
  });
  it.each([0.5, 3 * 1.9])('that no restitution gives is refused: %d m/s', (speed) => {
    expect(judge(speed).codes).toEqual([['limit-exceeded', '/ballSpeed']]);
  });
  it('computed with the playback rate is diagnosed by the factor', () => {
    const { codes, remedy } = judge(speedAt(0.75) / 320);
    expect(codes).toEqual([['rate-confusion', '/ballSpeed']]);
    expect(remedy).toContain('320 times');
  });
  it('is held only against twice the cue speed when a mass is not known', () => {
    expect(judge(5.9, {}, exampleGear()).codes).toEqual([]);
    expect(judge(0.5, {}, exampleGear()).codes).toEqual([]);
    expect(judge(7, {}, exampleGear()).codes).toEqual([['limit-exceeded', '/ballSpeed']]);
  });
  it('is not judged where the lab marked a double hit', () => {
    expect(judge(3 * 1.9, { labFlags: ['doubleHit'] }).codes).toEqual([]);
  });
});
