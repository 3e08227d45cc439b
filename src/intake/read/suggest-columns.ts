/** Columns that a header was probably meant for. */
import { editDistance } from '../../../shared/edit-distance.ts';
import { type ColumnTable, columnOf } from './column-definition.ts';

/** The header as names are written: people and spreadsheets write capitals and blanks. Keeps the length. */
export function asName(header: string): string {
  return header.toLowerCase().replace(/[\s-]/g, '_');
}

/** At most this many names are told. */
const mostSuggestions = 6;
/** Words of fewer letters say nothing. */
const shortestWord = 3;

const wordsOf = (name: string): string[] => name.split(/[^a-z0-9]+/).filter((word) => word.length >= shortestWord);

/** Distance of two names, a replaced letter counting 2, for each letter of the longer one. */
function distance(one: string, other: string): number {
  return editDistance(one, other) / Math.max(one.length, other.length);
}

/**
 * Names that share a word with the header, or nearly are it; those that share most and are nearest come first.
 *
 * @param header without unit
 */
export function suggestColumns(header: string, table: ColumnTable): string[] {
  const name = asName(header);
  if (columnOf(table, name) !== undefined) return [name];
  const words = wordsOf(name);
  return Object.keys(table)
    .map((known) => ({
      known,
      shared: wordsOf(known).filter((word) => words.includes(word)).length,
      apart: distance(name, known),
    }))
    .filter(({ shared, apart }) => shared > 0 || apart <= 0.7)
    .sort((one, other) => other.shared - one.shared || one.apart - other.apart)
    .slice(0, mostSuggestions)
    .map(({ known }) => known);
}
