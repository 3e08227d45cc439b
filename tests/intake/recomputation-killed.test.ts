/** A server that is killed in the middle of a recomputation: the next one goes on by itself. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { afterEach, expect, it } from 'vitest';
import { buildApp } from '../../src/app.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { type Derive, publishedMethods } from '../../src/derivation/methods.ts';
import { getRecomputation, startRecomputation } from '../../src/intake/recomputation/recomputations.ts';
import { openDatabase } from '../../src/store/open-database.ts';
import { makeCurator, makeLab } from '../harness/actors.ts';
import { goodShot, registerGear, send } from './invented.ts';

const dataDirectory = mkdtempSync(join(tmpdir(), 'shot-commons-killed-'));
let child: ChildProcess | null = null;
afterEach(() => {
  child?.kill('SIGKILL');
  rmSync(dataDirectory, { recursive: true, force: true });
});

let derived = 0;
const second: Derive = (shot, gear) => {
  derived += 1;
  const answer = deriveShot(shot, gear);
  return { ...answer, derived: { ...answer.derived, methodVersion: 'next' } };
};
const methods = new Map([...publishedMethods, ['next', second]]);

it('goes on at the next start with what was not committed, and does nothing twice', async () => {
  const before = await openDatabase({ dataDirectory });
  const curator = await makeCurator(before.db);
  const north = await makeLab(before.db, curator, 'north');
  await registerGear(before.db, north.lead, 'north');
  await send(
    before.db,
    north,
    Array.from({ length: 70 }, (_, index) => goodShot(`k-${index}`)),
  );
  const { id } = await startRecomputation(before.db, curator, methods);
  await before.close();

  const script = fileURLToPath(new URL('recomputing-server.ts', import.meta.url));
  child = spawn(process.execPath, ['--import', 'tsx', script, dataDirectory], { stdio: ['ignore', 'pipe', 'inherit'] });
  const [said] = (await once(child.stdout as NonNullable<ChildProcess['stdout']>, 'data')) as [Buffer];
  expect(said.toString()).toBe('hanging\n');
  child.kill('SIGKILL');
  await once(child, 'exit');

  const database = await openDatabase({ dataDirectory });
  expect(await getRecomputation(database.db, curator, id)).toMatchObject({ state: 'deriving', total: 70, done: 50 });
  const app = await buildApp({ database, methods });
  await app.ready();
  for (let tries = 0; tries < 500; tries += 1) {
    if ((await getRecomputation(database.db, curator, id)).state !== 'deriving') break;
    await setTimeout(20);
  }
  expect(await getRecomputation(database.db, curator, id)).toMatchObject({ state: 'derived', total: 70, done: 70 });
  expect(derived).toBe(20);
  await app.close();
  await database.close();
});
