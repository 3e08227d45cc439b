/** Reading, sharing and withdrawing shots: who sees what. */
import { eq } from 'drizzle-orm';
import { beforeAll, expect, it } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import { anonymous, type Principal } from '../../src/access/principal.ts';
import { explainShot } from '../../src/intake/explain-shot.ts';
import { getReceipt, listReceiptShots } from '../../src/intake/receipts.ts';
import { shareShots } from '../../src/intake/sharing.ts';
import { getShot, getTrack, listRevisions, listShots } from '../../src/intake/shots.ts';
import { withdrawShot } from '../../src/intake/withdraw.ts';
import type { Database } from '../../src/store/database.ts';
import { hotShot, lab as labTable } from '../../src/store/schema.ts';
import { makeCurator, makeLab, makePrincipal, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { goodShot, registerGear, send } from './invented.ts';

async function codeOf(work: Promise<unknown>): Promise<string> {
  return work.then(
    () => 'done',
    (error: unknown) => {
      if (error instanceof Refusal) return error.code;
      throw error;
    },
  );
}

onEachDatabase((open) => {
  let db: Database;
  let north: TestLab;
  let south: TestLab;
  let curator: Principal;
  let reader: Principal;
  let submission: string;
  const ids = new Map<string, string>();
  const id = (label: string) => ids.get(label) ?? '';

  beforeAll(async () => {
    db = open().db;
    curator = await makeCurator(db);
    reader = await makePrincipal(db, curator, 'reader');
    north = await makeLab(db, curator, 'north');
    south = await makeLab(db, curator, 'south');
    for (const { lead, slug } of [north, south]) await registerGear(db, lead, slug);
    const shots = [goodShot('open', { shared: true }), goodShot('closed'), goodShot('third')];
    submission = (await send(db, north, shots)).receipt.submission;
    await send(db, south, [goodShot('far', { shared: true })]);
    const { shots: stored } = await listReceiptShots(db, north.lead, submission, { limit: 10 });
    for (const { label, shot } of stored) ids.set(label ?? '', shot ?? '');
  });

  const labelsSeenBy = async (principal: Principal) =>
    (await listShots(db, principal, { limit: 100 })).shots.map(({ label }) => label);

  it('a lab sees its own and what is shared, everybody else, the curator included, what is shared', async () => {
    expect(await labelsSeenBy(north.contributor)).toEqual(['open', 'closed', 'third', 'far']);
    for (const principal of [south.lead, curator, reader, anonymous]) {
      expect(await labelsSeenBy(principal)).toEqual(['open', 'far']);
    }
  });
  it('what may not be seen looks like what does not exist, in every reading', async () => {
    const readings = [getShot, listRevisions, getTrack, explainShot] as const;
    for (const reading of readings) {
      expect(await codeOf(reading(db, north.contributor, id('closed')))).toBe('done');
      for (const principal of [south.lead, curator, reader, anonymous]) {
        expect(await codeOf(reading(db, principal, id('open')))).toBe('done');
        expect(await codeOf(reading(db, principal, id('closed')))).toBe('not-found');
        expect(await codeOf(reading(db, principal, '00000000-0000-4000-8000-000000000000'))).toBe('not-found');
      }
    }
  });
  it('receipts are for the lab alone', async () => {
    for (const principal of [north.lead, north.contributor]) {
      expect(await getReceipt(db, principal, submission)).toMatchObject({ lab: 'north', counts: { created: 3 } });
    }
    for (const principal of [south.lead, curator, reader, anonymous]) {
      expect(await codeOf(getReceipt(db, principal, submission))).toBe('not-found');
      expect(await codeOf(listReceiptShots(db, principal, submission, { limit: 10 }))).toBe('not-found');
    }
  });
  it('lists are paged without gap or repeat', async () => {
    const seen: string[] = [];
    let after: string | undefined;
    do {
      const page = await listShots(db, north.lead, { after, limit: 1 });
      seen.push(...page.shots.map(({ label }) => label));
      after = page.next ?? undefined;
    } while (after !== undefined);
    expect(seen).toEqual(['open', 'closed', 'third', 'far']);
    const first = await listReceiptShots(db, north.lead, submission, { limit: 2 });
    const second = await listReceiptShots(db, north.lead, submission, { after: first.next ?? '', limit: 2 });
    expect([...first.shots, ...second.shots].map(({ position }) => position)).toEqual([1, 2, 3]);
    expect(second.next).toBeNull();
    expect(await codeOf(listShots(db, north.lead, { after: 'nonsense', limit: 1 }))).toBe('request-invalid');
    expect(await codeOf(listReceiptShots(db, north.lead, submission, { after: 'x', limit: 1 }))).toBe(
      'request-invalid',
    );
  });
  it('sharing reaches everybody at once and is counted once; unknown labels share nothing', async () => {
    expect(await codeOf(shareShots(db, south.lead, 'north', { all: true }))).toBe('forbidden');
    expect(await codeOf(shareShots(db, north.lead, 'north', { labels: ['closed', 'nothing'] }))).toBe(
      'request-invalid',
    );
    expect(await labelsSeenBy(reader)).toEqual(['open', 'far']);
    const shared = await shareShots(db, north.contributor, 'north', { labels: ['closed', 'open', 'closed'] });
    expect(shared).toEqual({ shared: 1, alreadyShared: 1 });
    expect(await labelsSeenBy(reader)).toEqual(['open', 'closed', 'far']);
    expect(await shareShots(db, north.contributor, 'north', { all: true })).toEqual({ shared: 1, alreadyShared: 2 });
    const hot = await db.select().from(hotShot).where(eq(hotShot.labId, north.id));
    expect(hot.map(({ shared }) => shared)).toEqual([true, true, true]);
  });
  it('a withdrawn shot is gone for others and stays with its reason for its lab', async () => {
    const versions = async () => (await db.select().from(labTable).where(eq(labTable.id, north.id)))[0];
    const before = await versions();
    expect(await codeOf(withdrawShot(db, south.lead, id('open'), 'not mine'))).toBe('forbidden');
    expect(await codeOf(withdrawShot(db, reader, id('open'), 'not mine'))).toBe('forbidden');
    expect(await codeOf(withdrawShot(db, anonymous, id('open'), 'not mine'))).toBe('unauthenticated');
    await withdrawShot(db, north.contributor, id('open'), 'wrong ball');
    await withdrawShot(db, north.contributor, id('open'), 'another reason');
    const after = await versions();
    expect(after?.version).toBe((before?.version ?? 0) + 1);
    expect(after?.sharedVersion).toBe((before?.sharedVersion ?? 0) + 1);
    expect(await labelsSeenBy(reader)).toEqual(['closed', 'third', 'far']);
    expect(await codeOf(getShot(db, reader, id('open')))).toBe('not-found');
    for (const principal of [south.lead, reader]) {
      expect(await codeOf(withdrawShot(db, principal, id('open'), 'not mine'))).toBe('not-found');
    }
    expect(await getShot(db, north.lead, id('open'))).toMatchObject({ withdrawn: { reason: 'wrong ball' } });
    expect(await listRevisions(db, north.lead, id('open'))).toHaveLength(1);
    expect(
      await db
        .select()
        .from(hotShot)
        .where(eq(hotShot.shotId, id('open'))),
    ).toEqual([]);
  });
  it('others see the history of a shot from the revision that was shared', async () => {
    const player = (code: string) => goodShot('grown', { player: code });
    await send(db, south, [player('P1')]);
    await send(db, south, [player('P2')], { revise: true });
    await shareShots(db, south.lead, 'south', { labels: ['grown'] });
    await send(db, south, [player('P3')], { revise: true });
    const first = [goodShot('late', { player: 'P1' }), goodShot('early', { shared: true })];
    await send(db, south, first);
    await send(db, south, [goodShot('late', { player: 'P2', shared: true }), goodShot('early', { player: 'P2' })], {
      revise: true,
    });
    const { shots } = await listShots(db, south.lead, { lab: 'south', limit: 10 });
    const numbers = async (principal: Principal, label: string) => {
      const found = shots.find((one) => one.label === label)?.id ?? '';
      return (await listRevisions(db, principal, found)).map(({ number }) => number);
    };
    expect(await numbers(south.contributor, 'grown')).toEqual([3, 2, 1]);
    for (const principal of [north.lead, curator, reader, anonymous]) {
      expect(await numbers(principal, 'grown')).toEqual([3, 2]);
      expect(await numbers(principal, 'late')).toEqual([2]);
      expect(await numbers(principal, 'early')).toEqual([2, 1]);
    }
  });
  it('an unshared shot of another lab cannot even be found for withdrawal', async () => {
    await send(db, south, [goodShot('hidden')]);
    const { shots } = await listShots(db, south.lead, { lab: 'south', limit: 10 });
    const hidden = shots.find(({ label }) => label === 'hidden')?.id ?? '';
    expect(await codeOf(withdrawShot(db, north.lead, hidden, 'not mine'))).toBe('not-found');
  });
});
