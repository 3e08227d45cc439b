/** Rigs, cues and tables lie in three tables of the same shape; the table of a kind. */
import { sql } from 'drizzle-orm';
import type { GearKind } from '../../shared/gear.ts';
import { cue, hotShot, rig, tableSetup } from '../store/schema.ts';

export const gearTables = { rigs: rig, cues: cue, tables: tableSetup } as const;

/** Reference name@version of a piece of gear that a query has joined, null where it joined none. */
const reference = (table: typeof rig | typeof cue | typeof tableSetup) =>
  sql<string | null>`${table.name} || '@' || ${table.version}`;

/** The gear of a shot as references, for queries that join rig, cue and tableSetup. */
export const gearReferences = { rig: reference(rig), cue: reference(cue), table: reference(tableSetup) };

/** Column of the hot table that names the gear of a kind. */
export const usedGearColumns = { rigs: hotShot.rigId, cues: hotShot.cueId, tables: hotShot.tableId } as const;

/** Kinds in the singular, for messages. */
export const gearWords: Readonly<Record<GearKind, string>> = { rigs: 'rig', cues: 'cue', tables: 'table' };
