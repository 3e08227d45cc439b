/** Submissions from first byte to receipt, on every database. */
import { readdirSync } from 'node:fs';
import { eq, sql } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Receipt } from '../../shared/submission.ts';
import { verifyAudit } from '../../src/access/audit.ts';
import { addGearVersion } from '../../src/access/gear.ts';
import { getReceipt, listReceiptShots } from '../../src/intake/receipts.ts';
import { getShot, listRevisions, listShots } from '../../src/intake/shots.ts';
import { submitStream } from '../../src/intake/submit.ts';
import { withdrawShot } from '../../src/intake/withdraw.ts';
import { rowOfDerived } from '../../src/pooling/row-of-derived.ts';
import type { Database } from '../../src/store/database.ts';
import { derivation, hotShot, lab as labTable, shot, shotRevision, submission } from '../../src/store/schema.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { chunked, gearContent, goodShot, options, registerGear, send, sendText, temporaryLimits } from './invented.ts';
import { refused } from './refused.ts';

const codes = (receipt: Receipt) => receipt.rejected.flatMap(({ faults }) => faults.map(({ code }) => code));

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

  const versionOf = async (id: number) => {
    const [row] = await db.select().from(labTable).where(eq(labTable.id, id));
    return { version: row?.version ?? 0, sharedVersion: row?.sharedVersion ?? 0 };
  };
  const labelsOf = async (slug: string) => {
    const { shots } = await listShots(db, slug === 'north' ? north.contributor : south.contributor, {
      lab: slug,
      limit: 1000,
    });
    return shots.map(({ label }) => label);
  };

  describe('states', () => {
    it('a new shot is created with its derivation, the same content again is unchanged', async () => {
      const before = await versionOf(north.id);
      const first = await send(db, north, [goodShot('s-1'), goodShot('s-2', { shared: true })]);
      expect(first).toMatchObject({ status: 201, receipt: { stored: true, counts: { created: 2, rejected: 0 } } });
      expect(await versionOf(north.id)).toEqual({
        version: before.version + 1,
        sharedVersion: before.sharedVersion + 1,
      });

      const again = await send(db, north, [goodShot('s-1'), goodShot('s-2')]);
      expect(again).toMatchObject({
        status: 200,
        receipt: { counts: { created: 0, unchanged: 2, revised: 0, rejected: 0 } },
      });
      expect((await versionOf(north.id)).version).toBe(before.version + 1);
      const { shots } = await listReceiptShots(db, north.lead, again.receipt.submission, { limit: 10 });
      expect(shots.map(({ state, revision, derived }) => [state, revision, derived?.source])).toEqual([
        ['unchanged', 1, 'track'],
        ['unchanged', 1, 'track'],
      ]);
    });
    it('other content under a label needs revise=true, becomes the next revision, and the shot stays shared', async () => {
      const change = { outcome: { distance: { value: -31, unit: 'cm' }, ended: 'atRest' } } as const;
      const { error, receipt } = await refused(send(db, north, [goodShot('s-2', change)]));
      expect(error.code).toBe('submission-rejected');
      expect(codes(receipt)).toEqual(['label-taken']);
      const { receipt: revised, status } = await send(db, north, [goodShot('s-2', change)], { revise: true });
      expect(status).toBe(201);
      expect(revised.counts).toEqual({ created: 0, unchanged: 0, revised: 1, rejected: 0 });
      const { shots } = await listReceiptShots(db, north.lead, revised.submission, { limit: 10 });
      const id = shots[0]?.shot ?? '';
      expect(await getShot(db, south.contributor, id)).toMatchObject({
        revision: 2,
        shared: true,
        derived: { outcomeDistance: { value: -0.31 } },
      });
      const revisions = await listRevisions(db, north.lead, id);
      expect(revisions.map(({ number }) => number)).toEqual([2, 1]);
      expect(revisions[0]?.contentHash).not.toBe(revisions[1]?.contentHash);
    });
    it('the first content again after a revision is a change, not a repeat', async () => {
      const { receipt } = await refused(send(db, north, [goodShot('s-2')]));
      expect(codes(receipt)).toEqual(['label-taken']);
    });
    it('shared=true shares a shot that is otherwise unchanged', async () => {
      const before = await versionOf(north.id);
      const { receipt } = await send(db, north, [goodShot('s-1', { shared: true })]);
      expect(receipt.counts.unchanged).toBe(1);
      expect(await versionOf(north.id)).toEqual({
        version: before.version + 1,
        sharedVersion: before.sharedVersion + 1,
      });
      const { shots } = await listShots(db, south.contributor, { lab: 'north', limit: 10 });
      expect(shots.map(({ label }) => label)).toEqual(['s-1', 's-2']);
    });
    it('a label twice in one submission is refused on the second, even with the same content', async () => {
      const { receipt } = await send(db, north, [goodShot('d-1'), goodShot('d-2'), goodShot('d-1')], {
        accept: 'valid',
      });
      expect(receipt.counts).toEqual({ created: 2, unchanged: 0, revised: 0, rejected: 1 });
      expect(receipt.rejected).toMatchObject([
        { position: 3, label: 'd-1', shot: null, faults: [{ code: 'label-duplicate' }] },
      ]);
    });
    it('the label of a withdrawn shot is not given again', async () => {
      await send(db, north, [goodShot('w-1')]);
      const { shots } = await listShots(db, north.lead, { lab: 'north', limit: 1000 });
      const id = shots.find(({ label }) => label === 'w-1')?.id ?? '';
      await withdrawShot(db, north.contributor, id, 'filmed with the wrong lens');
      for (const revise of [false, true]) {
        const { receipt } = await refused(send(db, north, [goodShot('w-1')], { revise }));
        expect(codes(receipt)).toEqual(['label-taken']);
      }
      const { receipt } = await send(db, north, [{ ...goodShot('w-1'), label: 'w-2' }]);
      expect(receipt.counts.created).toBe(1);
    });
  });

  describe('accept and dryRun', () => {
    const mixed = (prefix: string) => [
      goodShot(`${prefix}-1`),
      goodShot(`${prefix}-2`, { contact: { closedFrame: 200, openFrame: 190 } }),
      goodShot(`${prefix}-3`),
    ];

    it('accept=all with one wrong shot stores none and keeps the receipt', async () => {
      const before = await versionOf(north.id);
      const { receipt } = await refused(send(db, north, mixed('a')));
      expect(receipt).toMatchObject({ stored: false, counts: { created: 2, rejected: 1 } });
      expect(receipt.rejected).toMatchObject([
        { position: 2, label: 'a-2', faults: [{ pointer: '/contact/openFrame', row: 2 }] },
      ]);
      expect(await versionOf(north.id)).toEqual(before);
      expect(await getReceipt(db, north.contributor, receipt.submission)).toEqual(receipt);
      expect((await labelsOf('north')).filter((label) => label.startsWith('a-'))).toEqual([]);
    });
    it('accept=all also takes back what was written before a shot was found to be wrong', async () => {
      await send(db, north, [goodShot('late')]);
      const many = Array.from({ length: 230 }, (_, index) => goodShot(`l-${index}`));
      const { receipt } = await refused(send(db, north, [...many, goodShot('late', { player: 'P9' })]));
      expect(receipt).toMatchObject({ stored: false, counts: { created: 230, rejected: 1 } });
      expect((await labelsOf('north')).filter((label) => label.startsWith('l-'))).toEqual([]);
      const { shots } = await listReceiptShots(db, north.lead, receipt.submission, { after: '229', limit: 10 });
      expect(shots.map(({ position, state, shot: id }) => [position, state, id])).toEqual([
        [230, 'created', null],
        [231, 'rejected', null],
      ]);
    });
    it('accept=valid stores the valid ones', async () => {
      const { receipt, status } = await send(db, north, mixed('v'), { accept: 'valid' });
      expect(status).toBe(201);
      expect(receipt).toMatchObject({ stored: true, counts: { created: 2, rejected: 1 } });
      expect((await labelsOf('north')).filter((label) => label.startsWith('v-'))).toEqual(['v-1', 'v-3']);
    });
    it('dryRun says what would happen, with the numbers, and stores no shot', async () => {
      const { receipt, status } = await send(db, north, mixed('y'), { dryRun: true });
      expect(status).toBe(200);
      expect(receipt).toMatchObject({ dryRun: true, stored: false, counts: { created: 2, rejected: 1 } });
      const { shots } = await listReceiptShots(db, north.lead, receipt.submission, { limit: 10 });
      expect(shots[0]).toMatchObject({ state: 'created', shot: null, derived: { source: 'track' } });
      expect((await labelsOf('north')).filter((label) => label.startsWith('y-'))).toEqual([]);
    });
    it('a CSV is stored as reported, and its faults name row and column', async () => {
      const csv =
        'label,rig,tip_height[mm],outcome_distance[cm],outcome_ended\nc-1,main,-8,-20,atRest\nc-2,main,x,-20,atRest\n';
      const { receipt } = await sendText(db, north, 'csv', csv, { accept: 'valid' });
      expect(receipt.rejected[0]?.faults).toMatchObject([{ row: 3, column: 'tip_height[mm]', pointer: null }]);
      const [row] = await db.select().from(hotShot).where(eq(hotShot.label, 'c-1'));
      expect(row).toMatchObject({ source: 0, outcomeDistance: -0.2 });
    });
  });

  it('a shot that names its rig without version keeps the version of its first acceptance', async () => {
    await send(db, south, [goodShot('pin')]);
    const slower = { ...gearContent.rigs.main, captureRate: { value: 1000, unit: 'fps' } };
    await addGearVersion(db, south.lead, 'south', 'rigs', 'main', slower);
    expect((await send(db, south, [goodShot('pin')])).receipt.counts.unchanged).toBe(1);
    expect((await send(db, south, [goodShot('pin', { rig: 'main@1' })])).receipt.counts.unchanged).toBe(1);
    const { receipt } = await send(db, south, [goodShot('pin', { player: 'P2' })], { revise: true });
    expect(receipt.counts.revised).toBe(1);
    await send(db, south, [goodShot('pin-new')]);
    const { shots } = await listShots(db, south.lead, { lab: 'south', limit: 100 });
    const speeds = new Map(shots.map(({ label, rig, derived }) => [label, [rig, derived.cueSpeed?.value]]));
    expect(speeds.get('pin')?.[0]).toBe('main@1');
    expect(speeds.get('pin')?.[1]).toBeCloseTo(2.5, 1);
    expect(speeds.get('pin-new')?.[0]).toBe('main@2');
    expect(speeds.get('pin-new')?.[1]).toBeCloseTo(1.25, 1);
  });

  describe('while bytes arrive', () => {
    /** A body that gives one shot and then waits. */
    function stalled(label: string) {
      let goOn: (broken?: Error) => void = () => {};
      const waiting = new Promise<Error | undefined>((resolve) => {
        goOn = resolve;
      });
      async function* body() {
        yield new TextEncoder().encode(`${JSON.stringify(goodShot(label))}\n`);
        const broken = await waiting;
        if (broken !== undefined) throw broken;
        yield new TextEncoder().encode(`${JSON.stringify(goodShot(`${label}-end`))}\n`);
      }
      return { body: body(), goOn };
    }

    it('no transaction is open: a stalled upload holds up nobody, and its labels are decided when it ends', async () => {
      const { body, goOn } = stalled('slow');
      const slow = submitStream(
        db,
        north.contributor,
        'north',
        options({ accept: 'valid' }),
        'ndjson',
        body,
        temporaryLimits(),
      );
      expect(
        (await send(db, north, [goodShot('quick'), goodShot('slow', { player: 'P7' })])).receipt.counts.created,
      ).toBe(2);
      goOn();
      const { receipt } = await slow;
      expect(receipt.counts).toEqual({ created: 1, unchanged: 0, revised: 0, rejected: 1 });
      expect(codes(receipt)).toEqual(['label-taken']);
    });
    it('the gear that another submission pinned in the meantime counts', async () => {
      const { body, goOn } = stalled('race');
      const slow = submitStream(db, south.contributor, 'south', options(), 'ndjson', body, temporaryLimits());
      await send(db, south, [goodShot('race', { rig: 'main@1' })]);
      goOn();
      expect((await slow).receipt.counts).toEqual({ created: 1, unchanged: 1, revised: 0, rejected: 0 });
    });
    it('a fault that the meantime has settled refuses nothing: what is answered as created is stored', async () => {
      const filed = { ...gearContent.rigs.main, captureRate: { value: 2, unit: 'fps' }, playbackRate: undefined };
      await addGearVersion(db, south.lead, 'south', 'rigs', 'main', filed);
      const { body, goOn } = stalled('settled');
      const slow = submitStream(
        db,
        south.contributor,
        'south',
        options(),
        'ndjson',
        (async function* () {
          yield* body;
          yield new TextEncoder().encode(`${JSON.stringify(goodShot('settled-too', { rig: 'main@1' }))}\n`);
        })(),
        temporaryLimits(),
      );
      for (const label of ['settled', 'settled-end']) await send(db, south, [goodShot(label, { rig: 'main@1' })]);
      goOn();
      const { status, receipt } = await slow;
      expect(receipt).toMatchObject({ stored: true, counts: { created: 1, unchanged: 2, rejected: 0 } });
      expect(status).toBe(201);
      expect(await labelsOf('south')).toContain('settled-too');
    });
    it('an upload that breaks off leaves nothing', async () => {
      const limits = temporaryLimits();
      const [{ count: before } = { count: 0 }] = await db
        .select({ count: sql<number>`count(*)::int` })
        .from(submission);
      const { body, goOn } = stalled('broken');
      const upload = submitStream(db, north.contributor, 'north', options(), 'ndjson', body, limits);
      goOn(new Error('connection reset'));
      await expect(upload).rejects.toThrow('connection reset');
      expect(readdirSync(limits.spoolDirectory)).toEqual([]);
      const [{ count: after } = { count: 0 }] = await db.select({ count: sql<number>`count(*)::int` }).from(submission);
      expect(after).toBe(before);
      expect(await labelsOf('north')).not.toContain('broken');
    });
    it('a body refused in the middle leaves nothing either', async () => {
      const limits = { ...temporaryLimits(), lineBytes: 20_000 };
      const text = `${JSON.stringify(goodShot('cut'))}\n{"note":"${'x'.repeat(30_000)}"}\n`;
      const { error } = await refused(sendText(db, north, 'ndjson', text, {}, limits));
      expect(error.code).toBe('line-too-long');
      expect(readdirSync(limits.spoolDirectory)).toEqual([]);
      expect(await labelsOf('north')).not.toContain('cut');
    });
  });

  it('two uploads of the same lab at once get ordinals without gap or double', async () => {
    const upload = (prefix: string) =>
      send(
        db,
        south,
        Array.from({ length: 20 }, (_, index) => goodShot(`${prefix}-${index}`, { rig: 'main@1' })),
      );
    await Promise.all([upload('left'), upload('right')]);
    const rows = await db
      .select({ ordinal: shot.ordinal })
      .from(shot)
      .where(eq(shot.labId, south.id))
      .orderBy(shot.ordinal);
    expect(rows.map(({ ordinal }) => ordinal)).toEqual(rows.map((_, index) => index + 1));
  });

  it('the hot table holds the current derivation of every shot that is not withdrawn, and nothing else', async () => {
    const rows = await db
      .select({ hot: hotShot, shot, revision: shotRevision, derived: derivation.derived })
      .from(shot)
      .innerJoin(shotRevision, eq(shotRevision.id, shot.currentRevisionId))
      .innerJoin(derivation, eq(derivation.revisionId, shotRevision.id))
      .leftJoin(hotShot, eq(hotShot.shotId, shot.id));
    expect(rows.length).toBeGreaterThan(50);
    for (const { hot, shot: stored, revision, derived } of rows) {
      if (stored.withdrawnAt !== null) {
        expect(hot).toBeNull();
        continue;
      }
      const content = revision.content as Parameters<typeof rowOfDerived>[0];
      const receivedAt = stored.createdAt.getTime();
      const row = rowOfDerived(content, derived as Parameters<typeof rowOfDerived>[1], {
        lab: '',
        ordinal: stored.ordinal,
        receivedAt,
      });
      const { variables, uncertainties, covarianceSpeedAcceleration, flags, label, player, sessionDate, straight } =
        row;
      expect(hot).toMatchObject({
        ...variables,
        covarianceSpeedAcceleration,
        flags,
        label,
        player,
        sessionDate,
        straight,
      });
      expect(hot).toMatchObject({
        uCueSpeed: uncertainties.cueSpeed,
        uCueAcceleration: uncertainties.cueAcceleration,
        uContactTime: uncertainties.contactTime,
        uTipOffset: uncertainties.tipOffset,
        uOutcomeDistance: uncertainties.outcomeDistance,
        source: row.fromTrack ? 1 : 0,
        ordinal: stored.ordinal,
        shared: stored.shared,
        revisionId: revision.id,
        rigId: revision.rigId,
        receivedAt: revision.firstReceivedAt,
      });
    }
  });

  it('what was done stands in an unbroken audit chain', async () => {
    expect(await verifyAudit(db, north.id)).toMatchObject({ ok: true });
    expect(await verifyAudit(db, south.id)).toMatchObject({ ok: true });
  });

  it('only members of the lab may submit', async () => {
    const foreign = submitStream(db, south.contributor, 'north', options(), 'ndjson', chunked('{}'), temporaryLimits());
    expect((await refused(foreign)).error.code).toBe('forbidden');
  });
});
