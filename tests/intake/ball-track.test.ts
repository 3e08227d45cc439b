/** Ball tracks, gaps and repeat readings: checked at their place, stored to the last bit, served as sent. */
import { beforeAll, describe, expect, it } from 'vitest';
import type { BallTrack, CueTrack, ShotInput } from '../../shared/shot.ts';
import { parseSentShot, prepareShot } from '../../src/intake/prepare-shot.ts';
import { getTrack, listShots } from '../../src/intake/shots.ts';
import type { Database } from '../../src/store/database.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { goodShot, inventedBook, registerGear, send } from './invented.ts';

const ball = {
  unit: 'px',
  positions: [0.1, 40.2, 80.30000000000001, 119.5, 40],
  times: { unit: 'ms', values: [0, 10, 20, 30, 40] },
  captureRate: { value: 100, unit: 'fps' },
  playbackRate: { value: 25, unit: 'fps' },
  scale: { value: 1.5, unit: 'mm/px' },
  impactFrame: 3,
} satisfies NonNullable<ShotInput['ballTrack']>;

const prepare = (value: unknown) =>
  prepareShot(parseSentShot({ position: 1, row: null, columns: null, value, faults: [] }), inventedBook(), null);
const faultsOf = (change: Partial<ShotInput>) =>
  prepare(goodShot('b', change)).faults.map(({ code, pointer }) => [code, pointer]);
const withBall = (change: object) => faultsOf({ ballTrack: { ...ball, ...change } });
const without = (field: keyof typeof ball, change: object = {}) => withBall({ [field]: undefined, ...change });

/** A cue track whose gap was tracked in its last frames. */
function gapped(change: (gaps: (number | null)[]) => (number | null)[] = (gaps) => gaps): Partial<ShotInput> {
  const { cueTrack } = goodShot('b');
  const track = cueTrack as CueTrack;
  const gaps = track.positions.map((_, index) => (index < 180 ? null : 190 - index + 0.25));
  return { cueTrack: { ...track, gaps: change(gaps) } };
}

describe('a ball track', () => {
  it('may have a camera of its own', () => {
    expect(withBall({})).toEqual([]);
    expect(without('scale', { unit: 'mm' })).toEqual([]);
  });
  it('without a capture rate follows the clock of the rig', () => {
    expect(without('captureRate', { impactFrame: undefined, times: undefined, firstFrame: 4 })).toEqual([]);
    expect(without('captureRate', { times: { unit: 's', values: [0, 1, 2, 3, 4].map((n) => n / 25) } })).toContainEqual(
      ['time-base-playback', '/ballTrack/times/values'],
    );
  });
  it('in pixels needs a scale: its own, or that of the rig that filmed it', () => {
    expect(without('scale')).toEqual([['scale-missing', '/ballTrack/unit']]);
    const { captureRate: _rate, scale: _scale, playbackRate: _playback, ...track } = ball;
    const own = { ...track, impactFrame: undefined, times: undefined, firstFrame: 0 };
    expect(faultsOf({ rig: 'pixels', ballTrack: own })).toEqual([]);
    expect(faultsOf({ ballTrack: own })).toEqual([['scale-missing', '/ballTrack/unit']]);
  });
  it.each([
    [
      'a repeated time',
      { times: { unit: 'ms', values: [0, 10, 10, 30, 40] } },
      'frames-not-increasing',
      '/times/values/2',
    ],
    ['a time too few', { times: { unit: 'ms', values: [0, 10] } }, 'track-lengths-differ', '/times/values'],
    [
      'times of the playback rate',
      { times: { unit: 'ms', values: [0, 40, 80, 120, 160] } },
      'time-base-playback',
      '/times/values',
    ],
    [
      'rates swapped',
      { captureRate: ball.playbackRate, playbackRate: ball.captureRate },
      'playback-above-capture',
      '/playbackRate',
    ],
    ['an impossible rate', { captureRate: { value: 0, unit: 'fps' } }, 'limit-exceeded', '/captureRate/value'],
    ['a scale in no known unit', { scale: { value: 1.5, unit: 'km/px' } }, 'unit-unknown', '/scale/unit'],
    ['a rate in another dimension', { captureRate: { value: 100, unit: 'mm' } }, 'unit-dimension', '/captureRate/unit'],
    ['an impossible scale', { scale: { value: 1.5, unit: 'm/px' } }, 'limit-exceeded', '/scale/value'],
    ['contact after impact', { contactFrame: 5 }, 'structure-invalid', '/impactFrame'],
    ['an impact outside', { impactFrame: 40 }, 'contact-outside-track', '/impactFrame'],
    ['a position too far', { positions: [0, 1, 2, 3, 1e12] }, 'limit-exceeded', '/positions/4'],
    ['frames and a first frame', { frames: [0, 1, 2, 3, 4], firstFrame: 0 }, 'structure-invalid', '/firstFrame'],
  ])('with %s is refused there', (_, change, code, place) => {
    expect(withBall(change)).toContainEqual([code, `/ballTrack${place}`]);
  });
});

