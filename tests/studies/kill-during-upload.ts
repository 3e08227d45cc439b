/**
 * kill -9 at random moments during uploads, on the embedded database and on PostgreSQL: is every acknowledged
 * submission whole and every other absent? Prints a table; the last run stands in RESULTS.md.
 *
 *   npx tsx tests/studies/kill-during-upload.ts [rounds] [seed]
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { startLocalPostgresql } from '../harness/local-postgresql.ts';
import { killRounds } from './intake/kill-rounds.ts';
import { buildServer, type Place } from './intake/server-process.ts';

const rounds = Number(process.argv[2] ?? 100);
const seed = Number(process.argv[3] ?? 1);
buildServer();
const directory = mkdtempSync(join(tmpdir(), 'shot-commons-kill-'));
const postgresql = await startLocalPostgresql();
const places: [string, Place][] = [['embedded', { databaseUrl: null, directory: join(directory, 'embedded') }]];
if (postgresql !== null) {
  places.push(['postgresql', { databaseUrl: postgresql.url, directory: join(directory, 'postgresql') }]);
}
try {
  console.log(
    '| database | rounds | acknowledged, whole | not acknowledged, absent | committed, killed before the answer | kills by quarter of the usual time, and after it | wrong |',
  );
  console.log('|---|---|---|---|---|---|---|');
  const all = await Promise.all(
    places.map(async ([name, place]) => ({ name, ...(await killRounds(place, rounds, seed)) })),
  );
  for (const { name, acknowledged, absent, wholeUnanswered, moments, wrong } of all) {
    const cells = [name, rounds, acknowledged, absent, wholeUnanswered, moments.join(', '), wrong.length];
    console.log(`| ${cells.join(' | ')} |`);
    for (const line of wrong) console.log(line);
    if (wrong.length > 0) process.exitCode = 1;
  }
} finally {
  await postgresql?.stop();
  rmSync(directory, { recursive: true, force: true });
}
