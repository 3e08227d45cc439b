/** The spool gives back what was put in, in order, as often as it is read. */
import { mkdtempSync, readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { parseSentShot, prepareShot } from '../../src/intake/prepare-shot.ts';
import type { PreparedShot } from '../../src/intake/prepared-shot.ts';
import { receiptHash } from '../../src/intake/receipt-hash.ts';
import { Spool } from '../../src/intake/spool.ts';
import type { SpooledShot } from '../../src/intake/spooled-shot.ts';
import { decodeTrack } from '../../src/intake/track-bytes.ts';
import { goodShot, inventedBook } from './invented.ts';

const book = inventedBook();
const prepare = (value: unknown, position: number): PreparedShot =>
  prepareShot(parseSentShot({ position, row: position, columns: null, value, faults: [] }), book, null);

const parse = (text: Uint8Array) => JSON.parse(Buffer.from(text).toString()) as unknown;

/** What went in, as far as it comes out again. */
function sent({ ready, ...shot }: PreparedShot) {
  if (ready === null) return { ...shot, ready };
  const { derived, derivedBeside, track, ballTrack, ...rest } = ready;
  return {
    ...shot,
    ready: {
      ...rest,
      track: track === null ? null : decodeTrack(track),
      ballTrack: ballTrack === null ? null : decodeTrack(ballTrack),
      receiptHash: receiptHash(ready),
      derivations: [derived, ...derivedBeside].filter((each) => each !== null),
    },
  };
}

function read({ ready, ...shot }: SpooledShot) {
  if (ready === null) return { ...shot, ready };
  const { content, track, ballTrack, derivations, ...rest } = ready;
  return {
    ...shot,
    ready: {
      ...rest,
      content: parse(content),
      track: track === null ? null : decodeTrack(track),
      ballTrack: ballTrack === null ? null : decodeTrack(ballTrack),
      derivations: derivations.map(({ derived }) => parse(derived)),
    },
  };
}

async function readAll(spool: Spool): Promise<ReturnType<typeof read>[][]> {
  const batches: ReturnType<typeof read>[][] = [];
  for await (const batch of spool.batches()) batches.push(batch.map(read));
  return batches;
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
    expect(batches.length).toBeGreaterThan(2);
    expect(batches.flat()).toEqual(shots.map(sent));
  }
  await spool.remove();
  expect(readdirSync(directory)).toEqual([]);
});

it('gives nothing when nothing was put in', async () => {
  const spool = await Spool.create(mkdtempSync(join(tmpdir(), 'shot-commons-spool-')));
  expect(await readAll(spool)).toEqual([]);
  await spool.remove();
});
