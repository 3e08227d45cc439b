import { describe, expect, it } from 'vitest';
import { type ContactTimeInput, contactTime } from '../../src/kinematics/contact-time.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { seededUniform } from './simulated-strokes.ts';

const rate = 8000;
const interval = 1 / rate;
const rounding = 1e-13;

function input(changes: Partial<ContactTimeInput>): ContactTimeInput {
  return {
    contactFrames: 9,
    trimmedStart: 0,
    trimmedEnd: 0,
    trimMeaning: 'correction',
    captureRate: rate,
    exposure: null,
    exposureCriterion: 'unknown',
    ...changes,
  };
}

describe('contactTime', () => {
  it('takes trimmed frames off as a correction, with the uncertainty of a bare count', () => {
    const contact = contactTime(input({ contactFrames: 12, trimmedStart: 2, trimmedEnd: 1 }));
    expectRelative(contact.value, 9 * interval, rounding);
    expectRelative(contact.standardUncertainty, interval / Math.sqrt(6), rounding);
    expectRelative(contact.counted, 9 * interval, rounding);
    expectRelative(contact.least, 8 * interval, rounding);
    expectRelative(contact.most, 10 * interval, rounding);
  });

  it('counts undecided frames half, with the trapezoid of their number at each end', () => {
    const contact = contactTime(input({ contactFrames: 12, trimmedStart: 2, trimmedEnd: 1, trimMeaning: 'undecided' }));
    expectRelative(contact.value, 10.5 * interval, rounding);
    expectRelative(contact.standardUncertainty, interval * Math.sqrt((3 * 3 + 2 * 2) / 12), rounding);
    expectRelative(contact.counted, 9 * interval, rounding);
    expectRelative(contact.least, 8 * interval, rounding);
    expectRelative(contact.most, 13 * interval, rounding);
    // Trapezoid of half-base 2.5 and half-top 0.5 frames: tail (2.5 - h)^2 / (2 (6.25 - 0.25)) = 0.025.
    expectRelative(contact.upper - contact.value, interval * (2.5 - Math.sqrt(0.3)), rounding);
  });

  it('keeps both readings inside its bounds when the meaning of trimmed frames is unknown', () => {
    const trims = { contactFrames: 12, trimmedStart: 2, trimmedEnd: 1 } as const;
    const correction = contactTime(input({ ...trims, trimMeaning: 'correction' }));
    const undecided = contactTime(input({ ...trims, trimMeaning: 'undecided' }));
    const unknown = contactTime(input({ ...trims, trimMeaning: 'unknown' }));
    expect(unknown.value).toBe(undecided.value);
    expect(unknown.least).toBe(Math.min(correction.least, undecided.least));
    expect(unknown.most).toBe(Math.max(correction.most, undecided.most));
    expect(unknown.lower).toBe(Math.min(correction.lower, undecided.lower));
    expect(unknown.upper).toBe(Math.max(correction.upper, undecided.upper));
    expect(unknown.standardUncertainty).toBeGreaterThan(undecided.standardUncertainty);
  });

  it('does not care for the meaning when nothing was trimmed', () => {
    const correction = contactTime(input({ trimMeaning: 'correction' }));
    expect(contactTime(input({ trimMeaning: 'undecided' }))).toEqual(correction);
    expect(contactTime(input({ trimMeaning: 'unknown' }))).toEqual(correction);
  });

  it.each([
    ['anyPartOfExposure', -1],
    ['wholeExposure', 1],
  ] as const)('corrects for the exposure when contact counts as %s', (exposureCriterion, sign) => {
    const exposure = 60e-6;
    const contact = contactTime(input({ exposure, exposureCriterion }));
    const plain = contactTime(input({}));
    expectRelative(contact.value, plain.value + sign * exposure, rounding);
    expectRelative(contact.least, plain.least + sign * exposure, rounding);
    expectRelative(contact.most, plain.most + sign * exposure, rounding);
    expect(contact.standardUncertainty).toBe(plain.standardUncertainty);
  });

  it('adds the exposure as a rectangular error when the criterion is unknown', () => {
    const exposure = 60e-6;
    const contact = contactTime(input({ exposure }));
    expectRelative(contact.value, 9 * interval, rounding);
    expectRelative(
      contact.standardUncertainty,
      Math.sqrt((interval * interval) / 6 + (exposure * exposure) / 3),
      rounding,
    );
    expectRelative(contact.least, 8 * interval - exposure, rounding);
    expectRelative(contact.most, 10 * interval + exposure, rounding);
  });

  it.each([0, 1])('calls contact not resolved with %i frames left after trimming', (left) => {
    const contact = contactTime(input({ contactFrames: left + 2, trimmedStart: 1, trimmedEnd: 1 }));
    expect(contact.resolved).toBe(false);
    expect(contact.least).toBe(0);
    expectRelative(contact.most, (left + 1) * interval, rounding);
    expect(contactTime(input({ contactFrames: 4, trimmedStart: 1, trimmedEnd: 1 })).resolved).toBe(true);
  });

  it('calls contact not resolved when trimming leaves less than nothing', () => {
    expect(contactTime(input({ contactFrames: 3, trimmedStart: 2, trimmedEnd: 2 })).resolved).toBe(false);
  });
});

