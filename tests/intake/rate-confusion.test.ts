/** A playback rate taken for the capture rate is recognised in every way in which it shows, and named by its factor. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type RigContent, rigContentSchema } from '../../shared/gear.ts';
import type { CueTrack, ShotInput } from '../../shared/shot.ts';
import { checkGear } from '../../src/access/check-gear.ts';
import type { GearBook } from '../../src/access/gear.ts';
import { parseSentShot, prepareShot } from '../../src/intake/prepare-shot.ts';
import { goodShot, inventedBook } from './invented.ts';

/** The shots are filmed at 2000 frames/s; the rig says what it likes. */
const filmed = 2000;
function bookWith(rates: Pick<RigContent, 'captureRate' | 'playbackRate'>): GearBook {
  const content = rigContentSchema.parse(rates);
  const book = inventedBook();
  return {
    ...book,
    resolve: (kind, reference) => {
      const version = book.resolve(kind, reference);
      return version === null || kind !== 'rigs' ? version : { ...version, content: content as typeof version.content };
    },
  };
}
const fps = (value: number) => ({ value, unit: '1/s' });
const faultsOf = (value: ShotInput, book: GearBook) =>
  prepareShot(parseSentShot({ position: 1, row: null, columns: null, value, faults: [] }), book, null).faults;

const playback = fc.constantFrom(24, 25, 29.97, 30, 50, 59.94, 60, 120, 240);
const seed = { seed: 20_260_407, numRuns: 40 };

/** Asserts one fault at a place whose remedy names the factor, to 1 %. */
function expectNamed(faults: ReturnType<typeof faultsOf>, code: string, pointer: string, factor: number): void {
  expect(faults.map((one) => [one.code, one.pointer])).toEqual([[code, pointer]]);
  const named = Number(/([\d.]+(?:e\+\d+)?) times too/.exec(faults[0]?.remedy ?? '')?.[1]);
  expect(Math.abs(named / factor - 1), faults[0]?.remedy).toBeLessThan(0.01);
}

describe('a playback rate taken for the capture rate', () => {
  const timed = (rate: number, withFrames: boolean): ShotInput => {
    const shot = goodShot('t');
    const { firstFrame = 0, ...track } = shot.cueTrack as CueTrack;
    const frames = track.positions.map((_, index) => firstFrame + index);
    const times = { unit: 's', values: frames.map((frame) => frame / rate) };
    return { ...shot, cueTrack: { ...track, times, ...(withFrames ? { frames } : {}) } };
  };
  it.each([true, false])('shows in the times of a track (frame numbers beside them: %s)', (withFrames) => {
    fc.assert(
      fc.property(playback, (rate) => {
        const book = bookWith({ captureRate: fps(filmed), playbackRate: fps(rate) });
        expect(faultsOf(timed(filmed, withFrames), book)).toEqual([]);
        const faults = faultsOf(timed(rate, withFrames), book);
        expectNamed(faults, 'time-base-playback', '/cueTrack/times/values', filmed / rate);
      }),
      seed,
    );
  });
  it('shows in speeds and contact times of the lab, impossible or beside the recomputed ones', () => {
    fc.assert(
      fc.property(playback, fc.constantFrom('cueSpeed', 'contactTime', 'cueAcceleration'), (rate, quantity) => {
        const book = bookWith({ captureRate: fps(filmed), playbackRate: fps(rate) });
        const factor = filmed / rate;
        // As recomputed: 2.5 m/s, 10 m/s2, three or four frames.
        const [own, unit] = { cueSpeed: [2.5, 'm/s'], contactTime: [1.75, 'ms'], cueAcceleration: [10, 'm/s2'] }[
          quantity
        ] as [number, string];
        const reported = (value: number) => goodShot('t', { reported: { [quantity]: { value, unit } } });
        expect(faultsOf(reported(own), book)).toEqual([]);
        const [power, wrong] =
          quantity === 'contactTime'
            ? [factor, own * factor]
            : quantity === 'cueSpeed'
              ? [factor, own / factor]
              : [factor * factor, own / (factor * factor)];
        expectNamed(faultsOf(reported(wrong), book), 'rate-confusion', `/reported/${quantity}/value`, power);
      }),
      seed,
    );
  });
  it('shows in the speed of the ball', () => {
    const book = bookWith({ captureRate: fps(filmed), playbackRate: fps(25) });
    const faults = faultsOf(goodShot('t', { ballSpeed: { value: 3.2 / 80 / 40, unit: 'm/s' } }), book);
    expect(faults.map(({ code, pointer }) => [code, pointer])).toEqual([['limit-exceeded', '/ballSpeed/value']]);
    const slow = bookWith({ captureRate: fps(filmed), playbackRate: fps(5) });
    const confused = faultsOf(goodShot('t', { ballSpeed: { value: 3.2 / 400, unit: 'm/s' } }), slow);
    expectNamed(confused, 'rate-confusion', '/ballSpeed/value', 400);
  });
  it('shows in what is recomputed when the rig has it as its capture rate', () => {
    for (const rate of [24, 25, 30, 50, 60]) {
      const [fault] = faultsOf(goodShot('t'), bookWith({ captureRate: fps(rate) }));
      expect(fault).toMatchObject({ code: 'rate-confusion' });
      expect(fault?.remedy).toMatch(/a rate at which files play; .* times higher/);
    }
  });
  it('shows in a rig whose two rates are swapped', () => {
    const checked = checkGear('rigs', { captureRate: fps(25), playbackRate: fps(filmed) });
    expect(checked).toMatchObject({ ok: false, faults: [{ code: 'playback-above-capture' }] });
  });
  it('is not suspected where a value is merely different', () => {
    const book = bookWith({ captureRate: fps(filmed), playbackRate: fps(500) });
    for (const value of [0.9, 1.5, 2.4, 5]) {
      expect(faultsOf(goodShot('t', { reported: { cueSpeed: { value, unit: 'm/s' } } }), book)).toEqual([]);
    }
  });
});
