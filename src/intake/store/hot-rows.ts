/** The hot table: the current derivation of each current shot in narrow columns, a copy that can be rebuilt. */
import { sql } from 'drizzle-orm';
import { applyVocabulary } from '../../access/vocabularies.ts';
import { copyRows } from '../../store/copy-rows.ts';
import type { Transaction } from '../../store/database.ts';
import { hotFieldNames } from '../hot-fields.ts';
import type { Arrival } from './accepted-shot.ts';
import type { StoredRevision } from './insert-revisions.ts';

/** One shot of the hot table: the rows it points to and its other fields. */
export interface HotRow {
  readonly ordinal: number;
  readonly shotId: string;
  readonly revisionId: number;
  /** When its track or content was first received, microseconds since 1970. */
  readonly firstReceivedAt: number;
  readonly shared: boolean;
  readonly rigId: number;
  readonly cueId: number | null;
  readonly tableId: number | null;
  /** Of `hotFieldNames`. */
  readonly fields: Uint8Array;
}

const ownNames = [
  'lab_id',
  'ordinal',
  'shot_id',
  'revision_id',
  'received_at',
  'shared',
  'rig_id',
  'cue_id',
  'table_id',
] as const;
const names = [...ownNames, ...hotFieldNames];
const target = `hot_shot (${names.join(', ')})`;

/**
 * Puts the current revision of each shot into the hot table, in place of an earlier one. The time of receipt is the
 * first one of the revision: a margin declared after it was not declared beforehand, whatever was amended since.
 */
export async function replaceHotRows(
  tx: Transaction,
  { labId }: Arrival,
  revisions: readonly StoredRevision[],
): Promise<void> {
  const rows = revisions.map(({ id, firstReceivedAt, shot }): HotRow => {
    const { ordinal, shared, ready, current } = shot;
    const { rigId, cueId, tableId } = ready;
    const place = { ordinal, shotId: shot.id, revisionId: id, firstReceivedAt, shared };
    return { ...place, rigId, cueId, tableId, fields: current.hot };
  });
  const revised = revisions.filter(({ shot }) => !shot.isNew).map(({ shot }) => shot.ordinal);
  if (revised.length > 0) {
    await tx.execute(sql`
      delete from hot_shot where lab_id = ${labId} and ordinal = any(${sql.param(revised)}::int[])`);
  }
  await insertHotRows(tx, labId, rows);
}

/** Adds shots of one lab that the hot table does not hold. */
export async function insertHotRows(tx: Transaction, labId: number, rows: readonly HotRow[]): Promise<void> {
  await copyRows(tx, target, (written) => {
    for (const row of rows) {
      written.row(names.length).int4(labId).int4(row.ordinal).hexadecimal(row.shotId).int8(row.revisionId);
      written.timestamp(row.firstReceivedAt).boolean(row.shared).int4(row.rigId).int4(row.cueId).int4(row.tableId);
      written.fields(row.fields);
    }
  });
  await applyVocabulary(
    tx,
    labId,
    rows.map(({ ordinal }) => ordinal),
  );
}
