/** The life of a method version: derived side by side, stopped and gone on with, compared, activated. */
import { asc, eq, sql } from 'drizzle-orm';
import { afterEach, beforeAll, describe, expect, it } from 'vitest';
import { filterSchema } from '../../shared/analysis.ts';
import type { Recomputation } from '../../shared/recomputation.ts';
import { verifyAudit } from '../../src/access/audit.ts';
import type { Principal } from '../../src/access/principal.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { type Derive, type Methods, newestMethod, publishedMethods } from '../../src/derivation/methods.ts';
import { loadDerivedShot } from '../../src/intake/explain-shot.ts';
import { activateMethod } from '../../src/intake/recomputation/activate-method.ts';
import { RecomputationRunner } from '../../src/intake/recomputation/recomputation-runner.ts';
import { getRecomputation, startRecomputation } from '../../src/intake/recomputation/recomputations.ts';
import { listShots } from '../../src/intake/shots.ts';
import { submitStream } from '../../src/intake/submit.ts';
import { withdrawShot } from '../../src/intake/withdraw.ts';
import { readDataVersion } from '../../src/pooling/data-version.ts';
import { bundleBytes } from '../../src/releases/bundle.ts';
import { createDataset } from '../../src/releases/datasets.ts';
import { freezeRelease } from '../../src/releases/freeze.ts';
import { verifyBundle } from '../../src/releases/verify-bundle.ts';
import type { Database } from '../../src/store/database.ts';
import { derivation, hotShot, serverState, shot } from '../../src/store/schema.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { chunked, goodShot, options, registerGear, send, temporaryLimits } from './invented.ts';

const published = newestMethod(publishedMethods);
const next = 'next';

/** An invented next version: every speed a tenth of a per cent higher, and no contact time below 1.6 ms. */
const second: Derive = (each, gear) => {
  const { derived, faults } = deriveShot(each, gear);
  const { cueSpeed, contactTime } = derived;
  return {
    derived: {
      ...derived,
      methodVersion: next,
      cueSpeed: cueSpeed === null ? null : { ...cueSpeed, value: 1.001 * cueSpeed.value },
      contactTime: contactTime !== null && contactTime.value < 0.0016 ? null : contactTime,
    },
    faults,
  };
};
const withSecond = (derive: Derive = second): Methods => new Map([...publishedMethods, [next, derive]]);

