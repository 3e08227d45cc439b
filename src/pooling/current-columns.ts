/** The current shots of a scope as columns, from memory where the server keeps them. */
import type { Scope } from '../access/visibility.ts';
import type { Database } from '../store/database.ts';
import type { ShotColumns } from './columns.ts';
import { liveSourceOf } from './live-source.ts';
import { loadLiveColumns } from './load-columns.ts';

/** Without labels. Gives no permission. */
export async function currentColumns(db: Database, scope: Scope): Promise<ShotColumns> {
  const live = liveSourceOf(db);
  if (live !== null) return (await live.columns.view(scope, await live.versions.read(), false)).columns;
  return db.transaction((tx) => loadLiveColumns(tx, scope), {
    isolationLevel: 'repeatable read',
    accessMode: 'read only',
  });
}
