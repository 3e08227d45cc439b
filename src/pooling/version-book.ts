/**
 * The versions of all labs, kept in memory while notices are heard. While they are not, every question asks the
 * database.
 */
import { sql } from 'drizzle-orm';
import type { Notice, NoticeOf } from '../notices/notice.ts';
import type { NoticeFeed } from '../notices/notice-feed.ts';
import type { Database, Transaction } from '../store/database.ts';

export interface LabVersion {
  readonly id: number;
  readonly version: number;
  readonly sharedVersion: number;
}

/** One state of the whole database, as far as answers depend on it. */
export interface Versions {
  /** Random, renewed by a restore. */
  readonly epoch: string;
  readonly activeMethod: string;
  /** By slug. */
  readonly labs: ReadonlyMap<string, LabVersion>;
  /** Milliseconds from the reading to the next dated sharing; null when none is planned. */
  readonly nextSharingIn: number | null;
}

/**
 * What is another one wherever a backup was restored: cluster and timeline (a physical backup), database and table (a
 * dump). Only files of an embedded database that are put back as they were look the same: see renew-epoch.ts.
 */
const physicalDatabase = sql`(pg_control_system()).system_identifier::text || '/' ||
  (pg_control_checkpoint()).timeline_id || '/' ||
  (select oid from pg_database where datname = current_database()) || '/' || 'server_state'::regclass::oid`;

/** All versions in one statement, so of one state. */
export async function readVersions(db: Database | Transaction): Promise<Versions> {
  const { rows } = await db.execute<{
    epoch: string;
    method: string;
    sharing: number | null;
    id: number | null;
    slug: string;
    version: number;
    shared: number;
  }>(sql`
    select state.epoch::text || '/' || ${physicalDatabase} as epoch, state.active_method as method,
      (select extract(epoch from min(due_at) - clock_timestamp())::float8 * 1000 from planned_sharing
        where done_at is null and cancelled_at is null) as sharing,
      lab.id, lab.slug, lab.version::float8 as version, lab.shared_version::float8 as shared
    from server_state state left join lab on true`);
  const [first] = rows;
  if (first === undefined) throw new Error('the database has no server state');
  const labs = new Map<string, LabVersion>();
  for (const { id, slug, version, shared } of rows) {
    if (id !== null) labs.set(slug, { id, version: Number(version), sharedVersion: Number(shared) });
  }
  const { epoch, method, sharing } = first;
  return { epoch, activeMethod: method, labs, nextSharingIn: sharing === null ? null : Number(sharing) };
}

/** Clocks of two machines and the way between them may differ by so much, ms. */
const clockMargin = 1_000;

export class VersionBook {
  readonly #db: Database;
  readonly #feed: NoticeFeed;
  readonly #shareDue: () => Promise<unknown>;
  #known: Versions | null = null;
  /** When sharing may be due by, on the clock of this process. */
  #sharingDueAt = Number.POSITIVE_INFINITY;
  #reading: Promise<Versions> | null = null;
  /** What was heard while reading: the reading may be older or newer. */
  #heard: NoticeOf<'labVersion'>[] = [];

  /** @param shareDue carries out dated sharing that is due, by a write like every other */
  constructor(db: Database, feed: NoticeFeed, shareDue: () => Promise<unknown>) {
    this.#db = db;
    this.#feed = feed;
    this.#shareDue = shareDue;
    feed.subscribe((notice) => this.#hear(notice));
    feed.onChange(() => this.invalidate());
  }

  /** The versions as kept, or null when only the database knows. */
  current(): Versions | null {
    return this.#feed.isUp && performance.now() < this.#sharingDueAt ? this.#known : null;
  }

  /** The versions as kept, or as the database has them now. Sharing that is due by now has been carried out. */
  read(): Promise<Versions> {
    const known = this.current();
    if (known !== null) return Promise.resolve(known);
    if (!this.#feed.isUp) return this.#ask();
    // All who wait for the same state read it once.
    this.#reading ??= this.#keep();
    return this.#reading;
  }

  /** To be called when something was written here, before that is acknowledged: who asks next asks the database. */
  invalidate(): void {
    this.#known = null;
    this.#reading = null;
  }

  async #ask(): Promise<Versions> {
    const versions = await readVersions(this.#db);
    if (versions.nextSharingIn === null || versions.nextSharingIn > 0) return versions;
    await this.#shareDue();
    return readVersions(this.#db);
  }

  #keep(): Promise<Versions> {
    this.#heard = [];
    const asked = performance.now();
    const reading: Promise<Versions> = this.#ask().then(
      (read) => {
        if (this.#reading !== reading) return read;
        const versions = this.#heard.reduce(withNotice, read);
        this.#reading = null;
        this.#known = versions;
        const { nextSharingIn } = versions;
        this.#sharingDueAt = nextSharingIn === null ? Number.POSITIVE_INFINITY : asked + nextSharingIn - clockMargin;
        return versions;
      },
      (error: unknown) => {
        if (this.#reading === reading) this.#reading = null;
        throw error;
      },
    );
    return reading;
  }

  #hear(notice: Notice): void {
    if (notice.kind === 'readAgain') this.invalidate();
    if (notice.kind !== 'labVersion') return;
    if (this.#reading !== null) this.#heard.push(notice);
    if (this.#known === null) return;
    // A lab whose id is not known yet is read with all the others.
    if (this.#known.labs.has(notice.lab)) this.#known = withNotice(this.#known, notice);
    else this.invalidate();
  }
}

/** Notices and readings overtake each other; versions only grow. */
function withNotice(versions: Versions, { lab, version, sharedVersion }: NoticeOf<'labVersion'>): Versions {
  const before = versions.labs.get(lab);
  if (before === undefined || before.version >= version) return versions;
  return { ...versions, labs: new Map(versions.labs).set(lab, { id: before.id, version, sharedVersion }) };
}
