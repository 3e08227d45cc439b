/** One shot on its way in, before anything about it is known to be right. */
import type { Fault } from '../../../shared/problems.ts';
import type { CsvColumn } from './csv-header.ts';

/** Where a shot stands in its body. */
export interface SentPlace {
  /** Line of NDJSON or row of CSV, from 1; null in JSON. */
  readonly row: number | null;
  /** Columns of a CSV, null for the other media. */
  readonly columns: readonly CsvColumn[] | null;
  /** Only of a multipart body: where the tracks of the shot stand. */
  readonly tracks?: { readonly cue: TrackPlace | null; readonly ball: TrackPlace | null } | undefined;
}

/** Where the points of a track stand in their table. */
export interface TrackPlace {
  readonly columns: readonly CsvColumn[];
  /** Row of each point. */
  readonly rows: readonly number[];
}

export interface SentShot extends SentPlace {
  /** Place in the submission, from 1. */
  readonly position: number;
  /** What was sent, parsed but not validated; null when it could not be read. */
  readonly value: unknown;
  /** What could not be read of it; pointers into the shot. */
  readonly faults: readonly Fault[];
}

/** A row of a table of shots, and the tracks that it says were sent with it. */
export interface CsvRow {
  readonly shot: SentShot;
  readonly tracks: readonly string[];
}

/** Media in which shots are sent. */
export type SubmissionMedia = 'json' | 'ndjson' | 'csv' | 'multipart';
