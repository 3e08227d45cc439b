import { asc, eq, sql } from 'drizzle-orm';
import { beforeAll, expect, test } from 'vitest';
import { appendAudit, verifyAudit } from '../../src/access/audit.ts';
import { bumpLabVersion, lockLab } from '../../src/access/lab-version.ts';
import { auditEvent, lab } from '../../src/store/schema.ts';
import { onEachDatabase } from '../harness/service-database.ts';

onEachDatabase((open) => {
  const db = () => open().db;
  let labId = 0;

  beforeAll(async () => {
    const values = { slug: 'north', title: 'North', dataLicence: 'CC0-1.0', consentReference: 'E-1' };
    const [made] = await db().insert(lab).values(values).returning({ id: lab.id });
    labId = made?.id ?? 0;
  });

  const append = (chain: number | null, kind: string) =>
    db().transaction((tx) =>
      appendAudit(tx, chain, { tokenId: null, kind, detail: { share: 0.1, note: 'ä', none: undefined } }),
    );

  test('events of a lab and of the server are chained apart, each from the digest before it', async () => {
    const digests = [await append(labId, 'a'), await append(null, 'b'), await append(labId, 'c')];
    expect(new Set(digests).size).toBe(3);
    const events = await db().select().from(auditEvent).orderBy(asc(auditEvent.id));
    expect(events.map(({ sequence }) => sequence)).toEqual([1, 1, 2]);
    expect(events[2]?.previousDigest).toBe(digests[0]);
    expect(await verifyAudit(db(), labId)).toEqual({ ok: true, events: 2, digest: digests[2] });
    expect(await verifyAudit(db(), null)).toEqual({ ok: true, events: 1, digest: digests[1] });
  });

  test('events appended at once follow one another without gaps', async () => {
    await Promise.all(['d', 'e', 'f', 'g'].map((kind) => append(labId, kind)));
    await Promise.all(['d', 'e', 'f'].map((kind) => append(null, kind)));
    expect(await verifyAudit(db(), labId)).toMatchObject({ ok: true, events: 6 });
    expect(await verifyAudit(db(), null)).toMatchObject({ ok: true, events: 4 });
  });

  test('an event cannot be changed, and one changed with force shows', async () => {
    const change = () => db().update(auditEvent).set({ kind: 'other' }).where(eq(auditEvent.sequence, 2));
    await expect(change()).rejects.toMatchObject({ cause: { constraint: 'audit_event_immutable' } });
    await db().execute(sql`alter table audit_event disable trigger audit_event_immutable`);
    await change();
    await db().execute(sql`alter table audit_event enable trigger audit_event_immutable`);
    expect(await verifyAudit(db(), labId)).toEqual({ ok: false, brokenAt: 2 });
  });

  test('versions are bumped under the lock of the lab, so that writers at once lose none', async () => {
    const write = (sharedChanged: boolean) =>
      db().transaction(async (tx) => {
        const locked = await lockLab(tx, labId);
        await bumpLabVersion(tx, labId, { sharedChanged });
        return locked.version;
      });
    const before = await Promise.all([true, false, true, false].map(write));
    expect(before.toSorted((a, b) => a - b)).toEqual([0, 1, 2, 3]);
    const rows = await db().select({ version: lab.version, shared: lab.sharedVersion }).from(lab);
    expect(rows).toEqual([{ version: 4, shared: 2 }]);
  });

  test('a transaction that fails bumps nothing', async () => {
    const failing = db().transaction(async (tx) => {
      await bumpLabVersion(tx, labId, { sharedChanged: true });
      throw new Error('on purpose');
    });
    await expect(failing).rejects.toThrow('on purpose');
    expect(await db().select({ version: lab.version }).from(lab)).toEqual([{ version: 4 }]);
  });
});
