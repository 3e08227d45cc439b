/** Tables to fill in: a CSV with every column and an example row, and what each column means. Made from what the reader reads. */
import { stringify } from 'csv-stringify/sync';
import { type QuantityName, quantities } from '../../shared/quantities.ts';
import type { CellKind, ColumnDefinition, ColumnTable } from './read/column-definition.ts';
import { csvColumns, trackColumns } from './read/csv-columns.ts';

export const templateNames = ['shots', 'tracks'] as const;
export type TemplateName = (typeof templateNames)[number];

const tables: Readonly<Record<TemplateName, ColumnTable>> = { shots: csvColumns, tracks: trackColumns };

/** An invented track that fits the example row of shots, mm at 2000 frames/s: every point stands in a row of its own. */
const trackPositions = [
  82.29, 83.34, 84.45, 85.42, 86.55, 87.56, 88.73, 89.79, 90.9, 91.94, 93.05, 94.13, 95.22, 96.35, 97.42, 98.56, 99.71,
  100.81, 101.93, 103.14, 104.21, 105.33, 106.5, 107.63, 108.79, 109.95, 111.19, 112.3, 113.47, 114.67, 115.89, 117.01,
  118.19, 119.47, 120.32, 121.08, 121.83, 122.61, 123.23, 123.91,
];
const frameMilliseconds = 0.5;

export interface DescribedColumn {
  /** As it stands in the template. The unit in brackets may be any of the same dimension. */
  readonly header: string;
  readonly meaning: string;
  readonly kind: CellKind;
  /** Empty when the column holds no measure. */
  readonly unit: string;
  /** Entry of the data dictionary, which gives the limits. */
  readonly quantity: QuantityName | null;
  readonly required: boolean;
  readonly example: string;
}

function headerOf(name: string, { unit }: ColumnDefinition): string {
  return unit === '' ? name : `${name}[${unit}]`;
}

/** Columns that fill different places: of two names for one place the first. */
function distinct(table: ColumnTable): [string, ColumnDefinition][] {
  const taken = new Set<string>();
  return Object.entries(table).filter(([, { path }]) => {
    const place = path.join('/');
    return !taken.has(place) && taken.add(place);
  });
}

/** @returns UTF-8 text with LF line ends: the header row and an example */
export function templateText(name: TemplateName): string {
  const columns = distinct(tables[name]);
  const header = columns.map(([column, definition]) => headerOf(column, definition));
  const example = columns.map(([, { example: cell, inTemplate }]) => (inTemplate ? cell : ''));
  if (name === 'shots') return stringify([header, example]);
  const place = (column: string) => columns.findIndex(([each]) => each === column);
  const rows = trackPositions.map((position, frame) => {
    const cells: Record<number, string> = {
      [place('frame')]: String(frame),
      [place('time')]: String(frame * frameMilliseconds),
      [place('position')]: String(position),
    };
    return example.map((cell, index) => cells[index] ?? cell);
  });
  return stringify([header, ...rows]);
}

/** Every column of a table, synonyms included. */
export function describeTemplate(name: TemplateName): DescribedColumn[] {
  return Object.entries(tables[name]).map(([column, definition]) => {
    const { meaning, kind, unit, required, example, quantity } = definition;
    const longer = quantity === undefined ? meaning : `${meaning} (${quantities[quantity].label})`;
    return {
      header: headerOf(column, definition),
      meaning: longer,
      kind,
      unit,
      quantity: quantity ?? null,
      required,
      example,
    };
  });
}
