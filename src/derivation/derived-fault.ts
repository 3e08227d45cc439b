/** Faults that only the derivation can find; the general remedy of the code unless a better one is known. */
import { type Fault, type RowProblemCode, rowProblems } from '../../shared/problems.ts';

export function derivedFault(
  code: RowProblemCode,
  pointer: string,
  found: string,
  expected: string,
  remedy: string = rowProblems[code].remedy,
): Fault {
  return { code, pointer, row: null, column: null, found, expected, remedy };
}

/** A number for a message: four significant digits. */
export function brief(value: number): string {
  return String(Number(value.toPrecision(4)));
}
