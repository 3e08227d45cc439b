/** Gear as name@version by id. A version of gear never changes, so only new ones are read. */
import { type SQL, sql } from 'drizzle-orm';
import type { Database, Transaction } from '../../store/database.ts';
import type { ChunkNames } from './shot-view.ts';

const tables: readonly (readonly [keyof ChunkNames['gear'], SQL])[] = [
  ['rig', sql`rig`],
  ['cue', sql`cue`],
  ['table', sql`table_setup`],
];

export class GearNames {
  /** Read only by others; grows. */
  readonly names = {
    rig: new Map<number, string>(),
    cue: new Map<number, string>(),
    table: new Map<number, string>(),
  };
  readonly #known = { rig: new Set<number>(), cue: new Set<number>(), table: new Set<number>() };

  async read(tx: Database | Transaction): Promise<void> {
    for (const [kind, table] of tables) {
      // Ids are given out before they are committed, so that the highest known one says nothing about lower ones.
      const { rows: counted } = await tx.execute<{ rows: number }>(sql`select count(*)::int as rows from ${table}`);
      if (counted[0]?.rows === this.#known[kind].size) continue;
      const { rows } = await tx.execute<{ id: number; reference: string }>(
        sql`select id, name || '@' || version as reference from ${table}`,
      );
      for (const { id, reference } of rows) {
        this.#known[kind].add(id);
        this.names[kind].set(id, reference);
      }
    }
  }

  forget(): void {
    for (const [kind] of tables) {
      this.#known[kind].clear();
      this.names[kind].clear();
    }
  }
}
