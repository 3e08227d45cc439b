/** The bundle of a release: every file and the manifest in one ZIP. */
import type { Principal } from '../access/principal.ts';
import type { Database } from '../store/database.ts';
import { manifestName } from './manifest.ts';
import { rebuildFiles } from './rebuild-files.ts';
import { findRelease } from './releases.ts';
import { storeZip } from './stored-zip.ts';

/**
 * Bytes of bundle.zip, the same on every server that holds the release; the manifest comes first.
 * @param reference dataset@number or the digest
 * @throws Refusal not-found
 */
export async function bundleBytes(db: Database, principal: Principal, reference: string): Promise<Uint8Array> {
  const found = await findRelease(db, principal, reference);
  const files = await rebuildFiles(db, found);
  return storeZip([{ name: manifestName, bytes: new TextEncoder().encode(found.manifest) }, ...files]);
}
