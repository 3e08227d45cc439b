/** Reading frozen releases. Everything in one is shared, so whoever may read shared data may read all of it. */
import { and, desc, eq, inArray, sql } from 'drizzle-orm';
import { Refusal } from '../../shared/refusal.ts';
import type { Release } from '../../shared/release.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { sha256Hex } from '../pooling/canonical.ts';
import type { Database } from '../store/database.ts';
import { dataset, release } from '../store/schema.ts';
import { getDataset } from './datasets.ts';
import { manifestName } from './manifest.ts';
import { rebuildFiles, storedDocument } from './rebuild-files.ts';
import { fileOrder, mediaTypeOf } from './release-files.ts';

export interface StoredRelease {
  readonly id: number;
  readonly release: Release;
  /** Canonical JSON, the bytes of manifest.json. */
  readonly manifest: string;
}

export interface ReleaseFile {
  readonly bytes: Uint8Array;
  readonly sha256: string;
  readonly mediaType: string;
}

const columns = {
  id: release.id,
  dataset: dataset.slug,
  number: release.number,
  digest: release.digest,
  manifest: release.manifest,
  methodVersion: release.methodVersion,
  shots: release.shots,
  frozenAt: release.frozenAt,
};

/** A release as it is shown, from its row. */
export function presentRelease(row: {
  dataset: string;
  number: number;
  digest: string;
  methodVersion: string;
  shots: number;
  frozenAt: Date;
}): Release {
  const address = `/v1/releases/${row.dataset}@${row.number}`;
  return {
    dataset: row.dataset,
    number: row.number,
    digest: row.digest,
    frozenAt: row.frozenAt.toISOString(),
    methodVersion: row.methodVersion,
    shots: row.shots,
    manifest: `${address}/manifest`,
    bundle: `${address}/bundle.zip`,
  };
}

/**
 * @param reference dataset@number or the digest
 * @throws Refusal not-found
 */
export async function findRelease(db: Database, principal: Principal, reference: string): Promise<StoredRelease> {
  permit(principal, 'readShared');
  const [slug = '', number] = reference.split('@');
  const condition =
    number === undefined
      ? eq(release.digest, reference)
      : and(eq(dataset.slug, slug), eq(release.number, /^[1-9][0-9]{0,8}$/.test(number) ? Number(number) : 0));
  const [row] = await db
    .select(columns)
    .from(release)
    .innerJoin(dataset, eq(dataset.id, release.datasetId))
    .where(condition);
  if (row === undefined) throw new Refusal('not-found', `there is no release ${reference}`);
  return { id: row.id, release: presentRelease(row), manifest: row.manifest };
}

/** Releases of a dataset, newest first. Throws Refusal not-found. */
export async function listReleases(db: Database, principal: Principal, slug: string): Promise<Release[]> {
  await getDataset(db, principal, slug);
  const rows = await db
    .select(columns)
    .from(release)
    .innerJoin(dataset, eq(dataset.id, release.datasetId))
    .where(eq(dataset.slug, slug))
    .orderBy(desc(release.number));
  return rows.map(presentRelease);
}

/** One release. Throws Refusal not-found. */
export async function getRelease(db: Database, principal: Principal, reference: string): Promise<Release> {
  const found = await findRelease(db, principal, reference);
  return found.release;
}

/** The manifest as text; its SHA-256 is the digest of the release. Throws Refusal not-found. */
export async function getManifest(db: Database, principal: Principal, reference: string): Promise<string> {
  const found = await findRelease(db, principal, reference);
  return found.manifest;
}

/** One file of the bundle. Throws Refusal not-found. */
export async function getReleaseFile(
  db: Database,
  principal: Principal,
  reference: string,
  name: string,
): Promise<ReleaseFile> {
  const found = await findRelease(db, principal, reference);
  const mediaType = mediaTypeOf(name);
  if (name === manifestName) {
    return { bytes: new TextEncoder().encode(found.manifest), sha256: found.release.digest, mediaType };
  }
  if (!fileOrder.includes(name)) throw new Refusal('not-found', `release ${reference} has no file ${name}`);
  const document = await storedDocument(db, found.id, name);
  const bytes = document ?? (await rebuildFiles(db, found)).find((each) => each.name === name)?.bytes;
  if (bytes === undefined) throw new Error(`the release has no ${name}`);
  return { bytes, sha256: sha256Hex(bytes), mediaType };
}

/** Where a page of releases ended. */
export interface ReleasePlace {
  /** UTC instant. */
  readonly frozenAt: string;
  readonly dataset: string;
  readonly number: number;
}

/** Releases of all datasets, or of some, newest first. */
export async function newestReleases(
  db: Database,
  principal: Principal,
  page: { readonly after: ReleasePlace | null; readonly limit: number },
): Promise<Release[]> {
  permit(principal, 'readShared');
  const { after } = page;
  // What is shown of an instant are milliseconds, so the list is ordered by them.
  const shown = sql`date_trunc('milliseconds', ${release.frozenAt})`;
  const earlier =
    after === null
      ? undefined
      : sql`(${shown} < ${after.frozenAt}::timestamptz or (${shown} = ${after.frozenAt}::timestamptz and
          (${dataset.slug} collate "C", -${release.number}) > (${after.dataset}::text collate "C", -${after.number}::int)))`;
  const rows = await db
    .select(columns)
    .from(release)
    .innerJoin(dataset, eq(dataset.id, release.datasetId))
    .where(earlier)
    .orderBy(sql`${shown} desc`, sql`${dataset.slug} collate "C"`, desc(release.number))
    .limit(page.limit);
  return rows.map(presentRelease);
}

/** Releases of several datasets, newest first. */
export async function releasesOfDatasets(
  db: Database,
  principal: Principal,
  slugs: readonly string[],
): Promise<Release[]> {
  permit(principal, 'readShared');
  const rows = await db
    .select(columns)
    .from(release)
    .innerJoin(dataset, eq(dataset.id, release.datasetId))
    .where(inArray(dataset.slug, [...slugs]))
    .orderBy(desc(release.number));
  return rows.map(presentRelease);
}
