/** The pieces of the tracks of one label, put together. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import { maximumTrackPoints } from '../../../shared/shot.ts';
import type { CsvColumn } from './csv-header.ts';
import type { TrackPlace } from './sent-shot.ts';
import type { SentKind, TrackPiece } from './track-rows.ts';

export interface SentTrack {
  /** The track as in the wire contract; null when some of its rows could not be read. */
  readonly value: Readonly<Record<string, unknown>> | null;
  readonly place: TrackPlace;
  /** Pointers into the shot. */
  readonly faults: readonly Fault[];
}

export class GrowingTrack {
  readonly #kind: SentKind;
  readonly #table: number;
  readonly #columns: readonly CsvColumn[];
  readonly #rows: number[] = [];
  readonly #positions: (number | null)[] = [];
  readonly #frames: (number | null)[] = [];
  readonly #times: (number | null)[] = [];
  readonly #gaps: (number | null)[] = [];
  readonly #faults: Fault[] = [];

  constructor({ kind, table }: TrackPiece, columns: readonly CsvColumn[]) {
    this.#kind = kind;
    this.#table = table;
    this.#columns = columns;
  }

  get #pointer(): string {
    return `/${this.#kind}Track`;
  }

  #tell(one: Fault): void {
    if (this.#faults.length < 5) this.#faults.push(one);
  }

  /** Beyond the largest track nothing is kept, so that memory stays bounded. */
  add(piece: TrackPiece): void {
    const before = this.#rows.length;
    if (piece.table !== this.#table) {
      const expected = 'every row of a track in one part tracks';
      this.#tell(fault('structure-invalid', this.#pointer, 'rows of the same track in two parts', expected));
      return;
    }
    if (before > maximumTrackPoints) return;
    this.#rows.push(...piece.rows);
    this.#positions.push(...piece.positions);
    this.#frames.push(...piece.frames);
    this.#times.push(...piece.times);
    this.#gaps.push(...piece.gaps);
    for (const one of piece.faults) {
      const [list, index] = (one.pointer ?? '').split('/');
      const at = list === 'times' ? 'times/values' : list;
      this.#tell({ ...one, pointer: `${this.#pointer}/${at}/${before + Number(index)}` });
    }
    if (this.#rows.length > maximumTrackPoints) {
      const pointer = `${this.#pointer}/positions/${maximumTrackPoints}`;
      this.#tell(fault('structure-invalid', pointer, 'more rows', `at most ${maximumTrackPoints} points a track`));
    }
  }

  /** A list that is given in every row, or in none. */
  #whole(list: readonly (number | null)[], name: string, pointer: string): readonly (number | null)[] | null {
    const missing = list.indexOf(null);
    if (missing === -1) return list;
    if (list.every((value) => value === null)) return null;
    const expected = `a ${name} in every row of the track, or in none`;
    this.#tell(fault('structure-invalid', `${this.#pointer}/${pointer}/${missing}`, undefined, expected));
    return null;
  }

  finish(): SentTrack {
    const place = { columns: this.#columns, rows: this.#rows };
    // Cells that could not be read are missing too, and told already.
    const readable = this.#faults.length === 0;
    const frames = readable ? this.#whole(this.#frames, 'frame', 'frames') : null;
    const times = readable ? this.#whole(this.#times, 'time', 'times/values') : null;
    if (this.#faults.length > 0) return { value: null, place, faults: this.#faults };
    const unitOf = (name: string) => this.#columns.find(({ path }) => path[0] === name)?.unit ?? '';
    const value = {
      unit: unitOf('position'),
      positions: this.#positions,
      ...(frames === null ? {} : { frames }),
      ...(times === null ? {} : { times: { unit: unitOf('time'), values: times } }),
      ...(this.#kind === 'cue' && this.#gaps.some((gap) => gap !== null) ? { gaps: this.#gaps } : {}),
    };
    return { value, place, faults: [] };
  }
}
