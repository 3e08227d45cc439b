import { beforeAll, describe, expect, it } from 'vitest';
import { getTrack, listShots } from '../../src/intake/shots.ts';
import type { Database } from '../../src/store/database.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { goodShot, registerGear, send } from './invented.ts';
import { refused } from './refused.ts';

onEachDatabase((open) => {
  let db: Database;
  let north: TestLab;
  let south: TestLab;
  beforeAll(async () => {
    db = open().db;
    const curator = await makeCurator(db);
    north = await makeLab(db, curator, 'north');
    south = await makeLab(db, curator, 'south');
    for (const { lead, slug } of [north, south]) await registerGear(db, lead, slug);
  });

  describe('tracks', () => {
    it('the same track under another label is refused, in one submission and across', async () => {
      const copy = { ...goodShot('t-1'), label: 't-2' };
      const { receipt } = await send(db, north, [goodShot('t-1'), copy], { accept: 'valid' });
      expect(receipt.rejected).toMatchObject([
        { label: 't-2', faults: [{ code: 'track-duplicate', pointer: '/cueTrack' }] },
      ]);
      const { receipt: later } = await refused(send(db, north, [copy]));
      expect(later.rejected[0]?.faults).toMatchObject([
        { code: 'track-duplicate', found: 'the cue track of shot t-1' },
      ]);
      // Another lab may have been given the same film.
      expect((await send(db, south, [copy])).receipt.counts.created).toBe(1);
    });
    it('so is the same ball track, however its frames are numbered, unless it hardly moves', async () => {
      const rolling = (firstFrame: number, points = 12) => ({
        unit: 'mm',
        captureRate: { value: 100, unit: 'fps' },
        positions: Array.from({ length: points }, (_, frame) => 1000 + 20 * frame - 0.1 * frame * frame),
        firstFrame,
      });
      const still = { ...rolling(0), positions: [0, 0, 0, 0, 1, 0, 0, 0, 0] };
      await send(db, north, [goodShot('b-1', { ballTrack: rolling(0) }), goodShot('b-still', { ballTrack: still })]);
      const { receipt } = await send(
        db,
        north,
        [
          goodShot('b-2', { ballTrack: rolling(7) }),
          goodShot('b-3', { ballTrack: rolling(0, 13) }),
          goodShot('b-4', { ballTrack: rolling(0, 13) }),
          goodShot('b-5', { ballTrack: still }),
        ],
        { accept: 'valid' },
      );
      expect(receipt.counts).toMatchObject({ created: 2, rejected: 2 });
      expect(receipt.rejected.map(({ label, faults: [one] }) => [label, one?.code, one?.pointer, one?.found])).toEqual([
        ['b-2', 'track-duplicate', '/ballTrack', 'the ball track of shot b-1'],
        ['b-4', 'track-duplicate', '/ballTrack', 'the ball track of shot b-3'],
      ]);
      // The shot itself may be sent and revised with its own track.
      const again = [goodShot('b-1', { ballTrack: rolling(3), player: 'P7' })];
      expect((await send(db, north, again, { revise: true })).receipt.counts.revised).toBe(1);
    });
    it('a good twin of a shot that is not stored is not refused for it', async () => {
      const wrong = goodShot('twin-1', { contact: { closedFrame: 200, openFrame: 190 } });
      const bad = goodShot('twin-2', { outcome: { distance: { value: 90, unit: 'm' }, ended: 'atRest' } });
      const shots = [
        wrong,
        { ...goodShot('twin-1'), label: 'twin-3' },
        bad,
        { ...goodShot('twin-2'), label: 'twin-4' },
      ];
      const { receipt } = await send(db, north, shots, { accept: 'valid' });
      expect(receipt.counts).toEqual({ created: 2, unchanged: 0, revised: 0, rejected: 2 });
      // A label that is taken is found only when the shots are stored.
      const taken = { ...goodShot('twin-5'), label: 'twin-4' };
      const late = await send(db, north, [taken, goodShot('twin-5')], { accept: 'valid' });
      expect(late.receipt.rejected.map(({ label }) => label)).toEqual(['twin-4']);
    });
    it('come back exactly as sent', async () => {
      const sent = goodShot('t-3');
      await send(db, north, [sent]);
      const { shots } = await listShots(db, north.lead, { lab: 'north', limit: 1000 });
      const id = shots.find(({ label }) => label === 't-3')?.id ?? '';
      const track = await getTrack(db, north.lead, id);
      expect(track.positions).toEqual(sent.cueTrack?.positions);
      expect(track.frames?.[0]).toBe(sent.cueTrack?.firstFrame);
      expect(track.unit).toBe('mm');
    });
  });
});
