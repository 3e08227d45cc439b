/** No release is published that fails its own verification. */
import { sql } from 'drizzle-orm';
import { beforeAll, expect, test } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import { anonymous } from '../../src/access/principal.ts';
import { bundleBytes } from '../../src/releases/bundle.ts';
import { createDataset } from '../../src/releases/datasets.ts';
import { freezeRelease } from '../../src/releases/freeze.ts';
import { listReleases } from '../../src/releases/releases.ts';
import { verifyBundle } from '../../src/releases/verify-bundle.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { fillTwoLabs, inventedShot, sendText, type TwoLabs } from './two-labs.ts';

const filter = { ranges: [], groups: [], includeReported: false, includeFlags: [] };

onEachDatabase((open) => {
  let labs: TwoLabs;
  beforeAll(async () => {
    labs = await fillTwoLabs(open().db);
    await createDataset(open().db, labs.curator, { slug: 'all', title: 'All', licence: 'CC0-1.0', filter });
  });

  test('a release with minus zero and the least double in tracks, frames, times and readings verifies', async () => {
    const { db } = open();
    const shot = inventedShot('south', 50);
    const { positions = [] } = shot.cueTrack ?? {};
    const firstFrame = -positions.length + 50;
    const frames = positions.map((_, index) => firstFrame + index);
    const moved = positions.map((position, index) => (frames[index] === 0 ? '-0' : index === 0 ? '5e-324' : position));
    const text = JSON.stringify({
      ...shot,
      contact: { closedFrame: 51, openFrame: 56 },
      objectBallDistance: { value: '-0', unit: 'm' },
      cueTrack: {
        unit: 'mm',
        positions: moved,
        frames: frames.map((frame) => (frame === 0 ? '-0' : frame)),
        times: { unit: 's', values: frames.map((frame) => (frame === 0 ? '-0' : frame / 5000)) },
      },
    }).replaceAll(/"(-0|5e-324)"/g, '$1');
    expect(text.match(/-0[,}\]]/g)?.length).toBeGreaterThan(3);
    await sendText(db, labs.south, text);
    await freezeRelease(db, labs.curator, 'all', { analyses: [] });
    const report = verifyBundle(await bundleBytes(db, anonymous, 'all@1'));
    expect(report.checks.flatMap(({ first }) => first)).toEqual([]);
    expect(report).toMatchObject({ outcome: 'verified', shots: 21 });
  });

  test('a shot whose stored hash is not that of its content stops the freezing, with the place', async () => {
    const { db } = open();
    // As if a fault of storage, or of an older server, had left it so.
    await db.transaction(async (tx) => {
      await tx.execute(sql`
        insert into shot_revision (shot_id, number, submission_id, content, content_hash, track_hash, rig_id, cue_id, table_id,
          received_at, first_received_at)
        select shot_id, number + 1, submission_id, content, decode(repeat('ab', 32), 'hex'), track_hash, rig_id, cue_id,
          table_id, received_at, first_received_at
        from shot_revision where content->>'label' = 'NORTH-3'`);
      const former = sql`(select one.id from shot_revision as one where one.content->>'label' = 'NORTH-3' and one.number = 1)`;
      const latter = sql`(select one.id from shot_revision as one where one.content->>'label' = 'NORTH-3' and one.number = 2)`;
      await tx.execute(sql`
        insert into track select ${latter}, kind, unit, points, positions, frames, times, time_unit from track
        where revision_id = ${former}`);
      await tx.execute(sql`
        insert into derivation (revision_id, method_version, derived)
        select ${latter}, method_version, derived from derivation where revision_id = ${former}`);
      await tx.execute(sql`update shot set current_revision_id = ${latter} where label = 'NORTH-3'`);
      await tx.execute(sql`update hot_shot set revision_id = ${latter} where label = 'NORTH-3'`);
    });
    const error: unknown = await freezeRelease(db, labs.curator, 'all', { analyses: [] }).catch(
      (thrown: unknown) => thrown,
    );
    if (!(error instanceof Refusal)) throw new Error('it was not refused', { cause: error });
    expect(error.code).toBe('release-invalid');
    expect(error.message).toMatch(/shots\.csv, lab north, shot NORTH-3, contentHash/);
    expect((await listReleases(db, anonymous, 'all')).map(({ number }) => number)).toEqual([1]);
  });
});
