import { expect, it } from 'vitest';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import { KeptReleases } from '../../src/pooling/kept-releases.ts';
import { inventedShots } from './invented-shots.ts';

it('loads the columns of a release once, and forgets the longest unused when there are too many shots', async () => {
  const kept = new KeptReleases(25);
  const loaded: string[] = [];
  const ask = (digest: string) =>
    kept.columns(digest, async () => {
      loaded.push(digest);
      return assembleColumns(inventedShots([digest], 10));
    });
  const first = await ask('first');
  expect(await ask('first')).toBe(first);
  await ask('second');
  await ask('first');
  await ask('third');
  expect(loaded).toEqual(['first', 'second', 'third']);
  expect(await ask('first')).toBe(first);
  await ask('second');
  expect(loaded).toEqual(['first', 'second', 'third', 'second']);
});
