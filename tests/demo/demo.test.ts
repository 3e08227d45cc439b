/** The whole demo as a visitor runs it: one process, its own database, everything over HTTP. */
import { execFile } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { beforeAll, describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
let report = '';
let seconds = 0;

/** The part of the report under a heading. */
function section(title: string): string {
  const start = report.indexOf(`\n${title}\n---`);
  expect(start, title).toBeGreaterThan(-1);
  const next = report.slice(start + 1).search(/\n\n[^\n]+\n---+\n/);
  return next === -1 ? report.slice(start) : report.slice(start, start + 1 + next);
}
/** Line breaks of wrapping taken out. */
const flowing = (text: string) => text.replace(/\s+/g, ' ');

beforeAll(async () => {
  const begun = performance.now();
  const run = await promisify(execFile)(process.execPath, ['--import', 'tsx', 'src/demo/main.ts', '--once'], {
    cwd: root,
    maxBuffer: 10_000_000,
  });
  seconds = (performance.now() - begun) / 1000;
  report = run.stdout;
  expect(run.stderr).toBe('');
}, 120_000);

describe('the demo', () => {
  it('comes to its report in less than 75 seconds, start included', () => {
    expect(seconds).toBeLessThan(75);
  });

  it('can be read at 100 columns', () => {
    for (const line of report.split('\n')) expect(line.length, line).toBeLessThanOrEqual(100);
  });

  it('shows four labs that film at different rates and in different units', () => {
    const labs = section('Labs');
    for (const text of ['north-bench', 'harbour', 'old-mill', 'ridge']) expect(labs).toContain(text);
    for (const text of ['4000 fps', '2000 1/s', '8 kHz', '5000 fps']) expect(labs).toContain(text);
  });

  it('has every mistake refused for its own reason with a remedy, and everything stored once mended', () => {
    const uploads = section('Uploads');
    for (const code of [
      'contact-frames-order',
      'time-base-playback',
      'unit-dimension',
      'limit-exceeded',
      'track-motionless',
      'rate-confusion',
      'sign-missing',
      'label-duplicate',
    ]) {
      expect(uploads).toContain(`${code} at `);
    }
    expect(uploads).not.toContain('not meant to be wrong');
    expect(uploads).toContain('nothing stored');
    expect(uploads).toContain('the valid ones stored');
    expect((uploads.match(/Remedy: /g) ?? []).length).toBeGreaterThanOrEqual(10);
    expect(uploads).toContain('412 shots accepted in all');
  });

  it('shows contact of about a millisecond that shortens as the stroke gets faster', () => {
    const contact = flowing(section('Contact time against cue speed'));
    expect(contact).toMatch(/Contact lasts about 1 ms \([\d.]+ to [\d.]+ ms here\) and shortens as the stroke gets/);
    expect(contact).toMatch(/each lab with its own level: -\d/);
  });

  it('says that the effect of acceleration is not resolved and how many shots it would take', () => {
    const contact = flowing(section('Contact time against cue acceleration at impact'));
    expect(contact).toContain(
      'Not resolved: the interval includes zero. That is not evidence that there is no effect.',
    );
    const needed = /about ([\d,]+) shots of this kind/.exec(contact)?.[1] ?? '';
    expect(Number(needed.replaceAll(',', ''))).toBeGreaterThan(10_000);
  });

  it('shows that more draw does not come with longer contact', () => {
    expect(flowing(section('Contact time and draw'))).toContain('More draw does not come with longer contact');
  });

  it('shows that low hits with too little speed for the distance follow', () => {
    expect(flowing(section('Low hits and speed'))).toContain('ended as a follow: the cloth had taken the backspin');
  });

  it('finds accelerating and slowing strokes equivalent within a margin declared beforehand', () => {
    const comparison = flowing(section('Accelerating against slowing strokes'));
    expect(comparison).toContain('declared before any of these shots was received');
    expect(comparison).toContain('Verdict: equivalent.');
    expect(Number(/(\d+) pairs/.exec(comparison)?.[1])).toBeGreaterThan(80);
  });

  it('finds that speed moves the outcome by more than the margin', () => {
    const comparison = flowing(section('Faster against slower strokes at the same tip offset'));
    expect(comparison).toContain('Verdict: differentBeyondMargin.');
  });

  it('gives intervals that hold the truth', () => {
    const shares = [
      ...section('Against the truth (possible only because the data are invented)').matchAll(/([\d.]+) %(?:\n|$)/g),
    ];
    expect(shares).toHaveLength(4);
    for (const [, share] of shares) expect(Number(share)).toBeGreaterThan(88);
  });

  it('freezes a release whose bundle verifies offline against the published digest', () => {
    const release = flowing(section('A frozen release'));
    expect(release).toMatch(/digest [0-9a-f]{64}/);
    expect(release).toContain('verified, and the digest is the one published.');
  });
});
