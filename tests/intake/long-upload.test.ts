/** An upload that is prepared piece by piece in threads says what one prepared in place says. */
import { eq } from 'drizzle-orm';
import { beforeAll, expect, it } from 'vitest';
import type { ShotInput } from '../../shared/shot.ts';
import type { Principal } from '../../src/access/principal.ts';
import { listReceiptShots } from '../../src/intake/receipts.ts';
import type { SubmissionAnswer } from '../../src/intake/submit.ts';
import type { Database } from '../../src/store/database.ts';
import { derivation, hotShot, shot, shotRevision, track } from '../../src/store/schema.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { goodShot, registerGear, send, sendText } from './invented.ts';

/** About 4 KB a shot: enough for several pieces. */
const count = 120;

function shots(): ShotInput[] {
  return Array.from({ length: count }, (_, index) => {
    if (index === 70) return { ...goodShot('s-3'), note: 'a label again, in a later piece' };
    if (index === 50) return goodShot(`s-${index}`, { rig: 'unknown' });
    return goodShot(`s-${index}`);
  });
}

const lines = (texts: readonly string[]) => `\n${texts.join('\r\n \u00a0\n')}\n`;

onEachDatabase((open) => {
  let db: Database;
  let curator: Principal;
  let inThreads: TestLab;
  let inPlace: TestLab;
  const everyShot = async ({ receipt }: SubmissionAnswer, { lead }: TestLab) => {
    const { shots: all } = await listReceiptShots(db, lead, receipt.submission, { limit: 1000 });
    return all.map(({ shot: _id, ...rest }) => rest);
  };
  const stored = async (slug: TestLab) => {
    const rows = await db
      .select({
        label: shot.label,
        ordinal: shot.ordinal,
        content: shotRevision.content,
        contentHash: shotRevision.contentHash,
        positions: track.positions,
        firstFrame: track.firstFrame,
        frames: track.frames,
        derived: derivation.derived,
        speed: hotShot.cueSpeed,
        hotLabel: hotShot.label,
      })
      .from(shot)
      .innerJoin(shotRevision, eq(shotRevision.id, shot.currentRevisionId))
      .innerJoin(track, eq(track.revisionId, shotRevision.id))
      .innerJoin(derivation, eq(derivation.revisionId, shotRevision.id))
      .innerJoin(hotShot, eq(hotShot.shotId, shot.id))
      .where(eq(shot.labId, slug.id))
      .orderBy(shot.ordinal);
    return rows.map((row) => ({
      ...row,
      contentHash: Buffer.from(row.contentHash).toString('hex'),
      positions: Buffer.from(row.positions).toString('hex'),
    }));
  };

  beforeAll(async () => {
    db = open().db;
    curator = await makeCurator(db);
    inThreads = await makeLab(db, curator, 'threads');
    inPlace = await makeLab(db, curator, 'place');
    for (const each of [inThreads, inPlace]) await registerGear(db, each.lead, each.slug);
  });

  it('stores the same shots to the last bit and tells the same problems, of broken lines and labels sent twice too', async () => {
    const texts = shots().map((each) => JSON.stringify(each));
    const broken = [...texts.slice(0, 20), '{"label": "cut off', ...texts.slice(20)];
    const asPieces = await sendText(db, inThreads, 'ndjson', lines(broken), { accept: 'valid' });
    expect(asPieces.receipt.counts).toEqual({ created: count - 2, unchanged: 0, revised: 0, rejected: 3 });
    const told = await everyShot(asPieces, inThreads);
    expect(told.map(({ position }) => position)).toEqual(Array.from({ length: count + 1 }, (_, index) => index + 1));
    expect(told[20]?.faults).toMatchObject([{ code: 'structure-invalid', row: 42 }]);
    expect(told[71]?.faults).toMatchObject([{ code: 'label-duplicate', pointer: '/label', row: 144 }]);

    const json = JSON.stringify({ shots: shots() });
    const whole = await sendText(db, inPlace, 'json', json, { accept: 'valid' });
    const withoutRows = (all: typeof told) =>
      all
        .filter(({ label }) => label !== null)
        .map(({ position: _position, faults, ...rest }) => ({
          ...rest,
          faults: faults.map(({ row: _row, ...fault }) => fault),
        }));
    expect(withoutRows(told)).toEqual(withoutRows(await everyShot(whole, inPlace)));
    const [one, other] = [await stored(inThreads), await stored(inPlace)];
    expect(one).toHaveLength(count - 2);
    expect(one).toEqual(other);
  });

  it('keeps the gear of shots that were sent before', async () => {
    const again = shots().filter((_, index) => index !== 50 && index !== 70);
    const { receipt } = await send(db, inThreads, again);
    expect(receipt.counts).toEqual({ created: 0, unchanged: count - 2, revised: 0, rejected: 0 });
  });

  it('is refused as a whole when a late line is not UTF-8', async () => {
    const text = shots()
      .map((each) => JSON.stringify(each))
      .join('\n');
    const bytes = Buffer.from(text);
    bytes[bytes.byteLength - 10] = 0xff;
    await expect(sendText(db, inThreads, 'ndjson', bytes)).rejects.toMatchObject({ code: 'malformed-body' });
  });
});
