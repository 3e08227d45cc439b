/**
 * What was done, by which token, when: one append-only chain per lab and one of the server. The digest of an event is
 * the SHA-256 of the canonical JSON (RFC 8785) of the digest before it and the event, so that a removed or altered
 * event shows.
 */
import { createHash } from 'node:crypto';
import canonicalize from 'canonicalize';
import { asc, desc, eq, isNull, sql } from 'drizzle-orm';
import { advisoryLocks } from '../store/advisory-locks.ts';
import type { Database, Transaction } from '../store/database.ts';
import { auditEvent } from '../store/schema.ts';
import { lockLab } from './lab-version.ts';

export interface AuditEntry {
  /** Null for what the server or an unnamed caller did. */
  readonly tokenId: string | null;
  /** What was done, for example 'lab-registered'. */
  readonly kind: string;
  /** Facts in JSON; no names of people, no tokens. */
  readonly detail: Readonly<Record<string, unknown>>;
}

interface ChainedEvent extends AuditEntry {
  readonly labId: number | null;
  readonly sequence: number;
  readonly happenedAt: Date;
}

const genesis = '0'.repeat(64);

function digestOf(previousDigest: string, event: ChainedEvent): string {
  const { labId, sequence, happenedAt, tokenId, kind, detail } = event;
  const text = canonicalize({
    previousDigest,
    event: { lab: labId, sequence, happenedAt: happenedAt.toISOString(), tokenId, kind, detail },
  });
  return createHash('sha256').update(String(text)).digest('hex');
}

const ofChain = (labId: number | null) => (labId === null ? isNull(auditEvent.labId) : eq(auditEvent.labId, labId));

/**
 * Appends an event to the chain of a lab (taking the lab's row lock), or of the server when labId is null.
 * @returns the digest of the event
 */
export async function appendAudit(tx: Transaction, labId: number | null, entry: AuditEntry): Promise<string> {
  if (labId === null)
    await tx.execute(sql`select pg_advisory_xact_lock(${sql.raw(String(advisoryLocks.serverAudit))})`);
  else await lockLab(tx, labId);
  const last = await tx
    .select({ sequence: auditEvent.sequence, digest: auditEvent.digest })
    .from(auditEvent)
    .where(ofChain(labId))
    .orderBy(desc(auditEvent.sequence))
    .limit(1);
  const previousDigest = last[0]?.digest ?? genesis;
  const event: ChainedEvent = {
    labId,
    sequence: (last[0]?.sequence ?? 0) + 1,
    happenedAt: new Date(),
    tokenId: entry.tokenId,
    kind: entry.kind,
    // What JSON cannot hold is not stored, so it must not be digested either.
    detail: JSON.parse(JSON.stringify(entry.detail)) as Record<string, unknown>,
  };
  const digest = digestOf(previousDigest, event);
  await tx.insert(auditEvent).values({ ...event, previousDigest, digest });
  return digest;
}

export type AuditVerdict =
  | { readonly ok: true; readonly events: number; readonly digest: string }
  | { readonly ok: false; readonly brokenAt: number };

/** Recomputes a chain; `brokenAt` is the sequence number of the first event that does not fit. */
export async function verifyAudit(db: Database | Transaction, labId: number | null): Promise<AuditVerdict> {
  const events = await db.select().from(auditEvent).where(ofChain(labId)).orderBy(asc(auditEvent.sequence));
  let previous = genesis;
  for (const [index, event] of events.entries()) {
    const detail = event.detail as Readonly<Record<string, unknown>>;
    const fits =
      event.sequence === index + 1 &&
      event.previousDigest === previous &&
      event.digest === digestOf(previous, { ...event, detail });
    if (!fits) return { ok: false, brokenAt: index + 1 };
    previous = event.digest;
  }
  return { ok: true, events: events.length, digest: previous };
}
