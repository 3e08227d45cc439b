/** Which gear a shot names, and which version it means. */
import type { GearKind } from '../../shared/gear.ts';
import type { Shot } from '../../shared/shot.ts';

/** The field of a shot that names gear of a kind. */
export const gearFields = { rigs: 'rig', cues: 'cue', tables: 'table' } as const satisfies Record<GearKind, keyof Shot>;
type GearField = (typeof gearFields)[GearKind];

/** The gear of a stored shot, written name@version; null when it names none. */
export type PinnedGear = Readonly<Record<GearField, string | null>>;

/** True when some gear is named without its version, so that the version depends on what is stored already. */
export function leavesVersionOpen(shot: Pick<Shot, GearField>): boolean {
  return Object.values(gearFields).some((field) => shot[field] !== undefined && !shot[field].includes('@'));
}

/**
 * The reference of a shot to gear: as sent; without a version, the one that the stored shot of this label keeps.
 *
 * @param pinned gear of the stored shot with this label, or null when there is none
 */
export function settledReference(sent: string, field: GearField, pinned: PinnedGear | null): string {
  const kept = pinned?.[field];
  return kept?.startsWith(`${sent}@`) === true ? kept : sent;
}