onEachDatabase((open) => {
  let db: Database;
  let curator: Principal;
  let north: TestLab;
  let south: TestLab;
  const runners: RecomputationRunner[] = [];
  const failures: unknown[] = [];

  function runner(methods: Methods): RecomputationRunner {
    const made = new RecomputationRunner({ db, methods, onFailure: (error) => failures.push(error) });
    runners.push(made);
    return made;
  }
  const look = (id: string): Promise<Recomputation> => getRecomputation(db, curator, id);
  const derivedUnder = async (method: string) => {
    const rows = await db.select().from(derivation).where(eq(derivation.methodVersion, method));
    return rows.length;
  };
  const hotRows = () => db.select().from(hotShot).orderBy(asc(hotShot.labId), asc(hotShot.ordinal));

  beforeAll(async () => {
    db = open().db;
    curator = await makeCurator(db);
    north = await makeLab(db, curator, 'north');
    south = await makeLab(db, curator, 'south');
    for (const { lead, slug } of [north, south]) await registerGear(db, lead, slug);
    const labels = Array.from({ length: 70 }, (_, index) => `n-${index}`);
    await send(
      db,
      north,
      labels.map((label) => goodShot(label, { shared: true })),
    );
    await send(db, south, [goodShot('s-1', { shared: true }), goodShot('s-2')]);
    await send(db, south, [goodShot('s-1', { player: 'P2' })], { revise: true });
    const { shots } = await listShots(db, south.contributor, { lab: 'south', limit: 10 });
    const gone = shots.find(({ label }) => label === 's-2');
    await withdrawShot(db, south.contributor, gone?.id ?? '', 'invented reason');
    const filter = filterSchema.parse({});
    await createDataset(db, curator, { slug: 'before', title: 'Before', licence: 'CC0-1.0', filter });
  });
  afterEach(async () => {
    for (const each of runners.splice(0)) await each.stop();
  });

  it('is refused to others, and while there is no newer version', async () => {
    await expect(startRecomputation(db, north.lead, withSecond())).rejects.toMatchObject({ code: 'forbidden' });
    await expect(startRecomputation(db, curator, publishedMethods)).rejects.toMatchObject({ code: 'method-current' });
  });

  describe('from start to activation', () => {
    let id: string;
    let calls = 0;
    let before: Awaited<ReturnType<typeof hotRows>>;

    it('goes on after an error where it stopped, and says that it failed', async () => {
      before = await hotRows();
      const breaking: Derive = (each, gear) => {
        calls += 1;
        if (calls === 60) throw new Error('invented failure');
        return second(each, gear);
      };
      const started = await startRecomputation(db, curator, withSecond(breaking));
      expect(started).toMatchObject({ fromMethod: published, toMethod: next, state: 'deriving', total: 72, done: 0 });
      ({ id } = started);
      const first = runner(withSecond(breaking));
      first.wake();
      await first.idle();
      expect(failures.splice(0)).toEqual([new Error('invented failure')]);
      // The first batch of fifty is kept, the one that broke is not.
      expect(await look(id)).toMatchObject({ state: 'failed', done: 50, finishedAt: null });
      expect((await look(id)).failure).not.toContain('invented failure');
      await expect(activateMethod(db, curator, id)).rejects.toMatchObject({ code: 'recomputation-unfinished' });
    });

    it('goes on after the server was stopped between two shots, without deriving anything twice', async () => {
      calls = 0;
      const stopping: Methods = withSecond((each, gear) => {
        calls += 1;
        if (calls === 5) void killed.stop();
        return second(each, gear);
      });
      const again = await startRecomputation(db, curator, stopping);
      expect(again).toMatchObject({ id, state: 'deriving', done: 50 });
      const killed = runner(stopping);
      killed.wake();
      await killed.idle();
      await killed.stop();
      expect(calls).toBe(5);
      expect(await look(id)).toMatchObject({ state: 'deriving', done: 50 });

      calls = 0;
      const counting = withSecond((each, gear) => {
        calls += 1;
        return second(each, gear);
      });
      // What a server does when it starts.
      const restarted = runner(counting);
      restarted.wake();
      await restarted.idle();
      expect(calls).toBe(22);
      expect(await look(id)).toMatchObject({ state: 'derived', done: 72, total: 72, refused: 0, failure: null });
      expect(failures).toEqual([]);
    });

    it('leaves every answer as it was until then', async () => {
      expect(await hotRows()).toEqual(before);
      const [state] = await db.select().from(serverState);
      expect(state?.activeMethod).toBe(published);
      const { shots } = await listShots(db, north.contributor, { lab: 'north', limit: 1 });
      expect(shots[0]?.derived.methodVersion).toBe(published);
      const beside = await loadDerivedShot(db, north.contributor, shots[0]?.id ?? '', next);
      expect(beside.derived.methodVersion).toBe(next);
    });

    it('says beforehand what activation changes', async () => {
      const { changes } = await look(id);
      expect(changes).toMatchObject({ shots: 71, changed: 71, flagsChanged: 0 });
      const speed = changes?.quantities.find(({ quantity }) => quantity === 'cueSpeed');
      expect(speed).toMatchObject({ compared: 71, changed: 71, appeared: 0, vanished: 0, siUnit: 'm/s' });
      const largest = Math.max(...before.map(({ cueSpeed }) => cueSpeed ?? 0));
      expect(speed?.largestChange).toBeCloseTo(largest / 1000, 9);
      expect(speed?.largestChangeInUncertainties).toBeGreaterThan(0);
      const contact = changes?.quantities.find(({ quantity }) => quantity === 'contactTime');
      expect(contact).toMatchObject({ compared: 0, vanished: 71, largestChange: 0 });
      const offset = changes?.quantities.find(({ quantity }) => quantity === 'tipOffset');
      expect(offset).toMatchObject({ compared: 71, changed: 0 });
    });

    it('derives uploads under both, and finds the shots that an older server stored meanwhile', async () => {
      const body = chunked(JSON.stringify(goodShot('n-both', { shared: true })));
      await submitStream(db, north.contributor, 'north', options(), 'json', body, temporaryLimits(), {
        methods: withSecond(),
      });
      expect(await derivedUnder(next)).toBe(73);
      expect(await look(id)).toMatchObject({ total: 73, done: 73 });

      await send(db, north, [goodShot('n-old', { shared: true })]);
      expect(await look(id)).toMatchObject({ total: 74, done: 73 });
      await expect(activateMethod(db, curator, id)).rejects.toMatchObject({ code: 'recomputation-unfinished' });
      await startRecomputation(db, curator, withSecond());
      const last = runner(withSecond());
      last.wake();
      await last.idle();
      expect(await look(id)).toMatchObject({ state: 'derived', total: 74, done: 74 });
    });

    it('is activated at once for everything: hot table, lab versions, data version, receipt', async () => {
      const release = await freezeRelease(db, curator, 'before', { analyses: [] });
      expect(release.methodVersion).toBe(published);
      const old = await hotRows();
      const versions = await readDataVersion(db, 'shared');
      const receipt = await activateMethod(db, curator, id);
      expect(receipt).toMatchObject({ state: 'activated', changes: { shots: 73, changed: 73 } });

      const fresh = await hotRows();
      expect(fresh).toEqual(
        old.map((row) => ({
          ...row,
          cueSpeed: 1.001 * (row.cueSpeed ?? 0),
          contactTime: null,
          uContactTime: null,
          uContactTimeRig: null,
        })),
      );
      const after = await readDataVersion(db, 'shared');
      expect(after.methodVersion).toBe(next);
      expect(after.digest).not.toBe(versions.digest);
      const { rows } = await db.execute<{ moved: number }>(
        sql`select count(*)::int as moved from lab where version > 1 and shared_version > 1`,
      );
      expect(rows[0]?.moved).toBe(2);
      const { shots } = await listShots(db, south.contributor, { lab: 'south', limit: 10 });
      expect(shots.map(({ label, derived }) => [label, derived.methodVersion])).toEqual([
        ['s-1', next],
        ['s-2', next],
      ]);
      expect(await verifyAudit(db, null)).toMatchObject({ ok: true });
      // Asked twice, the receipt is the same.
      expect(await activateMethod(db, curator, id)).toEqual(receipt);
    });

    it('leaves a release its method: it verifies as before', async () => {
      const report = verifyBundle(await bundleBytes(db, curator, 'before@1'));
      expect(report).toMatchObject({ outcome: 'verified', methodVersion: published });
    });

    it('then refuses uploads on a server that lacks the active version, and takes them on one that has it', async () => {
      await expect(send(db, north, [goodShot('n-late')])).rejects.toMatchObject({ code: 'not-ready' });
      const body = chunked(JSON.stringify(goodShot('n-new', { shared: true })));
      const { receipt } = await submitStream(
        db,
        north.contributor,
        'north',
        options(),
        'json',
        body,
        temporaryLimits(),
        { methods: withSecond() },
      );
      expect(receipt.counts.created).toBe(1);
      const [stored] = await db.select().from(shot).where(eq(shot.label, 'n-new'));
      const derivations = await db
        .select({ method: derivation.methodVersion })
        .from(derivation)
        .where(eq(derivation.revisionId, stored?.currentRevisionId ?? 0));
      expect(derivations).toEqual([{ method: next }]);
    });
  });

  it('an upload that was read before an activation and stored after it takes the new method', async () => {
    const third: Derive = (each, gear) => {
      const { derived, faults } = second(each, gear);
      return { derived: { ...derived, methodVersion: 'after next' }, faults };
    };
    const methods: Methods = new Map([...withSecond(), ['after next', third]]);
    async function* slowly() {
      yield* chunked(`${JSON.stringify(goodShot('n-slow', { shared: true }))}\n`);
      const { id } = await startRecomputation(db, curator, methods);
      const work = runner(methods);
      work.wake();
      await work.idle();
      await activateMethod(db, curator, id);
    }
    await submitStream(db, north.contributor, 'north', options(), 'ndjson', slowly(), temporaryLimits(), { methods });
    const [row] = await db.select().from(hotShot).where(eq(hotShot.label, 'n-slow'));
    const { shots } = await listShots(db, north.contributor, { lab: 'north', limit: 1000 });
    const slow = shots.find(({ label }) => label === 'n-slow');
    expect(slow?.derived.methodVersion).toBe('after next');
    expect(row?.cueSpeed).toBe(slow?.derived.cueSpeed?.value);
  });
});
