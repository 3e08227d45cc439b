/** All gear of one lab in memory, for resolving the references of its shots. */
import { eq } from 'drizzle-orm';
import { type GearKind, gearContentSchemas, gearKinds } from '../../shared/gear.ts';
import type { Database, Transaction } from '../store/database.ts';
import type { GearContent } from './check-gear.ts';
import { gearTables } from './gear-tables.ts';

export interface GearVersion<Kind extends GearKind> {
  readonly id: number;
  readonly name: string;
  readonly version: number;
  readonly content: GearContent[Kind];
}

export interface GearBook {
  /**
   * The gear that a reference means: `name` for the newest version, `name@version` for that one.
   * @returns null when the lab has no such gear
   */
  resolve<Kind extends GearKind>(kind: Kind, reference: string): GearVersion<Kind> | null;
  /** The version with an id; null when the lab has none. */
  byId<Kind extends GearKind>(kind: Kind, id: number): GearVersion<Kind> | null;
  /** Names of a kind in the order of code units, for messages. */
  names(kind: GearKind): readonly string[];
}

interface Shelf<Kind extends GearKind> {
  readonly byReference: ReadonlyMap<string, GearVersion<Kind>>;
  readonly byId: ReadonlyMap<number, GearVersion<Kind>>;
  readonly names: readonly string[];
}

/** Reads all versions of a lab's gear. Gives no permission: for use cases. */
export async function loadGearBook(db: Database | Transaction, labId: number): Promise<GearBook> {
  const shelves = new Map<GearKind, Shelf<GearKind>>();
  for (const kind of gearKinds) shelves.set(kind, await loadShelf(db, labId, kind));
  const shelf = <Kind extends GearKind>(kind: Kind): Shelf<Kind> => shelves.get(kind) as Shelf<Kind>;
  return {
    resolve: (kind, reference) => shelf(kind).byReference.get(reference) ?? null,
    byId: (kind, id) => shelf(kind).byId.get(id) ?? null,
    names: (kind) => shelf(kind).names,
  };
}

async function loadShelf<Kind extends GearKind>(
  db: Database | Transaction,
  labId: number,
  kind: Kind,
): Promise<Shelf<Kind>> {
  const table: (typeof gearTables)[GearKind] = gearTables[kind];
  const rows = await db.select().from(table).where(eq(table.labId, labId)).orderBy(table.version);
  const byReference = new Map<string, GearVersion<Kind>>();
  const byId = new Map<number, GearVersion<Kind>>();
  const names = new Set<string>();
  for (const row of rows) {
    const content = gearContentSchemas[kind].parse(row.content) as GearContent[Kind];
    const version: GearVersion<Kind> = { id: row.id, name: row.name, version: row.version, content };
    byId.set(row.id, version);
    byReference.set(`${row.name}@${row.version}`, version);
    // Versions come in rising order, so the newest is the one that stays under the plain name.
    byReference.set(row.name, version);
    names.add(row.name);
  }
  return { byReference, byId, names: [...names].sort() };
}
