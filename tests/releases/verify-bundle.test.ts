import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, describe, expect, test } from 'vitest';
import { exitCodeOf, verificationText } from '../../src/client/verification-text.ts';
import type { Difference, VerificationReport } from '../../src/releases/verification-report.ts';
import { verifyBundle } from '../../src/releases/verify-bundle.ts';
import { madeBundle, tampered } from './made-bundle.ts';

const bundle = madeBundle();
const failed = (report: VerificationReport) => report.checks.filter(({ passed }) => !passed).map(({ name }) => name);
const found = (report: VerificationReport): Difference[] => report.checks.flatMap(({ first }) => [...first]);

/** Changes one cell of a CSV file that has no quoted commas before it. */
function changeCell(label: string, column: string, change: (cell: string) => string) {
  return (text: string) => {
    const lines = text.split('\n');
    const index = (lines[0] ?? '').split(',').indexOf(column);
    return lines
      .map((line) => {
        const cells = line.split(',');
        if (cells[2] !== label) return line;
        cells[index] = change(cells[index] ?? '');
        return cells.join(',');
      })
      .join('\n');
  };
}
/** The next double away from zero differs in the last digit only. */
const lastDigit = (cell: string) => cell.replace(/\d$/, (digit) => (digit === '9' ? '8' : String(Number(digit) + 1)));

test('an untouched bundle verifies in every check', () => {
  const report = verifyBundle(bundle);
  expect(found(report)).toEqual([]);
  expect(report).toMatchObject({ outcome: 'verified', dataset: 'made', number: 1, methodVersion: '1', shots: 20 });
  expect(report.checks.map(({ name, compared }) => [name, compared])).toEqual([
    ['container', bundle.byteLength],
    ['manifest', 10],
    ['files', 10],
    ['tables', expect.any(Number)],
    ['rule', 20],
    ['derivations', 20],
    ['analyses', 2],
  ]);
});

test('one flipped bit anywhere is noticed', () => {
  fc.assert(
    fc.property(fc.nat(bundle.byteLength - 1), fc.nat(7), (byte, bit) => {
      const damaged = Uint8Array.from(bundle);
      damaged[byte] = (damaged[byte] as number) ^ (1 << bit);
      const report = verifyBundle(damaged);
      return report.outcome !== 'verified' && exitCodeOf(report) > 0;
    }),
    { seed: 20_260_301, numRuns: 25 },
  );
});

test('a flipped bit in a file is named with the file', () => {
  const damaged = Uint8Array.from(bundle);
  const place = Buffer.from(bundle).indexOf('lab,ordinal,label,kind,point') + 2000;
  damaged[place] = (damaged[place] as number) ^ 1;
  const report = verifyBundle(damaged);
  expect(failed(report)).toContain('files');
  expect(found(report).map(({ file }) => file)).toContain('tracks.csv');
});

