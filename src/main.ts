/** Opens the database, builds the application and listens. */
import { availableParallelism } from 'node:os';
import closeWithGrace from 'close-with-grace';
import { ensureFirstCurator } from './access/tokens.ts';
import { buildApp } from './app.ts';
import { readConfig } from './config.ts';
import { usualPace } from './intake/read/pace-body.ts';
import { claimSpoolDirectory } from './intake/spool-directory.ts';
import { openDatabase } from './store/open-database.ts';

async function main(): Promise<void> {
  const config = readConfig();
  const database = await openDatabase(
    config.databaseUrl === null ? { dataDirectory: config.dataDirectory } : { databaseUrl: config.databaseUrl },
  );
  const spoolDirectory = await claimSpoolDirectory(config.dataDirectory);
  const app = await buildApp({
    database,
    spoolDirectory,
    publicRead: config.publicRead,
    corsOrigins: config.corsOrigins,
    maximumUploadBytes: config.maximumUploadBytes,
    pace: {
      ...usualPace,
      idleSeconds: config.uploadIdleSeconds,
      leastBytesPerSecond: config.uploadLeastBytesPerSecond,
    },
    columnBytes: config.columnBytes,
    threads: {
      // One processor is left to those who only read or upload.
      threads: config.analysisThreads ?? Math.max(1, availableParallelism() - 1),
      queue: config.analysisQueue,
    },
    logger: { level: config.logLevel, redact: ['req.headers.authorization'] },
  });
  app.log.info(database.description);
  const curator = await ensureFirstCurator(database.db, {
    given: config.curatorToken,
    directory: config.dataDirectory,
  });
  if (curator.file !== null) app.log.info(`The first curator token is in ${curator.file} (readable by you only).`);
  if (curator.token !== null && process.stdout.isTTY) process.stdout.write(`curator token: ${curator.token}\n`);
  closeWithGrace({ delay: 20_000 }, async ({ err }) => {
    if (err) app.log.error({ err }, 'closing after an error');
    await app.close();
    await database.close();
  });
  await app.listen({ host: config.host, port: config.port });
}

try {
  await main();
} catch (error) {
  process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
  process.exit(1);
}
