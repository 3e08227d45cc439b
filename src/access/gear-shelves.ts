/** Versions of gear by name, version and id, from plain data that can be handed to another thread. */
import { type GearKind, gearKinds } from '../../shared/gear.ts';
import type { GearBook, GearVersion } from './gear-book.ts';

/** Every version that a lab has of each kind, older ones first. */
export type GearVersions = { readonly [Kind in GearKind]: readonly GearVersion<Kind>[] };

interface Shelf<Kind extends GearKind> {
  readonly byReference: ReadonlyMap<string, GearVersion<Kind>>;
  readonly byId: ReadonlyMap<number, GearVersion<Kind>>;
  readonly names: readonly string[];
}

export function gearBookOf(versions: GearVersions): GearBook {
  const shelves = new Map<GearKind, Shelf<GearKind>>(gearKinds.map((kind) => [kind, shelfOf(versions[kind])]));
  const shelf = <Kind extends GearKind>(kind: Kind): Shelf<Kind> => shelves.get(kind) as Shelf<Kind>;
  return {
    versions,
    resolve: (kind, reference) => shelf(kind).byReference.get(reference) ?? null,
    byId: (kind, id) => shelf(kind).byId.get(id) ?? null,
    names: (kind) => shelf(kind).names,
  };
}

function shelfOf<Kind extends GearKind>(versions: readonly GearVersion<Kind>[]): Shelf<Kind> {
  const byReference = new Map<string, GearVersion<Kind>>();
  const byId = new Map<number, GearVersion<Kind>>();
  const names = new Set<string>();
  for (const version of versions) {
    byId.set(version.id, version);
    byReference.set(`${version.name}@${version.version}`, version);
    // Versions come in rising order, so the newest is the one that stays under the plain name.
    byReference.set(version.name, version);
    names.add(version.name);
  }
  return { byReference, byId, names: [...names].sort() };
}
