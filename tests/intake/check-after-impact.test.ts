/** The cue after the impact, held against the speed of the ball: parting and energy. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ShotInput } from '../../shared/shot.ts';
import type { GearBook } from '../../src/access/gear.ts';
import { parseSentShot, prepareShot } from '../../src/intake/prepare-shot.ts';
import { cueImpact } from '../../src/physics/cue-impact.ts';
import { captureRate, closedFrame, goodShot, inventedBook } from './invented.ts';

const cueMass = 19 * 0.028349523125;
const ballMass = 0.17;

/** The invented gear, with a ball of known mass. */
const weighed: GearBook = {
  ...inventedBook(),
  resolve: (kind, reference) => {
    const version = inventedBook().resolve(kind, reference);
    if (version === null || kind !== 'tables') return version;
    return { ...version, content: { ...version.content, ballMass: { value: ballMass, unit: 'kg' } } };
  },
};

const openFrame = closedFrame + 3;
/** The stroke of 2.5 m/s of the invented shots, with frames after the contact at a speed of the cue. */
function shot(ballSpeed: number, speedAfter: number, change: Partial<ShotInput> = {}, frames = 12): ShotInput {
  const good = goodShot('after', { contact: { closedFrame, openFrame } });
  const before = good.cueTrack?.positions ?? [];
  const after = Array.from({ length: 3 + frames }, (_, index) => 1.2 + (1000 * speedAfter * index) / captureRate);
  const cueTrack = { unit: 'mm', firstFrame: closedFrame - before.length, positions: [...before, ...after] };
  return { ...good, cueTrack, ballSpeed: { value: ballSpeed, unit: 'm/s' }, ...change };
}
function faults(value: ShotInput, book = weighed) {
  return prepareShot(parseSentShot({ position: 1, row: null, columns: null, value, faults: [] }), book, null).faults;
}
const places = (value: ShotInput, book?: GearBook) => faults(value, book).map(({ code, pointer }) => [code, pointer]);
const refused = [['limit-exceeded', '/ballSpeed/value']];

describe('cue and ball after the impact', () => {
  it('pass whatever restitution parts them, with the hand pushing on', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 60, max: 90 }).map((percent) => percent / 100),
        fc.integer({ min: 0, max: 100 }),
        (restitution, handAcceleration) => {
          const impact = cueImpact({
            cueSpeed: 2.5,
            tipOffset: -8 / 28.575,
            cueMass,
            ballMass,
            ballRadius: 0.028575,
            restitution,
          });
          const pushed = impact.cueSpeedAfter + handAcceleration * 0.003;
          expect(faults(shot(impact.ballSpeed, pushed))).toEqual([]);
        },
      ),
      { seed: 20_260_406, numRuns: 40 },
    );
  });
  it('are refused when the tip would have moved into the ball, whatever the masses', () => {
    expect(places(shot(1.2, 2.4), inventedBook())).toEqual(refused);
    expect(places(shot(1.9, 2), inventedBook())).toEqual([]);
  });
  it('are refused with more energy than the cue brought', () => {
    const [fault] = faults(shot(3.3, 2.45));
    expect(fault).toMatchObject({ code: 'limit-exceeded', pointer: '/ballSpeed/value' });
    expect(fault?.found).toMatch(/^2\.4\d* m\/s of the cue after the contact, beside a ball of 3\.3 m\/s$/);
    expect(fault?.expected).toMatch(/at least 1\.\d+ of it$/);
    // Without a mass there is nothing to weigh against.
    expect(places(shot(3.3, 2.45), inventedBook())).toEqual([]);
  });
  it('are not judged in a push, without the frame of parting, or on few frames', () => {
    expect(places(shot(3.3, 2.45, { labFlags: ['push'] }))).toEqual([]);
    expect(places(shot(3.3, 2.45, { contact: { closedFrame } }))).toEqual([]);
    expect(places(shot(3.3, 2.45, {}, 4))).toEqual([]);
    const { ballSpeed: _, ...without } = shot(3.3, 2.45);
    expect(places(without)).toEqual([]);
  });
});
