/** Which way of reading the tip height a row means when it does not say. */
import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import type { CsvColumn } from './csv-header.ts';

/** What only one method has; the columns of a row that fill none of these fit every method or none. */
const methods = [
  { name: 'shaftEdges', needs: ['topEdge', 'bottomEdge'] },
  { name: 'shaftTopEdge', needs: ['topEdge'] },
  { name: 'contactMark', needs: ['height'] },
  { name: 'ring', needs: ['ring'] },
] as const;
const telling: ReadonlySet<string> = new Set(methods.flatMap(({ needs }) => needs));

/** The only method that these parts of a reading fit, or null. */
export function methodFitting(parts: readonly string[]): string | null {
  const told = new Set(parts.filter((part) => telling.has(part)));
  return methods.find(({ needs }) => needs.length === told.size && needs.every((part) => told.has(part)))?.name ?? null;
}

/**
 * Fills in the method when only one fits the columns with a value.
 *
 * @param given the columns that have a value in this row, readable or not
 * @returns a fault when several methods or none would fit, else null
 */
export function completeTipHeight(shot: Record<string, unknown>, given: readonly CsvColumn[]): Fault | null {
  const parts = given.filter(({ path }) => path[0] === 'tipHeight');
  if (parts.length === 0 || parts.some(({ path }) => path[1] === 'method')) return null;
  const method = methodFitting(parts.map(({ path }) => path[1] ?? ''));
  if (method !== null) {
    // Absent when its only cell could not be read, which is a fault already.
    if (typeof shot.tipHeight === 'object') shot.tipHeight = { method, ...shot.tipHeight };
    return null;
  }
  const headers = parts.map(({ header }) => header).join(', ');
  return fault(
    'structure-invalid',
    '/tipHeight',
    headers,
    'a reading by one method: top edge (shaftTopEdge), top and bottom edge (shaftEdges), height (contactMark), or ring and ring step (ring)',
    'Leave the cells of all other methods empty, or name the method in the column tip_height_method.',
  );
}
