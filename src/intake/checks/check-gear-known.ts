/** The gear that a shot names must be registered; without a version the newest is meant, unless one is kept already. */

import { fault } from '../../../shared/fault.ts';
import { type GearKind, gearKinds } from '../../../shared/gear.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { Shot } from '../../../shared/shot.ts';
import type { GearBook, GearVersion } from '../../access/gear.ts';
import { gearFields, type PinnedGear, settledReference } from '../gear-references.ts';

export interface ResolvedGear {
  readonly rig: GearVersion<'rigs'> | null;
  readonly cue: GearVersion<'cues'> | null;
  readonly table: GearVersion<'tables'> | null;
  readonly faults: readonly Fault[];
}

function expectedOf(book: GearBook, kind: GearKind, reference: string): string {
  const name = reference.split('@')[0] ?? reference;
  const newest = book.resolve(kind, name);
  if (newest !== null) return newest.version === 1 ? `${name}@1` : `${name}@1 to ${name}@${newest.version}`;
  const names = book.names(kind);
  if (names.length === 0) return `a registered ${gearFields[kind]}; the lab has none`;
  return `one of ${names.slice(0, 20).join(', ')}${names.length > 20 ? ' ...' : ''}`;
}

/** Faults: gear-unknown, with the names that are known. */
export function resolveGear(shot: Shot, book: GearBook, pinned: PinnedGear | null): ResolvedGear {
  const faults: Fault[] = [];
  const find = <Kind extends GearKind>(kind: Kind): GearVersion<Kind> | null => {
    const field = gearFields[kind];
    const sent = shot[field];
    if (sent === undefined) return null;
    const version = book.resolve(kind, settledReference(sent, field, pinned));
    if (version === null) faults.push(fault('gear-unknown', `/${field}`, sent, expectedOf(book, kind, sent)));
    return version;
  };
  const [rigs, cues, tables] = gearKinds;
  return { rig: find(rigs), cue: find(cues), table: find(tables), faults };
}
