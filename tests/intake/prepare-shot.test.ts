/** Checks of one shot: what is wrong with it, all at once, each fault at its place. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Fault } from '../../shared/problems.ts';
import type { CueTrack, ShotInput } from '../../shared/shot.ts';
import { parseSentShot, prepareShot } from '../../src/intake/prepare-shot.ts';
import type { PreparedShot } from '../../src/intake/prepared-shot.ts';
import { readCsv } from '../../src/intake/read/read-csv.ts';
import { captureRate, chunked, closedFrame, goodShot, inventedBook } from './invented.ts';

const book = inventedBook();

function prepare(value: unknown): PreparedShot {
  return prepareShot(parseSentShot({ position: 1, row: null, columns: null, value, faults: [] }), book, null);
}

const codesAt = (faults: readonly Fault[]) => faults.map(({ code, pointer }) => [code, pointer]);
const faultsOf = (value: unknown) => codesAt(prepare(value).faults);

function withTrack(change: (track: CueTrack) => Partial<CueTrack>): ShotInput {
  const shot = goodShot('t');
  const track = shot.cueTrack as CueTrack;
  return { ...shot, cueTrack: { ...track, ...change(track) } };
}

describe('a shot that passes', () => {
  it('is derived, with its gear written name@version', () => {
    const { faults, ready } = prepare(goodShot('a'));
    expect(faults).toEqual([]);
    expect(ready?.content).toMatchObject({ rig: 'main@1', cue: 'house@1', table: 'club@1' });
    expect(ready?.derived?.cueSpeed?.value).toBeCloseTo(2.5, 1);
    expect(ready?.derived?.source).toBe('track');
  });
  it('has the same content hash whatever aliases, order of fields and defaults it is written with', () => {
    const sent = goodShot('a', { ballSpeed: { value: 8, unit: '[ft_i]/s' }, straight: true, labFlags: [] });
    const reversed = Object.fromEntries(Object.entries(sent).reverse());
    const other = {
      ...reversed,
      ballSpeed: { unit: 'fps', value: 8 },
      straight: undefined,
      rig: 'main@1',
      shared: true,
    };
    expect(prepare(other).ready?.contentHash).toBe(prepare(sent).ready?.contentHash);
  });
  it('has the same content hash with its frames counted or written out, and another one for any other position', () => {
    const written = withTrack(({ positions, firstFrame = 0 }) => ({
      frames: positions.map((_, index) => firstFrame + index),
    }));
    const { firstFrame: _, ...track } = written.cueTrack as CueTrack;
    const moved = withTrack(({ positions }) => ({
      positions: positions.map((x, index) => (index === 3 ? x + 1e-12 : x)),
    }));
    const hash = prepare(goodShot('t')).ready?.contentHash;
    expect(prepare({ ...written, cueTrack: track }).ready?.contentHash).toBe(hash);
    expect(prepare(moved).ready?.contentHash).not.toBe(hash);
  });
});

describe('structure', () => {
  it('names missing, unknown and wrong fields with what was expected', () => {
    const shot = { ...goodShot('a'), rig: undefined, tipOffset: 3, 'a/b~c': 1, player: 'Some Body', straight: 'yes' };
    const { faults } = prepare(shot);
    expect(codesAt(faults)).toEqual(
      expect.arrayContaining([
        ['structure-invalid', '/rig'],
        ['structure-invalid', '/tipOffset'],
        ['structure-invalid', '/a~1b~0c'],
        ['structure-invalid', '/player'],
        ['structure-invalid', '/straight'],
      ]),
    );
    expect(faults.find(({ pointer }) => pointer === '/player')?.expected).toContain('Never a name');
    expect(faults.find(({ pointer }) => pointer === '/tipHeight/method')).toBeUndefined();
  });
  it('tells faults of other parts beside a broken one', () => {
    const shot = { ...goodShot('a', { objectBallDistance: { value: 80, unit: 'm' }, cue: 'lost' }), player: '?' };
    expect(faultsOf(shot)).toEqual([
      ['structure-invalid', '/player'],
      ['gear-unknown', '/cue'],
    ]);
    const known = { ...goodShot('a', { objectBallDistance: { value: 80, unit: 'm' } }), player: '?' };
    expect(faultsOf(known)).toEqual([
      ['structure-invalid', '/player'],
      ['limit-exceeded', '/objectBallDistance/value'],
    ]);
  });
  it('does not blame a track for contact frames that could not be read', () => {
    expect(faultsOf({ ...goodShot('a'), contact: { closedFrame: 'early' } })).toEqual([
      ['structure-invalid', '/contact/closedFrame'],
    ]);
  });
  it('tells a number that is not finite from one that is of another kind', () => {
    const wrong = [Number.POSITIVE_INFINITY, 'NaN', '', '12', null].map(
      (value) => faultsOf({ ...goodShot('a'), ballSpeed: { value, unit: 'm/s' } })[0]?.[0],
    );
    expect(wrong).toEqual([
      'value-not-finite',
      'value-not-finite',
      'value-not-finite',
      'structure-invalid',
      'structure-invalid',
    ]);
  });
  it('tells five wrong members of a list, not thousands', () => {
    const shot = withTrack(({ positions }) => ({ positions: positions.map(() => Number.NaN) }));
    expect(prepare(shot).faults).toHaveLength(5);
  });
  it('refuses text that cannot be stored', () => {
    expect(faultsOf(goodShot('a', { note: 'a\u0000b' }))).toEqual([['structure-invalid', '/note']]);
    expect(faultsOf(goodShot('a', { note: 'a\ud800b' }))).toEqual([['structure-invalid', '/note']]);
    expect(prepare({ label: 'a\u0000b' }).label).toBe('a\ufffdb');
  });
  it.each([null, 3, 'text', [], [{}]])('refuses %j in place of a shot', (value) => {
    expect(faultsOf(value)).toEqual([['structure-invalid', '']]);
  });
});

describe('units, limits and gear', () => {
  it('tells every wrong unit with the nearest one', () => {
    const { faults } = prepare(
      goodShot('a', {
        objectBallDistance: { value: 1, unit: 'metrs' },
        elevation: { value: 2, unit: 'mm' },
        cueTrack: { ...(goodShot('a').cueTrack as CueTrack), unit: 'kg' },
      }),
    );
    expect(codesAt(faults)).toEqual([
      ['unit-unknown', '/objectBallDistance/unit'],
      ['unit-dimension', '/elevation/unit'],
      ['unit-dimension', '/cueTrack/unit'],
    ]);
    expect(faults[0]?.remedy).toContain('metre');
  });
  it('judges limits in SI and says what the value is there', () => {
    const { faults } = prepare(goodShot('a', { objectBallDistance: { value: 8000, unit: 'mm' } }));
    expect(faults).toMatchObject([
      { code: 'limit-exceeded', pointer: '/objectBallDistance/value', found: '8000 mm = 8 m', expected: '0 to 4.1 m' },
    ]);
  });
  it('does not take a standard uncertainty of zero or less', () => {
    const outcome = {
      distance: { value: 1, unit: 'cm' },
      standardUncertainty: { value: 0, unit: 'cm' },
      ended: 'atRest',
    } as const;
    expect(faultsOf(goodShot('a', { outcome }))).toEqual([['limit-exceeded', '/outcome/standardUncertainty/value']]);
  });
  it('recognises a contact time computed with the playback rate', () => {
    const { faults } = prepare(goodShot('a', { reported: { contactTime: { value: 0.1, unit: 's' } } }));
    expect(codesAt(faults)).toEqual([['rate-confusion', '/reported/contactTime/value']]);
    expect(faults[0]?.remedy).toContain('2000 frames/s');
  });
  it('names the gear that is known', () => {
    const { faults } = prepare(goodShot('a', { rig: 'man', cue: 'house@2' }));
    expect(faults).toMatchObject([
      { code: 'gear-unknown', pointer: '/rig', expected: 'one of main, pixels' },
      { code: 'gear-unknown', pointer: '/cue', expected: 'house@1' },
    ]);
  });
  it('takes balls, radii and diamonds of the table, and refuses them where the table cannot say', () => {
    const distance = { value: 3, unit: 'diamonds' };
    expect(prepare(goodShot('a', { objectBallDistance: distance })).ready?.derived?.objectBallDistance).toBeCloseTo(
      0.9525,
      9,
    );
    const { table: _, ...without } = goodShot('a', { objectBallDistance: distance });
    expect(faultsOf(without)).toEqual([['unit-unknown', '/objectBallDistance/unit']]);
  });
  it('needs a scale for pixels', () => {
    const pixels = withTrack(() => ({ unit: 'px' }));
    expect(faultsOf(pixels)).toEqual([['scale-missing', '/cueTrack/unit']]);
    expect(
      faultsOf({
        ...withTrack(({ positions }) => ({ unit: 'px', positions: positions.map((x) => x * 5) })),
        rig: 'pixels',
      }),
    ).toEqual([]);
  });
});

describe('track, time base and contact', () => {
  const frames = (track: CueTrack) => track.positions.map((_, index) => (track.firstFrame ?? 0) + index);
  const numbered = (change: (track: CueTrack) => Partial<CueTrack>) => {
    const { firstFrame: _, ...track } = withTrack(change).cueTrack as CueTrack;
    return goodShot('t', { cueTrack: track });
  };
  const timed = (rate: number, offset = 3) =>
    withTrack((track) => ({
      times: { unit: 'ms', values: frames(track).map((frame) => (1000 * frame) / rate + offset) },
    }));

  it('wants as many frames and times as positions, in rising order', () => {
    expect(faultsOf(numbered((track) => ({ frames: frames(track).slice(1) })))).toEqual([
      ['track-lengths-differ', '/cueTrack/frames'],
    ]);
    expect(faultsOf(withTrack(() => ({ times: { unit: 's', values: [1, 2] } })))).toEqual([
      ['track-lengths-differ', '/cueTrack/times/values'],
    ]);
    const repeated = numbered((track) => ({
      frames: frames(track).map((frame, index) => (index === 50 ? frame - 1 : frame)),
    }));
    expect(faultsOf(repeated)).toEqual([['frames-not-increasing', '/cueTrack/frames/50']]);
    expect(faultsOf(withTrack((track) => ({ frames: frames(track) })))).toEqual([
      ['structure-invalid', '/cueTrack/firstFrame'],
    ]);
    expect(faultsOf(numbered(() => ({})))).toEqual([['structure-invalid', '/cueTrack']]);
  });
  it('takes 100,000 points and not one more', () => {
    const long = (points: number) => ({
      ...goodShot('t', { contact: { closedFrame: 99_000, openFrame: 99_004 } }),
      cueTrack: { unit: 'mm', firstFrame: 0, positions: Array.from({ length: points }, (_, index) => index) },
    });
    expect(faultsOf(long(100_000))).toEqual([]);
    expect(prepare(long(100_001)).faults).toMatchObject([
      { code: 'structure-invalid', pointer: '/cueTrack/positions', expected: 'at most 100000 members' },
    ]);
  });
  it('wants first contact, and eight points before it', () => {
    expect(faultsOf(goodShot('t', { contact: { countedFrames: 4 } }))).toEqual([
      ['first-contact-missing', '/contact/closedFrame'],
    ]);
    const eight = withTrack(({ positions }) => ({ positions: positions.slice(-12), firstFrame: closedFrame - 8 }));
    const seven = withTrack(({ positions }) => ({ positions: positions.slice(-12), firstFrame: closedFrame - 7 }));
    expect(faultsOf(seven)).toEqual([['track-too-short', '/cueTrack/positions']]);
    expect(faultsOf(eight).filter(([code]) => code === 'track-too-short')).toEqual([]);
  });
  it('takes times on the clock of capture up to a constant, also when rounded to half a frame', () => {
    expect(faultsOf(timed(captureRate))).toEqual([]);
    const rounded = withTrack((track) => ({
      times: {
        unit: 'ms',
        values: frames(track).map((frame) => Math.round((10_000 * frame) / captureRate + 2.5) / 10),
      },
    }));
    expect(faultsOf(rounded)).toEqual([]);
  });
  it('recognises the playback rate and gives the factor', () => {
    const { faults } = prepare(timed(25));
    expect(codesAt(faults)).toEqual([['time-base-playback', '/cueTrack/times/values']]);
    expect(faults[0]?.remedy).toContain('80 times too long');
    expect(faultsOf(timed(1900))).toEqual([['time-base-mismatch', '/cueTrack/times/values']]);
  });
  it('takes times alone when they lie on frames, and recognises the playback rate in them', () => {
    const alone = (rate: number) =>
      numbered((track) => ({ times: { unit: 's', values: frames(track).map((frame) => frame / rate) } }));
    expect(faultsOf(alone(captureRate))).toEqual([]);
    expect(faultsOf(alone(25)).map(([code]) => code)).toContain('time-base-playback');
    expect(faultsOf(alone(captureRate * 3)).map(([code]) => code)).toContain('time-base-mismatch');
  });
  it('wants contact frames in order, inside the track, with something left after trimming', () => {
    const contact = (change: object) => faultsOf(goodShot('t', { contact: { closedFrame, ...change } }));
    expect(contact({ openFrame: closedFrame })).toEqual([['contact-frames-order', '/contact/openFrame']]);
    expect(contact({ openFrame: closedFrame - 4, trimmedStart: 2 })).toEqual([
      ['contact-frames-order', '/contact/openFrame'],
    ]);
    expect(contact({ openFrame: closedFrame + 4, trimmedStart: 2, trimmedEnd: 2 })).toEqual([
      ['trim-too-large', '/contact/trimmedStart'],
    ]);
    expect(contact({ openFrame: closedFrame + 4, countedFrames: 5 })).toEqual([
      ['structure-invalid', '/contact/countedFrames'],
    ]);
    expect(contact({ closedFrame: 900, openFrame: 904 })).toEqual([['contact-outside-track', '/contact/closedFrame']]);
    expect(contact({ closedFrame: 3, openFrame: 9 })).toEqual([['contact-outside-track', '/contact/closedFrame']]);
    expect(contact({})).toEqual([]);
  });
  it('refuses a ring without its side, but not the centre', () => {
    const ring = (value: number) => ({ method: 'ring', ring: value, ringStep: { value: 4, unit: 'mm' } }) as const;
    expect(faultsOf(goodShot('t', { tipHeight: ring(2) }))).toEqual([['sign-missing', '/tipHeight/side']]);
    expect(faultsOf(goodShot('t', { tipHeight: ring(0) }))).toEqual([]);
    expect(faultsOf(goodShot('t', { tipHeight: { ...ring(2), side: 'below' } }))).toEqual([]);
  });
});

describe('a CSV', () => {
  async function prepareCsv(text: string): Promise<PreparedShot[]> {
    const shots: PreparedShot[] = [];
    for await (const sent of readCsv(chunked(text), 10_000)) shots.push(prepareShot(parseSentShot(sent), book, null));
    return shots;
  }

  it('is stored as reported, and its faults name row and column', async () => {
    const text = `label,rig,player,tip_height[mm],outcome_distance[cm],outcome_ended,reported_cue_speed[mph]
a,main,P1,-8,-20,atRest,6
b,nix,P 1,"-8,5",-20,,60
,main,,,,,6
`;
    const [good, bad, nameless] = await prepareCsv(text);
    expect(good?.ready?.derived).toMatchObject({ source: 'reported', cueSpeed: { value: 2.68224 } });
    expect(bad?.faults.map(({ code, pointer, row, column }) => [code, pointer, row, column])).toEqual([
      ['structure-invalid', null, 3, 'tip_height[mm]'],
      ['structure-invalid', null, 3, 'player'],
      ['structure-invalid', null, 3, 'outcome_ended'],
      ['gear-unknown', null, 3, 'rig'],
    ]);
    expect(nameless?.faults).toMatchObject([{ code: 'structure-invalid', row: 4, column: 'label' }]);
    expect(bad?.faults[0]?.remedy).toContain('decimal point');
  });
});

/** One way to break a shot, and the places that may be blamed for it. */
const breakages: readonly (readonly [string, (shot: ShotInput, at: number) => unknown, RegExp])[] = [
  ['an unknown field', (shot, at) => ({ ...shot, [`field${at}`]: at }), /^\/field\d+$/],
  [
    'a wrong unit',
    (shot, at) => ({ ...shot, objectBallDistance: { value: 1, unit: `zz${at}` } }),
    /^\/objectBallDistance\/unit$/,
  ],
  [
    'an impossible distance',
    (shot, at) => ({ ...shot, objectBallDistance: { value: 5 + at, unit: 'm' } }),
    /^\/objectBallDistance\/value$/,
  ],
  ['a rig that is not there', (shot, at) => ({ ...shot, rig: `rig-${at}` }), /^\/rig$/],
  ['a name for a player', (shot, at) => ({ ...shot, player: `Player ${at}` }), /^\/player$/],
  [
    'opening before closing',
    (shot, at) => ({ ...shot, contact: { closedFrame, openFrame: closedFrame - 1 - at } }),
    /^\/contact\/openFrame$/,
  ],
  [
    'contact far behind the track',
    (shot, at) => ({ ...shot, contact: { closedFrame: 1000 + at } }),
    /^\/contact\/closedFrame$/,
  ],
  [
    'a missing position',
    (shot, at) => ({
      ...shot,
      cueTrack: { ...shot.cueTrack, positions: shot.cueTrack?.positions.map((x, i) => (i === at % 190 ? null : x)) },
    }),
    /^\/cueTrack\/positions\/\d+$/,
  ],
  [
    'a repeated frame',
    (shot, at) => {
      const { firstFrame = 0, ...track } = shot.cueTrack as CueTrack;
      const place = 1 + (at % 189);
      const frames = track.positions.map((_, i) => firstFrame + i - (i === place ? 1 : 0));
      return { ...shot, cueTrack: { ...track, frames } };
    },
    /^\/cueTrack\/frames\/\d+$/,
  ],
  [
    'a ring without side',
    (shot, at) => ({ ...shot, tipHeight: { method: 'ring', ring: 1 + at, ringStep: { value: 1, unit: 'mm' } } }),
    /^\/tipHeight\/side$/,
  ],
];

describe('a valid shot broken in one place', () => {
  it('gets a fault that names that place, and no fault elsewhere', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...breakages),
        fc.nat(10_000),
        fc.integer({ min: 1, max: 50 }),
        (breakage, at, seed) => {
          const [, wreck, place] = breakage;
          const shot = goodShot('p', {}, seed);
          expect(prepare(shot).faults).toEqual([]);
          const { faults } = prepare(wreck(shot, at));
          expect(faults.length).toBeGreaterThan(0);
          for (const { pointer, found, expected, remedy } of faults) {
            expect(pointer).toMatch(place);
            expect([found, expected, remedy].every((text) => text.length > 1)).toBe(true);
          }
        },
      ),
      { seed: 20_261_124, numRuns: 150 },
    );
  });
});
