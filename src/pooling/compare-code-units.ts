/** Order of text by UTF-16 code units: the same on every machine, whatever its locale. */
export function compareCodeUnits(first: string, second: string): number {
  return first < second ? -1 : first > second ? 1 : 0;
}
