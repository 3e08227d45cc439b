/** Where a server takes live shots from: a database handle of its own that knows what the server keeps in memory. */
import type { Database } from '../store/database.ts';
import type { ThreadPool } from '../threads/thread-pool.ts';
import type { ColumnStore } from './column-store/column-store.ts';
import type { KeptReleases } from './kept-releases.ts';
import type { VersionBook } from './version-book.ts';

export interface LiveSource {
  readonly versions: VersionBook;
  readonly columns: ColumnStore;
  readonly releases: KeptReleases;
  readonly threads: ThreadPool;
  /** Shots above which a question is answered in a thread, so that nobody who asks for less has to wait. */
  readonly manyShots: number;
}

const sources = new WeakMap<Database, LiveSource>();

/** The same database under a handle that only this server has: questions asked through it are answered from memory. */
export function withLiveSource(db: Database, source: LiveSource): Database {
  const own: Database = Object.create(db);
  sources.set(own, source);
  return own;
}

/** Null for a plain database, of which everything is read. */
export function liveSourceOf(db: Database): LiveSource | null {
  return sources.get(db) ?? null;
}
