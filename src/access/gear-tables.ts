/** Rigs, cues and tables lie in three tables of the same shape; the table of a kind. */
import type { GearKind } from '../../shared/gear.ts';
import { cue, hotShot, rig, tableSetup } from '../store/schema.ts';

export const gearTables = { rigs: rig, cues: cue, tables: tableSetup } as const;

/** Column of the hot table that names the gear of a kind. */
export const usedGearColumns = { rigs: hotShot.rigId, cues: hotShot.cueId, tables: hotShot.tableId } as const;

/** Kinds in the singular, for messages. */
export const gearWords: Readonly<Record<GearKind, string>> = { rigs: 'rig', cues: 'cue', tables: 'table' };
