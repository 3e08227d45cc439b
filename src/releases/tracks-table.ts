/** tracks.csv: one row a track point, as sent. */
import { column, type Table } from './csv-table.ts';
import type { FrozenShot, FrozenTrack } from './frozen-shot.ts';

export interface TrackPoint {
  readonly lab: string;
  readonly ordinal: number;
  readonly label: string;
  readonly point: number;
  readonly frame: number | null;
  readonly time: number | null;
  readonly timeUnit: string | null;
  readonly position: number;
  readonly unit: string;
}

export const tracksTable: Table<TrackPoint> = {
  file: 'tracks.csv',
  title: 'Cue tracks as sent, one row a point',
  primaryKey: ['lab', 'ordinal', 'point'],
  columns: [
    column('lab', 'string', 'Slug of the lab.', (row) => row.lab, { required: true }),
    column('ordinal', 'integer', 'Number of the shot within its lab, as in shots.csv.', (row) => row.ordinal, {
      required: true,
    }),
    column('label', 'string', "The lab's own label of the shot.", (row) => row.label, { required: true }),
    column('point', 'integer', 'Number of the point within its track, from 1.', (row) => row.point, { required: true }),
    column('frame', 'integer', 'Frame number as sent; empty when only times were sent.', (row) => row.frame),
    column('time', 'number', 'Time as sent, in timeUnit; empty when only frames were sent.', (row) => row.time),
    column('timeUnit', 'string', 'Unit of time.', (row) => row.timeUnit),
    column('position', 'number', 'Position of the cue along the stroke axis as sent, in unit.', (row) => row.position, {
      required: true,
    }),
    column('unit', 'string', 'Unit of position: a length, or px with the scale of the rig.', (row) => row.unit, {
      required: true,
    }),
  ],
};

/** Every point of every track, shot by shot. */
export function* trackPoints(shots: Iterable<FrozenShot>): Generator<TrackPoint> {
  for (const { lab, ordinal, content, track } of shots) {
    if (track === null) continue;
    for (let index = 0; index < track.positions.length; index += 1) {
      yield {
        lab,
        ordinal,
        label: content.label,
        point: index + 1,
        frame: track.frames?.[index] ?? null,
        time: track.times?.values[index] ?? null,
        timeUnit: track.times?.unit ?? null,
        position: track.positions[index] ?? Number.NaN,
        unit: track.unit,
      };
    }
  }
}

/** The key under which `tracksOfRows` files a track. */
export function shotKey(lab: string, ordinal: string): string {
  return `${lab}/${ordinal}`;
}

/**
 * Tracks from the rows of tracks.csv, by shot. Points must be numbered 1, 2, 3 and so on, and a track must have frames
 * (times) for all its points or for none. Throws an Error naming the row otherwise.
 */
export function tracksOfRows(rows: readonly (readonly string[])[]): Map<string, FrozenTrack> {
  interface Growing {
    unit: string;
    timeUnit: string;
    positions: number[];
    frames: number[];
    times: number[];
  }
  const growing = new Map<string, Growing>();
  for (const [index, row] of rows.entries()) {
    const [lab = '', ordinal = '', , point = '', frame = '', time = '', timeUnit = '', position = '', unit = ''] = row;
    const key = shotKey(lab, ordinal);
    const track = growing.get(key) ?? { unit, timeUnit, positions: [], frames: [], times: [] };
    growing.set(key, track);
    if (Number(point) !== track.positions.length + 1)
      throw new Error(`row ${index + 2}: point ${point} is out of order`);
    if (unit !== track.unit || timeUnit !== track.timeUnit) throw new Error(`row ${index + 2}: the unit changes`);
    if (position === '') throw new Error(`row ${index + 2}: the position is missing`);
    track.positions.push(Number(position));
    if (frame !== '') track.frames.push(Number(frame));
    if (time !== '') track.times.push(Number(time));
  }
  const tracks = new Map<string, FrozenTrack>();
  for (const [key, track] of growing) {
    const { length } = track.positions;
    if ([track.frames, track.times].some((list) => list.length !== 0 && list.length !== length))
      throw new Error(`shot ${key}: frames or times are missing for some points`);
    tracks.set(key, {
      unit: track.unit,
      positions: track.positions,
      frames: track.frames.length === 0 ? null : track.frames,
      times: track.times.length === 0 ? null : { unit: track.timeUnit, values: track.times },
    });
  }
  return tracks;
}
