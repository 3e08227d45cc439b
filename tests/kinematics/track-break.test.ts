import { describe, expect, it } from 'vitest';
import { gapContact } from '../../src/kinematics/gap-contact.ts';
import { trackBreak } from '../../src/kinematics/track-break.ts';
import { expectRelative } from '../harness/expect-relative.ts';
import { normalDeviates, seededUniform } from './simulated-strokes.ts';

const rate = 8000;
const interval = 1 / rate;

/** How the force of contact runs over its duration, as the distance that the cue falls back for a unit loss of speed. */
const shapes = {
  linearSpring: (s: number) => (s - Math.sin(Math.PI * s) / Math.PI) / 2,
  constantForce: (s: number) => (s * s) / 2,
  risingForce: (s: number) => (s * s * s) / 3,
} as const;

interface Filmed {
  readonly times: Float64Array;
  readonly positions: Float64Array;
  /** Of true contact on the clock of the times. */
  readonly contact: number;
}

/** A stroke of 3 m/s that loses 1.2 m/s over `duration` from contact on; contact falls anywhere between two frames. */
function film(
  shape: (s: number) => number,
  noise: number,
  shift: number,
  uniform: () => number,
  duration = 1.2e-3,
): Filmed {
  const normal = normalDeviates(uniform);
  const contact = (uniform() - 0.5 + shift) * interval;
  const times = Float64Array.from({ length: 400 }, (_, i) => (i - 319.5) * interval);
  const positions = times.map((time) => {
    const t = time - contact;
    const s = t / duration;
    const fall = t <= 0 ? 0 : duration * (s < 1 ? shape(s) : shape(1) + (s - 1));
    return t * (3 + 10 * t) - 1.2 * fall + noise * normal();
  });
  return { times, positions, contact };
}

describe('trackBreak', () => {
  const find = (filmed: Filmed, contactTime = 1.2e-3) =>
    trackBreak({ times: filmed.times, positions: filmed.positions, interval, contactTime });

  it.each(Object.keys(shapes) as (keyof typeof shapes)[])(
    'finds first contact and the loss of speed, within three standard uncertainties, whatever the force: %s',
    (name) => {
      const uniform = seededUniform(811);
      let within = 0;
      for (let n = 0; n < 200; n += 1) {
        const filmed = film(shapes[name], 3e-5, 0, uniform);
        const found = find(filmed);
        if (found === null) throw new Error('no break');
        within += Number(Math.abs(found.time - filmed.contact) < 3 * found.standardUncertainty);
        expectRelative(found.speedLoss, 1.2, 0.15);
        expect(found.standardUncertainty).toBeLessThan(4 * interval);
      }
      expect(within / 200).toBeGreaterThan(0.97);
    },
  );

  it('holds when the contact lasts a third longer or shorter than counted', () => {
    const uniform = seededUniform(812);
    for (const duration of [0.9e-3, 1.6e-3]) {
      let within = 0;
      for (let n = 0; n < 100; n += 1) {
        const filmed = film(shapes.linearSpring, 3e-5, 0, uniform, duration);
        const found = find(filmed);
        within += Number(found !== null && Math.abs(found.time - filmed.contact) < 3 * found.standardUncertainty);
      }
      expect(within).toBeGreaterThan(95);
    }
  });

  it('sees a declared frame that is 12 frames off', () => {
    const filmed = film(shapes.linearSpring, 3e-5, 12, seededUniform(813));
    const found = find(filmed);
    expect(Math.abs((found?.time ?? 0) * rate - filmed.contact * rate)).toBeLessThan(2);
    expect((found?.time ?? 0) * rate).toBeGreaterThan(10);
  });

  it('says nothing when the cue loses no speed, gains some, or is lost at contact', () => {
    const uniform = seededUniform(814);
    const filmed = film(() => 0, 3e-5, 0, uniform);
    const normal = normalDeviates(uniform);
    expect(find({ ...filmed, positions: filmed.times.map((t) => 3 * t + 3e-5 * normal()) })).toBeNull();
    expect(find({ ...filmed, positions: filmed.times.map((t) => (t > 0 ? 5 : 3) * t) })).toBeNull();
    const lost = filmed.times.length - 78;
    expect(
      find({ ...filmed, times: filmed.times.slice(0, lost), positions: filmed.positions.slice(0, lost) }),
    ).toBeNull();
    expect(find({ ...filmed, positions: filmed.times.map(() => 0) })).toBeNull();
  });
});

describe('gapContact', () => {
  /** Gaps of a closing tip at 3 m/s that speeds up by 20 m/s2, read to 0.05 mm, before a contact at a random phase. */
  function closing(uniform: () => number, noise = 5e-5) {
    const normal = normalDeviates(uniform);
    const contact = (uniform() - 0.5) * interval;
    const times = Float64Array.from({ length: 60 }, (_, i) => (i - 59.5) * interval);
    const gaps = times.map((time) => {
      const t = time - contact;
      return t < 0 ? -t * (3 + 10 * t) + noise * normal() : Number.NaN;
    });
    return { times, gaps, contact };
  }

  it('finds contact within a frame, and its 95 % interval holds the truth in 93 to 97 of 100 strokes', () => {
    const uniform = seededUniform(821);
    let inside = 0;
    let size = 0;
    for (let n = 0; n < 1500; n += 1) {
      const { times, gaps, contact } = closing(uniform);
      const found = gapContact(times, gaps);
      if (found === null) throw new Error('no contact');
      inside += Number(Math.abs(found.time - contact) <= 1.96 * found.standardUncertainty);
      size += found.standardUncertainty / 1500;
      expectRelative(found.closingSpeed, 3, 0.1);
    }
    expect(inside / 1500).toBeGreaterThan(0.93);
    expect(inside / 1500).toBeLessThan(0.97);
    // About 0.02 mm at 3 m/s, where the half-frame rule knows 0.29 frames = 36 us.
    expect(size).toBeLessThan(1.2e-5);
  });

  it('takes missing gaps, and a line where there are fewer than six', () => {
    const { times, gaps, contact } = closing(seededUniform(822), 0);
    const sparse = gaps.map((gap, i) => (i % 3 === 0 ? Number.NaN : gap));
    expect(Math.abs((gapContact(times, sparse)?.time ?? 1) - contact)).toBeLessThan(1e-9);
    const four = gapContact(times.slice(56), gaps.slice(56));
    expect(four?.points).toBeLessThanOrEqual(4);
    expect(Math.abs((four?.time ?? 1) - contact)).toBeLessThan(2e-7);
  });

  it('says nothing when there are too few gaps, or when they do not close', () => {
    const { times, gaps } = closing(seededUniform(823), 0);
    expect(gapContact(times.slice(57), gaps.slice(57))).toBeNull();
    expect(
      gapContact(
        times,
        gaps.map(() => 0.01),
      ),
    ).toBeNull();
    expect(
      gapContact(
        times,
        gaps.map((_, i) => 0.01 + i),
      ),
    ).toBeNull();
    expect(
      gapContact(
        times,
        gaps.map(() => Number.NaN),
      ),
    ).toBeNull();
    expect(gapContact(new Float64Array(0), new Float64Array(0))).toBeNull();
  });
});