describe('with the manifest made anew, as a forger would', () => {
  test('a changed last digit in derived.csv is caught by recomputation and named', () => {
    const change = changeCell('NORTH-3', 'cueSpeed', lastDigit);
    const report = verifyBundle(tampered(bundle, { 'derived.csv': change }, true));
    expect(failed(report)).toEqual(['derivations']);
    expect(found(report)).toEqual([
      expect.objectContaining({ file: 'derived.csv', lab: 'north', label: 'NORTH-3', column: 'cueSpeed' }),
    ]);
    const [difference] = found(report);
    expect(lastDigit(difference?.expected ?? '')).toBe(difference?.found);
  });

  test('a changed reading is caught by its hash and by the derivation that no longer follows', () => {
    const change = (text: string) => text.replace('0.8,m,', '0.9,m,');
    const report = verifyBundle(tampered(bundle, { 'shots.csv': change }, true));
    expect(found(report)).toContainEqual(
      expect.objectContaining({ file: 'shots.csv', label: 'NORTH-1', column: 'objectBallDistance', found: '0.9' }),
    );
  });

  test.each([
    ['cue position', 'SOUTH-2', /(south,2,SOUTH-2,cue,1,780,,,)-?[0-9.]+/, '$1-600.5'],
    ['gap', 'SOUTH-2', /(south,2,SOUTH-2,cue,200,[^,]*,,,[^,]*,)[0-9.]+/, '$17.125'],
    ['ball position', 'SOUTH-3', /(south,3,SOUTH-3,ball,2,,20,ms,)[0-9.]+/, '$11.75'],
  ])('a changed %s is caught by the hash that the lab got', (_, label, place, change) => {
    const moved = (text: string) => {
      expect(text).toMatch(place);
      return text.replace(place, change);
    };
    const report = verifyBundle(tampered(bundle, { 'tracks.csv': moved }, true));
    expect(found(report)).toContainEqual(expect.objectContaining({ file: 'shots.csv', label, column: 'contentHash' }));
  });

  test('an added row is caught in either table', () => {
    const doubled = (text: string) => `${text}${(text.split('\n')[1] ?? '').replace(/^north,1,/, 'north,11,')}\n`;
    const derived = verifyBundle(tampered(bundle, { 'derived.csv': doubled }, true));
    expect(found(derived)).toContainEqual(
      expect.objectContaining({ file: 'derived.csv', expected: '20 rows', found: '21 rows' }),
    );
    expect(found(derived)).toContainEqual(
      expect.objectContaining({ file: 'derived.csv', lab: 'north', label: 'NORTH-1', found: 'a row' }),
    );
    const shots = verifyBundle(tampered(bundle, { 'shots.csv': doubled }, true));
    expect(failed(shots)).toEqual(expect.arrayContaining(['tables', 'derivations']));
  });

  test('a shot taken out of every table is caught by the counts', () => {
    const without = (text: string) => text.replaceAll(/^south,10,.*\n/gm, '');
    const report = verifyBundle(
      tampered(bundle, { 'shots.csv': without, 'derived.csv': without, 'tracks.csv': without }, true),
    );
    expect(failed(report)).toEqual(expect.arrayContaining(['tables', 'analyses']));
  });

  test('a changed capture rate is caught in the derivations', () => {
    const change = (text: string) => text.replace('"value":5000', '"value":4999');
    const report = verifyBundle(tampered(bundle, { 'gear.json': change }, true));
    expect(failed(report)).toContain('derivations');
    expect(found(report).every(({ lab }) => lab !== 'north')).toBe(true);
  });

  test('a changed answer is caught and named by its place', () => {
    const change = (text: string) =>
      text.replace(/"verdict":"[a-zA-Z]+","warnings"/, '"verdict":"undecided","warnings"');
    const report = verifyBundle(tampered(bundle, { 'analyses.json': change }, true));
    expect(failed(report)).toEqual(['analyses']);
    expect(found(report)).toEqual([
      expect.objectContaining({ file: 'analyses.json', column: '/analyses/1/result/verdict', found: '"undecided"' }),
    ]);
  });

  test('a margin widened afterwards is caught', () => {
    const change = (text: string) => text.replace('"value":0.1,"variable"', '"value":0.2,"variable"');
    const report = verifyBundle(tampered(bundle, { 'analyses.json': change }, true));
    expect(failed(report)).toEqual(['analyses']);
    expect(found(report)[0]?.found).toMatch(/does not fit its content/);
  });

  test('a shot that does not meet the rule is caught', () => {
    const narrow = (manifest: object) => ({
      ...manifest,
      rule: { ranges: [{ variable: 'cueSpeed', max: 2.6 }], groups: [], includeReported: false, includeFlags: [] },
    });
    const report = verifyBundle(tampered(bundle, {}, true, narrow));
    expect(failed(report)).toEqual(['rule']);
    expect(report.checks.find(({ name }) => name === 'rule')?.differences).toBeGreaterThan(0);
  });

  test('a file that belongs to no format is caught', () => {
    const report = verifyBundle(tampered(bundle, { 'extra.txt': () => 'more' }, true));
    expect(failed(report)).toEqual(['manifest']);
  });
});

