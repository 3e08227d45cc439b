/** Run by a test in a process of its own: a server that hangs in the second batch of a recomputation, to be killed there. */
import { buildApp } from '../../src/app.ts';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { type Derive, publishedMethods } from '../../src/derivation/methods.ts';
import { openDatabase } from '../../src/store/open-database.ts';

let derived = 0;
const hanging: Derive = (shot, gear) => {
  derived += 1;
  if (derived === 60) {
    process.stdout.write('hanging\n');
    Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0);
  }
  const answer = deriveShot(shot, gear);
  return { ...answer, derived: { ...answer.derived, methodVersion: 'next' } };
};

const database = await openDatabase({ dataDirectory: process.argv[2] ?? null });
const app = await buildApp({ database, methods: new Map([...publishedMethods, ['next', hanging]]) });
await app.ready();
