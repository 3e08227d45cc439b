/** Access tokens: made once, shown once, stored only as a hash. */
import { and, eq, isNull, sql } from 'drizzle-orm';
import { Refusal } from '../../shared/refusal.ts';
import { publishNotice } from '../notices/publish-notice.ts';
import type { Database } from '../store/database.ts';
import { accessToken, lab } from '../store/schema.ts';
import { appendAudit } from './audit.ts';
import { requireLab } from './labs.ts';
import { may, permit } from './permissions.ts';
import type { Principal, Role } from './principal.ts';
import { newTokenText, tokenHash } from './token-text.ts';

export { ensureFirstCurator } from './first-curator.ts';

export type TokenRole = Exclude<Role, 'anonymous'>;

export interface TokenInput {
  readonly role: TokenRole;
  /** Slug of the lab of a lead or contributor; null for the others. */
  readonly lab: string | null;
  /** What the token is for; a code for a person, never a name. */
  readonly note: string;
  /** Instant with offset; null for no end. */
  readonly expiresAt?: string | null;
}

export interface MadeToken {
  readonly id: string;
  readonly role: TokenRole;
  /** Shown this once. */
  readonly token: string;
}

/**
 * Makes a token.
 * @throws Refusal 'forbidden', 'not-found' (no such lab), 'request-invalid' (role and lab do not go together)
 */
export async function createToken(db: Database, principal: Principal, input: TokenInput): Promise<MadeToken> {
  const needsLab = input.role === 'lead' || input.role === 'contributor';
  if (needsLab !== (input.lab !== null)) {
    throw new Refusal('request-invalid', 'Leads and contributors have a lab, curators and readers have none.');
  }
  if (input.lab === null) permit(principal, 'issueToken');
  else permit(principal, 'issueLabToken', input.lab);
  const token = newTokenText();
  const id = await db.transaction(async (tx) => {
    const labId = input.lab === null ? null : (await requireLab(tx, input.lab)).id;
    const rows = await tx
      .insert(accessToken)
      .values({
        hash: tokenHash(token),
        role: input.role,
        labId,
        note: input.note,
        expiresAt: input.expiresAt === undefined || input.expiresAt === null ? null : new Date(input.expiresAt),
      })
      .returning({ id: accessToken.id });
    const made = rows[0];
    if (made === undefined) throw new Error('The new token was not returned.');
    const detail = { token: made.id, role: input.role, note: input.note, expiresAt: input.expiresAt ?? null };
    await appendAudit(tx, labId, { tokenId: principal.tokenId, kind: 'token-made', detail });
    return made.id;
  });
  return { id, role: input.role, token };
}

/**
 * Ends a token at once. Ending an ended one changes nothing.
 * @throws Refusal 'not-found', also for a token that the principal may not end
 */
export async function revokeToken(db: Database, principal: Principal, id: string): Promise<void> {
  await db.transaction(async (tx) => {
    const rows = await tx
      .select({ labId: accessToken.labId, slug: lab.slug })
      .from(accessToken)
      .leftJoin(lab, eq(lab.id, accessToken.labId))
      .where(eq(accessToken.id, id));
    const found = rows[0];
    const allowed =
      found !== undefined &&
      (found.slug === null ? may(principal, 'issueToken') : may(principal, 'issueLabToken', found.slug));
    if (!allowed) throw new Refusal('not-found', `There is no token ${id} that this token may end.`);
    const ended = await tx
      .update(accessToken)
      .set({ revokedAt: sql`now()` })
      .where(and(eq(accessToken.id, id), isNull(accessToken.revokedAt)))
      .returning({ id: accessToken.id });
    if (ended.length === 0) return;
    const entry = { tokenId: principal.tokenId, kind: 'token-revoked', detail: { token: id } };
    await appendAudit(tx, found.labId, entry);
    await publishNotice(tx, { kind: 'readAgain', what: 'tokens' });
  });
}

export type FoundPrincipal =
  | {
      readonly ok: true;
      readonly principal: Principal;
      /** How long this holds if nobody ends the token, ms; a longer use has to be noted. */
      readonly keepFor: number;
    }
  | { readonly ok: false; readonly reason: 'unknown' | 'expired' };

/** A use is noted once a minute, ms. */
const noteEvery = 60_000;

/** The principal of a token's text; 'expired' also when it was revoked. Notes the use, at most once a minute. */
export async function findPrincipal(db: Database, text: string): Promise<FoundPrincipal> {
  const rows = await db
    .select({
      id: accessToken.id,
      role: accessToken.role,
      labId: lab.id,
      slug: lab.slug,
      ended: sql<boolean>`(${accessToken.revokedAt} is not null or coalesce(${accessToken.expiresAt} <= now(), false))`,
      endsIn: sql<number | null>`extract(epoch from ${accessToken.expiresAt} - now())::float8 * 1000`,
      useIsOld: sql<boolean>`coalesce(${accessToken.lastUsedAt} < now() - interval '1 minute', true)`,
    })
    .from(accessToken)
    .leftJoin(lab, eq(lab.id, accessToken.labId))
    .where(eq(accessToken.hash, tokenHash(text)));
  const row = rows[0];
  if (row === undefined) return { ok: false, reason: 'unknown' };
  if (row.ended) return { ok: false, reason: 'expired' };
  if (row.useIsOld) {
    await db.update(accessToken).set({ lastUsedAt: sql`now()` }).where(eq(accessToken.id, row.id));
  }
  return {
    ok: true,
    keepFor: row.endsIn === null ? noteEvery : Math.min(noteEvery, Number(row.endsIn)),
    principal: {
      // The check constraint of the table allows no other role.
      role: row.role as TokenRole,
      lab: row.labId === null || row.slug === null ? null : { id: row.labId, slug: row.slug },
      tokenId: row.id,
    },
  };
}
