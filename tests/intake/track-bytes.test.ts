import fc from 'fast-check';
import { expect, it } from 'vitest';
import { shotInputSchema } from '../../shared/shot.ts';
import { parseShot } from '../../src/intake/parse-shot.ts';
import { contentHash } from '../../src/intake/stored-content.ts';
import { decodeTrack, encodeTrack, trackHash } from '../../src/intake/track-bytes.ts';
import { canonicalJson } from '../../src/pooling/canonical.ts';
import { readTable, renderTable } from '../../src/releases/csv-table.ts';
import { trackPoints, tracksOfRows, tracksTable } from '../../src/releases/tracks-table.ts';
import { goodShot } from './invented.ts';

const number = fc.oneof(
  fc.constantFrom(-0, 0, 5e-324, -5e-324, 1e308, -1e308, 2.2250738585072014e-308, 0.1),
  fc.double({ noNaN: true, noDefaultInfinity: true }),
);
const tracks = fc.integer({ min: 1, max: 30 }).chain((length) => {
  const list = fc.array(number, { minLength: length, maxLength: length });
  return fc.record({ positions: list, values: list });
});

it('a track keeps its hash from the bytes that are stored to the table of a release and back', () => {
  fc.assert(
    fc.property(tracks, ({ positions, values }) => {
      const sent = { unit: 'mm', positions, times: { unit: 's', values } };
      const encoded = encodeTrack(sent);
      const { times, ...stored } = decodeTrack(encoded);
      const content = shotInputSchema.omit({ cueTrack: true, shared: true }).parse({ label: 'a', rig: 'main@1' });
      const track = { ...stored, frames: null, times: times ?? null, gaps: null };
      const frozen = { lab: 'north', ordinal: 1, revision: 1, content, contentHash: '', track, ballTrack: null };
      const table = readTable(renderTable(tracksTable, trackPoints([frozen])));
      const read = tracksOfRows(table.rows).get('north/1')?.cue;
      expect(read).toEqual(track);
      const again = {
        unit: 'mm',
        positions: [...(read?.positions ?? [])],
        times: { unit: 's', values: [...(read?.times?.values ?? [])] },
      };
      expect(trackHash(encodeTrack(again))).toBe(trackHash(encoded));
    }),
    { seed: 20_260_301, numRuns: 200 },
  );
});

it('a number of a shot is read as what its text says, so that minus zero is zero everywhere', () => {
  const sent = goodShot('zero', {
    objectBallDistance: { value: -0, unit: 'm' },
    tipHeight: { method: 'contactMark', height: { value: -0, unit: 'mm' } },
    cueTrack: { unit: 'mm', positions: [-1, -0, 1], frames: [-1, -0, 1], times: { unit: 's', values: [-1, -0, 1] } },
  });
  const { shot } = parseShot(sent);
  const { shot: plain } = parseShot(JSON.parse(JSON.stringify(sent)));
  expect(shot).toStrictEqual(plain);
  if (shot === null || plain === null || shot.cueTrack === undefined || plain.cueTrack === undefined)
    throw new Error('it was not read');
  expect(Object.is(shot.cueTrack.positions[1], 0)).toBe(true);
  const { cueTrack: _track, shared: _shared, ...content } = shot;
  expect(
    contentHash(JSON.parse(canonicalJson(content)), { cue: trackHash(encodeTrack(plain.cueTrack)), ball: null }),
  ).toBe(contentHash(content, { cue: trackHash(encodeTrack(shot.cueTrack)), ball: null }));
});
