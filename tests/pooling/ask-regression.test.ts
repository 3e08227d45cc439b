import { and, eq, sql } from 'drizzle-orm';
import { beforeAll, expect, test } from 'vitest';
import { flagMask } from '../../shared/flags.ts';
import { type RegressionSpecification, regressionSpecificationSchema } from '../../shared/regression.ts';
import { anonymous, type Principal } from '../../src/access/principal.ts';
import { newestChoices } from '../../src/derivation/method-choices.ts';
import { askRegression } from '../../src/pooling/ask-regression.ts';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import type { ShotRow } from '../../src/pooling/columns.ts';
import { readDataVersion } from '../../src/pooling/data-version.ts';
import { loadLiveColumns } from '../../src/pooling/load-columns.ts';
import { loadReleaseColumns } from '../../src/pooling/load-release-columns.ts';
import { runRegression } from '../../src/pooling/run-regression.ts';
import { getAnalysis } from '../../src/pooling/stored-analysis.ts';
import { analysis, dataset, hotShot, lab, release, releaseMember } from '../../src/store/schema.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { inventedShots } from './invented-shots.ts';
import { type StoredShot, storeInvented } from './store-invented.ts';

const reader: Principal = { role: 'reader', lab: null, tokenId: null };
const member = (id: number, slug: string): Principal => ({ role: 'contributor', lab: { id, slug }, tokenId: null });

function regression(more: object = {}): RegressionSpecification {
  return regressionSpecificationSchema.parse({
    response: 'contactTime',
    terms: [[{ variable: 'cueSpeed' }]],
    ...more,
  });
}

// Made in another order than that of the slugs, so that the order of columns is not that of lab ids.
const slugs = ['west', 'east', 'north'];
/** Every fifth shot of west is its own. */
const isShared = (row: ShotRow) => row.lab !== 'west' || row.ordinal % 5 !== 0;
const varied = (row: ShotRow): ShotRow => ({
  ...row,
  straight: row.ordinal % 7 !== 0,
  table: row.ordinal % 6 === 0 ? null : row.table,
  player: row.ordinal % 4 === 0 ? null : `P${row.ordinal % 3}`,
  strokeStyle: row.ordinal % 2 === 0 ? 'slow' : null,
  sessionDate: row.ordinal % 3 === 0 ? null : `2026-03-0${(row.ordinal % 9) + 1}`,
  fromTrack: row.ordinal !== 11,
  flags: row.ordinal % 7 === 0 ? flagMask(['notStraight']) : 0,
  variables: { ...row.variables, tipHeight: null, elevation: row.ordinal % 8 === 0 ? 0.02 : null },
});
const rows = inventedShots(slugs, 25).map(varied);
const sharedRows = rows.filter(isShared);

