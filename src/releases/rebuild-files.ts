/** The files of a stored release, made again from the rows it fixes. */
import { and, eq } from 'drizzle-orm';
import { manifestSchema } from '../../shared/release.ts';
import { sha256Hex } from '../pooling/canonical.ts';
import type { Database } from '../store/database.ts';
import { releaseDocument, releaseMember } from '../store/schema.ts';
import { loadFrozen } from './load-frozen.ts';
import { dataFiles, inBundleOrder } from './release-files.ts';
import type { NamedBytes } from './stored-zip.ts';

function listedHashes(manifest: string): Map<string, string> {
  return new Map(manifestSchema.parse(JSON.parse(manifest)).files.map(({ name, sha256 }) => [name, sha256]));
}

/** One of the texts kept with a release, without making its tables; null when the name is none of them. */
export async function storedDocument(db: Database, releaseId: number, name: string): Promise<Uint8Array | null> {
  const [row] = await db
    .select({ content: releaseDocument.content })
    .from(releaseDocument)
    .where(and(eq(releaseDocument.releaseId, releaseId), eq(releaseDocument.name, name)));
  return row === undefined ? null : new TextEncoder().encode(row.content);
}

/**
 * Every file except the manifest, in bundle order.
 * @throws Error when a file is not the one that was frozen: other bytes are never served under a digest
 */
export async function rebuildFiles(
  db: Database,
  stored: { readonly id: number; readonly manifest: string },
): Promise<NamedBytes[]> {
  const members = await db.select().from(releaseMember).where(eq(releaseMember.releaseId, stored.id));
  const texts = await db.select().from(releaseDocument).where(eq(releaseDocument.releaseId, stored.id));
  const { shots, gear } = await loadFrozen(db, members);
  const files = inBundleOrder(
    dataFiles(shots, gear),
    Object.fromEntries(texts.map(({ name, content }) => [name, content])),
  );
  const listed = listedHashes(stored.manifest);
  for (const { name, bytes } of files) {
    if (listed.get(name) !== sha256Hex(bytes)) throw new Error(`${name} is not the file that was frozen`);
  }
  return files;
}
