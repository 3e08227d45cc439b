import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { zipSync } from 'fflate';
import { expect, test } from 'vitest';
import { readStoredZip, storeZip } from '../../src/releases/stored-zip.ts';

const text = (content: string) => new TextEncoder().encode(content);
const files = [
  { name: 'b.txt', bytes: text('second by name, first by order\n') },
  { name: 'a.csv', bytes: text('x\n1\n') },
];

test('a bundle keeps its files in the order given and reads back to the same bytes', () => {
  const read = readStoredZip(storeZip(files));
  expect(read.map(({ name }) => name)).toEqual(['b.txt', 'a.csv']);
  expect(read.map(({ bytes }) => new TextDecoder().decode(bytes))).toEqual([
    'second by name, first by order\n',
    'x\n1\n',
  ]);
});

test('a file inside a bundle is a plain range of its bytes', () => {
  const bundle = Buffer.from(storeZip(files));
  expect(bundle.includes('second by name, first by order\n')).toBe(true);
});

test('the bytes of a bundle do not depend on the time zone', () => {
  const program = `
    import { storeZip } from './src/releases/stored-zip.ts';
    process.stdout.write(storeZip([{ name: 'a', bytes: new Uint8Array([1, 2, 3]) }]));`;
  const digests = ['Pacific/Auckland', 'America/Los_Angeles', 'UTC'].map((TZ) => {
    const run = spawnSync(process.execPath, ['--import', 'tsx', '--input-type=module', '-e', program], {
      env: { ...process.env, TZ },
    });
    expect(run.stderr.toString()).toBe('');
    return createHash('sha256').update(run.stdout).digest('hex');
  });
  expect(new Set(digests).size).toBe(1);
});

test('a compressed file is refused, so that a small bundle cannot unpack to a large one', () => {
  const compressed = zipSync({ 'a.csv': [new Uint8Array(10_000), { level: 9 }] });
  expect(() => readStoredZip(compressed)).toThrow(/a\.csv is compressed/);
});

test('bytes that are not a ZIP are refused', () => {
  expect(() => readStoredZip(text('not a ZIP at all'))).toThrow();
});
