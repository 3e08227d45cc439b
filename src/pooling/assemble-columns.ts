/** Rows of shots become typed columns, ordered so that the same shots always give the same bits. */
import { type GroupingName, groupingNames, type VariableName, variableNames } from '../../shared/quantities.ts';
import {
  type CommonPartName,
  commonPartNames,
  type ShotColumns,
  type ShotRow,
  type UncertainName,
  uncertainNames,
} from './columns.ts';
import { GrowingColumn, GrowingGroup } from './growing-column.ts';

const floats = () => new GrowingColumn((length) => new Float64Array(length));
const integers = () => new GrowingColumn((length) => new Int32Array(length));

/** Takes rows one at a time, in any order, and keeps none of them as an object. */
export class ColumnsBuilder {
  #count = 0;
  readonly #ordinals = integers();
  readonly #labels: string[] = [];
  readonly #variables = recordOf(variableNames, floats);
  readonly #uncertainties = recordOf(uncertainNames, floats);
  readonly #common = recordOf(commonPartNames, floats);
  readonly #covariances = floats();
  readonly #groups = recordOf(groupingNames, () => new GrowingGroup());
  readonly #flags = integers();
  readonly #fromTrack = new GrowingColumn((length) => new Uint8Array(length));
  readonly #receivedAt = floats();

  push(row: ShotRow): void {
    this.#count += 1;
    this.#ordinals.push(row.ordinal);
    this.#labels.push(row.label);
    for (const name of variableNames) this.#variables[name].push(row.variables[name] ?? Number.NaN);
    for (const name of uncertainNames) this.#uncertainties[name].push(row.uncertainties[name] ?? Number.NaN);
    for (const name of commonPartNames) this.#common[name].push(row.commonUncertainties?.[name] ?? Number.NaN);
    this.#covariances.push(row.covarianceSpeedAcceleration ?? Number.NaN);
    for (const name of groupingNames) this.#groups[name].push(groupName(row, name));
    this.#flags.push(row.flags);
    this.#fromTrack.push(row.fromTrack ? 1 : 0);
    this.#receivedAt.push(row.receivedAt);
  }

  /** The columns, ordered by lab slug (code units) and then ordinal. */
  finish(): ShotColumns {
    const order = this.#order();
    const labels = this.#labels;
    return {
      count: this.#count,
      ordinals: this.#ordinals.gather(order),
      labels: Array.from(order, (row) => labels[row] as string),
      variables: mapRecord(variableNames, (name: VariableName) => this.#variables[name].gather(order)),
      uncertainties: mapRecord(uncertainNames, (name: UncertainName) => this.#uncertainties[name].gather(order)),
      commonUncertainties: mapRecord(commonPartNames, (name: CommonPartName) => this.#common[name].gather(order)),
      covarianceSpeedAcceleration: this.#covariances.gather(order),
      groups: mapRecord(groupingNames, (name: GroupingName) => this.#groups[name].finish(order)),
      flags: this.#flags.gather(order),
      fromTrack: this.#fromTrack.gather(order),
      receivedAt: this.#receivedAt.gather(order),
    };
  }

  /** Rows by lab, then ordinal. Rows mostly come in order, so each lab is sorted only if it has to be. */
  #order(): Int32Array {
    const labs = this.#groups.lab;
    const ranks = labs.ranks();
    const starts = new Int32Array(ranks.length + 1);
    for (let row = 0; row < this.#count; row += 1) {
      const next = (ranks[labs.at(row)] as number) + 1;
      starts[next] = (starts[next] as number) + 1;
    }
    for (let rank = 0; rank < ranks.length; rank += 1) starts[rank + 1] = at(starts, rank + 1) + at(starts, rank);
    const order = new Int32Array(this.#count);
    const filled = starts.slice();
    const unsorted = new Uint8Array(ranks.length);
    for (let row = 0; row < this.#count; row += 1) {
      const rank = ranks[labs.at(row)] as number;
      const place = at(filled, rank);
      if (place > at(starts, rank) && this.#ordinals.at(at(order, place - 1)) > this.#ordinals.at(row)) {
        unsorted[rank] = 1;
      }
      order[place] = row;
      filled[rank] = place + 1;
    }
    for (let rank = 0; rank < ranks.length; rank += 1) {
      if (unsorted[rank] === 0) continue;
      order
        .subarray(at(starts, rank), at(starts, rank + 1))
        .sort((first, second) => this.#ordinals.at(first) - this.#ordinals.at(second));
    }
    return order;
  }
}

function at(values: Int32Array, place: number): number {
  return values[place] as number;
}

/**
 * Columns of all rows, whatever the order in which they come. Ordinals are unique within a lab; nothing else is
 * asked of the rows.
 */
export function assembleColumns(rows: Iterable<ShotRow>): ShotColumns {
  const builder = new ColumnsBuilder();
  for (const row of rows) builder.push(row);
  return builder.finish();
}

function groupName(row: ShotRow, grouping: GroupingName): string | null {
  switch (grouping) {
    case 'lab':
      return row.lab;
    case 'sessionDate':
      return row.sessionDate;
    case 'setUp':
      return row.table === null ? null : `${row.lab}/${row.table}${row.straight ? '' : '/cut'}`;
    default: {
      const name = row[grouping];
      if (name === null) return null;
      // A curated term means the same in every lab.
      return name.startsWith('=') ? name.slice(1) : `${row.lab}/${name}`;
    }
  }
}

function recordOf<Name extends string, Value>(names: readonly Name[], make: () => Value): Record<Name, Value> {
  return mapRecord(names, make);
}

function mapRecord<Name extends string, Value>(
  names: readonly Name[],
  value: (name: Name) => Value,
): Record<Name, Value> {
  return Object.fromEntries(names.map((name) => [name, value(name)])) as Record<Name, Value>;
}
