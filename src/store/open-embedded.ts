/** The embedded database: PGlite in a data directory, or in memory. */
import { existsSync, mkdirSync, renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { PGlite } from '@electric-sql/pglite';
import { sql } from 'drizzle-orm';
import { drizzle } from 'drizzle-orm/pglite';
import { lockDataDirectory } from './data-directory-lock.ts';
import type { Listening, OpenDatabase, Transaction } from './database.ts';
import { migrate } from './migrate.ts';
import * as schema from './schema.ts';

/**
 * Opens, migrates and locks an embedded database.
 *
 * An acknowledged write is in the file system's hands when the query returns, so it survives the death of the process;
 * there is no fsync, so it need not survive a power loss.
 *
 * @param dataDirectory created when missing; null keeps everything in memory
 * @param image a dump of a data directory to start from, in memory only
 * @throws DataDirectoryInUse, MigrationError
 */
export async function openEmbedded(dataDirectory: string | null, image?: Blob): Promise<OpenDatabase> {
  if (dataDirectory === null) {
    const client = await PGlite.create(image === undefined ? {} : { loadDataDir: image });
    return openClient(client, 'embedded database in memory', () => {});
  }
  mkdirSync(dataDirectory, { recursive: true, mode: 0o700 });
  const lock = lockDataDirectory(dataDirectory);
  try {
    const client = await openDirectory(dataDirectory);
    return await openClient(
      client,
      `embedded database in ${dataDirectory}: one lab on one machine, up to about 50,000 shots; an acknowledged upload survives the end of the process, not power loss`,
      () => lock.release(),
    );
  } catch (error) {
    lock.release();
    throw error;
  }
}

/** A new database is made beside its final place, so that a kill while it is made leaves nothing half-made. */
async function openDirectory(dataDirectory: string): Promise<PGlite> {
  const directory = join(dataDirectory, 'database');
  if (!existsSync(directory)) {
    const draft = join(dataDirectory, 'database.new');
    rmSync(draft, { recursive: true, force: true });
    const client = await PGlite.create(draft);
    await client.close();
    renameSync(draft, directory);
  }
  return PGlite.create(directory, { relaxedDurability: false });
}

async function openClient(client: PGlite, description: string, release: () => void): Promise<OpenDatabase> {
  try {
    await migrate({
      query: (text, parameters) => client.query<Record<string, unknown>>(text, parameters),
    });
  } catch (error) {
    await client.close();
    throw error;
  }
  const db = drizzle(client, { schema });
  return {
    db,
    snapshot: (work) =>
      db.transaction(async (tx) => work({ tx, copy: (query, take) => copyEmbedded(tx, query, take) }), {
        isolationLevel: 'repeatable read',
        accessMode: 'read only',
      }),
    kind: 'embedded',
    description,
    listen: (channel, hear) => listenEmbedded(client, channel, hear),
    async close() {
      if (client.closed) return;
      await client.close();
      release();
    },
  };
}

/** The embedded database writes a copy into memory, and hands it over with the result. */
async function copyEmbedded(tx: Transaction, query: string, take: (bytes: Uint8Array) => void): Promise<void> {
  // The driver's own result, which drizzle's type of it does not tell.
  const { blob } = (await tx.execute(sql.raw(`copy (${query}) to '/dev/blob' (format binary)`))) as { blob?: Blob };
  if (blob === undefined) throw new Error('the embedded database copied nothing');
  take(new Uint8Array(await blob.arrayBuffer()));
}

/** The one connection hears itself; it is lost only when it is closed. */
async function listenEmbedded(client: PGlite, channel: string, hear: (payload: string) => void): Promise<Listening> {
  const stop = await client.listen(channel, hear);
  let lose: () => void = () => {};
  const lost = new Promise<void>((resolve) => {
    lose = resolve;
  });
  return {
    lost,
    async close() {
      lose();
      if (!client.closed) await stop();
    },
  };
}
