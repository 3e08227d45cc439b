import { eq } from 'drizzle-orm';
import { beforeAll, expect, test } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import { releaseInputSchema } from '../../shared/release.ts';
import { anonymous } from '../../src/access/principal.ts';
import { newestChoices } from '../../src/derivation/method-choices.ts';
import { withdrawShot } from '../../src/intake/withdraw.ts';
import { sha256Hex } from '../../src/pooling/canonical.ts';
import { loadReleaseColumns } from '../../src/pooling/load-release-columns.ts';
import { bundleBytes } from '../../src/releases/bundle.ts';
import { createDataset, getDataset, listDatasets } from '../../src/releases/datasets.ts';
import { freezeRelease } from '../../src/releases/freeze.ts';
import { getManifest, getRelease, getReleaseFile, listReleases } from '../../src/releases/releases.ts';
import { verifyBundle } from '../../src/releases/verify-bundle.ts';
import {
  auditEvent,
  equivalenceMargin,
  release,
  releaseDocument,
  releaseMember,
  shot,
} from '../../src/store/schema.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { fillTwoLabs, inventedShot, send, type TwoLabs } from './two-labs.ts';

const filter = { ranges: [], groups: [], includeReported: false, includeFlags: [] };
const regression = {
  kind: 'regression',
  specification: { response: 'outcomeDistance', terms: [[{ variable: 'cueSpeed' }]] },
} as const;
const comparison = (margin: string | null) => ({
  kind: 'comparison',
  specification: {
    contrast: { kind: 'sign', variable: 'cueAcceleration' },
    response: 'outcomeDistance',
    match: [
      { variable: 'tipOffset', caliper: 0.05 },
      { variable: 'cueSpeed', caliper: 0.1 },
    ],
    margin,
  },
});
const questions = (...analyses: unknown[]) => releaseInputSchema.parse({ analyses });
const refusal = async (work: Promise<unknown>): Promise<Refusal> => {
  const error = await work.then(
    () => null,
    (reason: unknown) => reason,
  );
  if (!(error instanceof Refusal)) throw new Error(`not refused: ${String(error)}`);
  return error;
};

/** Digest of the first release by database, to be compared when both have run. */
const digests = new Map<string, { manifest: string; bundle: string }>();

