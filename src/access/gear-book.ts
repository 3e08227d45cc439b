/** All gear of one lab in memory, for resolving the references of its shots. */
import { eq } from 'drizzle-orm';
import { type GearKind, gearContentSchemas } from '../../shared/gear.ts';
import type { Database, Transaction } from '../store/database.ts';
import type { GearContent } from './check-gear.ts';
import { type GearVersions, gearBookOf } from './gear-shelves.ts';
import { gearTables } from './gear-tables.ts';

export interface GearVersion<Kind extends GearKind> {
  readonly id: number;
  readonly name: string;
  readonly version: number;
  readonly content: GearContent[Kind];
}

export interface GearBook {
  /** What the book holds. */
  readonly versions: GearVersions;
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

/** Reads all versions of a lab's gear. Gives no permission: for use cases. */
export async function loadGearBook(db: Database | Transaction, labId: number): Promise<GearBook> {
  return gearBookOf({
    rigs: await loadVersions(db, labId, 'rigs'),
    cues: await loadVersions(db, labId, 'cues'),
    tables: await loadVersions(db, labId, 'tables'),
  });
}

async function loadVersions<Kind extends GearKind>(
  db: Database | Transaction,
  labId: number,
  kind: Kind,
): Promise<GearVersion<Kind>[]> {
  const table: (typeof gearTables)[GearKind] = gearTables[kind];
  const rows = await db.select().from(table).where(eq(table.labId, labId)).orderBy(table.version);
  return rows.map(({ id, name, version, content }) => ({
    id,
    name,
    version,
    content: gearContentSchemas[kind].parse(content) as GearContent[Kind],
  }));
}
