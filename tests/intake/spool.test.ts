/** The spool gives back what was put in, in order, as often as it is read. */
import { mkdtempSync, readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { parseSentShot, prepareShot } from '../../src/intake/prepare-shot.ts';
import type { PreparedShot } from '../../src/intake/prepared-shot.ts';
import { Spool } from '../../src/intake/spool.ts';
import { decodeTrack } from '../../src/intake/track-bytes.ts';
import { goodShot, inventedBook } from './invented.ts';

const book = inventedBook();
const prepare = (value: unknown, position: number): PreparedShot =>
  prepareShot(parseSentShot({ position, row: position, columns: null, value, faults: [] }), book, null);

async function readAll(spool: Spool): Promise<PreparedShot[][]> {
  const batches: PreparedShot[][] = [];
  for await (const batch of spool.batches()) batches.push([...batch]);
  return batches;
}

/** Buffers of the file and arrays of the encoder compare by the numbers that they hold. */
function comparable({ ready, ...shot }: PreparedShot) {
  const track = ready?.track ?? null;
  return {
    ...shot,
    ready: { ...ready, track: track === null ? null : { ...track, ...decodeTrack(track), times: null } },
  };
}

it('keeps every shot exactly, over many blocks and batches, and leaves no file', async () => {
  const directory = mkdtempSync(join(tmpdir(), 'shot-commons-spool-'));
  const spool = await Spool.create(directory);
  const shots = Array.from({ length: 450 }, (_, index) => {
    if (index % 7 === 3) return prepare({ label: `bad ${index}`, rig: 'ämpty' }, index + 1);
    const { cueTrack, contact, ...reported } = goodShot(`s-${index}`);
    return prepare(index % 5 === 0 ? reported : { ...reported, cueTrack, contact }, index + 1);
  });
  for (const shot of shots) await spool.append(shot);
  for (let round = 0; round < 2; round++) {
    const batches = await readAll(spool);
    expect(batches.map(({ length }) => length)).toEqual(Array.from({ length: 9 }, () => 50));
    for (const [index, shot] of batches.flat().entries()) {
      expect(comparable(shot)).toEqual(comparable(shots[index] as PreparedShot));
    }
  }
  await spool.remove();
  expect(readdirSync(directory)).toEqual([]);
});

it('gives nothing when nothing was put in', async () => {
  const spool = await Spool.create(mkdtempSync(join(tmpdir(), 'shot-commons-spool-')));
  expect(await readAll(spool)).toEqual([]);
  await spool.remove();
});
