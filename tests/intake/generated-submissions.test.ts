/**
 * Generated submissions in every form: valid, broken in one place, broken in several. The receipt names exactly what was
 * broken: by pointer in JSON, by line and pointer in NDJSON, by row and column in a table, by the part in multipart.
 */
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import type { RowProblemCode } from '../../shared/problems.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { Receipt } from '../../shared/submission.ts';
import { frameParts } from '../../src/intake/read/frame-parts.ts';
import type { SubmissionMedia } from '../../src/intake/read/sent-shot.ts';
import { listShots } from '../../src/intake/shots.ts';
import { submitStream } from '../../src/intake/submit.ts';
import { withdrawShot } from '../../src/intake/withdraw.ts';
import type { Database } from '../../src/store/database.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { chunked, options, positions, registerGear, temporaryLimits } from './invented.ts';

const media = ['json', 'ndjson', 'csv', 'multipart'] as const satisfies readonly SubmissionMedia[];
const points = 24;
const firstFrame = 200 - points;

/** A shot as the cells of a row, and its track. A track goes into every form but a single CSV. */
interface Draft {
  readonly cells: Record<string, string>;
  track: { frame: string; position: string }[];
}

/** Header of each column, the place in JSON that it fills, and how its cell is written there. */
const columns = {
  label: { header: 'label', pointer: '/label', json: (cell: string) => cell },
  rig: { header: 'rig', pointer: '/rig', json: (cell: string) => cell },
  player: { header: 'player', pointer: '/player', json: (cell: string) => cell },
  date: { header: 'session_date', pointer: '/sessionDate', json: (cell: string) => cell },
  distance: { header: 'object_ball_distance[m]', pointer: '/objectBallDistance', json: measure('m') },
  closed: { header: 'contact_closed_frame', pointer: '/contact/closedFrame', json: number },
  open: { header: 'contact_open_frame', pointer: '/contact/openFrame', json: number },
  trimmed: { header: 'trimmed_start', pointer: '/contact/trimmedStart', json: number },
  ring: { header: 'tip_height_ring', pointer: '/tipHeight/ring', json: number },
  step: { header: 'tip_height_ring_step[mm]', pointer: '/tipHeight/ringStep', json: measure('mm') },
  side: { header: 'tip_height_side', pointer: '/tipHeight/side', json: (cell: string) => cell },
  outcome: { header: 'outcome_distance[cm]', pointer: '/outcome/distance', json: measure('cm') },
  ended: { header: 'outcome_ended', pointer: '/outcome/ended', json: (cell: string) => cell },
  repeated: { header: 'repeat1_outcome_distance[cm]', pointer: '/repeats/0/outcomeDistance', json: measure('cm') },
  speed: { header: 'reported_cue_speed[m/s]', pointer: '/reported/cueSpeed', json: measure('m/s') },
} as const;
type ColumnName = keyof typeof columns;

function number(cell: string): unknown {
  return cell.trim() === '' || !Number.isFinite(Number(cell)) ? cell : Number(cell);
}
function measure(unit: string) {
  return (cell: string): unknown => ({ value: number(cell), unit });
}

function draft(label: string, seed: number, outcome: number): Draft {
  const cells = {
    label,
    rig: 'main',
    player: 'P1',
    date: '2026-03-01',
    distance: '0.8',
    closed: '200',
    open: '204',
    trimmed: '1',
    ring: '2',
    step: '4',
    side: 'below',
    outcome: String(outcome),
    ended: 'atRest',
    repeated: String(outcome + 0.5),
    speed: '2.5',
  };
  const track = positions(seed, points).map((position, index) => ({
    frame: String(firstFrame + index),
    position: String(position),
  }));
  return { cells, track };
}