test.each(['shots.csv', 'derived.csv', 'tracks.csv', 'gear.json', 'analyses.json', 'methods.md'])(
  'a missing %s is named',
  (name) => {
    const report = verifyBundle(tampered(bundle, { [name]: null }, false));
    expect(report.outcome).toBe('differs');
    expect(found(report)).toContainEqual(expect.objectContaining({ file: name, found: 'no such file' }));
  },
);

test('a file that the manifest does not list is named', () => {
  const report = verifyBundle(tampered(bundle, { 'extra.txt': () => 'more' }, false));
  expect(failed(report)).toEqual(['files']);
  expect(found(report)).toEqual([expect.objectContaining({ file: 'extra.txt', found: 'a file' })]);
});

test('a bundle of another format or method says what is needed', () => {
  const later = verifyBundle(tampered(bundle, {}, true, (manifest) => ({ ...manifest, format: 2 })));
  expect(later).toMatchObject({ outcome: 'unknown', obstacle: expect.stringContaining('format 2') });
  const method = verifyBundle(tampered(bundle, {}, true, (manifest) => ({ ...manifest, methodVersion: '7' })));
  expect(method).toMatchObject({ outcome: 'unknown', obstacle: expect.stringContaining('method version 7') });
  expect(exitCodeOf(method)).toBe(3);
  expect(verificationText(method)).toMatch(/^NOT VERIFIED: the bundle needs method version 7/);
});

test('what is no bundle is not readable', () => {
  expect(exitCodeOf(verifyBundle(new TextEncoder().encode('hello')))).toBe(2);
  expect(verifyBundle(tampered(bundle, {}, true, () => ({ hello: 1 }))).outcome).toBe('unreadable');
});

describe('npm run verify', () => {
  const directory = mkdtempSync(join(tmpdir(), 'shot-commons-verify-'));
  afterAll(() => rmSync(directory, { recursive: true }));
  const verify = (...files: string[]) =>
    spawnSync(process.execPath, ['--import', 'tsx', 'src/client/verify-main.ts', ...files], { encoding: 'utf8' });

  test('prints a short table and exits with 0 for a bundle that verifies', () => {
    const file = join(directory, 'good.zip');
    writeFileSync(file, bundle);
    const run = verify(file);
    expect(run.stderr).toBe('');
    expect(run.status).toBe(0);
    expect(run.stdout).toMatch(/^made@1: 20 shots, method version 1\ndigest [0-9a-f]{64}\n/);
    expect(run.stdout).toMatch(/derivations +20 shots +ok/);
    expect(run.stdout).toMatch(/\nVERIFIED/);
  });

  test('names the first differences and exits with 1', () => {
    const file = join(directory, 'forged.zip');
    const change = changeCell('SOUTH-4', 'contactTimeUpper', lastDigit);
    writeFileSync(file, tampered(bundle, { 'derived.csv': change }, true));
    const run = verify(file);
    expect(run.status).toBe(1);
    expect(run.stdout).toMatch(/derived\.csv, lab south, shot SOUTH-4, contactTimeUpper: expected [0-9.e-]+, found/);
    expect(run.stdout).toMatch(/\nNOT VERIFIED/);
  });

  test('tells the published release from another that is whole in itself', () => {
    const file = join(directory, 'published.zip');
    writeFileSync(file, bundle);
    const digest = verifyBundle(bundle).digest ?? '';
    expect(verify(file, '--digest', digest).status).toBe(0);
    const other = verify(file, '--digest', 'ab'.repeat(32));
    expect(other.status).toBe(1);
    expect(other.stdout).toContain('This is not the release published as abab');
    expect(verify(file).stdout).toContain('compare this digest with the published one');
  });

  test('exits with 2 without a file, or with one that cannot be read', () => {
    expect(verify().status).toBe(2);
    expect(verify('--nothing').status).toBe(2);
    expect(verify(join(directory, 'absent.zip')).stderr).toMatch(/cannot be read/);
  });
});
