/** The curator token with which everything begins. */
import { mkdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { and, eq, isNull, sql } from 'drizzle-orm';
import { advisoryLocks } from '../store/advisory-locks.ts';
import type { Database } from '../store/database.ts';
import { accessToken } from '../store/schema.ts';
import { appendAudit } from './audit.ts';
import { newTokenText, tokenHash } from './token-text.ts';

export interface FirstCurator {
  /** The token made or taken now; null when there was a curator already. */
  readonly token: string | null;
  /** File it was written to, readable by its owner only; null when none was written. */
  readonly file: string | null;
}

const shortestGiven = 32;

/**
 * Makes sure that there is a curator.
 *
 * A given token becomes a curator token unless it is known already (a revoked one stays revoked). Otherwise, when no
 * curator token is left, one is made and written to `curator-token` in the directory before it counts, so that it
 * cannot be lost. Printing it is left to the caller.
 *
 * @param given token chosen by the operator, at least 32 characters without spaces; null for none
 * @param directory where to write the file; null writes none
 * @throws Error when the given token is too short
 */
export async function ensureFirstCurator(
  db: Database,
  { given, directory }: { readonly given?: string | null; readonly directory: string | null },
): Promise<FirstCurator> {
  if (given !== undefined && given !== null && (given.length < shortestGiven || /\s/.test(given))) {
    throw new Error(`The curator token must have at least ${shortestGiven} characters and no spaces.`);
  }
  return db.transaction(async (tx) => {
    await tx.execute(sql`select pg_advisory_xact_lock(${sql.raw(String(advisoryLocks.firstCurator))})`);
    const isGiven = given !== undefined && given !== null;
    const existing = await tx
      .select({ id: accessToken.id })
      .from(accessToken)
      .where(
        isGiven
          ? eq(accessToken.hash, tokenHash(given))
          : and(
              eq(accessToken.role, 'curator'),
              isNull(accessToken.revokedAt),
              sql`coalesce(${accessToken.expiresAt} > now(), true)`,
            ),
      )
      .limit(1);
    if (existing.length > 0) return { token: null, file: null };
    const token = isGiven ? given : newTokenText();
    const file = isGiven || directory === null ? null : writeTokenFile(directory, token);
    const note = isGiven ? 'given by the operator' : 'first curator';
    const rows = await tx
      .insert(accessToken)
      .values({ hash: tokenHash(token), role: 'curator', note })
      .returning({ id: accessToken.id });
    const detail = { token: rows[0]?.id ?? null, role: 'curator', note };
    await appendAudit(tx, null, { tokenId: null, kind: 'token-made', detail });
    return { token, file };
  });
}

function writeTokenFile(directory: string, token: string): string {
  mkdirSync(directory, { recursive: true, mode: 0o700 });
  const file = join(directory, 'curator-token');
  const draft = `${file}.new`;
  // A draft left behind may have wider rights, and writing to an existing file would keep them.
  rmSync(draft, { force: true });
  writeFileSync(draft, `${token}\n`, { mode: 0o600, flag: 'wx' });
  renameSync(draft, file);
  return file;
}
