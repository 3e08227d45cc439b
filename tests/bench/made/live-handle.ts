/** A database handle as a server has it: versions and columns in memory, long questions in threads. */

import { openNoticeFeed } from '../../../src/notices/notice-feed.ts';
import { ColumnStore } from '../../../src/pooling/column-store/column-store.ts';
import { KeptReleases } from '../../../src/pooling/kept-releases.ts';
import { withLiveSource } from '../../../src/pooling/live-source.ts';
import { VersionBook } from '../../../src/pooling/version-book.ts';
import type { Database, OpenDatabase } from '../../../src/store/database.ts';
import { ThreadPool } from '../../../src/threads/thread-pool.ts';

export interface LiveHandle {
  readonly db: Database;
  readonly columns: ColumnStore;
  readonly versions: VersionBook;
  close(): Promise<void>;
}

export async function openLiveHandle(database: OpenDatabase, columnBytes = 8e9): Promise<LiveHandle> {
  const feed = openNoticeFeed(database);
  await feed.whenUp();
  const threads = new ThreadPool({ threads: 1, queue: 8 });
  await threads.prepare();
  const versions = new VersionBook(database.db, feed, async () => {});
  const columns = new ColumnStore(database, columnBytes);
  return {
    db: withLiveSource(database.db, { versions, columns, releases: new KeptReleases(), threads, manyShots: 50_000 }),
    columns,
    versions,
    async close() {
      await threads.close();
      await feed.close();
    },
  };
}
