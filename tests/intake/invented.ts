/** Invented shots and gear for the tests of intake. */
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type GearKind, gearContentSchemas } from '../../shared/gear.ts';
import type { ShotInput } from '../../shared/shot.ts';
import type { SubmissionOptions } from '../../shared/submission.ts';
import { createGear, type GearBook, type GearVersion, gearBookOf } from '../../src/access/gear.ts';
import type { Principal } from '../../src/access/principal.ts';
import { type IntakeLimits, intakeLimits } from '../../src/intake/limits.ts';
import type { SubmissionMedia } from '../../src/intake/read/sent-shot.ts';
import { type SubmissionAnswer, submitStream } from '../../src/intake/submit.ts';
import type { Database } from '../../src/store/database.ts';

export const captureRate = 2000;
export const closedFrame = 200;

export const gearContent = {
  rigs: {
    main: {
      captureRate: { value: captureRate, unit: 'fps' },
      playbackRate: { value: 25, unit: 'fps' },
      trimMeaning: 'correction',
    },
    pixels: { captureRate: { value: captureRate, unit: 'fps' }, scale: { value: 0.2, unit: 'mm/px' } },
  },
  cues: { house: { mass: { value: 19, unit: 'oz' }, tipDiameter: { value: 13, unit: 'mm' }, tipRadius: 'nickel' } },
  tables: {
    club: { discipline: 'pool', ballDiameter: { value: 57.15, unit: 'mm' }, length: { value: 2.54, unit: 'm' } },
  },
} as const;

/** Positions of a stroke of 2.5 m/s and 10 m/s2 at first contact, mm, with noise that depends on the seed. */
export function positions(seed = 1, points = 190): number[] {
  let state = seed * 7919 + 13;
  const noise = () => {
    state = (state * 16_807) % 2_147_483_647;
    return state / 2_147_483_647 - 0.5;
  };
  return Array.from({ length: points }, (_, index) => {
    const time = (closedFrame - points + index - closedFrame + 0.5) / captureRate;
    return 1000 * (2.5 * time + 5 * time * time) + 0.05 * noise();
  });
}

/** A shot that every check accepts. */
export function goodShot(label: string, change: Partial<ShotInput> = {}, seed = hash(label)): ShotInput {
  const values = positions(seed);
  return {
    label,
    rig: 'main',
    cue: 'house',
    table: 'club',
    player: 'P1',
    sessionDate: '2026-03-01',
    objectBallDistance: { value: 0.8, unit: 'm' },
    cueTrack: { unit: 'mm', positions: values, firstFrame: closedFrame - values.length },
    contact: { closedFrame, openFrame: closedFrame + 4, trimmedStart: 1 },
    tipHeight: { method: 'contactMark', height: { value: -8, unit: 'mm' } },
    outcome: { distance: { value: -30, unit: 'cm' }, ended: 'atRest' },
    ...change,
  };
}

function hash(label: string): number {
  let value = 7;
  for (const character of label) value = (value * 31 + (character.codePointAt(0) ?? 0)) % 100_003;
  return value + 1;
}

export async function registerGear(db: Database, lead: Principal, lab: string): Promise<void> {
  for (const kind of ['rigs', 'cues', 'tables'] as const) {
    for (const [name, content] of Object.entries(gearContent[kind]))
      await createGear(db, lead, lab, kind, name, content);
  }
}

/** The same gear as a book in memory, version 1 each. */
export function inventedBook(): GearBook {
  const versions = <Kind extends GearKind>(kind: Kind): GearVersion<Kind>[] =>
    Object.entries(gearContent[kind]).map(
      ([name, content]) =>
        ({ id: 1, name, version: 1, content: gearContentSchemas[kind].parse(content) }) as GearVersion<Kind>,
    );
  return gearBookOf({ rigs: versions('rigs'), cues: versions('cues'), tables: versions('tables') });
}

const encoder = new TextEncoder();

/** Text as chunks of a few bytes, so that characters and lines are cut anywhere. */
export async function* chunked(text: string | Uint8Array, size = 1000): AsyncGenerator<Uint8Array> {
  const bytes = typeof text === 'string' ? encoder.encode(text) : text;
  for (let from = 0; from < bytes.byteLength; from += size) yield bytes.subarray(from, from + size);
}

export const options = (change: Partial<SubmissionOptions> = {}): SubmissionOptions => ({
  dryRun: false,
  accept: 'all',
  revise: false,
  ...change,
});

export function temporaryLimits(): IntakeLimits {
  return intakeLimits(mkdtempSync(join(tmpdir(), 'shot-commons-intake-')));
}

export interface Lab {
  readonly slug: string;
  readonly contributor: Principal;
}

export function send(
  db: Database,
  lab: Lab,
  shots: readonly ShotInput[],
  change: Partial<SubmissionOptions> = {},
  limits: IntakeLimits = temporaryLimits(),
): Promise<SubmissionAnswer> {
  return sendText(db, lab, 'ndjson', shots.map((shot) => JSON.stringify(shot)).join('\n'), change, limits);
}

export function sendText(
  db: Database,
  { slug, contributor }: Lab,
  media: SubmissionMedia,
  text: string | Uint8Array,
  change: Partial<SubmissionOptions> = {},
  limits: IntakeLimits = temporaryLimits(),
): Promise<SubmissionAnswer> {
  return submitStream(db, contributor, slug, options(change), media, chunked(text), limits);
}
