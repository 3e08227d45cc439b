/** Making faults: what was found, shortened and safe to store, and where it stands in the shot. */
import { type Fault, type RowProblemCode, rowProblems } from './problems.ts';

const longestFound = 120;

/** Text that PostgreSQL can hold: control characters and lone surrogates become visible replacements. */
export function printable(text: string): string {
  return text.replace(/[\p{Cc}\p{Cs}]/gu, '\ufffd');
}

/** What was sent, as text of at most 120 characters. */
export function found(value: unknown): string {
  const text = value === undefined ? 'nothing' : typeof value === 'string' ? value : describe(value);
  const cut = text.length > longestFound ? `${text.slice(0, longestFound - 1)}\u2026` : text;
  return printable(cut);
}

function describe(value: unknown): string {
  if (typeof value === 'number') return String(value);
  if (Array.isArray(value) && value.length > 20) return `a list of ${value.length}`;
  return JSON.stringify(value) ?? typeof value;
}

/**
 * A fault of one shot. Its place is a pointer into the shot; `locate` turns it into the row and column of a CSV.
 *
 * @param remedy when not given, the general remedy of the code
 */
export function fault(
  code: RowProblemCode,
  pointer: string,
  sent: unknown,
  expected: string,
  remedy: string = rowProblems[code].remedy,
): Fault {
  // A pointer names keys as sent, and a remedy may quote what was sent: a receipt has to store them all.
  const [place, wanted, advice] = [printable(pointer), printable(expected), printable(remedy)];
  return { code, pointer: place, row: null, column: null, found: found(sent), expected: wanted, remedy: advice };
}

/** RFC 6901 pointer of a path of keys and indices. */
export function pointerOf(path: readonly PropertyKey[]): string {
  return path.map((key) => `/${String(key).replaceAll('~', '~0').replaceAll('/', '~1')}`).join('');
}