/**
 * Contact at a uniformly random phase, of uniformly random duration, filmed with exposure t_e: frame k is open to the
 * light from k dt to k dt + t_e.
 */
function countFrames(
  duration: number,
  phase: number,
  exposure: number,
  criterion: 'anyPartOfExposure' | 'wholeExposure',
): number {
  let count = 0;
  for (let frame = -2; frame * interval < duration + 2 * interval; frame += 1) {
    const opens = (frame + phase) * interval;
    const closes = opens + exposure;
    const seen = criterion === 'anyPartOfExposure' ? closes > 0 && opens < duration : opens >= 0 && closes <= duration;
    count += Number(seen);
  }
  return count;
}

describe('the 95 % interval of a contact time', () => {
  const shots = 4000;
  const honest = (share: number) => {
    expect(share).toBeGreaterThan(0.94);
    expect(share).toBeLessThan(0.96);
  };

  it.each(['anyPartOfExposure', 'wholeExposure'] as const)('holds the truth for a bare count, %s', (criterion) => {
    const uniform = seededUniform(71);
    const exposure = 60e-6;
    let inside = 0;
    let meanError = 0;
    for (let shot = 0; shot < shots; shot += 1) {
      const duration = 0.7e-3 + 1e-3 * uniform();
      const contactFrames = countFrames(duration, uniform(), exposure, criterion);
      const contact = contactTime(input({ contactFrames, exposure, exposureCriterion: criterion }));
      inside += Number(contact.lower <= duration && duration <= contact.upper);
      meanError += (contact.value - duration) / shots;
      expect(contact.least <= duration && duration <= contact.most).toBe(true);
    }
    honest(inside / shots);
    expect(Math.abs(meanError)).toBeLessThan((4 * interval) / Math.sqrt(6 * shots));
  });

  it('holds the truth when undecided frames hide where contact starts and ends', () => {
    const uniform = seededUniform(72);
    const trims = { trimmedStart: 3, trimmedEnd: 1 };
    let inside = 0;
    for (let shot = 0; shot < shots; shot += 1) {
      // Certain contact in `certain` frames; the ends lie anywhere in the undecided stretch beyond them.
      const certain = 4 + Math.floor(8 * uniform());
      const duration =
        (certain - 1 + (trims.trimmedStart + 1) * uniform() + (trims.trimmedEnd + 1) * uniform()) * interval;
      const contact = contactTime(input({ contactFrames: certain + 4, ...trims, trimMeaning: 'undecided' }));
      inside += Number(contact.lower <= duration && duration <= contact.upper);
    }
    honest(inside / shots);
  });

  it('holds the truth when the exposure criterion is unknown', () => {
    const uniform = seededUniform(73);
    const exposure = 100e-6;
    const trims = { trimmedStart: 1, trimmedEnd: 0 };
    let inside = 0;
    for (let shot = 0; shot < shots; shot += 1) {
      const error = 2 * uniform() + uniform() - 1.5;
      const duration = 8.5 * interval + error * interval + (2 * uniform() - 1) * exposure;
      const contact = contactTime(input({ contactFrames: 9, ...trims, trimMeaning: 'undecided', exposure }));
      inside += Number(contact.lower <= duration && duration <= contact.upper);
    }
    honest(inside / shots);
  });
});
