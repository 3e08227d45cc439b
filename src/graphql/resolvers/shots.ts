/** Shots and what belongs to them. Everything below a list is loaded for the whole list at once. */
import { shotOrderSchema, shotSearchSchema } from '../../../shared/shot-search.ts';
import type { Principal } from '../../access/principal.ts';
import { countFoundShots, type FoundShot, findShots } from '../../intake/find-shots.ts';
import type { StoredContent } from '../../intake/stored-content.ts';
import type { StoredShotRecord } from '../../intake/visible-shots.ts';
import type { Database } from '../../store/database.ts';
import { type Connection, connectionOf, readCursor, writeCursor } from '../cursor.ts';
import { checkFirst, parseArgument } from '../inputs.ts';

/** Arguments of a list of shots as GraphQL gives them. */
export interface ShotsArguments {
  readonly first: number;
  readonly after?: string | null;
  readonly filter?: unknown;
  readonly order?: unknown;
}

/** A shot in a field of its own is shown as one in a list. */
export function shotNodeOf(record: StoredShotRecord): FoundShot {
  const { id, lab, label, ordinal, shared, rig, cue, table } = record;
  // Written by this service under its own schema.
  const { player, sessionDate } = record.content as StoredContent;
  const said = { player: player ?? null, sessionDate: sessionDate ?? null };
  return { id, lab, label, ordinal, shared, rig, cue, table, ...said, orderedBy: null };
}

export interface ShotList extends Connection<FoundShot> {
  /** Asked for only when wanted. */
  readonly totalCount: () => Promise<number>;
}

/** One page of shots. */
export async function listShots(
  db: Database,
  principal: Principal,
  { first, after, filter, order: asked }: ShotsArguments,
): Promise<ShotList> {
  const limit = checkFirst(first);
  const search = parseArgument(shotSearchSchema, 'filter', filter ?? {});
  const order = asked === null || asked === undefined ? null : parseArgument(shotOrderSchema, 'order', asked);
  const rows = await findShots(db, principal, search, order, {
    after: after === null || after === undefined ? null : placeOf(after),
    limit: limit + 1,
  });
  const page = connectionOf(rows, limit, ({ orderedBy, lab, ordinal }) => writeCursor([orderedBy, lab, ordinal]));
  return { ...page, totalCount: () => countFoundShots(db, principal, search) };
}

function placeOf(cursor: string) {
  const [orderedBy, lab, ordinal] = readCursor(cursor, ['numberOrNull', 'text', 'count']);
  return { orderedBy: orderedBy as number | null, lab: lab as string, ordinal: ordinal as number };
}
