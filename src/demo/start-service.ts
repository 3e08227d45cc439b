/** The real service, in this process, on an embedded database in a fresh temporary directory. */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ensureFirstCurator } from '../access/tokens.ts';
import { buildApp } from '../app.ts';
import { openDatabase } from '../store/open-database.ts';

export interface RunningService {
  /** Such as http://127.0.0.1:40123, without a slash at the end. */
  readonly address: string;
  readonly curatorToken: string;
  /** Which database it is. */
  readonly description: string;
  /** Stops the service and removes the directory. */
  close(): Promise<void>;
}

/**
 * Starts the service.
 *
 * @param port 0 takes any free one
 */
export async function startService(port: number): Promise<RunningService> {
  const directory = await mkdtemp(join(tmpdir(), 'shot-commons-demo-'));
  const database = await openDatabase({ dataDirectory: join(directory, 'data') });
  const curator = await ensureFirstCurator(database.db, { given: null, directory });
  if (curator.token === null) throw new Error('a fresh database already had a curator');
  // A failure inside the service must be seen, but not in the middle of the report.
  const app = await buildApp({ database, logger: { level: 'error', stream: process.stderr } });
  const address = await app.listen({ host: '127.0.0.1', port });
  return {
    address,
    curatorToken: curator.token,
    description: database.description,
    close: async () => {
      await app.close();
      await database.close();
      await rm(directory, { recursive: true, force: true });
    },
  };
}
