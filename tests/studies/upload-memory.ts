/**
 * How much more memory does the server take while one long NDJSON upload arrives, on the embedded database and on
 * PostgreSQL? Prints a table; the last run stands in RESULTS.md. Linux only.
 *
 *   npx tsx tests/studies/upload-memory.ts [megabytes] [embedded|postgresql]
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { startLocalPostgresql } from '../harness/local-postgresql.ts';
import { buildServer } from './intake/server-process.ts';
import { uploadMemory } from './intake/upload-memory.ts';

const megabytes = Number(process.argv[2] ?? 1000);
const only = process.argv[3];
buildServer();
const directory = mkdtempSync(join(tmpdir(), 'shot-commons-memory-'));
const postgresql = only === 'embedded' ? null : await startLocalPostgresql();
const places: [string, string | null][] = [
  ...(postgresql === null ? [] : [['postgresql', postgresql.url] as [string, string]]),
  ...(only === 'postgresql' ? [] : [['embedded', null] as [string, null]]),
];
try {
  console.log('| database | upload | shots | idle server | at most more | seconds |');
  console.log('|---|---|---|---|---|---|');
  for (const [name, databaseUrl] of places) {
    const { shots, idle, more, seconds } = await uploadMemory(
      { databaseUrl, directory: join(directory, name) },
      megabytes,
    );
    const cells = [name, `${megabytes} MB`, shots, `${Math.round(idle / 1e6)} MB`, `${Math.round(more / 1e6)} MB`];
    console.log(`| ${[...cells, Math.round(seconds)].join(' | ')} |`);
  }
} finally {
  await postgresql?.stop();
  rmSync(directory, { recursive: true, force: true });
}