onEachDatabase((open) => {
  let labs: TwoLabs;
  let firstBundle: Uint8Array;
  beforeAll(async () => {
    labs = await fillTwoLabs(open().db);
  });

  test('a dataset keeps its rule under a name that is taken once', async () => {
    const { db } = open();
    const input = { slug: 'draw', title: 'Draw strokes', licence: 'CC-BY-4.0', filter };
    await createDataset(db, labs.curator, input);
    expect(await getDataset(db, anonymous, 'draw')).toMatchObject(input);
    expect(await listDatasets(db, anonymous)).toHaveLength(1);
    expect((await refusal(createDataset(db, labs.curator, input))).code).toBe('name-taken');
    expect((await refusal(createDataset(db, labs.north.lead, input))).code).toBe('forbidden');
    expect((await refusal(getDataset(db, anonymous, 'none'))).code).toBe('not-found');
  });

  test('only the curator freezes, and a rule that no shot meets gives no release', async () => {
    const { db } = open();
    expect((await refusal(freezeRelease(db, labs.north.lead, 'draw', questions()))).code).toBe('forbidden');
    await createDataset(db, labs.curator, {
      slug: 'nothing',
      title: 'Nothing',
      licence: 'CC-BY-4.0',
      filter: { ...filter, ranges: [{ variable: 'cueSpeed', min: 19 }] },
    });
    expect((await refusal(freezeRelease(db, labs.curator, 'nothing', questions()))).code).toBe('release-invalid');
    expect(await listReleases(db, anonymous, 'nothing')).toEqual([]);
  });

  test('an analysis that cannot be computed refuses the release and says which and why', async () => {
    const { db } = open();
    const constant = {
      ...regression,
      specification: { ...regression.specification, terms: [[{ variable: 'ballSpeed' }]] },
    };
    const refused = await refusal(freezeRelease(db, labs.curator, 'draw', questions(regression, constant)));
    expect(refused.code).toBe('release-invalid');
    expect(refused.message).toMatch(/analysis 2 \(regression of outcomeDistance\)/);
    expect(await listReleases(db, anonymous, 'draw')).toEqual([]);
  });

  test('a release is frozen with its digest, and its bundle verifies offline', async () => {
    const { db, kind } = open();
    const reason = 'a tenth of a metre matters to nobody here';
    const [margin] = await db
      .insert(equivalenceMargin)
      .values({ variable: 'outcomeDistance', value: 0.1, reason })
      .returning();
    const frozen = await freezeRelease(
      db,
      labs.curator,
      'draw',
      questions(regression, comparison(null), comparison(margin?.id ?? '')),
    );
    expect(frozen).toMatchObject({ dataset: 'draw', number: 1, shots: 20, methodVersion: newestChoices.version });
    const manifest = await getManifest(db, anonymous, 'draw@1');
    expect(sha256Hex(manifest)).toBe(frozen.digest);
    expect(await getRelease(db, anonymous, frozen.digest)).toEqual(frozen);

    firstBundle = await bundleBytes(db, anonymous, 'draw@1');
    const report = verifyBundle(firstBundle);
    expect(report.checks.flatMap(({ first }) => first)).toEqual([]);
    expect(report).toMatchObject({ outcome: 'verified', digest: frozen.digest, dataset: 'draw', number: 1, shots: 20 });
    expect(report.checks.find(({ name }) => name === 'analyses')?.compared).toBe(3);
    expect(report.checks.find(({ name }) => name === 'derivations')?.compared).toBe(20);
    digests.set(kind, { manifest: frozen.digest, bundle: sha256Hex(firstBundle) });
  });

  test('nothing in a bundle names a server: no ids, no clock times, no addresses', async () => {
    const text = Buffer.from(firstBundle).toString('latin1');
    expect(text).not.toMatch(/[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}/);
    expect(text).not.toMatch(/\d{4}-\d\d-\d\dT\d\d:/);
    expect(text).not.toMatch(/localhost|127\.0\.0\.1|\/v1\//);
  });

  test('a margin declared after the shots were received is recorded as not prior, without its id and time', async () => {
    const { db } = open();
    const file = await getReleaseFile(db, anonymous, 'draw@1', 'analyses.json');
    const { analyses, margins } = JSON.parse(new TextDecoder().decode(file.bytes));
    expect(margins).toEqual([
      {
        id: sha256Hex(
          '{"reason":"a tenth of a metre matters to nobody here","value":0.1,"variable":"outcomeDistance"}',
        ),
        variable: 'outcomeDistance',
        value: 0.1,
        reason: 'a tenth of a metre matters to nobody here',
      },
    ]);
    expect(analyses[2].shareReceivedAfter).toBe(0);
    expect(analyses[2].result.equivalence).toMatchObject({
      prior: false,
      shareReceivedAfter: 0,
      margin: { id: margins[0].id, value: 0.1, declaredAt: null },
    });
    expect(analyses[0].result.provenance.dataVersion).toBe('release:draw@1');
    expect(analyses[0].result.specification.source).toEqual({ release: 'draw@1' });
  });

  test('a margin declared before every judged shot was received counts as prior; a superseded one is refused', async () => {
    const { db } = open();
    const declared = { variable: 'outcomeDistance', value: 0.05, reason: 'half of it, declared long before' };
    const [early] = await db
      .insert(equivalenceMargin)
      .values({ ...declared, declaredAt: new Date('2020-01-01T00:00:00Z') })
      .returning();
    await createDataset(db, labs.curator, { slug: 'prior', title: 'Prior margin', licence: 'CC0-1.0', filter });
    await freezeRelease(db, labs.curator, 'prior', questions(comparison(early?.id ?? '')));
    const file = await getReleaseFile(db, anonymous, 'prior@1', 'analyses.json');
    const { analyses } = JSON.parse(new TextDecoder().decode(file.bytes));
    expect(analyses[0]).toMatchObject({ shareReceivedAfter: 1, result: { equivalence: { prior: true } } });
    expect(verifyBundle(await bundleBytes(db, anonymous, 'prior@1')).outcome).toBe('verified');

    await db.insert(equivalenceMargin).values({ ...declared, supersedes: early?.id ?? null });
    const refused = await refusal(freezeRelease(db, labs.curator, 'prior', questions(comparison(early?.id ?? ''))));
    expect(refused.code).toBe('release-invalid');
    expect(refused.message).toMatch(/superseded/);
  });

  test('each file of a release is served under the SHA-256 that the manifest lists', async () => {
    const { db } = open();
    const manifest = JSON.parse(await getManifest(db, anonymous, 'draw@1'));
    for (const { name, size, sha256 } of manifest.files) {
      const file = await getReleaseFile(db, anonymous, 'draw@1', name);
      expect([name, file.bytes.byteLength, sha256Hex(file.bytes)]).toEqual([name, size, sha256]);
    }
    expect((await refusal(getReleaseFile(db, anonymous, 'draw@1', 'other.csv'))).code).toBe('not-found');
    expect((await refusal(getRelease(db, anonymous, 'draw@2'))).code).toBe('not-found');
    expect((await refusal(getRelease(db, anonymous, 'draw@x'))).code).toBe('not-found');
  });

  test('the columns of a stored release are those of its bundle', async () => {
    const { columns, digest } = await loadReleaseColumns(open().db, 'draw@1');
    expect(columns.count).toBe(20);
    expect(digest).toBe((await getRelease(open().db, anonymous, 'draw@1')).digest);
  });

  test('a later amendment or withdrawal changes no frozen release, and is in the next', async () => {
    const { db } = open();
    const amended = { ...inventedShot('north', 1), objectBallDistance: { value: 0.9, unit: 'm' } };
    await send(db, labs.north, [amended], { revise: true });
    const [withdrawn] = await db.select({ id: shot.id }).from(shot).where(eq(shot.label, 'SOUTH-2'));
    await withdrawShot(db, labs.south.contributor, withdrawn?.id ?? '', 'the ball was moved by hand');

    expect(Buffer.from(await bundleBytes(db, anonymous, 'draw@1')).equals(Buffer.from(firstBundle))).toBe(true);
    const second = await freezeRelease(db, labs.curator, 'draw', questions(regression));
    expect(second).toMatchObject({ number: 2, shots: 19 });
    const report = verifyBundle(await bundleBytes(db, anonymous, 'draw@2'));
    expect(report.outcome).toBe('verified');
    const shots = await getReleaseFile(db, anonymous, 'draw@2', 'shots.csv');
    expect(new TextDecoder().decode(shots.bytes)).toMatch(/north,1,NORTH-1,2,main@1,/);
    expect((await listReleases(db, anonymous, 'draw')).map(({ number }) => number)).toEqual([2, 1]);
  });

  test('two releases frozen at the same time get two numbers', async () => {
    const { db } = open();
    const both = await Promise.all([
      freezeRelease(db, labs.curator, 'draw', questions()),
      freezeRelease(db, labs.curator, 'draw', questions()),
    ]);
    expect(new Set(both.map(({ number }) => number))).toEqual(new Set([3, 4]));
  });

  test('the database itself refuses to change or delete a release, its members and its documents', async () => {
    const { db } = open();
    const constraint = (name: string) => ({ cause: { constraint: name } });
    await expect(db.update(release).set({ digest: 'x' })).rejects.toMatchObject(constraint('release_immutable'));
    await expect(db.delete(releaseMember)).rejects.toMatchObject(constraint('release_member_immutable'));
    await expect(db.update(releaseDocument).set({ content: '' })).rejects.toMatchObject(
      constraint('release_document_immutable'),
    );
  });

  test('freezing is in the audit chain with the digest', async () => {
    const { db } = open();
    const events = await db.select().from(auditEvent).where(eq(auditEvent.kind, 'release-frozen'));
    const { digest } = await getRelease(db, anonymous, 'draw@1');
    expect(events.map(({ detail }) => detail)).toContainEqual({ release: 'draw@1', digest, shots: 20 });
  });

  test('every database that received the same uploads gives the same bytes', () => {
    expect(new Set([...digests.values()].map(({ manifest }) => manifest)).size).toBe(1);
    expect(new Set([...digests.values()].map(({ bundle }) => bundle)).size).toBe(1);
  });
});
