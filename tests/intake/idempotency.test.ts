/** The same upload under the same key is answered once, whatever happens in between. */
import { eq, sql } from 'drizzle-orm';
import { beforeAll, expect, it } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import { forgetDryRuns } from '../../src/intake/housekeeping.ts';
import { forgetOldKeys } from '../../src/intake/idempotency.ts';
import { getReceipt } from '../../src/intake/receipts.ts';
import { type SubmissionAnswer, submitStream } from '../../src/intake/submit.ts';
import type { Database } from '../../src/store/database.ts';
import { idempotencyKey, shot, submission } from '../../src/store/schema.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { chunked, goodShot, options, registerGear, temporaryLimits } from './invented.ts';

const refusalOf = (work: Promise<unknown>): Promise<unknown> =>
  work.then(
    () => null,
    (error: unknown) => (error instanceof Refusal ? error.code : error),
  );

onEachDatabase((open) => {
  let db: Database;
  let north: TestLab;
  beforeAll(async () => {
    db = open().db;
    north = await makeLab(db, await makeCurator(db), 'north');
    await registerGear(db, north.lead, 'north');
  });

  const line = (label: string) => `${JSON.stringify(goodShot(label))}\n`;
  const upload = (
    key: string,
    text: string | AsyncIterable<Uint8Array>,
    change = {},
    principal = north.contributor,
  ): Promise<SubmissionAnswer> => {
    const body = typeof text === 'string' ? chunked(text) : text;
    return submitStream(db, principal, 'north', options(change), 'ndjson', body, temporaryLimits(), {
      idempotencyKey: key,
    });
  };
  const stored = async (label: string) => (await db.select().from(shot).where(eq(shot.label, label))).length;
  /** A body that stops after the first shot until `finish` is called. */
  const stalling = (text: string) => {
    let finish: () => void = () => {};
    const wait = new Promise<void>((resolve) => {
      finish = resolve;
    });
    const body = (async function* () {
      yield* chunked(text);
      await wait;
    })();
    return { body, finish };
  };
  const claimed = async (key: string) => {
    for (let attempt = 0; attempt < 200; attempt += 1) {
      const rows = await db.select().from(idempotencyKey).where(eq(idempotencyKey.key, key));
      if (rows.length > 0) return;
      await new Promise((resolve) => setTimeout(resolve, 10));
    }
    throw new Error('the key was not claimed');
  };

  it('a repeat gets the very same answer, byte by byte', async () => {
    const first = await upload('k-1', line('i-1'));
    expect(first.status).toBe(201);
    const again = await upload('k-1', line('i-1'));
    expect(again).toEqual(first);
    expect(JSON.stringify(again.receipt)).toBe(JSON.stringify(first.receipt));
    expect(again.receipt.counts).toEqual({ created: 1, unchanged: 0, revised: 0, rejected: 0 });
  });
  it('a repeat of a refused upload is refused with the same receipt', async () => {
    const bad = line('i-bad').replace('"main"', '"lost"');
    const receipts = [];
    for (let round = 0; round < 2; round += 1) {
      const error: unknown = await upload('k-bad', bad).catch((thrown: unknown) => thrown);
      if (!(error instanceof Refusal)) throw new Error('not refused', { cause: error });
      expect(error.code).toBe('submission-rejected');
      receipts.push(error.extra.receipt);
    }
    expect(receipts[1]).toEqual(receipts[0]);
  });
  it('another body or other options under a key are refused; another token has keys of its own', async () => {
    await upload('k-2', line('i-2'));
    expect(await refusalOf(upload('k-2', line('i-other')))).toBe('idempotency-key-reused');
    expect(await refusalOf(upload('k-2', line('i-2'), { dryRun: true }))).toBe('idempotency-key-reused');
    expect(await stored('i-other')).toBe(0);
    expect((await upload('k-2', line('i-lead'), {}, north.lead)).status).toBe(201);
  });
  it('while the first is in progress the second is told to wait, and afterwards gets its answer', async () => {
    const { body, finish } = stalling(line('i-3'));
    const first = upload('k-3', body);
    await claimed('k-3');
    const error: unknown = await upload('k-3', line('i-3')).catch((thrown: unknown) => thrown);
    expect(error).toMatchObject({ code: 'upload-in-progress', retryAfterSeconds: 5 });
    finish();
    expect(await upload('k-3', line('i-3')).catch(() => first)).toEqual(await first);
    expect(await stored('i-3')).toBe(1);
  });
  it('an upload that fails as a whole gives its key free', async () => {
    expect(await refusalOf(upload('k-4', '\n\n'))).toBe('request-invalid');
    expect((await upload('k-4', line('i-4'))).status).toBe(201);
  });
  it('the mark of a dead process ends with its lease; a process that comes back late stores nothing', async () => {
    const { body, finish } = stalling(line('i-5'));
    const slow = refusalOf(upload('k-5', body));
    await claimed('k-5');
    await db
      .update(idempotencyKey)
      .set({ aliveUntil: sql`now() - interval '1 second'` })
      .where(eq(idempotencyKey.key, 'k-5'));
    const second = await upload('k-5', line('i-5'));
    expect(second.receipt.counts.created).toBe(1);
    finish();
    expect(await slow).toBe('upload-in-progress');
    expect(await upload('k-5', line('i-5'))).toEqual(second);
    const submissions = await db.select().from(submission).where(eq(submission.id, second.receipt.submission));
    expect(submissions).toHaveLength(1);
  });
  it('after 7 days a key is forgotten and can be used anew', async () => {
    await upload('k-6', line('i-6'));
    const age = sql`now() - interval '7 days 1 minute'`;
    await db.update(idempotencyKey).set({ startedAt: age }).where(eq(idempotencyKey.key, 'k-6'));
    expect((await upload('k-6', line('i-7'))).receipt.counts.created).toBe(1);
    await db.update(idempotencyKey).set({ startedAt: age }).where(eq(idempotencyKey.key, 'k-6'));
    expect(await forgetOldKeys(db)).toBe(1);
    expect(await forgetOldKeys(db)).toBe(0);
  });
  it('the receipt of a dry run is gone after a day, others stay', async () => {
    const dry = await upload('k-7', line('i-8'), { dryRun: true });
    const real = await upload('k-8', line('i-8'));
    for (const { receipt } of [dry, real]) {
      expect((await getReceipt(db, north.lead, receipt.submission)).submission).toBe(receipt.submission);
      await db
        .update(submission)
        .set({ receivedAt: sql`now() - interval '25 hours'` })
        .where(eq(submission.id, receipt.submission));
    }
    expect(await forgetDryRuns(db)).toBe(1);
    expect(await refusalOf(getReceipt(db, north.lead, dry.receipt.submission))).toBe('not-found');
    expect((await getReceipt(db, north.lead, real.receipt.submission)).counts.created).toBe(1);
  });
});
