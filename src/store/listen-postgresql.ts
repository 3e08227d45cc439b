/** Hears a channel of a PostgreSQL server over a connection of its own, and notices when that no longer works. */
import pg from 'pg';
import type { Listening } from './database.ts';

/** A connection that dies without a word is found out after at most twice this, ms. */
const heartbeat = 400;

/** @throws Error when the server cannot be reached */
export async function listenPostgresql(
  databaseUrl: string,
  channel: string,
  hear: (payload: string) => void,
): Promise<Listening> {
  const client = new pg.Client({
    connectionString: databaseUrl,
    connectionTimeoutMillis: 5_000,
    keepAlive: true,
    application_name: 'shot-commons notices',
  });
  let lose: () => void = () => {};
  const lost = new Promise<void>((resolve) => {
    lose = resolve;
  });
  client.on('error', () => lose());
  client.on('end', () => lose());
  client.on('notification', ({ payload }) => hear(payload ?? ''));
  await client.connect();
  try {
    await client.query(`listen ${pg.escapeIdentifier(channel)}`);
  } catch (error) {
    await client.end();
    throw error;
  }
  const beat = setInterval(() => {
    const late = setTimeout(lose, heartbeat);
    client.query('select 1').then(
      () => clearTimeout(late),
      () => {
        clearTimeout(late);
        lose();
      },
    );
  }, heartbeat);
  beat.unref();
  const end = lost.then(async () => {
    clearInterval(beat);
    // The other side may be gone: nobody waits for its farewell.
    await Promise.race([
      client.end().catch(() => {}),
      new Promise((resolve) => setTimeout(resolve, heartbeat).unref()),
    ]);
  });
  return {
    lost,
    close() {
      lose();
      return end;
    },
  };
}