onEachDatabase((open) => {
  const db = () => open().db;
  let stored: StoredShot[] = [];
  const labId = (slug: string) => stored.find(({ row }) => row.lab === slug)?.labId ?? 0;

  beforeAll(async () => {
    for (const slug of slugs) {
      const own = rows.filter((row) => row.lab === slug);
      stored = [...stored, ...(await storeInvented(db(), slug, own, isShared))];
    }
  });

  test('live columns of the shared scope are the shared shots, bit for bit', async () => {
    expect(await loadLiveColumns(db(), 'shared')).toEqual(assembleColumns(sharedRows));
  });

  test("live columns of a lab's scope are the shared shots and that lab's own", async () => {
    expect(await loadLiveColumns(db(), 'lab:west')).toEqual(assembleColumns(rows));
    expect(await loadLiveColumns(db(), 'lab:east')).toEqual(assembleColumns(sharedRows));
  });

  test('an answer is what the pure regression gives, is stored, and is served again from what is stored', async () => {
    const { id, scope, result } = await askRegression(db(), reader, regression());
    const { digest } = await readDataVersion(db(), 'shared');
    expect(scope).toBe('shared');
    expect(result.provenance).toMatchObject({ dataVersion: digest, methodVersion: newestChoices.version });
    const { specificationDigest } = result.provenance;
    const base = { specificationDigest, dataVersion: digest, methodVersion: newestChoices.version };
    expect(result).toEqual(runRegression(assembleColumns(sharedRows), regression(), base));

    const otherwise = regression({ terms: [[{ variable: 'cueSpeed', power: 1 }], [{ variable: 'cueSpeed' }]] });
    const again = await askRegression(db(), member(labId('west'), 'west'), otherwise);
    expect(again.id).toBe(id);
    expect(JSON.stringify(again.result)).toBe(JSON.stringify(result));
    expect(JSON.stringify((await getAnalysis(db(), reader, id)).result)).toBe(JSON.stringify(result));
    expect(await db().select({ id: analysis.id }).from(analysis)).toEqual([{ id }]);
  });

  test('asked twice at once, one answer is kept', async () => {
    const question = regression({ confidence: 0.9 });
    const answers = await Promise.all([1, 2, 3].map(() => askRegression(db(), reader, question)));
    expect(new Set(answers.map(({ id }) => id)).size).toBe(1);
    expect(new Set(answers.map(({ result }) => JSON.stringify(result))).size).toBe(1);
  });

  test("a lab's scope is open to that lab only, for asking and for fetching", async () => {
    const question = regression({ scope: 'lab:west' });
    const { id, scope, result } = await askRegression(db(), member(labId('west'), 'west'), question);
    expect(scope).toBe('lab:west');
    expect(result.provenance.shots).toBeGreaterThan(
      (await askRegression(db(), reader, regression())).result.provenance.shots,
    );
    const others: Principal[] = [
      reader,
      anonymous,
      member(labId('east'), 'east'),
      { role: 'curator', lab: null, tokenId: null },
    ];
    for (const principal of others) {
      await expect(askRegression(db(), principal, question)).rejects.toMatchObject({ code: 'not-found' });
      await expect(getAnalysis(db(), principal, id)).rejects.toMatchObject({ code: 'not-found' });
    }
    await expect(getAnalysis(db(), reader, 'f'.repeat(64))).rejects.toMatchObject({ code: 'not-found' });
  });

  test('what only a lab sees moves the data version of its own scope and of no other', async () => {
    const before = [
      await readDataVersion(db(), 'shared'),
      await readDataVersion(db(), 'lab:west'),
      await readDataVersion(db(), 'lab:east'),
    ];
    await db()
      .update(lab)
      .set({ version: sql`${lab.version} + 1` })
      .where(eq(lab.slug, 'west'));
    const after = [
      await readDataVersion(db(), 'shared'),
      await readDataVersion(db(), 'lab:west'),
      await readDataVersion(db(), 'lab:east'),
    ];
    expect(after.map(({ digest }, k) => digest === before[k]?.digest)).toEqual([true, false, true]);
    expect(new Set(after.map(({ digest }) => digest)).size).toBe(3);
  });

  test('a release answers from what was frozen, by number and by digest alike, whatever happens to the live shots', async () => {
    const frozen = stored.filter(({ row }) => isShared(row) && row.ordinal <= 20);
    const digest = 'd'.repeat(64);
    const [made] = await db()
      .insert(dataset)
      .values({ slug: 'all', title: 'All', licence: 'CC0-1.0', rule: {} })
      .returning({ id: dataset.id });
    const [madeRelease] = await db()
      .insert(release)
      .values({
        datasetId: made?.id ?? 0,
        number: 1,
        digest,
        manifest: '{}',
        methodVersion: '1',
        shots: frozen.length,
        analyses: [],
        margins: [],
      })
      .returning({ id: release.id });
    const releaseId = madeRelease?.id ?? 0;
    await db()
      .insert(releaseMember)
      .values(
        frozen.map(({ row, labId: ownLab, revisionId, derivationId }) => ({
          releaseId,
          labId: ownLab,
          ordinal: row.ordinal,
          revisionId,
          derivationId,
        })),
      );
    const expected = assembleColumns(frozen.map(({ row }) => row));
    const loaded = await loadReleaseColumns(db(), digest);
    expect(loaded).toEqual({ reference: 'all@1', digest, methodVersion: '1', columns: expected });

    const byNumber = await askRegression(db(), reader, regression({ source: { release: 'all@1' } }));
    expect(byNumber.result.provenance.dataVersion).toBe(digest);
    await db()
      .delete(hotShot)
      .where(and(eq(hotShot.labId, labId('east')), eq(hotShot.ordinal, 1)));
    await db()
      .update(lab)
      .set({ sharedVersion: sql`${lab.sharedVersion} + 1` })
      .where(eq(lab.slug, 'east'));
    const byDigest = await askRegression(db(), reader, regression({ source: { release: digest } }));
    expect(byDigest.id).toBe(byNumber.id);
    await expect(askRegression(db(), reader, regression({ source: { release: 'all@2' } }))).rejects.toMatchObject({
      code: 'not-found',
    });
  });

  test('a question that the shots cannot answer is refused and nothing is stored', async () => {
    const count = async () => (await db().select({ id: analysis.id }).from(analysis)).length;
    const before = await count();
    const question = regression({ response: 'tipHeight' });
    await expect(askRegression(db(), reader, question)).rejects.toMatchObject({ code: 'not-estimable' });
    expect(await count()).toBe(before);
  });
});
