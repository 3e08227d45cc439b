/** Sharing by choice, from a date on, and taking back. */
import { eq, sql } from 'drizzle-orm';
import { beforeAll, expect, it } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import { datasetInputSchema, releaseInputSchema } from '../../shared/release.ts';
import type { ShotChoice } from '../../shared/sharing.ts';
import { verifyAudit } from '../../src/access/audit.ts';
import type { Principal } from '../../src/access/principal.ts';
import { cancelPlannedSharing, listPlannedSharing, planSharing, shareDue } from '../../src/intake/planned-sharing.ts';
import { shareShots, unshareShots } from '../../src/intake/sharing.ts';
import { createDataset } from '../../src/releases/datasets.ts';
import { freezeRelease } from '../../src/releases/freeze.ts';
import type { Database } from '../../src/store/database.ts';
import { auditEvent, hotShot, lab, plannedSharing, shot } from '../../src/store/schema.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { goodShot, registerGear, send } from './invented.ts';

const refusalOf = (work: Promise<unknown>): Promise<unknown> =>
  work.then(
    () => null,
    (error: unknown) => (error instanceof Refusal ? error.code : error),
  );

onEachDatabase((open) => {
  let db: Database;
  let curator: Principal;
  let north: TestLab;
  beforeAll(async () => {
    db = open().db;
    curator = await makeCurator(db);
    north = await makeLab(db, curator, 'north');
    await registerGear(db, north.lead, 'north');
    await send(db, north, [
      goodShot('a', { sessionDate: '2026-03-01' }),
      goodShot('b', { sessionDate: '2026-03-02' }),
      goodShot('c', { sessionDate: '2026-03-02', rig: 'pixels' }),
    ]);
  });

  const shared = async () => {
    const rows = await db.select({ label: shot.label }).from(shot).where(eq(shot.shared, true)).orderBy(shot.label);
    const hot = await db
      .select({ label: hotShot.label })
      .from(hotShot)
      .where(eq(hotShot.shared, true))
      .orderBy(hotShot.label);
    expect(hot).toEqual(rows);
    return rows.map(({ label }) => label).join('');
  };
  const versions = async () => (await db.select().from(lab).where(eq(lab.id, north.id)))[0]?.sharedVersion ?? 0;

  it.each([
    [{ sessions: ['2026-03-02'] }, 'bc'],
    [{ sessions: ['2026-03-02'], rig: 'pixels' }, 'c'],
    [{ rig: 'main' }, 'ab'],
    [{ rig: 'main@2' }, ''],
    [{ rig: 'pixels@1' }, 'c'],
    [{ all: true }, 'abc'],
  ] as [ShotChoice, string][])('shares the shots of %j, and takes them back', async (choice, labels) => {
    await shareShots(db, north.contributor, 'north', choice);
    expect(await shared()).toBe(labels);
    expect(await unshareShots(db, north.contributor, 'north', { all: true })).toEqual({
      unshared: labels.length,
      notShared: 3 - labels.length,
    });
    expect(await shared()).toBe('');
  });
  it('shares from a date by one write, on whichever server comes first', async () => {
    const plan = await planSharing(db, north.lead, 'north', { labels: ['a'] }, new Date(Date.now() + 3_600_000));
    expect(await shareDue(db)).toBe(0);
    expect(await shared()).toBe('');
    const before = await versions();
    await db.update(plannedSharing).set({ dueAt: sql`now()` }).where(eq(plannedSharing.id, plan.id));
    const both = await Promise.all([shareDue(db), shareDue(db)]);
    expect(both.toSorted((one, other) => one - other)).toEqual([0, 1]);
    expect(await shared()).toBe('a');
    expect(await versions()).toBe(before + 1);
    const [done] = await listPlannedSharing(db, north.contributor, 'north');
    expect(done).toMatchObject({ id: plan.id, shared: 1, doneAt: expect.any(String) });
    const events = await db.select().from(auditEvent).where(eq(auditEvent.kind, 'shots-shared'));
    expect(events.filter(({ detail }) => (detail as { plan?: string }).plan === plan.id)).toHaveLength(1);
    expect(await refusalOf(cancelPlannedSharing(db, north.lead, 'north', plan.id))).toBe('not-found');
  });
  it('a plan called off shares nothing; labels of no shot are refused', async () => {
    const plan = await planSharing(db, north.lead, 'north', { all: true }, new Date(Date.now() - 1000));
    await cancelPlannedSharing(db, north.contributor, 'north', plan.id);
    expect(await shareDue(db)).toBe(0);
    const nobody = planSharing(db, north.lead, 'north', { labels: ['none'] }, new Date());
    expect(await refusalOf(nobody)).toBe('request-invalid');
    expect(await refusalOf(planSharing(db, curator, 'north', { all: true }, new Date()))).toBe('forbidden');
  });
  it('a shot in a release cannot be taken back, and then nothing is', async () => {
    await shareShots(db, north.lead, 'north', { all: true });
    const filter = { groups: [{ grouping: 'sessionDate', values: ['2026-03-01'] }] };
    const dataset = datasetInputSchema.parse({ slug: 'first', title: 'First', licence: 'CC0-1.0', filter });
    await createDataset(db, curator, dataset);
    await freezeRelease(db, curator, 'first', releaseInputSchema.parse({}));
    const error: unknown = await unshareShots(db, north.lead, 'north', { all: true }).catch(
      (thrown: unknown) => thrown,
    );
    expect(error).toMatchObject({ code: 'shot-released' });
    expect(await shared()).toBe('abc');
    expect((await verifyAudit(db, north.id)).ok).toBe(true);
  });
});