describe('gaps between tip and ball', () => {
  it('stand beside each position and may be missing', () => {
    expect(faultsOf(gapped())).toEqual([]);
    expect(faultsOf(gapped((gaps) => gaps.slice(1)))).toEqual([['track-lengths-differ', '/cueTrack/gaps']]);
    expect(faultsOf(gapped((gaps) => gaps.map((gap, index) => (index === 185 ? 1e12 : gap))))).toEqual([
      ['limit-exceeded', '/cueTrack/gaps/185'],
    ]);
  });
  it('change the content, unless they say nothing', () => {
    const hash = (change: Partial<ShotInput>) => prepare(goodShot('b', change)).ready?.contentHash;
    expect(hash(gapped((gaps) => gaps.map(() => null)))).toBe(hash({}));
    expect(hash(gapped())).not.toBe(hash({}));
  });
});

describe('repeat readings', () => {
  const repeats = (repeat: object) => faultsOf({ repeats: [{ observer: 'O2' }, repeat] });
  it('carry units, limits and signs of their own', () => {
    expect(repeats({ outcomeDistance: { value: -31, unit: 'cm' }, contact: { countedFrames: 4 } })).toEqual([]);
    expect(repeats({ outcomeDistance: { value: -31, unit: 'kg' } })).toEqual([
      ['unit-dimension', '/repeats/1/outcomeDistance/unit'],
    ]);
    expect(repeats({ outcomeDistance: { value: -31, unit: 'm' } })).toEqual([
      ['limit-exceeded', '/repeats/1/outcomeDistance/value'],
    ]);
    expect(repeats({ tipHeight: { method: 'ring', ring: 2, ringStep: { value: 4, unit: 'mm' } } })).toEqual([
      ['sign-missing', '/repeats/1/tipHeight/side'],
    ]);
    expect(repeats({ contact: { closedFrame: 12, openFrame: 10 } })).toEqual([
      ['contact-frames-order', '/repeats/1/contact/openFrame'],
    ]);
  });
  it('are stored with unit codes after aliasing', () => {
    const change: Partial<ShotInput> = { repeats: [{ outcomeDistance: { value: -12, unit: 'inch' } }] };
    const { ready } = prepare(goodShot('b', change));
    expect(ready?.content.repeats).toEqual([{ outcomeDistance: { value: -12, unit: '[in_i]' } }]);
  });
});

onEachDatabase((open) => {
  let db: Database;
  let north: TestLab;
  beforeAll(async () => {
    db = open().db;
    const curator = await makeCurator(db);
    north = await makeLab(db, curator, 'north');
    await registerGear(db, north.lead, 'north');
  });

  it('come back to the last bit', async () => {
    const sent = goodShot('with-ball', { ...gapped(), ballTrack: ball });
    await send(db, north, [sent]);
    const { shots } = await listShots(db, north.contributor, { lab: 'north', limit: 10 });
    const id = shots.find(({ label }) => label === 'with-ball')?.id ?? '';
    const { scaleRelativeUncertainty, ...track } = (await getTrack(db, north.contributor, id, 'ball')) as BallTrack;
    expect(track).toEqual({
      ...ball,
      captureRate: { value: 100, unit: '1/s' },
      playbackRate: { value: 25, unit: '1/s' },
    });
    expect(scaleRelativeUncertainty).toBe(0.005);
    expect(((await getTrack(db, north.contributor, id)) as CueTrack).gaps).toEqual((sent.cueTrack as CueTrack).gaps);
    expect(await send(db, north, [sent])).toMatchObject({ receipt: { counts: { unchanged: 1 } } });
    const moved = { ...sent, ballTrack: { ...ball, positions: [0.1, 40.2, 80.3, 119.5, 40] } };
    expect(await send(db, north, [moved], { revise: true })).toMatchObject({ receipt: { counts: { revised: 1 } } });
  });
  it('is not there where none was sent', async () => {
    await send(db, north, [goodShot('without-ball')]);
    const { shots } = await listShots(db, north.contributor, { lab: 'north', limit: 10 });
    const id = shots.find(({ label }) => label === 'without-ball')?.id ?? '';
    await expect(getTrack(db, north.contributor, id, 'ball')).rejects.toMatchObject({ code: 'not-found' });
  });
});
