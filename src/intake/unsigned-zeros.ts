/** Minus zero is read as zero: JSON and CSV write both the same, so what is hashed and derived must not tell them apart. */

/** The value with 0 in place of every -0, however deep; the value itself when it holds none. */
export function withUnsignedZeros<Value>(value: Value): Value {
  return replaced(value) as Value;
}

function replaced(value: unknown): unknown {
  if (typeof value === 'number') return Object.is(value, -0) ? 0 : value;
  if (typeof value !== 'object' || value === null) return value;
  if (Array.isArray(value)) {
    const members: readonly unknown[] = value;
    return members.some((member) => differs(member)) ? members.map(replaced) : value;
  }
  const entries = Object.entries(value);
  return entries.some(([, member]) => differs(member))
    ? Object.fromEntries(entries.map(([key, member]) => [key, replaced(member)]))
    : value;
}

const differs = (value: unknown): boolean => !Object.is(replaced(value), value);
