/** One column of a table that labs send: what its cells hold, where it goes, and what a reader is told about it. */
import type { QuantityName } from '../../../shared/quantities.ts';

export type CellKind = 'text' | 'integer' | 'number' | 'boolean' | 'words' | 'measure';

export interface ColumnDefinition {
  /** Keys down to the value; a measure fills `value` and `unit` there. */
  readonly path: readonly string[];
  readonly kind: CellKind;
  /** Only of measures: the unit stands in the header. */
  readonly quantity?: QuantityName;
  readonly meaning: string;
  /** Unit that the template writes into the header; '' when the column holds no measure. */
  readonly unit: string;
  readonly required: boolean;
  /** A cell as it could be sent. */
  readonly example: string;
  /** False when the example does not go with the other examples of the row (one reading instead of another). */
  readonly inTemplate: boolean;
}

/** Names as they stand in the header, without unit. */
export type ColumnTable = Readonly<Record<string, ColumnDefinition>>;

type More = Partial<Pick<ColumnDefinition, 'required' | 'inTemplate'>>;

/** A column without unit. */
export function plain(
  kind: Exclude<CellKind, 'measure'>,
  path: string,
  example: string,
  meaning: string,
  more: More = {},
): ColumnDefinition {
  return { path: path.split('.'), kind, meaning, unit: '', example, required: false, inTemplate: true, ...more };
}

/** A column whose header holds a unit. */
export function measured(
  quantity: QuantityName,
  path: string,
  unit: string,
  example: string,
  meaning: string,
  more: More = {},
): ColumnDefinition {
  return {
    path: path.split('.'),
    kind: 'measure',
    quantity,
    meaning,
    unit,
    example,
    required: false,
    inTemplate: true,
    ...more,
  };
}

/** The column of a name as it stands in a header; undefined when there is none, also for names that every object has. */
export function columnOf(table: ColumnTable, name: string): ColumnDefinition | undefined {
  return Object.hasOwn(table, name) ? table[name] : undefined;
}
