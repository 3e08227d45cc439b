/** Labels of shots, read when they are first asked for. The label of an ordinal never changes. */
import { sql } from 'drizzle-orm';
import { chunkSize } from '../../statistics/moments.ts';
import type { Database } from '../../store/database.ts';
import { compareCodeUnits } from '../compare-code-units.ts';
import type { Versions } from '../version-book.ts';
import { shotView, type ViewSource } from './shot-view.ts';

/** Rows fetched at a time. */
const batchSize = 50_000;

export class LabelBook {
  readonly #db: Database;
  /** By lab id, then ordinal. */
  readonly #labels = new Map<number, string[]>();

  constructor(db: Database) {
    this.#db = db;
  }

  /** Labels of the shots of a view, in its order. */
  async of(source: ViewSource, { labs }: Versions): Promise<string[]> {
    const slugs = [...new Set(source.chunks.map(({ lab }) => lab))].sort(compareCodeUnits);
    const lists = new Map<string, string[]>();
    for (const slug of slugs) {
      const { id } = labs.get(slug) as { id: number };
      const last = Math.max(...source.chunks.flatMap(({ lab, index }) => (lab === slug ? [index] : [])));
      lists.set(slug, await this.#read(id, (last + 1) * chunkSize));
    }
    const { ordinals, groups } = shotView(source, () => []);
    const { codes, names } = groups.lab;
    return Array.from(ordinals, (ordinal, row) => {
      const label = lists.get(names[codes[row] as number] as string)?.[ordinal];
      if (label === undefined) throw new Error(`the label of shot ${ordinal} is not there`);
      return label;
    });
  }

  forget(): void {
    this.#labels.clear();
  }

  async #read(labId: number, end: number): Promise<string[]> {
    const labels = this.#labels.get(labId) ?? [];
    this.#labels.set(labId, labels);
    for (;;) {
      const from = labels.length;
      const { rows } = await this.#db.execute<{ ordinal: number; label: string }>(sql`
        select ordinal, label from shot where lab_id = ${labId}::int and ordinal >= ${from}::int
          and ordinal < ${end}::int order by ordinal limit ${batchSize}::int`);
      for (const { ordinal, label } of rows) labels[ordinal] = label;
      if (rows.length < batchSize) return labels;
    }
  }
}