/** How the shot goes into JSON; empty cells are left out. */
function asJson({ cells, track }: Draft): unknown {
  const shot: Record<string, unknown> = {};
  for (const [name, { pointer, json }] of Object.entries(columns)) {
    const cell = cells[name] ?? '';
    if (cell === '') continue;
    const path = pointer.split('/').slice(1);
    let holder = shot as Record<string, unknown>;
    for (const [depth, key] of path.slice(0, -1).entries()) {
      holder[key] ??= path[depth + 1] === '0' ? [] : {};
      holder = holder[key] as Record<string, unknown>;
    }
    holder[path.at(-1) ?? ''] = json(cell);
  }
  const { tipHeight } = shot as { tipHeight?: object };
  if (tipHeight !== undefined) shot.tipHeight = { method: 'ring', ...tipHeight };
  const frames = track.map(({ frame }) => number(frame));
  const list = track.map(({ position }) => number(position));
  return { ...shot, cueTrack: { unit: 'mm', frames, positions: list } };
}

const quoted = (cell: string) => (/[",\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell);
const line = (cells: readonly string[]) => `${cells.map(quoted).join(',')}\n`;

function shotsTable(drafts: readonly Draft[]): string {
  const names = Object.keys(columns) as ColumnName[];
  const rows = drafts.map(({ cells }) => line(names.map((name) => cells[name] ?? '')));
  return line(names.map((name) => columns[name].header)) + rows.join('');
}
function tracksTable(drafts: readonly Draft[]): string {
  const rows = drafts.flatMap(({ cells, track }) =>
    track.map(({ frame, position }) => line([cells.label ?? '', 'cue', frame, position])),
  );
  return `label,kind,frame,position[mm]\n${rows.join('')}`;
}

const boundary = 'generated-7';
function bodyOf(form: SubmissionMedia, drafts: readonly Draft[]): string {
  if (form === 'json') return JSON.stringify({ shots: drafts.map(asJson) });
  if (form === 'ndjson') return drafts.map((each) => `${JSON.stringify(asJson(each))}\n`).join('');
  if (form === 'csv') return shotsTable(drafts);
  const part = (name: string, text: string) =>
    `--${boundary}\r\nContent-Disposition: form-data; name="${name}"; filename="${name}.csv"\r\n\r\n${text}\r\n`;
  return `${part('tracks', tracksTable(drafts))}${part('shots', shotsTable(drafts))}--${boundary}--\r\n`;
}

/** What one breakage does, and the place that must be named for it. */
interface Breakage {
  readonly name: string;
  readonly code: RowProblemCode;
  /** Column blamed; a breakage of the track names the point instead. */
  readonly at: ColumnName | { readonly point: number; readonly list: 'frames' | 'positions' };
  /** Below the pointer of the column. */
  readonly under?: string;
  readonly wreck: (shot: Draft) => void;
}

const cell = (at: ColumnName, text: string, code: RowProblemCode = 'structure-invalid', under?: string): Breakage => ({
  name: `${at} is '${text}'`,
  code,
  at,
  ...(under === undefined ? {} : { under }),
  wreck: ({ cells }) => {
    cells[at] = text;
  },
});
/** Of each place one: two in one place would hide each other. */
const breakages: readonly Breakage[] = [
  cell('player', 'Anna Li'),
  cell('date', '1.3.2026'),
  cell('distance', '80', 'limit-exceeded', '/value'),
  cell('outcome', 'far', 'structure-invalid', '/value'),
  cell('ended', 'stopped'),
  cell('repeated', '900', 'limit-exceeded', '/value'),
  // At 2000 frames/s, played at 25: 80 times too slow.
  cell('speed', '0.015', 'rate-confusion', '/value'),
  cell('side', '', 'sign-missing'),
  cell('trimmed', '9', 'trim-too-large'),
  {
    name: 'a position is missing',
    code: 'structure-invalid',
    at: { point: 11, list: 'positions' },
    wreck: ({ track }) => void Object.assign(track[11] ?? {}, { position: 'lost' }),
  },
];
const repeatedFrame: Breakage = {
  name: 'a frame is repeated',
  code: 'frames-not-increasing',
  at: { point: 7, list: 'frames' },
  wreck: ({ track }) => void Object.assign(track[7] ?? {}, { frame: track[6]?.frame }),
};
/** Gear that is not known leaves limits unjudged, frames out of order leave the rest of the track so: these come alone. */
const lonely: readonly Breakage[] = [
  cell('rig', 'lost', 'gear-unknown'),
  cell('open', '190', 'contact-frames-order'),
  cell('closed', '900', 'contact-frames-order'),
  repeatedFrame,
];

/** Where a receipt names the fault: row, column and part of a table, else line and pointer. */
function placeOf(form: SubmissionMedia, { at, under = '' }: Breakage, shot: number): string {
  const row = shot + 2;
  if (typeof at === 'object') {
    if (form !== 'multipart') return `${form === 'ndjson' ? shot + 1 : null} /cueTrack/${at.list}/${at.point} null`;
    return `${2 + shot * points + at.point} ${at.list === 'frames' ? 'frame' : 'position[mm]'} tracks`;
  }
  const { header, pointer } = columns[at];
  if (form === 'csv' || form === 'multipart') return `${row} ${header} ${form === 'csv' ? null : 'shots'}`;
  return `${form === 'ndjson' ? shot + 1 : null} ${pointer}${under} null`;
}

const foundPlaces = ({ rejected }: Receipt): string[] =>
  rejected
    .flatMap(({ faults }) => faults)
    .map(({ code, row, column, pointer, part = null }) => `${code} ${row} ${column ?? pointer} ${part}`)
    .sort();

/** `closed` behind `open` is told at the later of the two. */
const blamed = (breakage: Breakage): Breakage => (breakage.at === 'closed' ? { ...breakage, at: 'open' } : breakage);

onEachDatabase((open) => {
  let db: Database;
  let north: TestLab;
  let round = 0;
  beforeAll(async () => {
    db = open().db;
    north = await makeLab(db, await makeCurator(db), 'north');
    await registerGear(db, north.lead, 'north');
    await upload('multipart', [draft('stored', 1, -30), draft('gone', 2, -30)], { dryRun: false });
    const { shots } = await listShots(db, north.lead, { limit: 10 });
    const gone = shots.find(({ label }) => label === 'gone')?.id ?? '';
    await withdrawShot(db, north.lead, gone, 'filmed twice');
  });

  async function upload(form: SubmissionMedia, drafts: readonly Draft[], change = {}, size = 1000): Promise<Receipt> {
    const bytes = chunked(bodyOf(form, drafts), size);
    const body = form === 'multipart' ? frameParts(bytes, `multipart/form-data; boundary=${boundary}`) : bytes;
    const asked = options({ dryRun: true, ...change });
    try {
      return (await submitStream(db, north.contributor, 'north', asked, form, body, temporaryLimits())).receipt;
    } catch (error) {
      if (error instanceof Refusal && error.code === 'submission-rejected') return error.extra.receipt as Receipt;
      throw error;
    }
  }
  const fresh = (count: number, seeds: number, outcome: number): Draft[] => {
    round += 1;
    return Array.from({ length: count }, (_, index) => draft(`${round}/${index}`, seeds + index + 3, outcome));
  };
  const size = fc.integer({ min: 1, max: 4000 });
  const seeds = fc.integer({ min: 1, max: 1000 });
  const outcome = fc.integer({ min: -2000, max: 2000 }).map((tenths) => tenths / 10);
  const told = (form: SubmissionMedia) => (breakage: Breakage) => form !== 'csv' || typeof breakage.at === 'string';

  describe.each(media)('as %s', (form) => {
    it('a valid submission is stored whole', async () => {
      await fc.assert(
        fc.asyncProperty(seeds, outcome, fc.integer({ min: 1, max: 4 }), size, async (seed, distance, count, chunk) => {
          const drafts = fresh(count, seed, distance);
          // A stored track would be the duplicate of the next.
          const receipt = await upload(form, drafts, { dryRun: true }, chunk);
          expect(receipt.counts, JSON.stringify(receipt.rejected)).toMatchObject({ created: count, rejected: 0 });
        }),
        { seed: 20_260_401, numRuns: 3 },
      );
      expect((await upload(form, fresh(2, 5000 + 10 * media.indexOf(form), -20), { dryRun: false })).counts).toEqual({
        created: 2,
        unchanged: 0,
        revised: 0,
        rejected: 0,
      });
    });

    it('broken in one place is refused, and that place is named and no other', async () => {
      const kinds = [...breakages, ...lonely].filter(told(form));
      await fc.assert(
        fc.asyncProperty(fc.constantFrom(...kinds), fc.nat(2), seeds, size, async (breakage, shot, seed, chunk) => {
          const drafts = fresh(3, seed, -30);
          const wrecked = drafts[shot];
          if (wrecked === undefined) throw new Error('no such shot');
          breakage.wreck(wrecked);
          const receipt = await upload(form, drafts, {}, chunk);
          const expected = [`${breakage.code} ${placeOf(form, blamed(breakage), shot)}`];
          expect(foundPlaces(receipt), breakage.name).toEqual(expected);
          expect(receipt.counts).toMatchObject({ created: 2, rejected: 1 });
          expect(receipt.rejected[0]).toMatchObject({ position: shot + 1, label: wrecked.cells.label });
        }),
        { seed: 20_260_402, numRuns: 16 },
      );
    });

    it('broken in several places is refused, and every place is named and no other', async () => {
      const kinds = breakages.filter(told(form));
      const some = fc.uniqueArray(fc.record({ shot: fc.nat(2), kind: fc.nat(kinds.length - 1) }), {
        minLength: 2,
        maxLength: 12,
        selector: ({ shot, kind }) => 100 * shot + kind,
      });
      await fc.assert(
        fc.asyncProperty(some, seeds, size, async (broken, seed, chunk) => {
          const drafts = fresh(3, seed, -30);
          const expected = broken.map(({ shot, kind }) => {
            const breakage = kinds[kind] as Breakage;
            breakage.wreck(drafts[shot] as Draft);
            return `${breakage.code} ${placeOf(form, breakage, shot)}`;
          });
          const receipt = await upload(form, drafts, {}, chunk);
          expect(foundPlaces(receipt)).toEqual(expected.sort());
          expect(receipt.counts.rejected).toBe(new Set(broken.map(({ shot }) => shot)).size);
        }),
        { seed: 20_260_403, numRuns: 10 },
      );
    });

    it('what the lab has stored is told at its place too: labels taken or withdrawn, a label twice, a track twice', async () => {
      const places = async (change: (drafts: Draft[]) => void) => {
        const drafts = fresh(3, 7000, -30);
        change(drafts);
        return foundPlaces(await upload(form, drafts));
      };
      const label = (shot: number) => placeOf(form, cell('label', ''), shot);
      const rename = (shot: number, to: string) => (drafts: Draft[]) => {
        (drafts[shot] as Draft).cells.label = to;
      };
      expect(await places(rename(1, 'stored'))).toEqual([`label-taken ${label(1)}`]);
      expect(await places(rename(2, 'gone'))).toEqual([`label-taken ${label(2)}`]);
      // In a multipart body the rows of both make one track, with frames out of order.
      if (form !== 'multipart') {
        expect(await places((drafts) => rename(2, drafts[0]?.cells.label ?? '')(drafts))).toEqual([
          `label-duplicate ${label(2)}`,
        ]);
      }
      if (form === 'csv') return;
      const place =
        form === 'multipart' ? `${2 + 2 * points} null tracks` : `${form === 'ndjson' ? 3 : null} /cueTrack null`;
      const copied = (drafts: Draft[]) => {
        (drafts[2] as Draft).track = draft('stored', 1, -30).track;
      };
      expect(await places(copied)).toEqual([`track-duplicate ${place}`]);
    });
  });
});
